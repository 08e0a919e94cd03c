"""The thermostat set back while nobody lives in the house."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import Readings
from moistsim.controls.parts import LIMITS, check_limits
from moistsim.core.units import DeltaC


def _check(settings: dict[str, float]) -> None:
    warmest = LIMITS["cooling_setpoint"][1] - settings["cooling_setpoint"]
    coolest = settings["heating_setpoint"] - LIMITS["heating_setpoint"][0]
    check_limits(
        "addition set_back",
        settings,
        {"cooling_set_back": (0.0, warmest, "K"), "heating_set_back": (0.0, coolest, "K")},
    )


@addition(check=_check, needs=("cooling_setpoint", "heating_setpoint"))
def set_back(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_set_back: DeltaC = 4.5,
    heating_set_back: DeltaC = 6.0,
) -> Readings:
    """On vacation and between stays the room may be warmer and cooler, by so much.

    Thermostats answer it through `parts.cooling_stage` and `heating_stage`, overcooling from the
    setpoint that is set back. Strips and hot gas, which hold the room up while it is dried, keep
    to the setpoint at home. Both set-backs are our own round figures.
    """
    if readings.occupied > 0.0:
        return readings
    return readings._replace(
        cooling_set_back=max(readings.cooling_set_back, cooling_set_back),
        heating_set_back=max(readings.heating_set_back, heating_set_back),
    )
