"""Position of the sun over a run of hours, and a check of irradiance against it.

pvlib is imported where it is called, because it is slow to import.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import Problem
from moistsim.weather.checks import FEWEST_ROWS, Place, WeatherError

_Floats = NDArray[np.float64]

# Refraction and the sun's radius lift its edge by about 0.8 deg at the horizon, and deep twilight is
# worth a few W/m2 at most.
SUN_DOWN = -1.0  # deg, elevation below which an hour has no sun
_DARK_LIMIT = 20.0  # W/m2, more than twilight and a pyranometer's offset
_BRIGHT = 200.0  # W/m2, hours in which the three sun columns are compared
_CLOSURE_GOOD = 20.0  # W/m2 rms; typical years close to 1-10, half an hour off gives 25-45
_CLOSURE_BAD = 100.0  # W/m2 rms; no time shift needed to call the columns contradictory


class SolarPosition(NamedTuple):
    """Position of the sun in the middle of each hour, degrees; read-only."""

    apparent_zenith: NDArray[np.float64]
    """Zenith angle of the sun with refraction, degrees."""
    azimuth: NDArray[np.float64]
    elevation: NDArray[np.float64]
    """Elevation of the sun without refraction, degrees."""


def solar_position(
    midpoints: pd.DatetimeIndex, latitude: float, longitude: float, elevation: float
) -> SolarPosition:
    """Return the position of the sun at the midpoints, by pvlib."""
    from pvlib.solarposition import get_solarposition

    sun = get_solarposition(midpoints, latitude, longitude, altitude=elevation)
    found = SolarPosition(*(sun[name].to_numpy(float) for name in SolarPosition._fields))
    for array in found:
        array.setflags(write=False)
    return found


def sun_above_the_air(
    midpoints: pd.DatetimeIndex, latitude: float, longitude: float
) -> tuple[pd.DataFrame, _Floats]:
    """Return the sun's position, by pvlib, and extraterrestrial horizontal irradiance, W/m2."""
    from pvlib.solarposition import get_solarposition

    sun = get_solarposition(midpoints, latitude, longitude)
    return sun, above_air(midpoints, sun["elevation"].to_numpy(dtype=float))


def above_air(midpoints: pd.DatetimeIndex, elevation: _Floats) -> _Floats:
    """Return extraterrestrial horizontal irradiance, W/m2, from the sun's elevation, degrees."""
    from pvlib.irradiance import get_extra_radiation

    sine = np.maximum(np.sin(np.radians(elevation)), 0.0)
    return np.asarray(get_extra_radiation(midpoints), dtype=float) * sine


def check_sun(
    frame: pd.DataFrame,
    midpoints: pd.DatetimeIndex,
    place: Place,
    sun: _Floats,
    origin: str,
    where: Callable[[int], str],
) -> None:
    """Check irradiance against the sun's position at the place.

    `sun` is the sun's elevation at the midpoints, degrees. Global irradiance must be the sum of its
    parts, ghi = dhi + dni cos(zenith), at the middle of the hour. If the sum fits much better with
    the sun half an hour or an hour away, the stamps are wrong.
    """
    from pvlib.solarposition import get_solarposition

    ghi, dni, dhi = (frame[name].to_numpy() for name in ("ghi", "dni", "dhi"))

    def elevation_of_sun(rows: NDArray[np.intp], minutes: int) -> _Floats:
        when = midpoints[rows] + pd.Timedelta(minutes=minutes)
        there = get_solarposition(when, place.latitude, place.longitude, altitude=place.elevation)
        return np.asarray(there["elevation"], dtype=float)

    cure = "a label, utc_offset and longitude that agree (one of them is wrong)"
    # The sun moves at most 7.5 degrees in half an hour. Only hours that are dark in their middle
    # are in doubt, and in a correct file these are not bright.
    doubt = np.flatnonzero((ghi > _DARK_LIMIT) & (sun < SUN_DOWN))
    if doubt.size:
        edges = np.maximum(elevation_of_sun(doubt, -30), elevation_of_sun(doubt, 30))
        dark = doubt[edges < SUN_DOWN]
        if dark.size:
            row = int(dark[0])
            raise WeatherError(
                where(row),
                "ghi",
                Problem(
                    f"{ghi[row]:g} W/m2 while the sun is below the horizon all hour "
                    f"(such hours: {dark.size})"
                ),
                cure,
            )
    high = sun > 10.0
    if high.sum() > FEWEST_ROWS and ghi.max() < _DARK_LIMIT:
        raise WeatherError(
            origin,
            "ghi",
            Problem(f"at most {ghi.max():g} W/m2 in {high.sum()} hours of sun above 10 degrees"),
            "global horizontal irradiance in W/m2 (1 kW/m2 is 1000 W/m2)",
        )
    bright = np.flatnonzero((ghi > _BRIGHT) | (dni > _BRIGHT))
    if bright.size < FEWEST_ROWS:
        return

    def closure(height: _Floats) -> float:
        sine = np.maximum(np.sin(np.radians(height)), 0.0)
        gap = ghi[bright] - dhi[bright] - dni[bright] * sine
        return float(np.sqrt(np.mean(gap**2)))

    as_given = closure(sun[bright])
    if as_given <= _CLOSURE_GOOD:
        return
    best, minutes = min(
        (closure(elevation_of_sun(bright, m)), m) for m in (-90, -60, -30, 30, 60, 90)
    )
    sine = np.maximum(np.sin(np.radians(sun[bright])), 0.0)
    gap = ghi[bright] - dni[bright] - dhi[bright] * sine
    if float(np.sqrt(np.mean(gap**2))) < min(best, as_given / 2):
        raise WeatherError(
            origin,
            "dni, dhi",
            Problem("sums that fit once direct and diffuse sun are exchanged"),
            "direct normal irradiance as dni, and diffuse horizontal irradiance as dhi",
        )
    if best < as_given / 2:
        raise WeatherError(
            origin,
            "ghi, dni, dhi",
            Problem(
                f"sums that fit the sun of {abs(minutes)} min {'later' if minutes > 0 else 'earlier'}"
            ),
            cure,
        )
    if as_given > _CLOSURE_BAD:
        raise WeatherError(
            origin,
            "ghi, dni, dhi",
            Problem(f"ghi {as_given:.0f} W/m2 (rms) away from dhi + dni * cos(zenith)"),
            f"three columns that agree within {_CLOSURE_BAD:g} W/m2",
        )
