"""What the machines would do with a call: minimum times, lockouts, airflow proof.

A call that a machine would not follow is refused, whatever the strategy; each reason has its bit.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.compiled import compiled
from moistsim.engine.records import (
    AirHandlerParameters,
    DehumidifierParameters,
    StageParameters,
    State,
)
from moistsim.equipment.cooling import LEAST_BLOWER_FLOW
from moistsim.strategies.interface import CallSet

MINIMUM_TIME, OUTDOOR_COLD, COIL_FROST, HEAT_AGAINST_COOL = 1, 2, 4, 8
REHEAT_ALONE, LOW_AIRFLOW, DEHUMIDIFIER_COLD, NOT_INSTALLED = 16, 32, 64, 128
# The order of these bits is that of records.REFUSALS, which a test holds.

_FLOW_COLUMN = StageParameters._fields.index("flow")


class Running(NamedTuple):
    """What the machines do in a step."""

    cooling: float
    reheat: float
    heating: float
    heat_pump: float
    backup: float
    """1 if the strips run as heat."""
    dehumidifier: float
    airflow: float
    refused: int
    """Bit mask."""


@compiled
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


@compiled
def _whole(value: float) -> float:
    """A call as a whole stage, 0 for what is not above 0."""
    # Held, because what is beyond all integers has no defined one: infinity became negative.
    return float(int(min(value, 1.0e6) + 0.5)) if value > 0.0 else 0.0


@compiled(inline=True)
def obey(
    calls: CallSet,
    state: State,
    unit: AirHandlerParameters,
    dryer: DehumidifierParameters,
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    t_out: float,
    dry_air_full: float,
) -> Running:
    """What runs in this step.

    Parameters
    ----------
    calls, state
        What the control asks for, and what ran until now.
    stages, strips : array
        Stage table (see `StageParameters`) and strip powers.
    t_out : float
        Outdoor dry bulb, degC.
    dry_air_full : float
        Dry air of the blower at full speed and the hour's density, kg/s.
    """
    refused = 0

    cooling = _whole(calls.cooling)
    if cooling > unit.stages:
        refused |= NOT_INSTALLED
        cooling = unit.stages
    if state.cooling_stage > 0.0:
        if state.frosted > 0.0:
            # Frost stops the compressor at once: protecting it comes before its minimum time.
            cooling = 0.0
            refused |= COIL_FROST
        elif cooling == 0.0 and state.cooling_time < unit.minimum_on:
            cooling = state.cooling_stage
            refused |= MINIMUM_TIME
    elif cooling > 0.0:
        if state.frosted > 0.0:
            cooling = 0.0
            refused |= COIL_FROST
        elif min(state.cooling_time, state.heating_time) < unit.minimum_off:
            cooling = 0.0
            refused |= MINIMUM_TIME
        elif t_out < unit.low_outdoor_limit:
            cooling = 0.0
            refused |= OUTDOOR_COLD
        elif state.heating_stage > 0.0:
            cooling = 0.0
            refused |= HEAT_AGAINST_COOL

    heating = min(_whole(calls.heating), 2.0)
    if heating > 0.0 and unit.heat_capacity == 0.0 and unit.strip_stages == 0.0:
        refused |= NOT_INSTALLED
        heating = 0.0
    if heating > 0.0 and cooling > 0.0:
        refused |= HEAT_AGAINST_COOL
        heating = 0.0
    elif state.heating_stage > 0.0:
        if heating == 0.0 and state.heating_time < unit.minimum_on:
            heating = state.heating_stage
            refused |= MINIMUM_TIME
    elif heating > 0.0 and min(state.heating_time, state.cooling_time) < unit.minimum_off:
        heating = 0.0
        refused |= MINIMUM_TIME
    heat_pump = (
        1.0 if heating > 0.0 and unit.heat_capacity > 0.0 and t_out >= unit.heat_low_limit else 0.0
    )
    backup = (
        1.0
        if unit.strip_stages > 0.0 and (heating > 1.0 or (heating > 0.0 and heat_pump == 0.0))
        else 0.0
    )

    reheat = calls.reheat if calls.reheat > 0.0 else 0.0
    if reheat > unit.strip_stages:
        refused |= NOT_INSTALLED
        reheat = unit.strip_stages
    if reheat > 0.0 and cooling == 0.0:
        refused |= REHEAT_ALONE
        reheat = 0.0

    airflow = 0.0
    if cooling > 0.0:
        airflow = stages[int(cooling) - 1][_FLOW_COLUMN]
    elif heating > 0.0 or calls.fan > 0.0 and unit.full_flow > 0.0:
        airflow = 1.0
    if airflow > 0.0 and calls.airflow > 0.0:
        airflow = calls.airflow
        if airflow > 1.0:
            refused |= NOT_INSTALLED
            airflow = 1.0
        elif airflow < LEAST_BLOWER_FLOW:
            refused |= LOW_AIRFLOW
            airflow = LEAST_BLOWER_FLOW
    power = strip_power(strips, max(reheat, backup * unit.strip_stages))
    if power * unit.strip_least_flow > airflow * dry_air_full:
        refused |= LOW_AIRFLOW
        reheat = 0.0
        backup = 0.0
        if heating > 0.0 and heat_pump == 0.0:
            # Nothing is left that heats: the blower alone would only stir.
            heating = 0.0
            airflow = 0.0

    if airflow == 0.0:
        # The machine's own fan settings, at its own speeds: the delay that takes the last
        # cold off the coil, then a fan that is set to run on.
        stopped = 0.0 if state.cooling_stage > 0.0 else state.cooling_time
        airflow = state.airflow if stopped < unit.fan_off_delay else unit.idle_airflow

    dehumidifier = 1.0 if calls.dehumidifier > 0.0 else 0.0
    if dehumidifier > 0.0 and dryer.water == 0.0:
        refused |= NOT_INSTALLED
        dehumidifier = 0.0
    if state.dehumidifier > 0.0:
        if state.zone_temperature < dryer.low_inlet_limit:
            dehumidifier = 0.0
            refused |= DEHUMIDIFIER_COLD
        elif dehumidifier == 0.0 and state.dehumidifier_time < dryer.minimum_on:
            dehumidifier = 1.0
            refused |= MINIMUM_TIME
    elif dehumidifier > 0.0:
        if state.dehumidifier_time < dryer.minimum_off:
            dehumidifier = 0.0
            refused |= MINIMUM_TIME
        elif state.zone_temperature < dryer.low_inlet_limit:
            dehumidifier = 0.0
            refused |= DEHUMIDIFIER_COLD

    return Running(cooling, reheat, heating, heat_pump, backup, dehumidifier, airflow, refused)
