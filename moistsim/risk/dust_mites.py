"""House dust mites: hours and days humid enough for them."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

_TEMPERATURE, _CRITICAL = (15.0, 25.0, 30.0, 35.0), (52.0, 58.0, 63.0, 69.0)
"""Critical equilibrium humidity of fasting Dermatophagoides farinae by temperature, degC and percent
RH. Arlian & Veselica (1981), Effect of temperature on the equilibrium body water mass in the mite
Dermatophagoides farinae, Physiol. Zool. 54; from memory. Other reviews have up to 73 percent at 35 degC."""

HOURS = 4
"""Hours a day above the critical humidity from which a colony counts as growing: our own choice between 2 h
a day, which did not let one grow, and 8 h, which did. Arlian, Neal & Vyszenski-Moher (1999), J. Med.
Entomol. 36, and J. Allergy Clin. Immunol. 104; from memory."""


def critical_rh(temperature: ArrayLike) -> NDArray[np.float64]:
    """Return the RH, percent, above which a mite gains water from air of a temperature, degC.

    Linear between the measured points, and constant beyond them.
    """
    return np.asarray(np.interp(np.asarray(temperature, float), _TEMPERATURE, _CRITICAL))


def growing_days(rh: pd.Series, critical: pd.Series) -> pd.Series:
    """Return by day whether at least `HOURS` hours are above the critical RH.

    Parameters
    ----------
    rh : Series
        RH of the room by hour, percent.
    critical : Series
        `critical_rh` of the same hours, percent.
    """
    return (rh > critical).resample("D").sum() >= HOURS
