"""Time stamps of a log: civil or standard time, and the equal steps that they belong to.

Civil time with daylight saving has an hour that occurs twice and one that is missing. Both are
resolved by the order of the rows, or refused.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from datetime import timezone as fixed
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.display import duration
from moistsim.core.errors import Fix, InputError, Problem

STEPS = tuple(60.0 * minutes for minutes in (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60))
"""Accepted steps, s: whole minutes, a whole number of them an hour."""

BEFORE_LABEL = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""Share of a row's interval that lies before its stamp."""

_OFF_STEP = 0.05
"""Accepted share of intervals that are no multiple of the step within a quarter of it."""
_SHARED = 0.02
"""Accepted share of rows that fall into the interval of another row."""
_WITH_OFFSET = re.compile(r"\d(?:Z|[+-]\d\d:?\d\d)$")


def read_stamps(
    given: pd.Index | pd.Series, time_format: str | None, where: str
) -> pd.DatetimeIndex:
    """Return the stamps of all rows: naive, or in UTC where they state an offset.

    Raises
    ------
    InputError
        One sentence with the first row that cannot be read.
    """
    if not isinstance(given.dtype, pd.DatetimeTZDtype) and not pd.api.types.is_datetime64_dtype(
        given
    ):
        texts = given.astype(str).str.strip()
        with_offset = (
            bool(len(texts))
            and _WITH_OFFSET.search(
                str(texts.iloc[0] if isinstance(texts, pd.Series) else texts[0])
            )
            is not None
        )
        given = pd.to_datetime(
            texts, format=time_format or "ISO8601", errors="coerce", utc=with_offset
        )
    else:
        texts = given
    stamps = pd.DatetimeIndex(given)
    bad = np.flatnonzero(stamps.isna())
    if bad.size:
        row = int(bad[0])
        raise InputError(
            f"{where} row {row + 1}, time",
            texts.iloc[row] if isinstance(texts, pd.Series) else texts[row],
            Fix("Write times as 2016-01-31 17:00, or state the file's own, such as time_format='%m/%d/%Y %H:%M'"),
            "cannot read {} as a time" + (f" by {time_format!r}" if time_format else ""),
        )  # fmt: skip
    return stamps.tz_convert("UTC") if stamps.tz is not None else stamps


class StandardTime(NamedTuple):
    """Stamps in local standard time, its offset from UTC, and notes."""

    stamps: pd.DatetimeIndex
    utc_offset: float
    notes: tuple[str, ...]


def in_standard_time(
    stamps: pd.DatetimeIndex, timezone: str | None, utc_offset: float | None, where: str
) -> StandardTime:
    """Convert stamps to local standard time.

    Raises
    ------
    InputError
        If it is not stated what the stamps mean, or civil time has rows that no clock shows, or an
        hour whose repetition the rows do not tell.
    """
    if (timezone is None) == (utc_offset is None):
        raise InputError(
            where,
            Problem("no timezone and no utc_offset" if timezone is None else "both timezone and utc_offset"),
            "timezone='America/Chicago' for civil time with daylight saving, or utc_offset=-6 for standard time all year",
        )  # fmt: skip
    if timezone is None:
        assert utc_offset is not None
        if not -12.0 <= float(utc_offset) <= 14.0:
            raise InputError(f"{where} utc_offset", utc_offset, "-12 to 14 h")
        offset = float(utc_offset)
        if stamps.tz is None:
            return StandardTime(stamps, offset, ())
    else:
        try:
            zone = ZoneInfo(timezone)
        except Exception:  # Not found, a folder, or a key that is no path.
            raise InputError(
                f"{where} timezone", timezone, "a name such as 'America/Chicago'"
            ) from None
        offset = _standard_offset(zone, stamps[0].year)
        if stamps.tz is None:
            stamps = _localized(stamps, timezone, where)
    moved = stamps.tz_convert(fixed(timedelta(hours=offset))).tz_localize(None)
    kind = "civil time" if timezone else "times with an offset"
    return StandardTime(
        moved, offset, (f"{kind} converted to local standard time, UTC{offset:+g} h",)
    )


def _standard_offset(zone: ZoneInfo, year: int) -> float:
    """Offset from UTC without daylight saving, h: the least of the year."""
    offsets = [datetime(year, month, 1, 12, tzinfo=zone).utcoffset() for month in range(1, 13)]
    return min(each for each in offsets if each is not None) / timedelta(hours=1)


