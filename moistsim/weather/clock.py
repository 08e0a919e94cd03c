"""Time stamps of hourly weather: labels, and local standard time."""

from __future__ import annotations

from datetime import timedelta, timezone

import pandas as pd

HOUR = pd.Timedelta(hours=1)

#: Part of the hour before the stamp, by label.
BEFORE_LABEL = {"start": 0 * HOUR, "middle": HOUR / 2, "end": HOUR}

#: Year of the stamps of typical and synthetic years; it has no leap day.
YEAR_OF_NO_YEAR = 1990


def hours_of(frame: pd.DataFrame) -> pd.DatetimeIndex:
    """Return the index of a frame that is known to have time stamps."""
    index = frame.index
    assert isinstance(index, pd.DatetimeIndex)
    return index


def in_standard_time(stamps: pd.DatetimeIndex, utc_offset: float) -> pd.DatetimeIndex:
    """Convert stamps to naive local standard time; naive stamps do not change."""
    return stamps if stamps.tz is None else stamps.tz_convert(zone_of(utc_offset)).tz_localize(None)


def middles_of(starts: pd.DatetimeIndex, utc_offset: float) -> pd.DatetimeIndex:
    """Return the middles of hours from their naive starts, with the fixed offset from UTC."""
    return starts.tz_localize(zone_of(utc_offset)) + HOUR / 2


def zone_of(utc_offset: float) -> timezone:
    """Local standard time as a time zone: a fixed offset, without daylight saving."""
    return timezone(timedelta(hours=utc_offset))
