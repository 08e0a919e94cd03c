"""Cooling by temperature, and drying by a stand-alone dehumidifier on the house's control."""

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


def _check(settings: dict[str, float]) -> None:
    check_thermostat("with_dehumidifier", settings, settings["cooling_setpoint"])


@strategy(check=_check, reads_dew_point=False, machines=("dehumidifier",))
def with_dehumidifier(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: CoolingPoint = 24.5,
    heating_setpoint: HeatingPoint = 20.0,
    deadband: Deadband = DEADBAND,
    second_stage_at: SecondStage = 1.2,
    target_rh: TargetRH = TARGET_RH,
    humidity_deadband: BandRH = BAND_RH,
) -> CallSet:
    """The thermostat cools and heats. A humidistat runs the dehumidifier."""
    half = 0.5 * humidity_deadband
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    memory[2] = latch(memory[2], readings.relative_humidity, target_rh + half, target_rh - half)
    return Calls(cooling=memory[0], heating=memory[1], dehumidifier=memory[2])
