"""Control by dew point in the place of relative humidity."""

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import Readings
from moistsim.controls.parts import check_humidistat, check_limits
from moistsim.core.units import DegC, Percent


def _check(settings: dict[str, float]) -> None:
    check_humidistat("addition dew_point_control", settings)
    check_limits("addition dew_point_control", settings, {"target_dew_point": (0.0, 25.0, "degC")})


@addition(check=_check, needs=("target_rh",))
def dew_point_control(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    target_dew_point: DegC = 14.0,
    target_rh: Percent = 52.0,
) -> Readings:
    """Every threshold of relative humidity becomes one of vapor pressure.

    The strategy sees the relative humidity that the room's vapor would have at the temperature at
    which `target_dew_point` and `target_rh` meet,

        RH' = target_rh e_sat(dew point) / e_sat(target_dew_point)

    so that it dries to the target dew point, and no longer answers the room's temperature. 14 degC
    is what 52 % is at 24.5 degC.
    """
    share = air.saturation_pressure(readings.dew_point) / air.saturation_pressure(target_dew_point)
    return readings._replace(relative_humidity=target_rh * share)
