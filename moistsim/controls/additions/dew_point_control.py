"""Control by dew point in place of relative humidity."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import Readings
from moistsim.controls.parts import (
    TARGET_RH,
    TargetRH,
)
from moistsim.core.units import DewPointSetpoint, Limits, Meaning, Role


@addition(needs=("target_rh",), replaces=(Role.HUMIDITY,))
def dew_point_control(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    target_dew_point: Annotated[
        DewPointSetpoint, Limits(0.0, 25.0), Meaning("Room dew point to which the control dries.")
    ] = 15.0,
    target_rh: TargetRH = TARGET_RH,
) -> Readings:
    """Turns every threshold of relative humidity into one of vapor pressure.

    The strategy sees the relative humidity that the room's vapor would have at the temperature at
    which `target_dew_point` and `target_rh` meet,

        RH' = target_rh e_sat(dew point) / e_sat(target_dew_point)

    It then dries to the target dew point at any room temperature. A dew point of 15 °C is 55 % RH
    at 24.5 °C.
    """
    share = air.saturation_pressure(readings.dew_point) / air.saturation_pressure(target_dew_point)
    return readings._replace(relative_humidity=target_rh * share)
