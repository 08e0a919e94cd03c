"""The thermostat set back while nobody lives in the house."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import Readings
from moistsim.controls.parts import CoolingPoint, HeatingPoint
from moistsim.controls.settings import Setting, check_within
from moistsim.core.units import DeltaC, Limits, Meaning

_HIGHEST = Setting.of(CoolingPoint, "set_back").limits
_LOWEST = Setting.of(HeatingPoint, "set_back").limits


def _check(settings: dict[str, float]) -> None:
    assert _HIGHEST is not None and _LOWEST is not None
    warmest = _HIGHEST.high - settings["cooling_setpoint"]
    coolest = settings["heating_setpoint"] - _LOWEST.low
    for name, most in (("cooling_set_back", warmest), ("heating_set_back", coolest)):
        limits = Limits(0.0, most)
        check_within(f"addition set_back.{name}", settings[name], "delta_degC", limits)


@addition(check=_check, reads_dew_point=False, needs=("cooling_setpoint", "heating_setpoint"))
def set_back(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_set_back: Annotated[
        DeltaC, Meaning("How far the cooling setpoint is raised while nobody lives there.")
    ] = 4.5,
    heating_set_back: Annotated[
        DeltaC, Meaning("How far the heating setpoint is lowered while nobody lives there.")
    ] = 6.0,
) -> Readings:
    """Sets the thermostat back on vacation and between stays.

    Thermostats respond through `parts.cooling_stage` and `parts.heating_stage`, and overcooling
    starts from the setpoint that is set back. Strips and hot gas, which reheat the room while it is
    dried, keep to the normal setpoint. Both defaults are our own round figures.
    """
    if readings.occupied > 0.0:
        return readings
    return readings._replace(
        cooling_set_back=max(readings.cooling_set_back, cooling_set_back),
        heating_set_back=max(readings.heating_set_back, heating_set_back),
    )
