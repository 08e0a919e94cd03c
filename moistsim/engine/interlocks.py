"""How machines obey or refuse a call: minimum times, lockouts, tripped switches.

A call that a machine would not follow is refused, whatever the strategy; each reason has its bit.
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
"""Room above which a heat pump trips on its pressure, and a furnace on its limit, degC (our own round
figure; no working thermostat heats there)."""
# The order of these bits is that of metering.REFUSALS, which a test holds.

_FLOW_COLUMN = StageParameters._fields.index("flow")


class Conditions(NamedTuple):
    """Conditions, apart from the state, that decide whether a machine may run."""

    t_out: float
    """Outdoor dry bulb, degC."""
    t_inlet: float
    """Air that the dehumidifier would take, degC."""
    locked_out: bool = False
    """Whether a relay keeps the strips off."""
    blower_works: bool = True
    """False for a blower that stands still whatever its relay says: cold coil, hot condenser and
    furnace then protect themselves, while strips know of the relay alone."""
    dehumidifier_works: bool = True
    powered: bool = True


class Running(NamedTuple):
    """Stage or speed of each machine in a step, and refusals."""

    cooling: float
    reheat: float
    """Strip stages; only proportional strips run a share of one."""
    heating: float
    heat_pump: float
    backup: float
    """1 if the strips run as heat."""
    dehumidifier: float
    airflow: float
    hot_gas: float
    furnace: float
    refused: int
    """Bit mask."""


@piece
def _whole(value: float) -> float:
    """A call as a whole stage, 0 for what is not above 0."""
    # Held, because what is beyond all integers has no defined one: infinity became negative.
    return float(int(min(value, 1.0e6) + 0.5)) if value > 0.0 else 0.0


@piece
def _called(value: float, variable: float) -> float:
    """A call for cooling as what the compressor can run at.

    One that is described as variable runs anywhere from its lowest stage up, in between as called;
    any other in whole stages.
    """
    if variable > 0.0 and value > 1.0:
        return min(value, 1.0e6)
    return _whole(value)


@piece
def stage_flow(table: NDArray[np.float64], stage: float) -> float:
    """Blower flow of a stage, counted from 1, as a fraction of full flow; between two, in line."""
    i = int(stage) - 1
    j = min(i + 1, len(table) - 1)
    low, high = table[i, _FLOW_COLUMN], table[j, _FLOW_COLUMN]
    return float(low + (stage - 1.0 - i) * (high - low))


@piece
def obeyed_cooling(
    call: float, state: State, unit: AirHandlerParameters, t_out: float
) -> tuple[float, int]:
    """Stage at which the compressor would run, and what it refuses."""
    refused = 0
    cooling = _called(call, unit.variable)
    if cooling > unit.stages:
        refused |= NOT_INSTALLED
        cooling = unit.stages
    if state.cooling_stage > 0.0:
        if state.frosted > 0.0:
            # Frost stops the compressor at once: protecting it comes before its minimum time.
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
def obeyed_heating(
    call: float, cooling: float, state: State, unit: AirHandlerParameters
) -> tuple[float, int]:
    """Stage of heating, of whatever machine, and what is refused."""
    refused = 0
    heating = min(_whole(call), 2.0)
    if heating > 0.0 and max(unit.heat_capacity, unit.furnace_capacity, unit.strip_stages) == 0.0:
        refused |= NOT_INSTALLED
        heating = 0.0
    # Not in the step in which cooling stops either: its rest has not begun to count.
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
    """Stages of strips as reheat, 1 if they may run as heat, and what they refuse."""
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
            # The blower goes on, as it must to cool the elements.
            return 0.0, 0.0, refused | STRIPS_TRIPPED
    return reheat, backup, refused


@piece
def obeyed_hot_gas(call: float, cooling: float, unit: AirHandlerParameters) -> tuple[float, int]:
    """Share of its hot gas that the machine would give, and what it refuses."""
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
    unit: AirHandlerParameters, stages: NDArray[np.float64],
) -> tuple[float, int]:  # fmt: skip
    """Blower speed as a fraction of full flow, and what it refuses."""
    refused = 0
    airflow = 0.0
    if cools:
        airflow = stage_flow(stages, max(cooling, 1.0))
    elif heating > 0.0 or calls.fan > 0.0 and unit.full_flow > 0.0:
        airflow = unit.furnace_flow if furnace > 0.0 else 1.0
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
        # The machine's own fan settings, at its own speeds: the delay that takes the last
        # cold off the coil, then a fan that is set to run on.
        stopped = 0.0 if state.cooling_stage > 0.0 else state.cooling_time
        airflow = state.airflow if stopped < unit.fan_off_delay else unit.idle_airflow
    return airflow, refused


@piece
def obeyed_drying(
    call: float, state: State, dehumidifier: DehumidifierParameters, t_inlet: float
) -> tuple[float, int]:
    """1 if the dehumidifier would run, and what it refuses."""
    refused = 0
    calls = call > 0.0
    if calls and dehumidifier.water == 0.0:
        refused |= NOT_INSTALLED
        calls = False
    runs = state.dehumidifier > 0.0
    if dehumidifier.bucket > 0.0 and state.bucket >= dehumidifier.bucket:
        # Its float stops it at once, within its minimum time too.
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
) -> Running:
    """Decide which machines run in this step.

    Parameters
    ----------
    calls, state
        Calls of the control, and the machines' state until now.
    stages : array
        Stage table (see `StageParameters`).
    """
    if not given.powered:
        return Running(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0)
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
    if (heat_pump > 0.0 or furnace > 0.0) and state.indoor_temperature > HOTTEST_RETURN:
        refused |= ROOM_HOT
        heating, heat_pump, furnace = 0.0, 0.0, 0.0
    backup = (
        1.0
        if unit.strip_stages > 0.0
        and furnace == 0.0
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
    airflow, refuses = obeyed_airflow(calls, cooling, cools, heating, furnace, state, unit, stages)
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
        hot_gas=hot_gas,
        furnace=furnace,
        refused=refused,
    )
