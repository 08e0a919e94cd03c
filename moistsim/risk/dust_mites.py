"""House dust mites: hours and days humid enough for them."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

DAILY_RH = 50.0
"""Daily mean RH, percent, below which a colony does not grow, even with a few damp hours a day. Arlian,
Neal & Vyszenski-Moher (1999), Reducing relative humidity to control the house dust mite
Dermatophagoides farinae, J. Allergy Clin. Immunol. 104; from memory."""


def critical_rh(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the RH, percent, above which a mite gains water from air of a temperature, degC.

    It is the critical equilibrium humidity of fasting D. farinae, from 55 percent at 15 degC to 73
    percent at 35 degC (Arlian & Veselica 1981; Arlian 1992; from memory). The straight line through
    both points is ours.
    """
    return np.asarray(55.0 + 0.9 * (np.asarray(temperature, float) - 15.0))


def growing_days(rh: pd.Series) -> pd.Series:
    """Return whether the mean RH of each day is above `DAILY_RH`.

    Parameters
    ----------
    rh : Series
        RH of the room by hour, percent.
    """
    return rh.resample("D").mean() > DAILY_RH
