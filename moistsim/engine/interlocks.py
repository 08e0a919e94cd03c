"""Interlocks that let machines follow or refuse a call: minimum times, lockouts, tripped switches.

A call that a machine would not follow is refused under any strategy. Each reason has its bit.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.controls import CallSet
from moistsim.core.compiled import piece
from moistsim.engine.records import (
    AirHandlerParameters,
    DehumidifierParameters,
    StageParameters,
    State,
)
from moistsim.equipment import LEAST_BLOWER_FLOW

MINIMUM_TIME, OUTDOOR_COLD, COIL_FROST, HEAT_AGAINST_COOL = 1, 2, 4, 8
REHEAT_ALONE, LOW_AIRFLOW, DEHUMIDIFIER_COLD, NOT_INSTALLED = 16, 32, 64, 128
STRIPS_TRIPPED, STRIPS_LOCKED_OUT, BUCKET_FULL, ROOM_HOT = 256, 512, 1024, 2048
HOTTEST_RETURN = 38.0
"""Room temperature above which a heat pump trips on its pressure, and other heating on its limit, degC.

It is our own round figure. No working thermostat heats there."""
# The order of these bits is that of metering.REFUSALS, which a test checks.

_FLOW_COLUMN = StageParameters._fields.index("flow")


class Conditions(NamedTuple):
    """Conditions, apart from the state, that decide whether a machine may run."""

    t_out: float
    """Outdoor dry bulb, degC."""
    t_inlet: float
    """Dry bulb of the dehumidifier's inlet air, degC."""
    locked_out: bool = False
    """Whether a relay locks out the strips."""
    blower_works: bool = True
    """Whether the blower turns when its relay closes.
    With a failed blower, cold coil, hot condenser and furnace protect themselves. Strips
    depend only on the relay."""
    dehumidifier_works: bool = True
    """Whether the dehumidifier runs when called."""
    powered: bool = True
    """Whether the house has power."""


class Running(NamedTuple):
    """Stage or speed of each machine in a step, and refusals."""

    cooling: float
    """Cooling stage that runs; 0 while the compressor is off."""
    reheat: float
    """Strip stages; only proportional strips run a share of one."""
    heating: float
    """Heating stage that runs; 0 without heating."""
    heat_pump: float
    """1 if the heat pump heats."""
    backup: float
    """1 if the strips run as heat."""
    dehumidifier: float
    """1 if the dehumidifier runs."""
    airflow: float
    """Airflow of the blower while it runs, as a fraction of full flow."""
    fan_share: float
    """Share of the step for which the blower runs; below 1 only where a fan-off delay ends."""
    hot_gas: float
    """Share of the hot gas that heats the air, 0 to 1."""
    furnace: float
    """1 if the furnace heats."""
    refused: int
    """Bit mask of the reasons for which calls are refused."""


@piece
def _whole(value: float) -> float:
    """Call as a whole stage; 0 for any call that is not above 0."""
    # Limited, because a number beyond all integers converts to an undefined one.
    return float(int(min(value, 1.0e6) + 0.5)) if value > 0.0 else 0.0


@piece
def _called(value: float, variable: float) -> float:
    """Call for cooling as a stage at which the compressor can run.

    A variable-speed compressor runs at any point from its lowest stage up. Any other runs in whole
    stages.
    """
    if variable > 0.0 and value > 1.0:
        return min(value, 1.0e6)
    return _whole(value)


@piece
def stage_flow(table: NDArray[np.float64], stage: float) -> float:
    """Airflow of a stage, counted from 1, as a fraction of full flow; linear between stages."""
    i = int(stage) - 1
    j = min(i + 1, len(table) - 1)
    low, high = table[i, _FLOW_COLUMN], table[j, _FLOW_COLUMN]
    return float(low + (stage - 1.0 - i) * (high - low))


@piece
def obeyed_cooling(
    call: float, state: State, unit: AirHandlerParameters, t_out: float
) -> tuple[float, int]:
    """Stage at which the compressor would run, and the reasons for refusals."""
    refused = 0
    cooling = _called(call, unit.variable)
    if cooling > unit.stages:
        refused |= NOT_INSTALLED
        cooling = unit.stages
    if state.cooling_stage > 0.0:
        if state.frosted > 0.0:
            # Frost stops the compressor now: protecting it comes before its minimum on time.
            return 0.0, refused | COIL_FROST
        if cooling == 0.0 and state.cooling_time < unit.minimum_on:
            return state.cooling_stage, refused | MINIMUM_TIME
    elif cooling > 0.0:
        if state.frosted > 0.0:
            return 0.0, refused | COIL_FROST
        if (
            min(state.cooling_time, state.heating_time) < unit.minimum_off
            or state.heating_time < unit.changeover_delay
        ):
            return 0.0, refused | MINIMUM_TIME
        if t_out < unit.low_outdoor_limit:
            return 0.0, refused | OUTDOOR_COLD
        if state.heating_stage > 0.0:
            return 0.0, refused | HEAT_AGAINST_COOL
    return cooling, refused


