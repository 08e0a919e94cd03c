"""Wear of machines by switching: starts, length of runs, and life of contactors."""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.engine import column_catalog
from moistsim.risk.spells import spells
from moistsim.season import Season

SHORT_RUNS = (5.0, 10.0)
"""Lengths of short runs, minutes. A compressor's oil returns and its coil gets wet within about ten
minutes (common practice, no source)."""


class Wear(NamedTuple):
    """Wear of one machine through a season; None for values of a machine that never started."""

    starts_per_day: float
    starts_worst_hour: int
    minutes_per_run: float | None
    short_runs: tuple[float | None, ...]
    """Share of runs shorter than each of `SHORT_RUNS`, 0 to 1."""


RUNNING = {
    "compressor": ("cooling_stage", "heat_pump_on"),
    "dehumidifier": ("dehumidifier_on",),
}
"""Fields of a step by machine; one of them is above 0 while the machine runs."""

STARTS = {
    "compressor": [column_catalog.COMPRESSOR_STARTS.name, column_catalog.HEAT_PUMP_STARTS.name],
    "dehumidifier": [column_catalog.DEHUMIDIFIER_STARTS.name],
}
"""Columns of the hourly table by machine that count its starts."""


def wear(season: Season, steps: pd.DataFrame, machine: str) -> Wear:
    """Return starts and runs of the compressor (cooling or heating) or of the dehumidifier.

    A run continues through changes of stage. A run at the start or the end of the season counts with
    its length within the season.

    Parameters
    ----------
    season : Season
    steps : DataFrame
        ``season.steps`` with the fields of `RUNNING`.
    machine : {"compressor", "dehumidifier"}
    """
    hourly = season.hourly
    starts = hourly.filter(items=STARTS[machine]).sum(axis=1)
    minutes = run_minutes(season, steps, machine)
    return Wear(
        starts_per_day=float(starts.sum()) / (len(hourly) / 24.0),
        starts_worst_hour=round(float(starts.max())),
        minutes_per_run=float(np.mean(minutes)) if len(minutes) else None,
        short_runs=tuple(
            float(np.mean(minutes < limit)) if len(minutes) else None for limit in SHORT_RUNS
        ),
    )


def run_minutes(season: Season, steps: pd.DataFrame, machine: str) -> NDArray[np.float64]:
    """Return the length of each run of a machine, minutes; the arguments are those of `wear`."""
    runs = spells((steps[list(RUNNING[machine])].to_numpy(float) > 0.0).any(axis=1))
    return np.asarray((runs[:, 1] - runs[:, 0]) * season.step / 60.0)


def contactor_years(starts_per_day: float, operations: float) -> float | None:
    """Return years until a contactor has closed `operations` times, at the season's daily starts."""
    return operations / (365.0 * starts_per_day) if starts_per_day > 0.0 else None
