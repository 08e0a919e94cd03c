"""Logs that the engine made: a house with a known truth, as loggers with noise would write it."""

from functools import lru_cache

import numpy as np
import pandas as pd
from scipy import signal
from support import houses, machines, weathers

import moistsim as ms
from moistsim import air

ROOMS = {"kitchen": (0.5, 0.2), "hall": (-0.3, 0.0), "bedroom": (-0.6, 0.1), "study": (0.2, -0.15)}
"""Rooms with their steady difference of temperature, K, and of humidity ratio, g/kg, from the house."""

COLUMNS = {
    "time": "when",
    **{f"indoor_temperature.{room}": f"{room} T" for room in ROOMS},
    **{f"indoor_rh.{room}": f"{room} RH" for room in ROOMS},
    "outdoor_temperature": "out T",
    "outdoor_rh": "out RH",
    "pressure": "p",
    "wind_speed": "wind",
}
UNITS = {
    "indoor_temperature": "degF",
    "indoor_rh": "%",
    "outdoor_temperature": "degF",
    "outdoor_rh": "%",
    "pressure": "hPa",
    "wind_speed": "mph",
}
PLACE = {"latitude": 36.1, "longitude": -79.95, "elevation": 273.0}
FIRST = 120
"""First day of the log in the sample year, from January 1."""


@lru_cache
def season(days: int, first: int = FIRST) -> ms.Season:
    """Some weeks of a house in Greensboro."""
    weather = weathers.stretch("greensboro", first, days)
    return ms.simulate(
        houses.house(),
        machines.machines(),
        ms.strategies.temperature_only,
        weather,
        spin_up="5 day",
    )


def table(
    days: int = 40, *, seed: int = 0, step: str = "10min", first: int = FIRST
) -> pd.DataFrame:
    """The file that the loggers wrote, in the units of `UNITS`, stamped at the start of each row.

    The house and its weather are those of `season`, on straight lines between the hours; invented
    noise of 0.1 K and 0.5 % RH for a reading, rooms a steady difference from the house, and a door
    or a person now and then (two random walks, of half a day and of four days, 0.15 g/kg each).
    """
    draw = np.random.default_rng(seed)
    of = season(days, first)
    hours = of.hourly
    weather = of.weather.frame
    middles = weather.index + pd.Timedelta(minutes=30)
    every = pd.date_range(middles[0].floor("h"), middles[-1].floor("h"), freq=step)[:-1]
    at = every + pd.Timedelta(step) / 2

    def between(values: pd.Series) -> np.ndarray:
        return np.interp(at.asi8, middles.asi8, values.to_numpy())

    temperature = between(hours["indoor_temperature_C"])
    ratio = between(hours["indoor_humidity_ratio"])
    pressure = between(weather["pressure"])
    frame = pd.DataFrame({"when": every})

    def readings(t: np.ndarray, w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        saturation = air.over(air.saturation_pressure, t)
        rh = 100.0 * air.over(air.vapor_pressure, w, pressure) / saturation
        n = len(t)
        return (
            (1.8 * (t + 0.1 * draw.standard_normal(n)) + 32.0).round(1),
            np.clip(rh + 0.5 * draw.standard_normal(n), 0.5, 100.0).round(1),
        )

    for room, (warmer, moister) in ROOMS.items():
        t = temperature + warmer + 0.3 * _walk(draw, len(at), step, "12h")
        moved = _walk(draw, len(at), step, "12h") + _walk(draw, len(at), step, "4D")
        w = ratio + 1.0e-3 * (moister + 0.15 * moved)
        frame[f"{room} T"], frame[f"{room} RH"] = readings(t, w)
    frame["out T"], frame["out RH"] = readings(
        between(weather["temp_air"]), between(weather["humidity_ratio"])
    )
    frame["p"] = (pressure / 100.0).round(1)
    frame["wind"] = (between(weather["wind_speed"]) * 2.236936).round(1)
    return frame


def _walk(draw: np.random.Generator, count: int, step: str, returns_in: str) -> np.ndarray:
    """A random walk of unit deviation that forgets itself in a time."""
    keep = float(np.exp(-pd.Timedelta(step) / pd.Timedelta(returns_in)))
    kicks = draw.standard_normal(count)
    kicks[1:] *= np.sqrt(1.0 - keep**2)
    return signal.lfilter([1.0], [1.0, -keep], kicks)


def read(frame: pd.DataFrame, **changes: object) -> ms.HouseLog:
    """The log of such a table."""
    given = {
        "columns": COLUMNS,
        "units": UNITS,
        **PLACE,
        "utc_offset": -5,
        "label": "start",
        **changes,
    }
    return ms.HouseLog.read(frame, **given)