@piece
def heater_of(unit: AirHandlerParameters) -> float:
    """A number above 0 if anything heats the house."""
    return max(unit.heat_capacity, unit.furnace_capacity, unit.strip_stages, unit.room_heater)


@piece
def obeyed_heating(
    call: float, cooling: float, state: State, unit: AirHandlerParameters
) -> tuple[float, int]:
    """Stage of heating for any heating machine, and the reasons for refusals."""
    refused = 0
    heating = min(_whole(call), 2.0)
    if heating > 0.0 and heater_of(unit) == 0.0:
        refused |= NOT_INSTALLED
        heating = 0.0
    # Cooling that stops in this step also blocks heating: its off time has not begun to count.
    if heating > 0.0 and (cooling > 0.0 or state.cooling_stage > 0.0):
        return 0.0, refused | HEAT_AGAINST_COOL
    if state.heating_stage > 0.0:
        if heating == 0.0 and state.heating_time < unit.minimum_on:
            return state.heating_stage, refused | MINIMUM_TIME
    elif heating > 0.0 and (
        min(state.heating_time, state.cooling_time) < unit.minimum_off
        or state.cooling_time < unit.changeover_delay
    ):
        return 0.0, refused | MINIMUM_TIME
    return heating, refused


@piece
def obeyed_reheat(
    call: float,
    cools: bool,
    backup: float,
    state: State,
    unit: AirHandlerParameters,
    locked_out: bool,
) -> tuple[float, float, int]:
    """Strip stages as reheat, 1 if strips may run as heat, and the reasons for refusals."""
    refused = 0
    reheat = call if call > 0.0 else 0.0
    if reheat > unit.strip_stages:
        refused |= NOT_INSTALLED
        reheat = unit.strip_stages
    if unit.strip_proportional == 0.0:
        reheat = _whole(reheat)
    if reheat > 0.0 and not cools:
        refused |= REHEAT_ALONE
        reheat = 0.0
    if reheat > 0.0 or backup > 0.0:
        if locked_out:
            return 0.0, 0.0, refused | STRIPS_LOCKED_OUT
        if state.strips_open > 0.0:
            # The blower still runs, to cool the elements.
            return 0.0, 0.0, refused | STRIPS_TRIPPED
    return reheat, backup, refused


@piece
def obeyed_hot_gas(call: float, cooling: float, unit: AirHandlerParameters) -> tuple[float, int]:
    """Share of the hot gas that the machine would deliver, and the reasons for refusals."""
    if not call > 0.0:
        return 0.0, 0
    if unit.hot_gas_share == 0.0:
        return 0.0, NOT_INSTALLED
    refused = NOT_INSTALLED if call > 1.0 else 0
    if cooling == 0.0:
        return 0.0, refused | REHEAT_ALONE
    return min(call, 1.0), refused


@piece
def obeyed_airflow(
    calls: CallSet, cooling: float, cools: bool, heating: float, furnace: float, state: State,
    unit: AirHandlerParameters, stages: NDArray[np.float64], dt: float,
) -> tuple[float, float, int]:  # fmt: skip
    """Blower speed as a fraction of full flow, its share of the step, and reasons for refusals."""
    refused = 0
    airflow, share = 0.0, 1.0
    if cools:
        airflow = stage_flow(stages, max(cooling, 1.0))
    elif heating > 0.0 and unit.room_heater == 0.0:
        airflow = unit.furnace_flow if furnace > 0.0 else 1.0
    elif calls.fan > 0.0:
        airflow = unit.fan_airflow
    if airflow > 0.0 and calls.airflow > 0.0:
        airflow = calls.airflow
        if airflow > 1.0:
            refused |= NOT_INSTALLED
            airflow = 1.0
        elif airflow < LEAST_BLOWER_FLOW:
            refused |= LOW_AIRFLOW
            airflow = LEAST_BLOWER_FLOW
    if cools and calls.slow_down > 0.0:
        airflow *= 1.0 - min(calls.slow_down, 0.5)
        if airflow < LEAST_BLOWER_FLOW or calls.slow_down > 0.5:
            refused |= LOW_AIRFLOW
            airflow = max(airflow, LEAST_BLOWER_FLOW)
    if airflow == 0.0:
        # The machine's own fan settings: the fan-off delay at the speed of the run, and then the
        # fan switch.
        airflow = unit.idle_airflow
        left = min(delay_left(state, unit), dt)
        # Times add up to within rounding only.
        if left > 1.0e-3 and state.airflow > 0.0:
            share = left / dt
            if airflow > 0.0:
                airflow, share = airflow + share * (state.airflow - airflow), 1.0
            else:
                airflow = state.airflow
    return airflow, share, refused


