"""A control called minute after minute at constant readings, with machines that obey it."""

from collections.abc import Callable
from functools import lru_cache

import numba
import numpy as np
from numpy.typing import NDArray

from moistsim.controls import SIGNATURE, Calls, CallSet, Readings
from moistsim.core.compiled import compiled, piece
from moistsim.engine.rows import reader

readings_at = reader(Readings)


@piece
def since(minutes: float, was: float, now: float, step: float) -> float:
    """Minutes since a machine last started or stopped, after one more step."""
    return minutes + step if (was > 0.0) == (now > 0.0) else step


@piece
def answered(readings: Readings, calls: CallSet) -> Readings:
    """Readings of the next minute, in which the machines follow the calls.

    Machines refuse no calls here, because the subject is the control's intention.
    """
    r, step = readings, readings.step_minutes
    cooling = min(max(calls.cooling, 0.0), r.cooling_stages)
    heating = min(max(calls.heating, 0.0), 2.0) if cooling == 0.0 else 0.0
    dehumidifier = 1.0 if calls.dehumidifier > 0.0 else 0.0
    moving = cooling > 0.0 or heating > 0.0 or calls.fan > 0.0
    airflow = 0.0
    if moving:
        airflow = calls.airflow if calls.airflow > 0.0 else 1.0
    reheat = max(calls.reheat, 0.0) if cooling > 0.0 else 0.0
    return Readings(
        temperature=r.temperature,
        relative_humidity=r.relative_humidity,
        dew_point=r.dew_point,
        outdoor_temperature=r.outdoor_temperature,
        outdoor_relative_humidity=r.outdoor_relative_humidity,
        outdoor_dew_point=r.outdoor_dew_point,
        hour=r.hour,
        day=r.day,
        month=r.month,
        cooling_stage=cooling,
        cooling_minutes=since(r.cooling_minutes, r.cooling_stage, cooling, step),
        reheat_stage=reheat,
        heating_stage=heating,
        heating_minutes=since(r.heating_minutes, r.heating_stage, heating, step),
        dehumidifier_on=dehumidifier,
        dehumidifier_minutes=since(r.dehumidifier_minutes, r.dehumidifier_on, dehumidifier, step),
        airflow=airflow,
        occupied=r.occupied,
        cooling_stages=r.cooling_stages,
        variable_speed=r.variable_speed,
        step_minutes=step,
        message_age=r.message_age,
        cooling_set_back=r.cooling_set_back,
        heating_set_back=r.heating_set_back,
    )


@piece
def row_of(table: NDArray[np.float64], i: int, machines: NDArray[np.float64], j: int) -> Readings:
    """Readings of row `i`, with the machines of row `j` of the other table."""
    r, m = readings_at(table, i), readings_at(machines, j)
    return Readings(
        temperature=r.temperature,
        relative_humidity=r.relative_humidity,
        dew_point=r.dew_point,
        outdoor_temperature=r.outdoor_temperature,
        outdoor_relative_humidity=r.outdoor_relative_humidity,
        outdoor_dew_point=r.outdoor_dew_point,
        hour=r.hour,
        day=r.day,
        month=r.month,
        cooling_stage=m.cooling_stage,
        cooling_minutes=m.cooling_minutes,
        reheat_stage=m.reheat_stage,
        heating_stage=m.heating_stage,
        heating_minutes=m.heating_minutes,
        dehumidifier_on=m.dehumidifier_on,
        dehumidifier_minutes=m.dehumidifier_minutes,
        airflow=m.airflow,
        occupied=r.occupied,
        cooling_stages=r.cooling_stages,
        variable_speed=r.variable_speed,
        step_minutes=r.step_minutes,
        message_age=r.message_age,
        cooling_set_back=r.cooling_set_back,
        heating_set_back=r.heating_set_back,
    )


def lead(
    control: Callable[..., CallSet],
    table: NDArray[np.float64],
    memory: NDArray[np.float64],
    settings: NDArray[np.float64],
    minutes: int,
    afresh: int,
    calls_table: NDArray[np.float64],
    memories: NDArray[np.float64],
) -> None:
    """Run a control through rows of readings, each constant for so many minutes.

    Parameters
    ----------
    control : callable
        `Strategy.compiled`.
    table : array
        Rows of `Readings`. The readings of the machines start from the first row and follow the
        calls from there. At return, the readings after each row.
    memory : array
        Memory of the control at the start; at return, at the end.
    afresh : int
        1 to begin every row with its own machines and an empty memory.
    calls_table, memories : array
        Gain the calls of each row's last minute, and the memory after it.
    """
    for i in range(table.shape[0]):
        if afresh > 0:
            memory[:] = 0.0
        readings = row_of(table, i, table, i if afresh > 0 or i == 0 else i - 1)
        calls = Calls()
        for _ in range(minutes):
            calls = control(readings, memory, settings)
            readings = answered(readings, calls)
        for k in range(table.shape[1]):
            table[i, k] = readings[k]
        for k in range(calls_table.shape[1]):
            calls_table[i, k] = calls[k]
        memories[i, :] = memory


@lru_cache(maxsize=1)
def leading() -> Callable[..., None]:
    """Function `lead`, compiled once for every strategy."""
    if numba.config.DISABLE_JIT:
        return lead
    floats = numba.types.Array(numba.float64, 1, "C")
    table = numba.types.Array(numba.float64, 2, "C")
    signature = numba.void(
        numba.types.FunctionType(SIGNATURE), table, floats, floats, numba.int64, numba.int64,
        table, table,
    )  # fmt: skip
    ready: Callable[..., None] = compiled(lead, allocates=True, signature=signature)
    return ready
