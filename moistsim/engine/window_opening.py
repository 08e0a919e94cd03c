"""Windows that people open and shut on the hour, and the air that then comes in."""

import math

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import OpeningParameters

WIND_EFFECTIVENESS = 0.3
"""Effectiveness of an opening in wind at an angle.
ASHRAE Fundamentals ch. 16, from memory: 0.5 to 0.6 straight on, 0.25 to 0.35 at an angle."""
DISCHARGE = 0.65
"""Discharge coefficient of an opening in stack flow. ASHRAE Fundamentals ch. 16, from memory."""
GRAVITY = 9.81
"""Acceleration of gravity, m/s2."""
COOLER_BY = 1.0
"""Minimum amount by which outdoors is cooler than a warm room with open windows, K."""


@piece
def windows_open(
    opening: OpeningParameters,
    was: float,
    allowed: float,
    hour: float,
    t: float,
    t_out: float,
    w_out: float,
    pressure: float,
    dt: float,
) -> float:
    """1 while the windows are open: people look in the first step of each hour.

    Parameters
    ----------
    was : float
        1 if the windows were open in the step before.
    allowed : float
        1 in hours in which people would open windows.
    """
    if opening.area <= 0.0:
        return 0.0
    if 3600.0 * (hour - math.floor(hour)) > dt:
        return was
    mild = (t_out >= opening.low) & (t_out <= opening.high)
    worth = (t > opening.indoor_above) & (t_out < t - opening.cooler_by)
    dry = air.vapor_pressure(w_out, pressure) <= opening.vapor_pressure
    if (allowed > 0.0) & mild & worth & dry:
        return 1.0
    return 0.0


@piece
def opening_flow(
    opening: OpeningParameters, is_open: float, wind: float, t: float, t_out: float
) -> float:
    """Outdoor air through open windows, m3/s.

    Wind flow C A U and stack flow C_d A sqrt(2 g h |dT| / T) add in quadrature (ASHRAE Fundamentals
    ch. 16, natural ventilation, from memory). As much of the area lets air out as in. Infiltration
    continues at the same time, so the total is too high by less than the infiltration.

    Parameters
    ----------
    wind : float
        Flow by wind while open, m3/s.
    """
    if is_open <= 0.0:
        return 0.0
    stack = opening.stack * math.sqrt(abs(t - t_out) / (max(t, t_out) + air.KELVIN))
    return math.sqrt(wind * wind + stack * stack)