@piece
def delay_left(state: State, unit: AirHandlerParameters) -> float:
    """Time for which a fan-off delay still runs the blower, s; below 0 once it has ended."""
    cooled = 0.0 if state.cooling_stage > 0.0 else state.cooling_time
    heated = 0.0 if state.heating_stage > 0.0 else state.heating_time
    return max(unit.fan_off_delay - cooled, unit.heating_fan_off_delay - heated)


@piece
def obeyed_drying(
    call: float, state: State, dehumidifier: DehumidifierParameters, t_inlet: float
) -> tuple[float, int]:
    """1 if the dehumidifier would run, and the reasons for refusals."""
    refused = 0
    calls = call > 0.0
    if calls and dehumidifier.water == 0.0:
        refused |= NOT_INSTALLED
        calls = False
    runs = state.dehumidifier > 0.0
    if dehumidifier.bucket > 0.0 and state.bucket >= dehumidifier.bucket:
        # Its float switch stops it now, even within its minimum on time.
        return 0.0, (refused | BUCKET_FULL if calls or runs else refused)
    if runs:
        if t_inlet < dehumidifier.low_inlet_limit:
            return 0.0, refused | DEHUMIDIFIER_COLD
        if not calls and state.dehumidifier_time < dehumidifier.minimum_on:
            return 1.0, refused | MINIMUM_TIME
    elif calls:
        if state.dehumidifier_time < dehumidifier.minimum_off:
            return 0.0, refused | MINIMUM_TIME
        if t_inlet < dehumidifier.low_inlet_limit:
            return 0.0, refused | DEHUMIDIFIER_COLD
    return (1.0 if calls else 0.0), refused


@piece
def obey(
    calls: CallSet,
    state: State,
    unit: AirHandlerParameters,
    dehumidifier: DehumidifierParameters,
    stages: NDArray[np.float64],
    given: Conditions,
    dt: float,
) -> Running:
    """Decide which machines run in this step.

    Parameters
    ----------
    calls, state
        Calls of the control, and the state at the start of the step.
    stages : array
        Stage table (see `StageParameters`).
    """
    if not given.powered:
        return Running(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    t_out = given.t_out
    cooling, refused = obeyed_cooling(calls.cooling, state, unit, t_out)
    cools = cooling > 0.0
    if not given.blower_works and cools:
        cooling = 0.0
        refused |= COIL_FROST

    heating, refuses = obeyed_heating(calls.heating, cooling, state, unit)
    refused |= refuses
    heats = heating > 0.0
    heat_pump = 1.0 if heats and unit.heat_capacity > 0.0 and t_out >= unit.heat_low_limit else 0.0
    furnace = 1.0 if heats and unit.furnace_capacity > 0.0 else 0.0
    in_room = heats and unit.room_heater > 0.0
    if (heat_pump > 0.0 or furnace > 0.0 or in_room) and state.indoor_temperature > HOTTEST_RETURN:
        refused |= ROOM_HOT
        heating, heat_pump, furnace = 0.0, 0.0, 0.0
    backup = (
        1.0
        if unit.strip_stages > 0.0
        and furnace == 0.0
        and unit.room_heater == 0.0
        and (heating > 1.0 or (heating > 0.0 and heat_pump == 0.0))
        else 0.0
    )
    if backup > 0.0 and heat_pump > 0.0 and t_out > unit.backup_lockout:
        refused |= STRIPS_LOCKED_OUT
        backup = 0.0

    reheat, backup, refuses = obeyed_reheat(
        calls.reheat, cools, backup, state, unit, given.locked_out
    )
    refused |= refuses
    hot_gas, refuses = obeyed_hot_gas(calls.hot_gas, cooling, unit)
    refused |= refuses
    airflow, fan_share, refuses = obeyed_airflow(
        calls, cooling, cools, heating, furnace, state, unit, stages, dt
    )
    refused |= refuses
    drying, refuses = obeyed_drying(calls.dehumidifier, state, dehumidifier, given.t_inlet)
    refused |= refuses
    if not given.blower_works:
        heat_pump, furnace, hot_gas = 0.0, 0.0, 0.0
    if not given.dehumidifier_works:
        drying = 0.0

    return Running(
        cooling=cooling,
        reheat=reheat,
        heating=heating,
        heat_pump=heat_pump,
        backup=backup,
        dehumidifier=drying,
        airflow=airflow,
        fan_share=fan_share,
        hot_gas=hot_gas,
        furnace=furnace,
        refused=refused,
    )
