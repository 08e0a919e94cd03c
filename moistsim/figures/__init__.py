"""Figures that a person can present.

Each function returns a matplotlib Figure with no state of its own kept anywhere: show it in a
notebook, or save it (``figure.savefig("season.svg")`` keeps it a vector drawing).
"""

from moistsim.figures.coil import effective_shr_figure
from moistsim.figures.day import day_figure
from moistsim.figures.season import season_figure
from moistsim.figures.sources import loads_figure, sources_figure
from moistsim.figures.tuning import tuning_figure

__all__ = [
    "day_figure",
    "effective_shr_figure",
    "loads_figure",
    "season_figure",
    "sources_figure",
    "tuning_figure",
]