def _localized(stamps: pd.DatetimeIndex, timezone: str, where: str) -> pd.DatetimeIndex:
    """Civil stamps with their zone; the repeated hour is resolved by the order of the rows."""
    doubtful = stamps.tz_localize(timezone, ambiguous="NaT", nonexistent="shift_forward").isna()
    rows = np.flatnonzero(doubtful)
    in_summer = np.zeros(len(stamps), bool)
    for group in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1) if rows.size else ():
        back = np.flatnonzero(np.diff(stamps[group].to_numpy()) <= np.timedelta64(0))
        if back.size != 1:
            raise InputError(
                f"{where} row {stamps[group[0]]}",
                Problem(
                    f"this hour occurs twice in {timezone}, and the order of the rows does not tell which it is"
                ),
                "utc_offset= if the logger keeps standard time all year, or a log that begins after this hour or ends before it",
            )  # fmt: skip
        in_summer[group[: back[0] + 1]] = True
    local = stamps.tz_localize(timezone, ambiguous=in_summer, nonexistent="NaT")
    missing = np.flatnonzero(local.isna())
    if missing.size:
        raise InputError(
            f"{where} row {stamps[missing[0]]}",
            Problem(f"no clock in {timezone} shows this time, because daylight saving begins"),
            "utc_offset= if the logger keeps standard time all year",
        )
    return local


class Grid(NamedTuple):
    """Equal steps: their length, the interval of each row, and notes."""

    step: float
    """s"""
    starts: pd.DatetimeIndex
    """Start of the interval that each used row belongs to."""
    rows: NDArray[np.intp]
    """Rows used."""
    notes: tuple[str, ...]


def on_grid(stamps: pd.DatetimeIndex, label: str, where: str) -> Grid:
    """Find the step of a log and the interval of each row.

    Rows off the clock move to the nearest interval. A constant offset from the clock, and the few
    seconds by which rows vary, are said in the notes.

    Raises
    ------
    InputError
        If rows are out of order, repeated, or at irregular times.
    """
    if label not in BEFORE_LABEL:
        raise InputError(f"{where} label", label, "start, middle or end")
    origin = pd.Timestamp(stamps[0]).normalize()
    seconds = ((stamps - origin) / pd.Timedelta(seconds=1)).to_numpy(float)
    steps = np.diff(seconds)
    if len(steps) < 2:
        raise InputError(where, Problem(f"{len(stamps)} rows"), "rows of a day or more")
    if not (steps > 0.0).all():
        row = int(np.flatnonzero(steps <= 0.0)[0]) + 1
        wrong = "the same time as" if steps[row - 1] == 0.0 else "a time before that of"
        raise InputError(
            f"{where} row {stamps[row]}", Problem(f"{wrong} the row before"),
            Fix("Remove repeated rows, and sort the rows by time. If the clock was set back for daylight saving, state timezone="),
        )  # fmt: skip
    usual = float(np.median(steps))
    step = min(STEPS, key=lambda each: abs(each - usual))
    off = np.abs(steps / step - np.round(steps / step)) > 0.25
    if abs(step - usual) > 0.05 * step or off.mean() > _OFF_STEP:
        row = int(np.flatnonzero(off)[0]) + 1 if off.any() else 1
        raise InputError(
            f"{where} row {stamps[row]}",
            Problem(f"{steps[row - 1] / 60.0:.4g} min since the row before, and the usual step is {usual / 60.0:.4g} min"),
            "equal steps of 1 to 60 min, a whole number of them an hour (sparse rows: resample them first)",
        )  # fmt: skip
    begins = seconds - BEFORE_LABEL[label] * step
    turn = np.exp(2j * np.pi * begins / step).mean()
    # Rows of a logger whose clock runs fast or slow drift through all phases: each moves for itself.
    phase = float(np.angle(turn)) / (2.0 * np.pi) * step if abs(turn) > 0.8 else 0.0
    cells = np.round((begins - phase) / step).astype(int)
    error = begins - phase - cells * step
    rows = np.arange(len(cells))
    # Of rows in one interval, the one nearest to its place is used.
    order = np.lexsort((np.abs(error), cells))
    first = np.ones(len(order), bool)
    first[1:] = cells[order][1:] != cells[order][:-1]
    rows = np.sort(order[first])
    shared = len(cells) - len(rows)
    if shared > _SHARED * len(cells):
        raise InputError(
            where, Problem(f"{shared} rows of {step / 60.0:g} min share their interval with another row"),
            "equal steps of 1 to 60 min",
        )  # fmt: skip
    notes = []
    if abs(phase) > 0.5:
        notes.append(
            f"time stamps are {duration(abs(phase))} {'after' if phase > 0 else 'before'} whole steps of "
            f"{step / 60.0:g} min, and moved to them"
        )
    if (most := float(np.abs(error).max())) > 0.5:
        notes.append(
            f"time stamps vary by up to {duration(most)} about steps of {step / 60.0:g} min, and moved to them"
        )
    if shared:
        notes.append(f"{shared} rows share their interval with a nearer row, and are not used")
    starts = origin + pd.to_timedelta(cells[rows] * step, unit="s")
    return Grid(step, pd.DatetimeIndex(starts), rows, tuple(notes))
