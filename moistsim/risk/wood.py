"""Moisture content of wooden floors, which follow the room's air."""

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

FLOOR_DAYS = 30
"""Days of the running mean by which a floor of solid strip or plank follows the room. Common practice,
no source: finished boards of 3/4 in take weeks."""


def equilibrium_moisture(temperature: ArrayLike, rh: ArrayLike) -> NDArray[np.float64]:
    """Return the equilibrium moisture content of wood in air, percent of its dry mass.

    Hailwood & Horrobin's (1946) two-hydrate solution with the coefficients of the Wood Handbook
    (Forest Products Laboratory, ch. 4, eq. 4-5), from memory.

    Parameters
    ----------
    temperature : array_like
        Air temperature, degC.
    rh : array_like
        RH, percent.

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
    """Return the moisture content of a wooden floor by day, percent: the mean of `FLOOR_DAYS`.

    The result begins when that many days have passed.

    Parameters
    ----------
    temperature, rh : Series
        Temperature and RH of the room by hour, degC and percent.
    """
    hourly = pd.Series(equilibrium_moisture(temperature, rh), index=temperature.index)
    return hourly.resample("D").mean().rolling(FLOOR_DAYS).mean().dropna()
