"""A control asked minute after minute at readings that stand still, its machines in obedience."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

from moistsim.compiled import compiled
from moistsim.strategies.interface import SIGNATURE, Calls, CallSet, Readings


@compiled
def since(minutes: float, was: float, now: float, step: float) -> float:
    """Minutes since a machine last started or stopped, after one more step."""
    return minutes + step if (was > 0.0) == (now > 0.0) else step


@compiled
def answered(readings: Readings, calls: CallSet) -> Readings:
    """The readings of the next minute, in which the machines do what they were called to.

    Their own refusals are left out: what is asked for here is what the control wants.
    """
    r, step = readings, readings.step_minutes
    cooling = min(max(calls.cooling, 0.0), r.cooling_stages)
    heating = min(max(calls.heating, 0.0), 2.0) if cooling == 0.0 else 0.0
    dehumidifier = 1.0 if calls.dehumidifier > 0.0 else 0.0
    moving = cooling > 0.0 or heating > 0.0 or calls.fan > 0.0
    airflow = calls.airflow if calls.airflow > 0.0 else 1.0
    return Readings(
        r.temperature,
        r.relative_humidity,
        r.dew_point,
        r.outdoor_temperature,
        r.outdoor_relative_humidity,
        r.outdoor_dew_point,
        r.hour,
        r.day,
        r.month,
        cooling,
        since(r.cooling_minutes, r.cooling_stage, cooling, step),
        max(calls.reheat, 0.0) if cooling > 0.0 else 0.0,
        heating,
        since(r.heating_minutes, r.heating_stage, heating, step),
        dehumidifier,
        since(r.dehumidifier_minutes, r.dehumidifier_on, dehumidifier, step),
        airflow if moving else 0.0,
        r.occupied,
        r.cooling_stages,
        r.variable_speed,
        step,
        r.message_age,
        r.cooling_set_back,
        r.heating_set_back,
    )


def hold(
    control: Callable[..., CallSet],
    readings: Readings,
    memory: NDArray[np.float64],
    settings: NDArray[np.float64],
    minutes: int,
) -> tuple[CallSet, Readings]:
    """What the control calls after `minutes` at these readings, and what it reads next.

    Parameters
    ----------
    control : callable
        `Strategy.compiled`.
    readings : Readings
        Of the first minute; only what tells of the machines moves from there.
    memory : array
        The control's; moves as in a run.
    """
    calls = Calls()
    for _ in range(minutes):
        calls = control(readings, memory, settings)
        readings = answered(readings, calls)
    return calls, readings


@lru_cache(maxsize=1)
def holding() -> Callable[..., tuple[CallSet, Readings]]:
    """`hold`, compiled once for every strategy."""
    if numba.config.DISABLE_JIT:
        return hold
    floats = numba.types.Array(numba.float64, 1, "C")

    def tuple_of(kind: Any) -> Any:
        return numba.types.NamedUniTuple(numba.float64, len(kind._fields), kind)

    signature = numba.types.Tuple((tuple_of(CallSet), tuple_of(Readings)))(
        numba.types.FunctionType(SIGNATURE), tuple_of(Readings), floats, floats, numba.int64
    )
    ready: Callable[..., tuple[CallSet, Readings]] = compiled(hold, signature=signature)
    return ready
