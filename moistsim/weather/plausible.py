"""Checks of weather that has possible values in every hour, and that no place has all the same.

The limits are our own. In twelve typical years of the United States, the hours of sun reach a clearness
of 0.78 to 0.88, ten days of wind have a mean of at most 8 m/s and a 99th percentile of at most 23 m/s,
and no temperature stays for more than 24 h.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import Problem
from moistsim.weather.checks import WeatherError

_LONGEST_STANDSTILL = 72
"""Hours for which a temperature may stay the same."""
_SHORTEST = 48
"""Hours of weather below which a constant temperature is possible."""
_HIGH_SUN, _HOURS_OF_SUN = 20.0, 100
"""Elevation of the sun, degrees, above which hours count, and how many tell clear weather from none."""
_CLEARNESS = (0.35, 1.1)
"""Range of the highest clearness: global irradiance over that above the air. Of 100 hours, one is clear."""
_DAYS_OF_WIND = 240
_MEAN_WIND, _HIGH_WIND = 10.0, 25.0
"""Limits of the mean and of the 99th percentile of wind, m/s, in ten days or more."""
_MADE = "; invented hours, as for a test, are of kind 'synthetic'"


def check_plausible(
    frame: pd.DataFrame,
    height: NDArray[np.float64],
    above_air: NDArray[np.float64],
    origin: str,
    where: Callable[[int], str],
) -> None:
    """Refuse weather that no place has: a temperature that stands still, another unit of sun or wind.

    Parameters
    ----------
    frame : DataFrame
        The hours of a `Weather`.
    height, above_air : array
        Elevation of the sun, degrees, and irradiance on a level surface above the air, W/m2.
    origin, where
        As for the other checks.

    Raises
    ------
    WeatherError
    """
    temperature = frame["temp_air"].to_numpy()
    begins = np.r_[0, np.flatnonzero(np.diff(temperature) != 0.0) + 1, len(frame)]
    runs = np.diff(begins)
    longest = int(np.argmax(runs))
    if runs[longest] >= min(_LONGEST_STANDSTILL, max(len(frame), _SHORTEST)):
        row = int(begins[longest])
        raise WeatherError(
            where(row),
            "temp_air",
            Problem(f"{temperature[row]:g} °C in each of {runs[longest]} hours"),
            f"a sensor that follows the weather{_MADE}",
        )
    lit = height > _HIGH_SUN
    if lit.sum() >= _HOURS_OF_SUN:
        clearness = frame["ghi"].to_numpy()[lit] / above_air[lit]
        low, high = float(clearness.max()), float(np.quantile(clearness, 0.999))
        if low < _CLEARNESS[0] or high > _CLEARNESS[1]:
            found = low if low < _CLEARNESS[0] else high
            raise WeatherError(
                origin,
                "ghi",
                Problem(f"at most {found:.0%} of the sun above the air in {int(lit.sum())} hours"),
                "ghi, dni and dhi in W/m2, which reach 60 to 90 % in clear hours (1 kJ/m2 in an hour is "
                f"0.278 W/m2){_MADE}",
            )
    wind = frame["wind_speed"].to_numpy()
    if len(frame) >= _DAYS_OF_WIND:
        mean, strong = float(wind.mean()), float(np.quantile(wind, 0.99))
        if mean > _MEAN_WIND or strong > _HIGH_WIND:
            raise WeatherError(
                origin,
                "wind_speed",
                Problem(f"a mean of {mean:.1f} and one hour in 100 above {strong:.0f} m/s"),
                f"wind in m/s: divide km/h by 3.6, or mph by 2.237{_MADE}",
            )
