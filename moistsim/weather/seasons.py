"""Seasons and calendar years within a run of hours."""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import Problem
from moistsim.weather.checks import WeatherError
from moistsim.weather.clock import HOUR

_DAY = pd.Timedelta(days=1)


def rows_between(stamps: pd.DatetimeIndex, start: str | None, end: str | None) -> slice:
    """Return the rows of a season; see `Weather.between`."""
    first, last = stamps[0], stamps[-1] + HOUR
    cover = f"data of {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}"
    years = range(first.year, stamps[-1].year + 1)
    starts = [first] if start is None else _dates("start", start, years, cover)
    # `ends` are the moments after the season.
    ends = [last] if end is None else [d + _DAY for d in _dates("end", end, years, cover)]
    if start is not None and end is not None:
        # A season runs from its start to the next end; of several starts the last counts.
        next_end = {s: min((e for e in ends if e > s), default=None) for s in starts}
        last_start = {e: s for s, e in next_end.items() if e is not None}
        pairs = [(s, e) for e, s in last_start.items()]
    else:
        pairs = [(s, e) for s in starts for e in ends if s < e]
    # Hours that begin at half past do not cover all of the first day; that is not a gap.
    held = [(s, e) for s, e in pairs if first < s + HOUR and last > e - HOUR]
    asked = f"{start or 'the first hour'} to {end or 'the last hour'}"
    if len(held) != 1:
        raise WeatherError(
            "season",
            None,
            Problem(
                f"cannot use {asked}, {'not held by' if not held else f'held {len(held)} times by'} {cover}"
            ),
            "a season that lies within the data without a break (MM-DD or YYYY-MM-DD)"
            if not held
            else "dates with their years (YYYY-MM-DD)",
        )
    begin, over = held[0]
    return slice(int(stamps.searchsorted(begin)), int(stamps.searchsorted(over)))


def whole_years(stamps: pd.DatetimeIndex) -> dict[int, NDArray[np.bool_]]:
    """Return the rows of each whole calendar year."""
    whole = {}
    for year in sorted(set(stamps.year)):
        rows = stamps.year == year
        hours = (pd.Timestamp(year + 1, 1, 1) - pd.Timestamp(year, 1, 1)) // HOUR
        if rows.sum() == hours:
            whole[int(year)] = rows
    if not whole:
        raise WeatherError(
            "years", None, Problem(f"data of {stamps[0]:%Y-%m-%d %H:%M} to {stamps[-1] + HOUR:%Y-%m-%d %H:%M}"),
            "a record that holds a whole calendar year",
        )  # fmt: skip
    return whole


def _dates(which: str, text: str, years: Iterable[int], cover: str) -> list[pd.Timestamp]:
    """Return the days for 'MM-DD' (in each year of the data) or 'YYYY-MM-DD'."""
    match = re.fullmatch(r"(?:(\d{4})-)?(\d{2})-(\d{2})", text) if isinstance(text, str) else None
    accepted = "MM-DD or YYYY-MM-DD, or None for all of the data"
    if match is None:
        raise WeatherError("season", which, text, accepted)
    year, month, day = match.groups()
    days = []
    for candidate in [int(year)] if year else years:
        try:
            days.append(pd.Timestamp(candidate, int(month), int(day)))
        except ValueError:
            continue
    if not days:
        raise WeatherError(
            "season", which, Problem(f"{text}, a day that is not in {cover}"), accepted
        )
    return days
