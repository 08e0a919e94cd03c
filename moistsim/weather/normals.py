"""Twelve monthly normals: from a run of hours, and checks of a table of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import Problem
from moistsim.weather.checks import WeatherError
from moistsim.weather.clock import hours_of
from moistsim.weather.sun import sun_above_the_air

#: Columns of a table of normals: accepted range, unit.
NORMALS = {
    "temp_air": (-50.0, 45.0, "degC, mean of the month"),
    "daily_range": (0.5, 30.0, "K, mean of each day's highest hour less its lowest"),
    "temp_dew": (-60.0, 32.0, "degC, mean of the month"),
    "wind_speed": (0.1, 20.0, "m/s, mean of the month"),
    "clearness": (0.1, 0.8, "sun on the ground / sun above the air, both horizontal, of the month"),
}


def daily_values(
    frame: pd.DataFrame, midpoints: pd.DatetimeIndex, latitude: float, longitude: float
) -> pd.DataFrame:
    """Return each day's mean dry bulb, dew point and wind, daily range and clearness."""
    _, above = sun_above_the_air(midpoints, latitude, longitude)
    by_day = frame.assign(above=above).groupby(hours_of(frame).normalize())
    dry = by_day["temp_air"]
    out: pd.DataFrame = by_day[["temp_air", "temp_dew", "wind_speed"]].mean()
    out["daily_range"] = dry.max() - dry.min()
    out["above"] = by_day["above"].sum()
    out["clearness"] = by_day["ghi"].sum() / out["above"].where(out["above"] > 0.0)
    return out


def normals_of(
    frame: pd.DataFrame, midpoints: pd.DatetimeIndex, latitude: float, longitude: float
) -> pd.DataFrame:
    """Return the twelve normals of hours; see `Weather.normals`."""
    months = hours_of(frame).month
    missing = [month for month in range(1, 13) if month not in months]
    if missing:
        raise WeatherError(
            "normals",
            None,
            Problem(f"no hour of month {missing[0]}"),
            "weather with all twelve months",
        )
    days = daily_values(frame, midpoints, latitude, longitude)
    # Clearness is of the month's sums, so a dark day counts less than a bright one.
    days["clearness"] = (days["clearness"] * days["above"]).fillna(0.0)
    by_month = days.groupby(hours_of(days).month)
    out: pd.DataFrame = by_month[list(NORMALS)].mean()
    out["clearness"] /= by_month["above"].mean()
    out.index.name = "month"
    return out


def checked_normals(normals: Any) -> pd.DataFrame:
    """Check a table of normals; return its twelve rows in order as floats."""
    accepted = "a DataFrame of 12 rows, January first, with columns " + ", ".join(NORMALS)
    if not isinstance(normals, pd.DataFrame):
        raise WeatherError(
            "normals", None, Problem(f"cannot use a {type(normals).__name__}"), accepted
        )
    if len(normals) != 12:
        raise WeatherError("normals", None, Problem(f"{len(normals)} rows"), accepted)
    if sorted(normals.index) not in (list(range(12)), list(range(1, 13))):
        raise WeatherError(
            "normals", "index", Problem(f"cannot use {list(normals.index)}"), "the months 1 to 12"
        )
    normals = normals.sort_index()
    out = {}
    for name, (low, high, unit) in NORMALS.items():
        if list(normals.columns).count(name) != 1:
            raise WeatherError("normals", name, Problem("no such column, or several"), accepted)
        values = pd.to_numeric(normals[name], errors="coerce").to_numpy(dtype=float)
        bad = np.flatnonzero(~((values >= low) & (values <= high)))
        if bad.size:
            raise WeatherError(
                f"normals month {bad[0] + 1}", name, Problem(f"cannot use {normals[name].iloc[bad[0]]}"),
                f"{low:g} to {high:g} {unit}",
            )  # fmt: skip
        out[name] = values
    damp = np.flatnonzero(out["temp_dew"] > out["temp_air"])
    if damp.size:
        month = int(damp[0])
        raise WeatherError(
            f"normals month {month + 1}", "temp_dew", Problem(f"cannot use {out['temp_dew'][month]:g} °C"),
            f"at most the mean dry bulb of {out['temp_air'][month]:g} °C",
        )  # fmt: skip
    return pd.DataFrame(out, index=pd.RangeIndex(1, 13, name="month"))
