"""Invented houses with a known truth, and the logs that their loggers would write."""

from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from support import weathers

import moistsim as ms
from moistsim import air

CLIMATES = {
    "greensboro": (36.1, -79.95, -5, 273.0),
    "miami": (25.8, -80.3, -5, 4.0),
    "sand_point": (55.3, -160.5, -9, 7.0),
}


STATION = {"out t": "temp_air", "out dp": "temp_dew", "p": "pressure", "wind": "wind_speed",
           "ghi": "ghi", "dni": "dni", "dhi": "dhi"}  # fmt: skip


class Truth(NamedTuple):
    """A house, what it was drawn with, and its log."""

    described: ms.House
    equipment: ms.Equipment
    house: ms.House
    machines: ms.Equipment
    values: dict[str, float]
    log: ms.HouseLog
    offset: float
    """Mean error of the humidity loggers, percent RH."""


def log_of(
    season: ms.Season, place: tuple[float, float, float, float], *, offset: float = 0.0,
    drift: float = 0.0, scatter: float = 0.5, step: str = "10min", seed: int = 0,
    more: dict[str, Any] | None = None,
) -> ms.HouseLog:  # fmt: skip
    """The log of one logger in a house: RH with an offset, a drift to the end and scatter, percent."""
    draw = np.random.default_rng(seed)
    minutes = season.table_every(step)
    hourly = season.weather.frame.loc[season.hourly.index]
    # A station reports by the hour.
    out = hourly.reindex(minutes.index, method="ffill")
    t, w = minutes["indoor_temperature_C"].to_numpy(), minutes["indoor_humidity_ratio"].to_numpy()
    saturation = air.over(air.saturation_pressure, t)
    rh = 100.0 * air.over(air.vapor_pressure, w, out["pressure"].to_numpy()) / saturation
    n = len(t)
    errors = offset + drift * np.linspace(0.0, 1.0, n) + scatter * draw.standard_normal(n)
    frame = pd.DataFrame({
        "when": minutes.index, "t": t + 0.1 * draw.standard_normal(n), "rh": np.clip(rh + errors, 1.0, 99.0),
        **{name: out[column].to_numpy() for name, column in STATION.items()},
    })  # fmt: skip
    columns = {
        "time": "when", "indoor_temperature.hall": "t", "indoor_rh.hall": "rh", "outdoor_temperature": "out t",
        "outdoor_dew_point": "out dp", "pressure": "p", "wind_speed": "wind",
    }  # fmt: skip
    units = {"indoor_temperature": "degC", "indoor_rh": "%", "outdoor_temperature": "degC",
             "outdoor_dew_point": "degC", "pressure": "Pa", "wind_speed": "m/s"}  # fmt: skip
    for name, (values, unit) in (more or {}).items():
        frame[name] = values
        columns[name], units[name] = name, unit
    return ms.HouseLog.read(
        frame, columns, units=units, latitude=place[0], longitude=place[1], utc_offset=place[2],
        elevation=place[3], label="start",
    )  # fmt: skip


def invented(
    seed: int, climate: str, *, days: int = 30, first: int = 20,
    weighed: tuple[int, int, float] | None = None,
) -> Truth:  # fmt: skip
    """A house drawn from the default ranges around its description, without an air conditioner.

    Parameters
    ----------
    weighed : (int, int, float), optional
        First day and number of days in which so many kg a day are taken out of the air and weighed.
    """
    draw = np.random.default_rng(1000 + seed)
    place = CLIMATES[climate]
    described = ms.House(
        floor_area=f"{draw.uniform(1200, 2600):.0f} ft2", ach50=float(draw.uniform(2, 7)),
        gains=ms.Gains(occupants=float(draw.integers(1, 6))),
    )  # fmt: skip
    equipment = ms.Equipment()

    def fold(value: float, factor: float) -> float:
        return float(value * factor ** draw.uniform(-1.0, 1.0))

    store = described.moisture_store
    values = {
        "house.ach50": fold(described.ach50, 2.5),
        "house.gains.moisture": fold(described.moisture_gain, 2.5),
        "house.moisture_store.area": fold(store.area, 3.0),
        "house.moisture_store.coating": fold(store.coating, 2.5),
    }
    house = attrs.evolve(
        described, ach50=values["house.ach50"],
        gains=attrs.evolve(described.gains, moisture=values["house.gains.moisture"]),
        moisture_store=attrs.evolve(store, area=values["house.moisture_store.area"], coating=values["house.moisture_store.coating"]),
    )  # fmt: skip
    weather = weathers.stretch(climate, first, days + 21)
    start = weather.frame.index[21 * 24]
    hours = weather.frame.index
    # Far enough above the outdoor dew point, as nothing dries the air.
    warm = max(21.0, float(weather.frame["temp_dew"].mean()) + 8.0)
    wave = (
        warm
        + 0.8 * np.sin(2 * np.pi * (hours.hour - 9) / 24)
        + draw.normal(0, 0.5, len(hours)).cumsum() * 0.05
    )
    impose = pd.Series(np.clip(wave, 16.0, 29.0), hours)
    taken = pd.Series(0.0, hours)
    if weighed is not None:
        taken.iloc[24 * (21 + weighed[0]) : 24 * (21 + weighed[0] + weighed[1])] = (
            weighed[2] / 86400.0
        )
    given = house.moisture_gain * np.array(house.gains.moisture_profile)[hours.hour]
    season = ms.simulate(
        house, equipment, ms.strategies.temperature_only, weather, start=f"{start:%Y-%m-%d}",
        impose=impose, series={"moisture": given - taken} if weighed is not None else None,
    )  # fmt: skip
    offset, drift = float(draw.uniform(-2, 2)), float(draw.uniform(-1, 1))
    values |= {"logger.humidity_offset": offset, "logger.humidity_drift": drift * 30.0 / days}
    more = {}
    if weighed is not None:
        rows = season.table_every("10min").index
        more["condensate"] = (600.0 * taken.reindex(rows, method="ffill").to_numpy(), "kg")
    log = log_of(season, place, offset=offset, drift=drift, seed=seed, more=more)
    return Truth(described, equipment, house, equipment, values, log, offset)
