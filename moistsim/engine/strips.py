"""The strips: sequenced stages behind an airflow proof, their limit switch, their lockout."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.core.compiled import piece
from moistsim.engine.records import AirHandlerParameters, State

LIMIT_LAG = 30.0
"""Time constant of a limit switch in the air, s (common practice, no source)."""
RESET_BELOW = 15.0
"""Fall below its opening temperature at which a limit switch closes, K (common practice)."""


STILL_HEATING = 2.0e-4
"""Rise of the elements in still air, K/s per W: 5 kW of strips by a kelvin a second (an own round
figure for some 5 kg of steel)."""
STILL_LAG = 600.0
"""Time constant with which hot elements lose their heat to still air, s (an own round figure)."""


class Bank(NamedTuple):
    """Power and stages of the strips in a step."""

    power: float
    """Mean over the step, W."""
    level: float
    """Stages that the sequencer has let on at its end."""
    on: float
    """Stages on at its end; a share only of proportional strips."""


@piece
def strip_power(table: NDArray[np.float64], stages: float) -> float:
    """Power of the first `stages` strips, W; a fraction is a share of the next one."""
    power = 0.0
    left = stages
    for i in range(len(table)):
        if left <= 0.0:
            break
        power += table[i] * min(left, 1.0)
        left -= 1.0
    return power


@piece
def locked_out(unit: AirHandlerParameters, hour: float, month: float) -> bool:
    """Whether a relay keeps the strips off now: spans of hours and of months, each of which may
    go past its midnight or its new year."""
    return _within(hour, unit.lockout_start, unit.lockout_end) and _within(
        month, unit.lockout_first, unit.lockout_last
    )


@piece
def _within(value: float, start: float, end: float) -> bool:
    if start <= end:
        return start <= value < end
    return value >= start or value < end


@piece
def sequence(
    called: float,
    airflow: float,
    state: State,
    unit: AirHandlerParameters,
    table: NDArray[np.float64],
    dt: float,
) -> Bank:
    """Sequence the strips: stages come on one by one and drop together when the call ends.

    The first stage waits until the blower has moved air for the proof time, each further stage
    one delay longer; times shorter than a step count by the share of the step that they leave.
    Proportional strips wait for the air alone.

    Parameters
    ----------
    called : float
        Stages called for, and not refused.
    airflow : float
        Of the blower, in this step.
    table : array
        Power of each stage, W.
    """
    moved = state.blower_time + dt if airflow > 0.0 else 0.0
    proven = min(max(moved - unit.strip_proof_time, 0.0), dt)
    if called <= 0.0 or proven <= 0.0:
        return Bank(0.0, 0.0, 0.0)
    share, delay = proven / dt, unit.strip_stage_delay
    if unit.strip_proportional > 0.0:
        return Bank(strip_power(table, called) * share, called, called)
    start, end = min(max(state.strip_level, 1.0), called), called
    if delay > 0.0:
        end = min(called, start + proven / delay)
    power = 0.0
    for i in range(len(table)):
        wait = i + 1.0 - start
        if i + 1.0 > called:
            break
        if delay > 0.0 and wait > 0.0:
            power += table[i] * max(proven - wait * delay, 0.0) / dt
        else:
            power += table[i] * share
    # A level that should be whole may fall short of it by rounding.
    return Bank(power, end, float(int(end + 1.0e-9)))


class Guarded(NamedTuple):
    """The strips under their limit switch at the end of a step."""

    temperature: float
    """Of the switch, degC."""
    opened: float
    """As `State.strips_open`, s."""
    share: float
    """Of the step's power, what the switch let through."""


@piece
def limit_switch(
    state: State,
    unit: AirHandlerParameters,
    seen: float,
    power: float,
    moves: bool,
    t: float,
    dt: float,
) -> Guarded:
    """The limit switch: it opens above its limit, and closes by itself once the reset time is over
    and it has cooled.

    In moving air it follows what it sees with a lag. In still air the elements keep their heat but
    for what they lose slowly to the air around them, so that it is a matter of a minute or two:
    the switch then opens within the step.

    Parameters
    ----------
    seen : float
        Temperature of the air and the elements at the switch, mean over the step, degC.
    power : float
        Of the strips, W.
    moves : bool
        Whether air moves over them.
    t : float
        Of the air around them, degC.
    """
    guarded = unit.strip_stages > 0.0 and unit.strip_least_flow > 0.0
    share = 1.0
    if not moves and power > 0.0:
        end = t + power * STILL_HEATING * STILL_LAG
        before = state.limit_temperature
        temperature = end + (before - end) * math.exp(-dt / STILL_LAG)
        if guarded and temperature > unit.strip_limit:
            until = 0.0
            if before < unit.strip_limit:
                until = STILL_LAG * math.log((end - before) / (end - unit.strip_limit))
            share = until / dt
            temperature = t + (unit.strip_limit - t) * math.exp((until - dt) / STILL_LAG)
            return Guarded(temperature, max(unit.strip_reset_time - dt + until, dt), share)
        return Guarded(temperature, 0.0, share)
    # Two exponentials of what never changes, which the compiled loop takes once.
    still = not moves and state.strips_open > 0.0
    keeps = math.exp(-dt / STILL_LAG) if still else math.exp(-dt / LIMIT_LAG)
    temperature = seen + (state.limit_temperature - seen) * keeps
    if state.strips_open > 0.0:
        left = max(state.strips_open - dt, 0.0)
        if temperature > unit.strip_limit - RESET_BELOW:
            left = max(left, dt)
        return Guarded(temperature, left, share)
    if unit.strip_stages > 0.0 and temperature > unit.strip_limit:
        return Guarded(temperature, max(unit.strip_reset_time, dt), share)
    return Guarded(temperature, 0.0, share)
