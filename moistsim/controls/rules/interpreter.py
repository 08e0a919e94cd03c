"""Runs a rule table: one compiled function for every table, whose rows travel as floats.

The array of settings begins with `HEAD` floats. Each row follows with `ROW` floats, and then its
conditions, windows and whiles. Readings are named by their places in the memory.
"""

from collections.abc import Callable
from enum import IntEnum
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import SIGNATURE, CallSet, Readings
from moistsim.core.compiled import compiled

IN_MINUTES = tuple(name for name in Readings._fields if name.endswith("_minutes")) + (
    "message_age",
)
"""Readings in minutes; rows compare them in seconds, like all other times."""
_MINUTES = tuple(Readings._fields.index(name) for name in IN_MINUTES)
_STEP = Readings._fields.index("step_minutes")

NOTHING = len(Readings._fields)
"""Place in the memory of a number that is always zero, after those of `Readings`."""
COOLING_SETPOINT, HEATING_SETPOINT = NOTHING + 1, NOTHING + 2
"""Places in the memory of the thermostat's setpoints, degC, with the present set-back."""
OUTPUTS = HEATING_SETPOINT + 1
"""Place of the first call in the memory, in the order of `Output`."""


class Output(IntEnum):
    """Outputs that a row may call, in the order of `CallSet`."""

    COOLING = 0
    STRIPS = 1
    HEATING = 2
    DEHUMIDIFIER = 3
    BLOWER = 4
    BLOWER_SPEED = 5
    VENTILATION = 6
    HOT_GAS = 7
    SLOW_DOWN = 8


_SPEED, _VENTILATION = OUTPUTS + 5, OUTPUTS + 6
"""Places of the two outputs whose lowest call counts; for the others the highest call counts."""

RUNNING = OUTPUTS + len(Output)
"""Place of a number with a bit for each row that is on."""
MOST_ROWS = 50
"""Maximum number of rows: one float holds a bit for each of them without loss."""
STATES = RUNNING + 1
"""Place of the first row's state: its phase and its timer."""
IDLE, WAITING, ON, SPENT = 0.0, 1.0, 2.0, 3.0
"""Phases of a row: off, waiting for its `for` to pass, on, and stopped by `at_most`.

A row stopped by `at_most` remains off until its condition has been false.
"""

HEAD = 3
"""Number of floats ahead of the rows: count of rows, cooling setpoint, heating setpoint."""
ROW = 13
"""Number of floats at the start of a row.

They are the row's length, output, level, `for`, `at_most`, the first condition of `when`, and the
counts of further conditions of `when`, releases, windows and whiles.
"""
CONDITION = 4
"""Number of floats of a condition: left reading, right reading, sign and limit.

The sign is 1 for above and -1 for below. The condition holds if the sign times the difference of
the readings is above the limit.
"""
WINDOW = 3
"""Number of floats of a window: reading, first value, and the value at which the window ends.

A window that ends before its first value spans midnight or New Year.
"""
WHILE = 2
"""Number of floats of a while: 1 if a row of its set must be on or 0 if none may, and the set.

The set has one bit for each row.
"""


@compiled(inline=True)
def _holds(memory: NDArray[np.float64], settings: NDArray[np.float64], at: int) -> bool:
    left, right = memory[int(settings[at])], memory[int(settings[at + 1])]
    return bool(settings[at + 2] * (left - right) > settings[at + 3])


@compiled(inline=True)
def _called(memory: NDArray[np.float64], settings: NDArray[np.float64], row: int) -> bool:
    """Whether all conditions of the row's `when` hold."""
    holds = _holds(memory, settings, row + 5)
    at = row + ROW
    for _ in range(int(settings[row + 9])):
        holds &= _holds(memory, settings, at)
        at += CONDITION
    return holds


@compiled(inline=True)
def _may_be_on(
    memory: NDArray[np.float64], settings: NDArray[np.float64], row: int, running: int
) -> bool:
    """Whether nothing releases the row, its windows are open and its whiles true."""
    at = row + ROW + CONDITION * int(settings[row + 9])
    may = True
    for _ in range(int(settings[row + 10])):
        may &= not _holds(memory, settings, at)
        at += CONDITION
    for _ in range(int(settings[row + 11])):
        value, first, end = memory[int(settings[at])], settings[at + 1], settings[at + 2]
        begun, ended = value >= first, value >= end
        may &= (begun & (not ended)) if first < end else (begun | (not ended))
        at += WINDOW
    for _ in range(int(settings[row + 12])):
        may &= ((running & int(settings[at + 1])) != 0) == (settings[at] > 0.0)
        at += WHILE
    return may


def interpret(
    readings: Readings, memory: NDArray[np.float64], settings: NDArray[np.float64]
) -> CallSet:
    """Calls of a rule table in this step; `rules.rule_table` explains the rows.

    Parameters
    ----------
    readings : Readings
    memory : array
        Readings and calls of this step, then phase and timer of each row.
    settings : array
        As `RuleTable.packed_settings` packs it.
    """
    # numba indexes a named tuple through a table of branches. An array does not need one.
    place = 0
    for reading in readings:
        memory[place] = reading
        place += 1  # noqa: SIM113 - numba unrolls a loop over a tuple, not over its enumeration
    for place in _MINUTES:
        memory[place] *= 60.0
    step = memory[_STEP]
    memory[NOTHING] = 0.0
    memory[COOLING_SETPOINT] = settings[1] + readings.cooling_set_back
    memory[HEATING_SETPOINT] = settings[2] - readings.heating_set_back
    for output in range(OUTPUTS, RUNNING):
        memory[output] = 0.0
    memory[_SPEED] = memory[_VENTILATION] = np.inf
    # One bit for each row that is on. Rows already evaluated have their bit of this step, the
    # others that of the last step.
    running, bit = int(memory[RUNNING]), 1
    row, state = HEAD, STATES
    for _ in range(int(settings[0])):
        phase = memory[state]
        held = phase == ON or _called(memory, settings, row)
        if not held:
            phase = IDLE
        elif phase != SPENT:
            if not _may_be_on(memory, settings, row, running):
                phase = IDLE
            elif phase == ON:
                memory[state + 1] += step
                if memory[state + 1] >= settings[row + 4]:
                    phase = SPENT
            else:
                memory[state + 1] = memory[state + 1] + step if phase == WAITING else 0.0
                phase = WAITING
                if memory[state + 1] >= settings[row + 3]:
                    memory[state + 1] = 0.0
                    phase = ON
        memory[state] = phase
        running &= ~bit
        if phase == ON:
            running |= bit
            at, level = OUTPUTS + int(settings[row + 1]), settings[row + 2]
            lowest = _SPEED <= at <= _VENTILATION
            memory[at] = min(memory[at], level) if lowest else max(memory[at], level)
        row += int(settings[row])
        state += 2
        bit <<= 1
    memory[RUNNING] = float(running)
    speed, ventilation = memory[_SPEED], memory[_VENTILATION]
    return CallSet(
        memory[OUTPUTS],
        memory[OUTPUTS + 1],
        memory[OUTPUTS + 2],
        memory[OUTPUTS + 3],
        memory[OUTPUTS + 4],
        0.0 if speed == np.inf else speed,
        1.0 if ventilation == np.inf else ventilation,
        memory[OUTPUTS + 7],
        memory[OUTPUTS + 8],
    )


@lru_cache(maxsize=1)
def compiled_interpreter() -> Callable[..., CallSet]:
    """The function `interpret` in compiled form; compiled at the first call and not at import."""
    function: Any = compiled(interpret, signature=SIGNATURE)
    return function  # type: ignore[no-any-return]
