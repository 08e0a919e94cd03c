"""Hourly means of a log with several rows an hour."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.errors import Problem
from moistsim.weather.checks import (
    INPUTS,
    WeatherError,
    checked_label,
    checked_offset,
    checked_stamps,
    dew_point_of,
    values_in_range,
)
from moistsim.weather.clock import BEFORE_LABEL, HOUR, in_standard_time
from moistsim.weather.deriving import renamed

_ALWAYS = ("temp_air", "wind_speed")


def hourly_means(frame: pd.DataFrame, utc_offset: float, label: str) -> tuple[pd.DataFrame, str]:
    """Return hourly means of an evenly spaced log, by the start of the hour, and a note."""
    stamps = checked_stamps(frame)
    label, utc_offset = checked_label("log", label), checked_offset("log", utc_offset)
    frame = renamed(frame)

    def where(row: int) -> str:
        return f"log row {stamps[row]}"

    if len(stamps) < 48:
        raise WeatherError(
            "log", None, Problem(f"{len(stamps)} rows"), "a day of rows, at most 30 min apart"
        )
    spacing = _spacing(stamps, where)
    minutes = spacing / pd.Timedelta(minutes=1)
    starts = in_standard_time(stamps, utc_offset) - BEFORE_LABEL[label] * (spacing / HOUR)
    off = np.flatnonzero(
        starts != starts.floor("h") + (starts - starts.floor("h")) // spacing * spacing
    )
    if off.size:
        raise WeatherError(
            where(int(off[0])), "time", Problem(f"a row of {minutes:g} min that begins at {starts[off[0]]}"),
            f"rows that begin on the hour and every {minutes:g} min after it (or another label)",
        )  # fmt: skip

    lacking = [name for name in INPUTS if name not in frame.columns and name not in _ALWAYS]
    columns = values_in_range(frame, "log", where, lacking)
    vapor = air.over(air.saturation_pressure, dew_point_of(columns, where))
    columns.pop("relative_humidity", None)
    columns["temp_dew"] = vapor
    rows = pd.DataFrame(columns, index=starts)
    by_hour = rows.groupby(starts.floor("h"))
    an_hour = round(HOUR / spacing)
    whole = by_hour.size() == an_hour
    hours = by_hour.mean()[whole]
    hours["temp_dew"] = air.over(air.dew_point, hours["temp_dew"].to_numpy())
    left = len(rows) - an_hour * len(hours)
    note = (
        f"hourly means of {an_hour} rows of {minutes:g} min each, stamped at their {label}: "
        "arithmetic for dry bulb, pressure, wind speed and sun; dew point that of the mean vapor "
        f"pressure; {left} rows outside whole hours are not used"
    )
    return hours, note


def _spacing(stamps: pd.DatetimeIndex, where: Callable[[int], str]) -> pd.Timedelta:
    """Return the interval between rows; refuse gaps, repeats and disorder."""
    missing = np.flatnonzero(stamps.isna())
    if missing.size:
        raise WeatherError(
            f"log row {missing[0] + 1}", "index", Problem("no time"), "a time in each row"
        )
    steps = ((stamps[1:] - stamps[:-1]) / pd.Timedelta(seconds=1)).to_numpy()
    usual = float(np.median(steps))
    if not (60.0 <= usual <= 1800.0 and 3600.0 % usual == 0.0):
        raise WeatherError(
            "log", None, Problem(f"rows {usual / 60:g} min apart"),
            "rows 1 to 30 min apart, a whole number of them an hour (hourly rows: from_frame)",
        )  # fmt: skip
    wrong = np.flatnonzero(steps != usual)
    if wrong.size:
        row = int(wrong[0]) + 1
        raise WeatherError(
            where(row), "time", Problem(f"{steps[row - 1] / 60:g} min since the row before"),
            f"rows exactly {usual / 60:g} min apart, in order, without daylight saving",
        )  # fmt: skip
    return pd.Timedelta(seconds=usual)
