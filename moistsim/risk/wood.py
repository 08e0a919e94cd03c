"""Wood that follows the room's air: what a floor takes up through a damp month, and gives back."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

FLOOR_DAYS = 30
"""Days over which a floor of solid strip or plank follows the room, a running mean. Common practice,
no source: finished boards of 3/4 in take weeks."""


def equilibrium_moisture(temperature: ArrayLike, rh: ArrayLike) -> NDArray[np.float64]:
    """Moisture content of wood at rest in air, percent of its dry mass.

    Hailwood & Horrobin's (1946) two-hydrate solution with the coefficients of the Wood Handbook
    (Forest Products Laboratory, ch. 4, eq. 4-5), from memory.

    Parameters
    ----------
    temperature : array_like
        degC.
    rh : array_like
        Percent.

    Examples
    --------
    >>> float(equilibrium_moisture(21.1, 50.0).round(1))
    9.2
    """
    t, h = np.asarray(temperature, float), np.asarray(rh, float) / 100.0
    w = 349.0 + t * (1.29 + t * 0.0135)
    k = 0.805 + t * (0.000736 - t * 0.00000273)
    k1 = 6.27 - t * (0.00938 + t * 0.000303)
    k2 = 1.91 + t * (0.0407 - t * 0.000293)
    kh = k * h
    hydrates = k1 * kh * (1.0 + 2.0 * k2 * kh) / (1.0 + k1 * kh * (1.0 + k2 * kh))
    return np.asarray(1800.0 / w * (kh / (1.0 - kh) + hydrates))


def floor_moisture(temperature: pd.Series, rh: pd.Series) -> pd.Series:
    """Moisture content of a wooden floor, percent, by day: the mean of the last `FLOOR_DAYS`.

    Days before so many have passed are left out.

    Parameters
    ----------
    temperature, rh : Series
        Of the room, by the hour, degC and percent.
    """
    hourly = pd.Series(equilibrium_moisture(temperature, rh), index=temperature.index)
    return hourly.resample("D").mean().rolling(FLOOR_DAYS).mean().dropna()
