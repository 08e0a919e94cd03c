"""Sensor errors, lost and late messages, stuck relays and a hard-wired enable.

They act between the room and the control, and between the control and the machines. A run with an
exact sensor, plain wires and no fault skips them.
"""

import math

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Calls, CallSet, Readings
from moistsim.core.compiled import piece
from moistsim.engine.records import LineParameters

LOST_READING, LOST_CALL, LATE_READINGS, LATE_CALLS = 1, 2, 4, 8
FROZEN, POWER_CUT, CONTROL_DOWN, FORGETS, RELAYS_OPEN = 16, 32, 64, 128, 256
WELDED, BLOWER_FAILED, FOULED, DEHUMIDIFIER_STOPPED = 512, 1024, 2048, 4096
STUCK_ON = 1 << 13
"""Bit of the first relay of `faults.RELAYS` stuck on; the next bits are the other relays."""
STUCK_OFF = 1 << 19
"""Bit of the first relay of `faults.RELAYS` stuck off; the next bits are the other relays."""
CUT_STRIPS, CUT_HOT_GAS, CUT_SECOND, CUT_COOLING, CUT_DEHUMIDIFIER = 1, 2, 4, 8, 16
# The order of these bits is that of equipment.wires.CUTS, which a test checks.

_CALLS = len(CallSet._fields)
_HEARD, _TEMPERATURE, _RH, _AGE, _ENABLED, _TOLD, _TOLD_AGE = range(7)
_SENT = 7
"""Index of the calls that the control last sent; the calls that the relays hold follow."""
_HELD = _SENT + _CALLS
_RING_AT, _RING_FULL, _CALL_RING_AT, _CALL_RING_FULL = range(_HELD + _CALLS, _HELD + _CALLS + 4)
_RING = _HELD + _CALLS + 4
"""Index of the delayed messages: three floats for each step of delay, and then the calls."""


def line_floats(late_readings: int, late_calls: int) -> int:
    """Number of floats that the line needs in the memory, behind the strategy's own."""
    return _RING + 3 * late_readings + _CALLS * late_calls


@piece
def _rounded(value: float, step: float) -> float:
    """Round a reading to a resolution; 0 keeps it exact."""
    return math.floor(value / step + 0.5) * step if step > 0.0 else value


@piece
def _begins(every: float, now: float, dt: float) -> bool:
    """Whether a new span of `every` seconds of the clock has begun in the step around `now`."""
    return every <= dt or math.floor(now / every) != math.floor((now - dt) / every)


@piece
def hear(
    readings: Readings,
    memory: NDArray[np.float64],
    line: LineParameters,
    bits: int,
    temperature_error: float,
    rh_error: float,
    now: float,
    dt: float,
) -> Readings:
    """Readings as they reach the control, with sensor errors and lost or late messages.

    Parameters
    ----------
    memory : array
        Memory of the strategy, with that of the line behind it.
    bits : int
        Faults of this step.
    temperature_error, rh_error : float
        Sensor errors, K and percent.
    now : float
        Middle of the step, s of the year.
    """
    i = int(line.tail)
    age = memory[i + _AGE] + dt / 60.0
    first = memory[i + _HEARD] == 0.0
    if first or (_begins(line.report_every, now, dt) and bits & LOST_READING == 0):
        if first or bits & FROZEN == 0:
            rh = _rounded(readings.relative_humidity + rh_error, line.humidity_resolution)
            memory[i + _TEMPERATURE] = _rounded(
                readings.temperature + temperature_error, line.temperature_resolution
            )
            # A sensor's scale ends here; no control reads 0 % RH.
            memory[i + _RH] = min(max(rh, 0.1), 100.0)
        age = 0.0
        memory[i + _HEARD] = 1.0
    memory[i + _AGE] = age
    t, rh = memory[i + _TEMPERATURE], memory[i + _RH]
    late = int(line.late_readings)
    if late > 0:
        at = int(memory[i + _RING_AT])
        k = i + _RING + 3 * at
        if bits & LATE_READINGS and memory[i + _RING_FULL] > 0.0:
            t, rh, age = memory[k], memory[k + 1], memory[k + 2] + late * dt / 60.0
        memory[k], memory[k + 1], memory[k + 2] = (
            memory[i + _TEMPERATURE], memory[i + _RH], memory[i + _AGE],
        )  # fmt: skip
        at += 1
        if at == late:
            at = 0
            memory[i + _RING_FULL] = 1.0
        memory[i + _RING_AT] = at
    dew_point = readings.dew_point
    # NaN marks a control that does not read the dew point.
    if not math.isnan(dew_point):
        dew_point = air.dew_point(0.01 * rh * air.saturation_pressure(t))
    return Readings(
        temperature=t,
        relative_humidity=rh,
        dew_point=dew_point,
        outdoor_temperature=readings.outdoor_temperature,
        outdoor_relative_humidity=readings.outdoor_relative_humidity,
        outdoor_dew_point=readings.outdoor_dew_point,
        hour=readings.hour,
        day=readings.day,
        month=readings.month,
        cooling_stage=readings.cooling_stage,
        cooling_minutes=readings.cooling_minutes,
        reheat_stage=readings.reheat_stage,
        heating_stage=readings.heating_stage,
        heating_minutes=readings.heating_minutes,
        dehumidifier_on=readings.dehumidifier_on,
        dehumidifier_minutes=readings.dehumidifier_minutes,
        airflow=readings.airflow,
        occupied=readings.occupied,
        cooling_stages=readings.cooling_stages,
        variable_speed=readings.variable_speed,
        step_minutes=readings.step_minutes,
        message_age=age,
        cooling_set_back=readings.cooling_set_back,
        heating_set_back=readings.heating_set_back,
    )


