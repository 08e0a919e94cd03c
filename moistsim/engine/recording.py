"""What a run keeps: the hours' sums of its steps, the states between them, and traced steps."""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.controls import CallSet
from moistsim.core.compiled import piece
from moistsim.engine.records import FIRST_OF_GROUP, State, Step, Working
from moistsim.engine.rows import adder, reader, writer

_BOUNDS = [0, *(Step._fields.index(name) for name in FIRST_OF_GROUP), len(Step._fields)]
add_room, add_coil, add_heat, add_dryer, add_ducts, add_vapor, add_refused = (
    adder(first, last) for first, last in pairwise(_BOUNDS)
)


@piece
def add_to(table: NDArray[np.float64], row: int, step: Step, working: Working) -> None:
    """Add a step's values to a row of a table, those of the groups that have any."""
    add_room(table, row, step)
    if working.coil:
        add_coil(table, row, step)
    if working.heat:
        add_heat(table, row, step)
    if working.dryer:
        add_dryer(table, row, step)
    if working.ducts:
        add_ducts(table, row, step)
    if working.vapor:
        add_vapor(table, row, step)
    if working.refused:
        add_refused(table, row, step)


store = writer()
"""Write a state to a row of a table."""
load = reader(State)
"""The state that `store` wrote."""

LOGGED = (
    "temperature", "relative_humidity", "limit_switch_open", "own_humidistat", *CallSet._fields,
    *(f"told_{name}" for name in CallSet._fields),
)  # fmt: skip
"""What a traced step is logged by beside its `Step`: what the control read of the room (degC, per
cent), whether the strips' limit switch is open and the dehumidifier's own humidistat calls at the
step's end, the control's calls and, where wires can change them, what the machines were told."""
CALLED, TOLD = LOGGED.index("cooling"), LOGGED.index("told_cooling")
"""Columns of `LOGGED` from which calls stand."""
log_called, log_told = writer(CALLED), writer(TOLD)
"""Write calls to a row of a table of `LOGGED`."""


class Record(NamedTuple):
    """The arrays that a run fills, one row an hour."""

    hourly: NDArray[np.float64]
    """Sums over the hour's steps of every field of `Step`."""
    states: NDArray[np.float64]
    """`State` at the end of the hour."""
    memories: NDArray[np.float64]
    """The strategy's memory at the end of the hour."""
    stages: NDArray[np.float64]
    """Per cooling stage: steps run in it, and starts of it or of a higher one from below it."""
    quarters: NDArray[np.float64]
    """Electric power by quarter of an hour, W."""
    trace: NDArray[np.float64]
    """One row a step, or none."""
    hottest: NDArray[np.float64]
    """Highest of the hour's steps, degC: of the supply air, and of the strips' limit switch."""
    log: NDArray[np.float64]
    """`LOGGED`: one row a step, or none."""
