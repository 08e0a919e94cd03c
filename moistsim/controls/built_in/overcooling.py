"""Cooling below the setpoint to dry: no extra machine, a colder room."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import (
    BAND_RH,
    DEADBAND,
    TARGET_RH,
    BandRH,
    CoolingPoint,
    Deadband,
    HeatingPoint,
    SecondStage,
    TargetRH,
    check_thermostat,
    cooling_stage,
    heating_stage,
    latch,
)
from moistsim.core.units import DeltaC, Limits, Meaning


def _check(settings: dict[str, float]) -> None:
    coldest = settings["cooling_setpoint"] - settings["overcool_by"]
    check_thermostat("overcooling", settings, coldest)


@strategy(check=_check, reads_dew_point=False, machines=("cooling",))
def overcooling(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: CoolingPoint = 24.5,
    heating_setpoint: HeatingPoint = 20.0,
    deadband: Deadband = DEADBAND,
    second_stage_at: SecondStage = 1.2,
    target_rh: TargetRH = TARGET_RH,
    humidity_deadband: BandRH = BAND_RH,
    overcool_by: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("How far the cooling setpoint is lowered while the air is humid."),
    ] = 1.5,
) -> CallSet:
    """Cools below the setpoint while the air is humid."""
    half = 0.5 * humidity_deadband
    memory[2] = latch(memory[2], readings.relative_humidity, target_rh + half, target_rh - half)
    lowered = overcool_by * memory[2]
    memory[0] = cooling_stage(
        memory[0], readings, cooling_setpoint, deadband, second_stage_at, lowered
    )
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    return Calls(cooling=memory[0], heating=memory[1])
