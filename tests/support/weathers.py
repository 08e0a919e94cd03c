"""Weathers: the sample years, some days of one, random days, and air that never changes."""

from functools import lru_cache

import pandas as pd
from hypothesis import strategies as st

import moistsim as ms
from moistsim import air

SAMPLES = ("miami", "greensboro", "sand_point")


@lru_cache
def sample(name: str) -> ms.Weather:
    """A sample year, read once a process."""
    return ms.Weather.sample(name)


@lru_cache
def stretch(place: str, first: int, days: int) -> ms.Weather:
    """Some days of a sample year as a weather of its own, whose sun is quick to compute.

    `first` counts days from 1 January; the ground is then at the mean of these days.
    """
    whole = sample(place)
    rows = whole.frame.iloc[24 * first : 24 * (first + days)].drop(columns="humidity_ratio")
    return ms.Weather.from_frame(
        rows,
        latitude=whole.latitude,
        longitude=whole.longitude,
        utc_offset=whole.utc_offset,
        elevation=whole.elevation,
        label="start",
    )


def flat(
    temp_air: float,
    humidity_ratio: float,
    *,
    days: int,
    pressure: float = air.STANDARD_PRESSURE,
    wind_speed: float = 0.0,
) -> ms.Weather:
    """Constant, sunless and, unless told otherwise, still air.

    Parameters
    ----------
    temp_air : float
        Dry bulb, degC.
    humidity_ratio : float
        kg/kg.
    days : int
        From 1 January of a year without a leap day.
    pressure : float
        Pa.
    wind_speed : float
        m/s.
    """
    frame = pd.DataFrame(
        {
            "temp_air": temp_air,
            "temp_dew": float(air.dew_point(air.vapor_pressure(humidity_ratio, pressure))),
            "humidity_ratio": humidity_ratio,
            "pressure": pressure,
            "wind_speed": wind_speed,
            "ghi": 0.0,
            "dni": 0.0,
            "dhi": 0.0,
        },
        index=pd.date_range("2001-01-01", periods=24 * days, freq="h", name="time"),
    )
    return ms.Weather(
        frame=frame,
        latitude=30.0,
        longitude=-90.0,
        utc_offset=-6.0,
        elevation=0.0,
        label="start",
        name="invented flat climate",
    )


@st.composite
def any_days(draw: st.DrawFn, days: int = 7) -> ms.Weather:
    """A stretch of a sample year."""
    return stretch(draw(st.sampled_from(SAMPLES)), draw(st.integers(0, 364 - days)), days)
