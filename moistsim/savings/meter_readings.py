"""Readings of an electricity meter, period by period, with the outdoor air of each day."""

from functools import cached_property
from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import InputError, Problem
from moistsim.loggers import Bills
from moistsim.weather import Weather

Array = NDArray[np.float64]
DAY = pd.Timedelta(days=1)

HUMID_ABOVE = 13.0
"""Outdoor dew point above which air that leaks in is moisture for the coil, degC: about the dew point
of a room at 75 degF and 50 % RH (common practice, no source)."""


@attrs.frozen(eq=False)
class MeterReadings:
    """Use of electricity by period, with the daily outdoor air of each period.

    A period is a day, or the days of a bill from its first up to the next reading.
    """

    start: pd.DatetimeIndex
    """First day of each period."""
    days: Array
    """Length of each period, days."""
    kwh: Array
    """Electricity of each period, kWh."""
    temperature: Array
    """Daily mean outdoor temperatures, degC, of all periods' days in their order."""
    dew_point: Array
    """Daily mean outdoor dew points, degC, of all periods' days in their order."""
    dropped: int = 0
    """Periods without weather, or without a reading, which are not counted."""

    def __len__(self) -> int:
        return len(self.kwh)

    @property
    def end(self) -> pd.DatetimeIndex:
        """Day after the last day of each period."""
        return pd.DatetimeIndex(self.start + pd.to_timedelta(self.days, unit="D"))

    @property
    def per_day(self) -> Array:
        """Mean use of each period, kWh a day."""
        return np.asarray(self.kwh / self.days)

    def mean(self, daily: Array) -> Array:
        """Mean in each period of a value of each day."""
        starts = np.r_[0, np.cumsum(self.days[:-1])].astype(int)
        return np.asarray(np.add.reduceat(daily, starts) / self.days)

    @cached_property
    def mean_temperature(self) -> Array:
        """Mean outdoor temperature of each period, degC."""
        return self.mean(self.temperature)

    @cached_property
    def humid(self) -> Array:
        """Mean excess of the daily dew point over `HUMID_ABOVE` in each period, K."""
        return self.mean(np.maximum(self.dew_point - HUMID_ABOVE, 0.0))

    def __getitem__(self, rows: slice) -> "MeterReadings":
        """Some of the periods, in their order."""
        ends = np.r_[0, np.cumsum(self.days)].astype(int)
        first, after, _ = rows.indices(len(self))
        days = slice(ends[first], ends[after])
        return MeterReadings(
            self.start[rows], self.days[rows], self.kwh[rows], self.temperature[days],
            self.dew_point[days],
        )  # fmt: skip

    @property
    def are_daily(self) -> bool:
        """Whether each period is one day."""
        return bool((self.days == 1.0).all())

    @property
    def follows(self) -> NDArray[np.bool_]:
        """Whether a period begins where the one before it ends; one fewer than periods."""
        return np.asarray(self.start[1:] == self.end[:-1])

    @property
    def span(self) -> tuple[pd.Timestamp, pd.Timestamp]:
        """First and last day."""
        return self.start[0], self.end[-1] - DAY


def read_meter(given: Any, weather: Weather, where: str) -> MeterReadings:
    """Combine meter readings with the weather of their days.

    Parameters
    ----------
    given : Bills, DataFrame or Series
        Bills with the columns ``start``, ``end`` (the day of the next reading) and ``kWh``, or energy by
        time, kWh in each interval of a day or less. Days of intervals that miss some are not counted.
    weather : Weather
        Of the same days.
    where : str
        For errors.

    Raises
    ------
    InputError
        If readings cannot be used, or none has its weather.
    """
    if isinstance(given, pd.Series):
        table = _by_day(given, where)
        lost = int(table["kWh"].isna().sum())
        table = table.dropna(subset="kWh")
    elif isinstance(given, pd.DataFrame | Bills):
        table, lost = (given if isinstance(given, Bills) else Bills.read(given)).frame, 0
    else:
        found = Problem(f"a value of the type {type(given).__name__}")
        accepted = (
            "ms.Bills, a table with the columns start, end and kWh, or a Series of kWh by time"
        )
        raise InputError(where, found, accepted)
    frame = weather.frame
    # A day counts from its midnight, in local standard time.
    daily = frame[["temp_air", "temp_dew"]].resample("D").agg(["mean", "count"])
    whole = (daily["temp_air"]["count"] == 24).to_numpy()
    known = pd.DatetimeIndex(daily.index)[whole]
    air = pd.DataFrame({name: daily[name]["mean"] for name in ("temp_air", "temp_dew")}).loc[known]
    kept, temperatures, dew_points = [], [], []
    for k, (start, end) in enumerate(zip(table["start"], table["end"], strict=True)):
        first, after = air.index.searchsorted(pd.DatetimeIndex([start, end]))
        if after - first == (end - start) // DAY:
            kept.append(k)
            temperatures.append(air["temp_air"].to_numpy()[first:after])
            dew_points.append(air["temp_dew"].to_numpy()[first:after])
    if not kept:
        span = f"{frame.index[0]:%Y-%m-%d} to {frame.index[-1]:%Y-%m-%d}"
        found = Problem(f"none of {len(table)} readings lies within the weather of {span}")
        raise InputError(where, found, "weather of the days of the bills, with their real dates")
    start = pd.DatetimeIndex(table["start"])[kept]
    days = ((pd.DatetimeIndex(table["end"])[kept] - start) / DAY).to_numpy(float)
    return MeterReadings(
        start, days, table["kWh"].to_numpy(float)[kept], np.concatenate(temperatures), np.concatenate(dew_points),
        lost + len(table) - len(kept),
    )  # fmt: skip


def _by_day(given: "pd.Series[float]", where: str) -> pd.DataFrame:
    """Table of days from interval energy; a day that lacks an interval has none."""
    index = given.index
    if not isinstance(index, pd.DatetimeIndex) or len(index) < 2:
        raise InputError(where, Problem("energy without times"), "a Series of kWh by time")
    step = pd.Series(index[1:] - index[:-1]).mode().iloc[0]
    by_day = given.resample("D").agg(["sum", "count"])
    start = pd.DatetimeIndex(by_day.index)
    # The first and the last day of a log are seldom whole, which is no loss to tell.
    whole = (by_day["count"] == round(DAY / step)).to_numpy()
    table = pd.DataFrame(
        {"start": start, "end": start + DAY, "kWh": by_day["sum"].where(whole).to_numpy()}
    )
    ends = np.flatnonzero(whole)
    return table.iloc[ends[0] : ends[-1] + 1] if len(ends) else table
