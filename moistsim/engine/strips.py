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
"""Temperature rise of the elements in still air, K/s per W.

Strips of 5 kW warm by one kelvin a second: our own round figure for some 5 kg of steel."""
STILL_LAG = 600.0
"""Time constant of the heat loss of hot elements to still air, s (our own round figure)."""


class Bank(NamedTuple):
    """Power and stages of the strips in a step."""

    power: float
    """Mean power over the step, W."""
    level: float
    """Stages that the sequencer has turned on at the end of the step."""
    on: float
    """Stages on at the end of the step; only proportional strips run a share of a stage."""


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
    """Whether a relay keeps the strips off at this hour and month.

    The span of hours may pass midnight, and the span of months the new year.
    """
    return _within(hour, unit.lockout_start, unit.lockout_end) and _within(
        month, unit.lockout_first, unit.lockout_last
    )


@piece
def _within(value: float, start: float, end: float) -> bool:
    """Whether a value is in a span that may pass its wrap-around."""
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

    The first stage waits until the blower has moved air for the proof time. Each further stage
    waits one delay longer. A time shorter than a step counts as a share of the step. Proportional
    strips wait for the proof time only.

    Parameters
    ----------
    called : float
        Stages called for, and not refused.
    airflow : float
        Airflow of the blower in this step.
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
    # Rounding may leave a whole level slightly too low.
    return Bank(power, end, float(int(end + 1.0e-9)))


class Guarded(NamedTuple):
    """The strips under their limit switch at the end of a step."""

    temperature: float
    """Temperature of the limit switch at the end of the step, degC."""
    opened: float
    """Minimum time that the limit switch still stays open, s; 0 while it is closed."""
    share: float
    """Share of the step's power that the limit switch let through."""


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
    """Move the strips' limit switch through a step.

    The switch opens above its limit. It closes by itself after the reset time, once it has cooled.
    In moving air it follows the temperature `seen` with a lag. In still air the elements lose heat
    slowly and reach the limit within a minute or two, and the switch opens within the step.

    Parameters
    ----------
    seen : float
        Temperature of the air and the elements at the switch, mean over the step, degC.
    power : float
        Power of the strips, W.
    moves : bool
        Whether air moves over the strips.
    t : float
        Dry bulb of the air around the strips, degC.
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
    # Both exponents are constant, so the compiled loop calculates each exponential once.
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