@piece
def forget(memory: NDArray[np.float64], line: LineParameters, bits: int) -> None:
    """Clear the memory of a control that restarts without it after a power cut."""
    if bits & FORGETS:
        for j in range(int(line.tail)):
            memory[j] = 0.0


@piece
def deliver(
    calls: CallSet,
    memory: NDArray[np.float64],
    line: LineParameters,
    bits: int,
    rh: float,
    now: float,
    dt: float,
) -> CallSet:
    """Pass calls to the machines through lost or late messages and relays.

    Parameters
    ----------
    rh : float
        Relative humidity at the enable's own humidistat, percent.
    """
    i = int(line.tail)
    speaks = bits & (POWER_CUT | CONTROL_DOWN) == 0
    if not speaks and bits & RELAYS_OPEN:
        _hold(memory, i + _HELD, Calls())
        _hold(memory, i + _SENT, Calls())
    first = memory[i + _TOLD] == 0.0
    age = memory[i + _TOLD_AGE] + dt
    if speaks and (
        first or _differs(memory, i + _SENT, calls) or _begins(line.repeat_every, now, dt)
    ):
        _hold(memory, i + _SENT, calls)
        if first or bits & LOST_CALL == 0:
            _hold(memory, i + _HELD, calls)
            age = 0.0
            memory[i + _TOLD] = 1.0
    memory[i + _TOLD_AGE] = age
    told = _held(memory, i + _HELD)
    late = int(line.late_calls)
    if late > 0:
        at = int(memory[i + _CALL_RING_AT])
        k = i + _RING + 3 * int(line.late_readings) + _CALLS * at
        now_told = told
        if bits & LATE_CALLS and memory[i + _CALL_RING_FULL] > 0.0:
            told = _held(memory, k)
        _hold(memory, k, now_told)
        at += 1
        if at == late:
            at = 0
            memory[i + _CALL_RING_FULL] = 1.0
        memory[i + _CALL_RING_AT] = at
    if age > line.release_after:
        told = Calls()
    enabled = 1.0
    if line.enable_cuts > 0.0:
        enabled = memory[i + _ENABLED]
        if rh > line.enable_on:
            enabled = 1.0
        elif rh < line.enable_off:
            enabled = 0.0
        memory[i + _ENABLED] = enabled
    cuts = 0 if enabled > 0.0 else int(line.enable_cuts)
    return through_relays(told, line, bits, cuts)


@piece
def through_relays(told: CallSet, line: LineParameters, bits: int, cuts: int) -> CallSet:
    """Pass calls through relays that may stick, and through the enable's contact."""
    cooling, reheat, heating = told.cooling, told.reheat, told.heating
    dehumidifier, fan = told.dehumidifier, told.fan
    if bits & STUCK_ON:
        cooling = max(cooling, 1.0)
    if bits & STUCK_OFF:
        cooling = 0.0
    if bits & (STUCK_ON << 1) and cooling > 0.0:
        cooling = max(cooling, 2.0)
    if bits & (STUCK_OFF << 1):
        cooling = min(cooling, 1.0)
    if bits & (STUCK_ON << 2):
        reheat = line.strip_stages
    if bits & (STUCK_OFF << 2):
        reheat = 0.0
    if bits & (STUCK_ON << 3):
        heating = max(heating, 1.0)
    if bits & (STUCK_OFF << 3):
        heating = 0.0
    if bits & (STUCK_ON << 4):
        dehumidifier = 1.0
    if bits & (STUCK_OFF << 4):
        dehumidifier = 0.0
    if bits & (STUCK_ON << 5):
        fan = 1.0
    if bits & (STUCK_OFF << 5):
        fan = 0.0
    hot_gas = told.hot_gas
    if cuts & CUT_COOLING:
        cooling = 0.0
    if cuts & CUT_SECOND:
        cooling = min(cooling, 1.0)
    if cuts & CUT_STRIPS:
        reheat = 0.0
    if cuts & CUT_HOT_GAS:
        hot_gas = 0.0
    if cuts & CUT_DEHUMIDIFIER:
        dehumidifier = 0.0
    return CallSet(
        cooling, reheat, heating, dehumidifier, fan, told.airflow, told.ventilation, hot_gas,
        told.slow_down,
    )  # fmt: skip


@piece
def _hold(memory: NDArray[np.float64], k: int, calls: CallSet) -> None:
    """Store calls in the memory from index `k`."""
    for j in range(_CALLS):
        memory[k + j] = calls[j]


@piece
def _held(memory: NDArray[np.float64], k: int) -> CallSet:
    """Calls that the memory holds from index `k`."""
    return CallSet(
        memory[k], memory[k + 1], memory[k + 2], memory[k + 3], memory[k + 4], memory[k + 5],
        memory[k + 6], memory[k + 7], memory[k + 8],
    )  # fmt: skip


@piece
def _differs(memory: NDArray[np.float64], k: int, calls: CallSet) -> bool:
    """Whether calls differ from those in the memory from index `k`."""
    found = False
    for j in range(_CALLS):
        found |= memory[k + j] != calls[j]
    return found
