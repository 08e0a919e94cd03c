"""What switching does to machines: starts, how long the runs are, and a contactor's years."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from moistsim.engine import catalog
from moistsim.risk.spells import spells
from moistsim.season import Season

SHORT_RUNS = (5.0, 10.0)
"""Minutes. A compressor's oil comes back and its coil gets wet within some ten: common practice, no
source."""


class Wear(NamedTuple):
    """Of one machine through a season; None where it never started."""

    starts_per_day: float
    starts_worst_hour: int
    minutes_per_run: float | None
    short_runs: tuple[float | None, ...]
    """Share of runs shorter than each of `SHORT_RUNS`, 0 to 1."""


RUNNING = {
    "compressor": ("cooling_stage", "heat_pump_on"),
    "dehumidifier": ("dehumidifier_on",),
}
"""By machine, the fields of a step of which one is above 0 while it runs."""

STARTS = {
    "compressor": [catalog.COMPRESSOR_STARTS.name, catalog.HEAT_PUMP_STARTS.name],
    "dehumidifier": [catalog.DEHUMIDIFIER_STARTS.name],
}
"""By machine, the columns of the hourly table that count its starts."""


def wear(season: Season, steps: pd.DataFrame, machine: str) -> Wear:
    """Starts and runs of the compressor, cooling or heating, or of the dehumidifier.

    A run goes on through changes of stage. Runs that are under way when the season begins or ends
    count as long as they are within it.

    Parameters
    ----------
    season : Season
    steps : DataFrame
        ``season.steps`` with the fields of `RUNNING`.
    machine : {"compressor", "dehumidifier"}
    """
    hourly = season.hourly
    starts = hourly[STARTS[machine]].sum(axis=1)
    runs = spells((steps[list(RUNNING[machine])].to_numpy(float) > 0.0).any(axis=1))
    minutes = (runs[:, 1] - runs[:, 0]) * season.step / 60.0
    return Wear(
        starts_per_day=float(starts.sum()) / (len(hourly) / 24.0),
        starts_worst_hour=round(float(starts.max())),
        minutes_per_run=float(np.mean(minutes)) if len(minutes) else None,
        short_runs=tuple(
            float(np.mean(minutes < limit)) if len(minutes) else None for limit in SHORT_RUNS
        ),
    )


def contactor_years(starts_per_day: float, operations: float) -> float | None:
    """Years until a contactor has closed `operations` times, were every day like the season's."""
    return operations / (365.0 * starts_per_day) if starts_per_day > 0.0 else None
