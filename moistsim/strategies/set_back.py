"""Cooling by temperature, and less of it while nobody lives in the house."""

import numpy as np
from numpy.typing import NDArray

from moistsim.strategies.interface import Calls, CallSet, Readings, strategy
from moistsim.strategies.parts import LIMITS, check_thermostat, cooling_stage, heating_stage
from moistsim.units import DegC, DeltaC, InputError


def _check(settings: dict[str, float]) -> None:
    check_thermostat("set_back", settings, settings["cooling_setpoint"])
    for away, home, sign in (
        ("away_cooling_setpoint", "cooling_setpoint", 1.0),
        ("away_heating_setpoint", "heating_setpoint", -1.0),
    ):
        low, high, _ = LIMITS[home]
        at, given = settings[home], settings[away]
        if sign * (given - at) < 0.0 or not low <= given <= high:
            low, high = (at, high) if sign > 0.0 else (low, at)
            raise InputError(
                f"strategy set_back.{away}",
                f"{given:.1f} degC",
                f"from {low:.1f} to {high:.1f} degC",
            )


@strategy(check=_check)
def set_back(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: DegC = 24.5,
    heating_setpoint: DegC = 20.0,
    away_cooling_setpoint: DegC = 29.0,
    away_heating_setpoint: DegC = 14.0,
    deadband: DeltaC = 1.0,
    second_stage_at: DeltaC = 1.2,
) -> CallSet:
    """The thermostat of `temperature_only`, set back on vacation and between stays."""
    cooling, heating = cooling_setpoint, heating_setpoint
    if readings.occupied == 0.0:
        cooling, heating = away_cooling_setpoint, away_heating_setpoint
    memory[0] = cooling_stage(memory[0], readings, cooling, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating, deadband)
    return Calls(cooling=memory[0], heating=memory[1])
