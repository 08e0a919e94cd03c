"""Windows that people open and shut on the hour, and the air that then comes in."""

import math

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import OpeningParameters

WIND_EFFECTIVENESS = 0.3
"""Of an opening, wind at an angle (ASHRAE Fundamentals ch. 16: 0.5 to 0.6 straight on, 0.25 to 0.35
at an angle; from memory)."""
DISCHARGE = 0.65
"""Coefficient of an opening in stack flow (the same chapter, from memory)."""
GRAVITY = 9.81
COOLER_BY = 1.0
"""How much cooler it must be outdoors for windows to be opened against a warm room, K."""


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
        In the step before.
    allowed : float
        1 in hours in which people would do so at all.
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

    Wind C A U and stack C_d A sqrt(2 g h |dT| / T) through openings of which as much lets air out
    as in, added in quadrature (ASHRAE Fundamentals ch. 16, natural ventilation, from memory).
    Infiltration goes on beside it: a little too much, by less than what cracks let in.

    Parameters
    ----------
    wind : float
        Flow by wind while open, m3/s.
    """
    if is_open <= 0.0:
        return 0.0
    stack = opening.stack * math.sqrt(abs(t - t_out) / (max(t, t_out) + air.KELVIN))
    return math.sqrt(wind * wind + stack * stack)
