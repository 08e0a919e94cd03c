"""A quantity by hour of the day or the year, such as the output of solar panels."""

import math
from os import PathLike
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description

DAY, YEAR, LEAP_YEAR = 24, 8760, 8784
_ACCEPTED = (
    f"{DAY} numbers (the hours of every day), {YEAR} or {LEAP_YEAR} (those of a year from "
    "January 1, local standard time), none negative"
)


def _values(values: Any, instance: Any, field: Any) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.{field.name}"
    if isinstance(values, str) or not hasattr(values, "__iter__"):
        raise InputError(where, values, _ACCEPTED)
    try:
        numbers = tuple(float(x) for x in values)
    except (TypeError, ValueError):
        raise InputError(where, Problem("a value that is not a number"), _ACCEPTED) from None
    if len(numbers) not in (DAY, YEAR, LEAP_YEAR):
        raise InputError(where, Problem(f"{len(numbers)} numbers"), _ACCEPTED)
    for k, number in enumerate(numbers):
        if not (math.isfinite(number) and number >= 0.0):
            raise InputError(where, Problem(f"{number} in hour {k + 1}"), _ACCEPTED)
    return numbers


@description
class HourlyProfile(Evolving):
    """Numbers by hour of the day or of the year, in local standard time.

    The field that holds the profile gives their meaning and unit. Numbers apply by month, day and
    hour in any year. If a profile has no February 29, that day equals February 28.

    Examples
    --------
    >>> profile = HourlyProfile(values=[0.4] * 18 + [1.2] * 4 + [0.4] * 2)
    >>> profile.at(pd.DatetimeIndex(["2026-07-04 19:15", "2026-07-04 23:00"])).tolist()
    [1.2, 0.4]
    """

    values: tuple[float, ...] = attrs.field(
        converter=attrs.Converter(_values, takes_self=True, takes_field=True),
        metadata={
            "help": "numbers by hour of the day or of the year",
            "profile": True,
            "accepted": _ACCEPTED,
        },
    )

    @classmethod
    def from_table(
        cls, source: str | PathLike[str] | pd.Series, column: str | None = None
    ) -> "HourlyProfile":
        """Make a profile from a CSV file or from a Series indexed by time.

        Parameters
        ----------
        source : path or Series
            Hourly rows of one whole year, each by the start of its hour in local standard time. A
            file has ISO times in its first column. The year may begin on any day.
        column : str, optional
            Name of the column, if the file has several.

        Raises
        ------
        InputError
            If an hour is missing or repeated, or if a row does not hold a number of at least zero.
        """
        if isinstance(source, pd.Series):
            name, series = "the series", source
        else:
            name = Path(source).name
            series = _read(source, name, column)
        index = series.index
        if not isinstance(index, pd.DatetimeIndex) or index.tz is not None or index.hasnans:
            raise InputError(
                name,
                Problem("rows lack plain times"),
                "times in local standard time, without an offset",
            )
        values = series.to_numpy(dtype=float, na_value=np.nan)
        bad = np.flatnonzero(~(np.isfinite(values) & (values >= 0.0)))
        if bad.size:
            raise InputError(
                f"{name} at {index[bad[0]]:%Y-%m-%d %H:%M}",
                f"{values[bad[0]]:g}" if np.isfinite(values[bad[0]]) else "no number",
                "a number of at least 0",
            )
        step = np.diff(index.to_numpy())
        odd = np.flatnonzero(step != np.timedelta64(1, "h"))
        if odd.size:
            raise InputError(
                f"{name} after {index[odd[0]]:%Y-%m-%d %H:%M}",
                f"{index[odd[0] + 1]:%Y-%m-%d %H:%M}",
                "the next hour: a year of hours in order, each once",
            )
        if len(values) not in (YEAR, LEAP_YEAR) or index[0].minute:
            raise InputError(
                name, Problem(f"{len(values)} hours from {index[0]:%Y-%m-%d %H:%M}"),
                f"the {YEAR} or {LEAP_YEAR} whole hours of a year",
            )  # fmt: skip
        first = index[0]
        begins = int(np.flatnonzero((index.day_of_year == 1) & (index.hour == 0))[0])
        end = index[-1] + pd.Timedelta(hours=1)
        if (first.month, first.day, first.hour) != (end.month, end.day, end.hour):
            raise InputError(name, Problem(f"rows from {first} to {end}"), "one whole year")
        return cls(values=tuple(np.roll(values, -begins).tolist()))

    def at(self, index: pd.DatetimeIndex) -> NDArray[np.float64]:
        """Return the number of the hour in which each time lies, local standard time."""
        values = np.array(self.values)
        hour = index.hour.to_numpy()
        if len(values) == DAY:
            return np.asarray(values[hour])
        day = _FIRST_DAY[index.month.to_numpy()] + index.day.to_numpy() - 1
        leap_day = (index.month.to_numpy() == 2) & (index.day.to_numpy() == 29)
        # A common year takes February 28 for February 29; a leap year shifts all later days.
        day = day - leap_day if len(values) == YEAR else day + (index.month.to_numpy() > 2)
        return np.asarray(values[24 * day + hour])


_FIRST_DAY = np.array([0, *np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])])
"""First day of each month in a common year, counted from 0."""


def _read(source: str | PathLike[str], name: str, column: str | None) -> pd.Series:
    try:
        table = pd.read_csv(source, comment="#", skipinitialspace=True)
    except (ValueError, UnicodeDecodeError) as error:
        raise InputError(
            name,
            Problem(f"cannot read the table ({error})"),
            "a CSV file with a row of column names",
        ) from None
    names = [str(c) for c in table.columns[1:]]
    if column is None and len(names) != 1:
        raise InputError(
            name,
            Problem(f"{len(names)} columns in addition to time"),
            "the argument column, one of " + ", ".join(names),
        )
    column = names[0] if column is None else column
    if column not in names:
        raise InputError(name, Problem(f"no column {column!r}"), "one of " + ", ".join(names))
    times = pd.to_datetime(table.iloc[:, 0], format="ISO8601", errors="coerce")
    values = pd.to_numeric(table[column], errors="coerce")
    return pd.Series(values.to_numpy(), index=pd.DatetimeIndex(times))
