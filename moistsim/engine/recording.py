"""What a run keeps: the hours' sums of its steps, the states between them, and traced steps."""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numba.extending import register_jitable
from numpy.typing import NDArray

from moistsim.compiled import compiled
from moistsim.engine.records import (
    FIRST_OF_GROUP,
    State,
    Step,
    Working,
)
from moistsim.strategies.interface import CallSet


def _unrolled(name: str, body: str) -> Callable[..., Any]:
    """A function of one long line a field, which numba's own unrolling runs far slower."""
    scope: dict[str, Any] = {"__name__": __name__, "State": State}
    exec(compile(f"def {name}{body}", __file__, "exec"), scope)
    function: Callable[..., Any] = scope[name]
    # Compiled into what calls it alone: to make it ready for calls from Python as well, which would
    # unpack dozens of fields, costs a cold compile a second or two.
    register_jitable(forceinline=True, _nrt=False)(function)
    return function


def _adding(name: str, first: int, last: int) -> Callable[..., Any]:
    """A function that adds the fields of a step from `first` up to `last` to a row."""
    lines = (f"    table[row, {j}] += values[{j}]\n" for j in range(first, last))
    return _unrolled(name, "(table, row, values):\n" + "".join(lines))


_BOUNDS = [0, *(Step._fields.index(name) for name in FIRST_OF_GROUP), len(Step._fields)]
add_room, add_coil, add_heat, add_dryer, add_ducts, add_vapour, add_refused = (
    _adding(f"add_{name}", first, last)
    for name, first, last in zip(("room", *Working._fields), _BOUNDS[:-1], _BOUNDS[1:], strict=True)
)


@compiled(inline=True)
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
    if working.vapour:
        add_vapour(table, row, step)
    if working.refused:
        add_refused(table, row, step)


store = _unrolled(
    "store",
    "(table, row, values):\n"
    + "".join(f"    table[row, {j}] = values[{j}]\n" for j in range(len(State._fields))),
)
"""Write a state to a row of a table."""
load = _unrolled(
    "load",
    "(table):\n    return State("
    + ", ".join(f"{name}=table[0, {j}]" for j, name in enumerate(State._fields))
    + ")\n",
)
"""The state that `store` wrote."""

LOGGED = (
    "temperature", "relative_humidity", "limit_switch_open", "own_humidistat", *CallSet._fields,
    *(f"told_{name}" for name in CallSet._fields),
)  # fmt: skip
"""What a traced step is logged by beside its `Step`: what the control read of the room (degC, per
cent), whether the strips' limit switch is open and the dehumidifier's own humidistat calls at the
step's end, the control's calls and, where wires can change them, what the machines were told."""
log_calls = _unrolled(
    "log_calls",
    "(table, row, first, calls):\n"
    + "".join(f"    table[row, first + {j}] = calls[{j}]\n" for j in range(len(CallSet._fields))),
)
"""Write calls to a row of a table of `LOGGED`, from the column `first` on."""
CALLED, TOLD = LOGGED.index("cooling"), LOGGED.index("told_cooling")
"""Columns of `LOGGED` from which calls stand."""


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
