"""Cooling by temperature only: the thermostat that every other strategy is compared with."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import (
    DEADBAND,
    CoolingPoint,
    Deadband,
    HeatingPoint,
    SecondStage,
    check_thermostat,
    cooling_stage,
    heating_stage,
)


def _check(settings: dict[str, float]) -> None:
    check_thermostat("temperature_only", settings, settings["cooling_setpoint"])


@strategy(check=_check, reads_dew_point=False)
def temperature_only(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: CoolingPoint = 24.5,
    heating_setpoint: HeatingPoint = 20.0,
    deadband: Deadband = DEADBAND,
    second_stage_at: SecondStage = 1.2,
) -> CallSet:
    """Cools and heats by temperature only. Nothing controls humidity."""
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    return Calls(cooling=memory[0], heating=memory[1])
