"""Arrays that a run keeps: hourly sums of its steps, states between hours, and traced steps."""

import math
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.controls import CallSet
from moistsim.core.compiled import piece
from moistsim.engine.metering import GROUPS, Step, Working
from moistsim.engine.records import State
from moistsim.engine.rows import adder, reader, writer

_SIZES = [len(kind._fields) for kind in GROUPS.values()]
(
    _add_room, _add_power, _add_air, _add_water, _add_heat, _add_coil, _add_heating,
    _add_dehumidifier, _add_ducts, _add_vapor, _add_room_heat, _add_refusals,
) = (adder(first) for first in accumulate(_SIZES[:-1], initial=0))  # fmt: skip


@piece
def add_to(table: NDArray[np.float64], row: int, step: Step, working: Working) -> None:
    """Add a step's values to a row of a table, for the groups at work."""
    _add_room(table, row, step.room)
    _add_power(table, row, step.power)
    _add_air(table, row, step.air)
    _add_water(table, row, step.water)
    _add_heat(table, row, step.heat)
    if working.coil:
        _add_coil(table, row, step.coil)
    if working.heating:
        _add_heating(table, row, step.heating)
    if working.dehumidifier:
        _add_dehumidifier(table, row, step.dehumidifier)
    if working.ducts:
        _add_ducts(table, row, step.ducts)
    if working.vapor:
        _add_vapor(table, row, step.vapor)
    if working.room_heat:
        _add_room_heat(table, row, step.room_heat)
    if working.refusals:
        _add_refusals(table, row, step.refusals)


store = writer()
"""Function that writes a state to a row of a table."""
load = reader(State)
"""Function that reads the state that `store` wrote."""

LOGGED = (
    "temperature", "relative_humidity", "limit_switch_open", "own_humidistat", *CallSet._fields,
    *(f"told_{name}" for name in CallSet._fields),
)  # fmt: skip
"""Columns of the log of a traced step, next to its `Step`.
First are the control's readings of the room (degC, percent). The strips' limit switch (1 if
open) and the dehumidifier's own humidistat (1 if it calls) are those at the end of the step.
The control's calls follow. The calls at the machines are last, if wires can change them."""
CALLED, TOLD = LOGGED.index("cooling"), LOGGED.index("told_cooling")
"""Columns of `LOGGED` at which the calls begin: the control's, and those at the machines."""
log_called, log_told = writer(CALLED), writer(TOLD)
"""Functions that write calls to a row of a table of `LOGGED`."""


@piece
def log_stages(table: NDArray[np.float64], h: int, before: float, after: float) -> None:
    """Count a step in the running stage, and a start of each stage that it rose to.

    Between two stages the higher one counts as running.
    """
    stage = math.ceil(after)
    if stage > 0:
        table[h, 2 * stage - 2] += 1.0
        for risen in range(math.ceil(before) + 1, stage + 1):
            table[h, 2 * risen - 1] += 1.0


@piece
def log_hottest(
    table: NDArray[np.float64], h: int, supply: float, switch: float, trips: float, limit: float
) -> None:
    """Keep the hour's highest temperatures of the supply air and of the strips' limit switch.

    A switch that trips within the step was at its limit.
    """
    table[h, 0] = max(table[h, 0], supply)
    table[h, 1] = max(table[h, 1], switch)
    if trips > 0.0:
        table[h, 1] = max(table[h, 1], limit)


class Record(NamedTuple):
    """Arrays that a run fills, one row an hour."""

    hourly: NDArray[np.float64]
    """Sums over the hour's steps of all `STEP_FIELDS`."""
    states: NDArray[np.float64]
    """State at the end of the hour."""
    memories: NDArray[np.float64]
    """The strategy's memory at the end of the hour."""
    stages: NDArray[np.float64]
    """Steps run in each cooling stage, and starts of it or a higher one from below it."""
    quarters: NDArray[np.float64]
    """Electric power by quarter of an hour, W."""
    trace: NDArray[np.float64]
    """Values of `STEP_FIELDS`, one row a step; empty without a trace."""
    hottest: NDArray[np.float64]
    """Maximum over the hour's steps, degC: supply air, and the strips' limit switch."""
    log: NDArray[np.float64]
    """Values of `LOGGED`, one row a step; empty without a trace."""
