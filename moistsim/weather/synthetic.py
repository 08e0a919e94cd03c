"""An hourly year made from twelve monthly normals, for a place without a weather file.

The variation from day to day comes from nine typical years of the eastern and southern United
States; elsewhere it is an assumption. `weather_samples/fit_day_to_day.py` made the tables below
without Miami and Greensboro, which test the result. The year has the given normals, within the
limits of saturation and clear sky.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import Problem
from moistsim.weather.checks import WeatherError, checked_elevation, checked_offset, number_between
from moistsim.weather.clock import YEAR_OF_NO_YEAR, middles_of
from moistsim.weather.normals import NORMALS, checked_normals
from moistsim.weather.sun import sun_above_the_air

_Floats = NDArray[np.float64]

#: Quantities drawn together from day to day, in the order of the tables below.
DAILY = ("temp_air", "temp_dew", "daily_range", "clearness", "wind_speed")

# Printed by weather_samples/fit_day_to_day.py, for months with a mean dry bulb near each of `_AT`,
# degC. Each quantity is less its month's mean and over its month's spread. The tables are the
# correlations on one day, those of today (rows) with the day before (columns), and the skewness.
_AT = (4.0, 17.0, 26.0)
_SAME_DAY = np.array([
    [[1.00, 0.86, 0.11, -0.24, 0.10],
     [0.86, 1.00, -0.11, -0.49, 0.10],
     [0.11, -0.11, 1.00, 0.48, -0.11],
     [-0.24, -0.49, 0.48, 1.00, -0.18],
     [0.10, 0.10, -0.11, -0.18, 1.00]],
    [[1.00, 0.78, 0.02, -0.05, -0.03],
     [0.78, 1.00, -0.32, -0.44, 0.04],
     [0.02, -0.32, 1.00, 0.67, -0.36],
     [-0.05, -0.44, 0.67, 1.00, -0.25],
     [-0.03, 0.04, -0.36, -0.25, 1.00]],
    [[1.00, 0.44, 0.13, 0.33, 0.03],
     [0.44, 1.00, -0.40, -0.37, 0.08],
     [0.13, -0.40, 1.00, 0.66, -0.28],
     [0.33, -0.37, 0.66, 1.00, -0.14],
     [0.03, 0.08, -0.28, -0.14, 1.00]],
])  # fmt: skip
_DAY_BEFORE = np.array([
    [[0.65, 0.51, 0.21, 0.02, -0.21],
     [0.60, 0.59, 0.07, -0.14, -0.20],
     [-0.14, -0.21, 0.25, 0.37, -0.15],
     [-0.23, -0.23, 0.12, 0.20, 0.07],
     [0.25, 0.23, 0.03, -0.16, 0.26]],
    [[0.63, 0.45, 0.14, 0.10, -0.29],
     [0.55, 0.60, -0.08, -0.17, -0.21],
     [-0.27, -0.40, 0.35, 0.40, -0.23],
     [-0.18, -0.27, 0.24, 0.31, -0.08],
     [0.16, 0.18, -0.11, -0.15, 0.36]],
    [[0.66, 0.28, 0.16, 0.28, -0.16],
     [0.38, 0.65, -0.19, -0.17, -0.01],
     [-0.13, -0.36, 0.35, 0.33, -0.22],
     [0.01, -0.21, 0.24, 0.33, -0.11],
     [0.13, 0.10, -0.12, -0.10, 0.40]],
])  # fmt: skip
_SKEWNESS = np.array([
    [0.16, 0.19, 0.19, -0.23, 0.50],
    [-0.25, -0.32, -0.11, -0.54, 0.54],
    [-0.42, -0.76, -0.40, -1.05, 0.63],
])  # fmt: skip

# Mean day by hour from midnight: dry bulb less its mean, over its range; and wind over its mean.
DRY_BULB_BY_HOUR = np.array([
    -0.24, -0.28, -0.31, -0.34, -0.36, -0.37, -0.31, -0.18, -0.03, 0.11, 0.22, 0.31,
    0.37, 0.41, 0.42, 0.39, 0.33, 0.22, 0.11, 0.02, -0.05, -0.10, -0.15, -0.20,
])  # fmt: skip
_WIND_BY_HOUR = np.array([
    0.80, 0.78, 0.78, 0.76, 0.77, 0.78, 0.85, 0.98, 1.10, 1.16, 1.19, 1.23,
    1.25, 1.28, 1.29, 1.27, 1.22, 1.13, 1.03, 0.95, 0.89, 0.85, 0.84, 0.82,
])  # fmt: skip
_HOUR_PERSISTENCE = 0.9  # hour-to-hour correlation of both, before the day's mean is subtracted
_GUSTINESS = 0.4  # standard deviation of the logarithm of hourly wind about the day's
_GUST_PERSISTENCE = 0.7  # hour-to-hour correlation of wind; a guess

# Standard deviation of hourly clearness about the day's clearness (second row), by the latter.
_CLOUDS_OF_HOUR = ((0.0, 0.2, 0.4, 0.65, 0.9, 1.1), (0.05, 0.08, 0.14, 0.20, 0.12, 0.07))
_CLOUD_PERSISTENCE = 0.45

_FLATTEST = 0.3  # minimum share of a day's range that follows the mean shape
_CLEAREST = 1.05  # maximum clearness of a day: its sun over pvlib's clear sky (Haurwitz)
_DULLEST = 0.05  # minimum clearness of a day


def _spreads(normals: pd.DataFrame) -> _Floats:
    """Return the standard deviation of days within each month, months by `DAILY` (fit of nine years)."""
    dry, day_range, dew, wind, clear = (normals[name].to_numpy() for name in NORMALS)
    return np.column_stack([
        np.exp(1.2076 - 0.0452 * dry + 0.0728 * day_range),
        np.exp(1.7927 - 0.0102 * dew - 0.1809 * np.maximum(dew - 15.0, 0.0)),
        np.exp(0.667 + 0.0894 * day_range - 0.0251 * dry),
        0.3354 - 0.3565 * clear,
        np.exp(-1.0497 + 0.8879 * np.log(wind)),
    ])  # fmt: skip


def _restlessness(normals: pd.DataFrame) -> tuple[_Floats, _Floats]:
    """Return the standard deviation of dry bulb and dew point within a day (fit of nine years)."""
    dry, dew = normals["temp_air"].to_numpy(), normals["temp_dew"].to_numpy()
    return (
        np.exp(0.8349 - 0.0156 * dry),
        np.exp(0.8054 - 0.0156 * dew - 0.0684 * np.maximum(dew - 15.0, 0.0)),
    )


def synthetic_hours(
    normals: pd.DataFrame,
    latitude: float,
    longitude: float,
    utc_offset: float,
    elevation: float | str,
    seed: int,
) -> pd.DataFrame:
    """Return a frame of 8760 h for `Weather.from_frame`, stamped at the start of the hour.

    A first-order vector autoregression draws days (dry bulb, dew point, range, clearness, wind). It
    keeps the correlations within a day and from one day to the next (Wilks, Statistical Methods in
    the Atmospheric Sciences, ch. on time series; from memory). Hours follow the mean shape of a day.
    Sun is Haurwitz's clear sky times the day's factor, divided by Erbs's correlation, both from
    pvlib. The dew point is at most the dry bulb, and pressure is that of the standard atmosphere.
    Then months are shifted until they have the given normals.
    """
    from pvlib.atmosphere import alt2pres
    from pvlib.clearsky import haurwitz
    from pvlib.irradiance import erbs

    latitude = number_between("synthetic", "latitude", latitude, -90, 90, "degrees")
    longitude = number_between("synthetic", "longitude", longitude, -180, 180, "degrees")
    utc_offset = checked_offset("synthetic", utc_offset)
    elevation = checked_elevation("synthetic", elevation)
    if isinstance(seed, bool) or not isinstance(seed, int | np.integer) or seed < 0:
        raise WeatherError("synthetic", "seed", seed, "a whole number, 0 or more")
    normals = checked_normals(normals)
    stamps = pd.date_range(f"{YEAR_OF_NO_YEAR}-01-01", periods=8760, freq="h")
    midpoints = middles_of(stamps, utc_offset)
    month_of_hour = stamps.month.to_numpy() - 1
    day_of_hour = np.arange(len(stamps)) // 24
    month = month_of_hour[::24]
    noon = 24.0 * np.arange(len(month)) + 12.0
    middle = np.arange(len(stamps)) + 0.5
    wanted = {name: normals[name].to_numpy() for name in NORMALS}

    def by_hour(days: _Floats) -> _Floats:
        return np.asarray(np.interp(middle, noon, days), dtype=float)

    def of_months(values: _Floats, weights: _Floats | None = None) -> _Floats:
        months = month_of_hour if len(values) == len(month_of_hour) else month
        total = np.bincount(months, weights, 12)
        sums = np.bincount(months, values if weights is None else values * weights, 12)
        return np.asarray(sums / total, dtype=float)

    def by_days(hours: _Floats) -> _Floats:
        return np.asarray(np.bincount(day_of_hour, hours), dtype=float)

    random = np.random.default_rng(int(seed))
    course = {name: _smooth(wanted[name], month) for name in DAILY}
    drawn = _days(course["temp_air"], random)
    days = {}
    for k, name in enumerate(DAILY):
        # A month's own drift is part of the spread that was measured.
        drift = _spread_in(course[name], month)
        given = _spreads(normals)[:, k]
        spread = np.sqrt(np.maximum(given**2 - drift**2, (given / 2.0) ** 2))
        noise = drawn[:, k] - of_months(drawn[:, k])[month]
        days[name] = course[name] + spread[month] * noise / _spread_in(noise, month)[month]

    unrest = [_wandering(len(stamps), _HOUR_PERSISTENCE, random) for _ in range(2)]
    together = np.clip(0.6069 - 0.0194 * wanted["temp_air"], 0.0, 0.8)[month_of_hour]
    unrest[1] = together * unrest[0] + np.sqrt(1.0 - together**2) * unrest[1]
    for k, spread in enumerate(_restlessness(normals)):
        about = unrest[k] - by_hour(unrest[k].reshape(-1, 24).mean(axis=1))
        unrest[k] = about / _spread_in(about, month_of_hour)[month_of_hour] * spread[month_of_hour]

    # Range, saturation and clear sky are coupled, so the means are corrected in rounds.
    day_range = by_hour(np.maximum(days["daily_range"], 0.25 * course["daily_range"]))
    swing = day_range * DRY_BULB_BY_HOUR[stamps.hour]
    level = by_hour(days["temp_air"])
    scale, calm = np.ones(12), np.ones(12)
    for _ in range(40):
        dry = level + calm[month_of_hour] * unrest[0] + scale[month_of_hour] * swing
        by_day = dry.reshape(-1, 24)
        found = of_months(by_day.max(axis=1) - by_day.min(axis=1))
        # A small daily range also reduces the wandering.
        calm = np.where(scale > _FLATTEST, calm, calm * wanted["daily_range"] / found)
        scale = np.maximum(scale * wanted["daily_range"] / found, _FLATTEST)
        level = level + (wanted["temp_air"] - of_months(dry))[month_of_hour]
    dry = level + calm[month_of_hour] * unrest[0] + scale[month_of_hour] * swing

    level = by_hour(days["temp_dew"]) + unrest[1]
    for _ in range(20):
        dew = np.minimum(level, dry)
        level = level + (wanted["temp_dew"] - of_months(dew))[month_of_hour]
    dew = np.minimum(level, dry)

    by_day = dry.reshape(-1, 24)
    came_back = {
        "daily_range": of_months(by_day.max(axis=1) - by_day.min(axis=1)),
        "temp_dew": of_months(dew),
    }
    for name, made in came_back.items():
        far = np.flatnonzero(np.abs(made - wanted[name]) > 0.2)
        if far.size:
            month_at = int(far[0])
            raise WeatherError(
                f"normals month {month_at + 1}", name, Problem(f"cannot use {wanted[name][month_at]:g}"),
                f"what the other normals let come back (nearest: {made[month_at]:.1f})",
            )  # fmt: skip

    sun, above = sun_above_the_air(midpoints, latitude, longitude)
    clear_sky = haurwitz(sun["apparent_zenith"])["ghi"].to_numpy(dtype=float)
    sun_day, clear_day = (by_days(values) for values in (above, clear_sky))
    ceiling = _CLEAREST * clear_day / np.maximum(sun_day, 1e-9)
    most = of_months(ceiling, sun_day)
    dim = np.flatnonzero(wanted["clearness"] > most)
    if dim.size:
        raise WeatherError(
            f"normals month {dim[0] + 1}", "clearness", Problem(f"cannot use {wanted['clearness'][dim[0]]:g}"),
            f"at most {most[dim[0]]:.2f}, that of a month without a cloud",
        )  # fmt: skip
    level = days["clearness"]
    for _ in range(60):
        clearness = np.clip(level, _DULLEST, ceiling)
        level = level + (wanted["clearness"] - of_months(clearness, sun_day))[month]
    clearness = np.clip(level, _DULLEST, ceiling)
    share = clearness * sun_day / np.maximum(clear_day, 1e-9)
    # Clouds vary by the hour. Without them, Erbs's correlation would read broken cloud as haze.
    passing = _wandering(len(stamps), _CLOUD_PERSISTENCE, random)
    passing = share[day_of_hour] + np.interp(share, *_CLOUDS_OF_HOUR)[day_of_hour] * passing
    ghi = clear_sky * np.clip(passing, 0.5 * _DULLEST, _CLEAREST + 0.05)
    ghi = ghi * (share * clear_day / np.maximum(by_days(ghi), 1e-9))[day_of_hour]
    parts = erbs(ghi, sun["zenith"].to_numpy(dtype=float), midpoints)

    gusts = _wandering(len(stamps), _GUST_PERSISTENCE, random)
    wind = by_hour(np.maximum(days["wind_speed"], 0.25 * course["wind_speed"]))
    wind = wind * _WIND_BY_HOUR[stamps.hour] * np.exp(_GUSTINESS * gusts)
    wind = wind * (wanted["wind_speed"] / of_months(wind))[month_of_hour]

    return pd.DataFrame(
        {
            "temp_air": dry,
            "temp_dew": dew,
            "pressure": float(alt2pres(elevation)),
            "wind_speed": wind,
            "ghi": ghi,
            "dni": np.asarray(parts["dni"], dtype=float),
            "dhi": np.asarray(parts["dhi"], dtype=float),
        },
        index=stamps,
    )


def _days(dry_bulb: _Floats, random: np.random.Generator) -> _Floats:
    """Standardized anomalies of each day, shape (days, quantities of `DAILY`)."""
    place = np.clip(np.interp(dry_bulb, _AT, range(len(_AT))), 0, len(_AT) - 1)
    low = np.minimum(place.astype(int), len(_AT) - 2)

    def at(table: _Floats, day: int) -> _Floats:
        part = place[day] - low[day]
        mixed: _Floats = (1.0 - part) * table[low[day]] + part * table[low[day] + 1]
        return mixed

    out = np.empty((len(dry_bulb), len(DAILY)))
    state = np.linalg.cholesky(_SAME_DAY[low[0]]) @ random.standard_normal(len(DAILY))
    for day in range(len(dry_bulb)):
        same, before = at(_SAME_DAY, day), at(_DAY_BEFORE, day)
        carried = before @ np.linalg.inv(same)
        kick = np.linalg.cholesky(same - carried @ before.T)
        state = carried @ state + kick @ random.standard_normal(len(DAILY))
        # Cornish and Fisher's first term gives a normal number the skewness.
        out[day] = state + at(_SKEWNESS, day) / 6.0 * (state**2 - 1.0)
    return out


def _wandering(hours: int, persistence: float, random: np.random.Generator) -> _Floats:
    """Hourly noise of unit standard deviation, a first-order autoregression."""
    from scipy.signal import lfilter

    kicks = np.sqrt(1.0 - persistence**2) * random.standard_normal(hours)
    return np.asarray(lfilter([1.0], [1.0, -persistence], kicks), dtype=float)


def _smooth(monthly: _Floats, month: NDArray[np.int_]) -> _Floats:
    """Daily values on straight lines between the middles of months, with these monthly means."""
    length = np.bincount(month, minlength=12)
    middles = np.cumsum(length) - (length + 1) / 2.0
    knots = monthly
    days = np.arange(len(month))
    for _ in range(50):
        course = np.interp(days, middles, knots, period=len(month))
        knots = knots + monthly - np.bincount(month, course, 12) / length
    return np.interp(days, middles, knots, period=len(month))


def _spread_in(days: _Floats, month: NDArray[np.int_]) -> _Floats:
    return np.array([days[month == k].std(ddof=1) for k in range(12)])
