"""House-dust mites: when the room's air lets them keep their water."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

DAILY_RH = 50.0
"""Below this daily mean, percent, a colony does not grow, even with a few damp hours a day: Arlian,
Neal & Vyszenski-Moher (1999), Reducing relative humidity to control the house dust mite
Dermatophagoides farinae, J. Allergy Clin. Immunol. 104; from memory."""


def critical_rh(temperature: ArrayLike) -> NDArray[np.float64]:
    """RH above which a mite gains water from the air, percent, at a temperature, degC.

    Critical equilibrium humidity of fasting D. farinae, 55 percent at 15 degC to 73 at 35 degC
    (Arlian & Veselica 1981; Arlian 1992), from memory; a straight line between and beyond is ours.
    """
    return np.asarray(55.0 + 0.9 * (np.asarray(temperature, float) - 15.0))


def growing_days(rh: pd.Series) -> pd.Series:
    """Days whose mean RH is above `DAILY_RH`: True or False by day.

    Parameters
    ----------
    rh : Series
        Of the room, by the hour, percent.
    """
    return rh.resample("D").mean() > DAILY_RH
