"""Time stamps of hourly weather: what a label says of them, and local standard time."""

from __future__ import annotations

from datetime import timedelta, timezone

import pandas as pd

HOUR = pd.Timedelta(hours=1)

#: What a label says: how much of the hour lies before the stamp.
BEFORE_LABEL = {"start": 0 * HOUR, "middle": HOUR / 2, "end": HOUR}

#: The year that hours without a year of their own are stamped with: it has no leap day.
YEAR_OF_NO_YEAR = 1990


def hours_of(frame: pd.DataFrame) -> pd.DatetimeIndex:
    """The index of a frame that is known to have one of time stamps."""
    index = frame.index
    assert isinstance(index, pd.DatetimeIndex)
    return index


def in_standard_time(stamps: pd.DatetimeIndex, utc_offset: float) -> pd.DatetimeIndex:
    """Naive stamps in local standard time; naive ones are taken as such."""
    return stamps if stamps.tz is None else stamps.tz_convert(_zone(utc_offset)).tz_localize(None)


def middles_of(starts: pd.DatetimeIndex, utc_offset: float) -> pd.DatetimeIndex:
    """Middles, with the fixed offset from UTC, of hours that begin at naive stamps."""
    return starts.tz_localize(_zone(utc_offset)) + HOUR / 2


def _zone(utc_offset: float) -> timezone:
    return timezone(timedelta(hours=utc_offset))
