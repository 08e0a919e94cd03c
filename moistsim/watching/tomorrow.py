"""Humidity of the next day, with its band."""

from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from scipy.stats import norm

from moistsim import air
from moistsim.core.errors import InputError, Problem
from moistsim.loggers import HouseLog
from moistsim.watching.suspects import Watched
from moistsim.weather import Weather

DAY = pd.Timedelta(days=1)
_FROM_WEATHER = {"outdoor_temperature": "temp_air", "outdoor_dew_point": "temp_dew", "pressure": "pressure",
                 "wind_speed": "wind_speed", "ghi": "ghi", "dni": "dni", "dhi": "dhi"}  # fmt: skip


class Tomorrow(NamedTuple):
    """Mean humidity ratio of the 24 h after a log, kg/kg."""

    start: pd.Timestamp
    predicted: float
    low: float
    high: float
    by_forecast: bool
    """Whether its weather is a forecast; else it is that of the last day once more."""


def next_day(
    fit: Watched, log: HouseLog, level: float, forecast: Weather | None, days: pd.DataFrame
) -> Tomorrow:
    """Predict the 24 h after the last whole hour of a log.

    Without a forecast the weather of the last day is taken once more, and the band is widened by
    what the model's daily means have changed from one day to the next.

    Parameters
    ----------
    days : DataFrame
        `predicted` by day, for these changes.
    """
    index = pd.DatetimeIndex(log.frame.index)
    now = (index[-1] + pd.Timedelta(seconds=log.step)).floor("h")
    longer = _longer(log, now, forecast)
    table = fit.predict(longer, level=level, measured_until=now)
    ahead = table.loc[now : now + DAY - pd.Timedelta(hours=1)]
    by_day = fit.predict(log, level=level, period="D")
    half = float(((by_day["high"] - by_day["low"]) / 2.0).median())
    if forecast is None:
        change = (
            float(np.sqrt((days["predicted"].diff().dropna() ** 2).mean()))
            if len(days) > 2
            else 0.0
        )
        half = float(np.hypot(half, norm.ppf(0.5 + 0.5 * level) * change))
    middle = float(ahead["predicted"].mean())
    return Tomorrow(now, middle, max(middle - half, 0.0), middle + half, forecast is not None)


def _longer(log: HouseLog, now: pd.Timestamp, forecast: Weather | None) -> HouseLog:
    """The log with a further day of outdoor air, and of the last day's room temperature."""
    step = pd.Timedelta(seconds=log.step)
    frame = log.frame.loc[: now - step]
    last = frame.loc[now - DAY : now - step].copy()
    if len(last) < round(DAY / step):
        raise InputError("watch log", Problem(f"{len(last)} rows"), "a log of a day or more")
    last.index = last.index + DAY
    for name in last.columns:
        if str(name).startswith(("indoor_rh", "indoor_dew_point")):
            last[name] = np.nan
    if forecast is not None:
        hours = forecast.frame
        at = pd.DatetimeIndex(last.index).floor("h")
        if not at.isin(hours.index).all():
            raise InputError(
                "watch forecast", Problem(f"no hour {at[~at.isin(hours.index)][0]:%Y-%m-%d %H:%M}"),
                f"hourly weather from {now:%Y-%m-%d %H:%M} for a day",
            )  # fmt: skip
        there = hours.loc[at]
        for name, column in _FROM_WEATHER.items():
            if name in last.columns:
                last[name] = there[column].to_numpy()
        if "outdoor_rh" in last.columns:
            vapor = air.over(air.saturation_pressure, there["temp_dew"])
            saturated = air.over(air.saturation_pressure, there["temp_air"])
            last["outdoor_rh"] = np.clip(100.0 * vapor / saturated, 0.1, 100.0)
    return attrs.evolve(log, frame=pd.concat([frame, last]))
