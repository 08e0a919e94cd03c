"""Figures to present: each function returns a matplotlib Figure.

A figure shows in a notebook, and ``figure.savefig("season.svg")`` keeps it as a vector drawing. No
state is kept anywhere. An option has the color of its main machine in every figure.

Examples
--------
>>> import moistsim as ms
>>> "season_figure" in ms.figures.__all__
True
"""

from moistsim.figures import style
from moistsim.figures.break_even import break_even_figure
from moistsim.figures.carpet import carpet_figure
from moistsim.figures.certainty import certainty_figure, error_budget_figure
from moistsim.figures.coil import effective_shr_figure
from moistsim.figures.cycle import cycle_figure
from moistsim.figures.day import day_figure
from moistsim.figures.economics import bridge_figure, cost_figure
from moistsim.figures.extra_liter import extra_liter_figure
from moistsim.figures.flows import flows_figure
from moistsim.figures.humidity import humidity_figure
from moistsim.figures.months import months_figure
from moistsim.figures.psychrometric import psychrometric_figure
from moistsim.figures.quantiles import quantiles_figure
from moistsim.figures.risk import mold_figure, spells_figure
from moistsim.figures.runs import runs_figure
from moistsim.figures.season import season_figure
from moistsim.figures.sizing import sizing_figure
from moistsim.figures.sobol import sobol_figure
from moistsim.figures.sources import loads_figure, sources_figure
from moistsim.figures.space import space_figure
from moistsim.figures.timing import timing_figure
from moistsim.figures.tornado import tornado_figure
from moistsim.figures.tradeoff import tradeoff_figure
from moistsim.figures.tuning import tuning_figure
from moistsim.figures.weather_years import weather_years_figure

__all__ = [
    "break_even_figure",
    "bridge_figure",
    "carpet_figure",
    "certainty_figure",
    "cost_figure",
    "cycle_figure",
    "day_figure",
    "effective_shr_figure",
    "error_budget_figure",
    "extra_liter_figure",
    "flows_figure",
    "humidity_figure",
    "loads_figure",
    "mold_figure",
    "months_figure",
    "psychrometric_figure",
    "quantiles_figure",
    "runs_figure",
    "season_figure",
    "sizing_figure",
    "sobol_figure",
    "sources_figure",
    "space_figure",
    "spells_figure",
    "style",
    "timing_figure",
    "tornado_figure",
    "tradeoff_figure",
    "tuning_figure",
    "weather_years_figure",
]
