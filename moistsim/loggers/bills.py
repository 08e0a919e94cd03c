"""Electricity bills: days, kWh and USD of each."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.loggers.reading import read_table
from moistsim.loggers.stamps import read_stamps

_NEEDED = ("start", "end", "kWh")
_DAY = pd.Timedelta(days=1)


@attrs.frozen(kw_only=True, repr=False, eq=False)
class Bills:
    """Electricity bills in order, each with its days, kWh and, where known, USD.

    Attributes
    ----------
    frame : DataFrame
        ``start`` and ``end`` (the day of the next reading, which is not part of the bill), ``kWh``
        and ``USD`` (NaN where it is not given).

    Examples
    --------
    >>> import pandas as pd
    >>> rows = pd.DataFrame(
    ...     {"from": ["2025-05-12", "2025-06-11"], "to": ["2025-06-11", "2025-07-12"], "used": [900, 1240]}
    ... )
    >>> bills = Bills.read(rows, {"start": "from", "end": "to", "kWh": "used"})
    >>> bills
    <Bills: 2 bills, 2025-05-12 to 2025-07-12, 2,140 kWh>
    """

    frame: pd.DataFrame

    @classmethod
    def read(
        cls,
        source: str | Path | pd.DataFrame,
        columns: Mapping[str, str] | None = None,
        *,
        end_is_last_day: bool = False,
        time_format: str | None = None,
    ) -> Bills:
        """Read bills from a CSV file or a table.

        Parameters
        ----------
        source : str, Path or DataFrame
            A CSV file (it may be gzipped), or a table; one row a bill.
        columns : dict, optional
            ``start``, ``end``, ``kWh`` and, if there, ``USD``: the file's names of these columns.
            Default: the same names.
        end_is_last_day : bool
            Whether ``end`` is the last day of the bill. Default: it is the day of the next reading.
        time_format : str, optional
            Format of dates that are not ISO, such as ``"%m/%d/%Y"``.

        Raises
        ------
        InputError
            One sentence with the row or column, the problem and the fix.
        """
        table, where = read_table(source)
        names = dict(columns or {name: name for name in (*_NEEDED, "USD") if name in table.columns})
        for name in (*_NEEDED, *names):
            if name not in (*_NEEDED, "USD"):
                raise InputError(
                    f"{where} columns",
                    Problem(f"unknown column {name!r}"),
                    one_of(name, (*_NEEDED, "USD")),
                )
            if names.get(name) not in table.columns:
                problem = Problem(f"no column {names.get(name, name)!r} for {name}")
                raise InputError(
                    f"{where} columns",
                    problem,
                    one_of(str(names.get(name, name)), map(str, table.columns)),
                )
        frame = pd.DataFrame(
            {
                name: read_stamps(table[names[name]], time_format, where).normalize()
                for name in ("start", "end")
            }
        )
        if end_is_last_day:
            frame["end"] += _DAY
        for name in ("kWh", "USD"):
            given = table[names[name]] if name in names else pd.Series(np.nan, table.index)
            numbers = pd.to_numeric(given, errors="coerce").to_numpy(float)
            bad = np.flatnonzero(np.isnan(numbers) & (given.notna().to_numpy() | (name == "kWh")))
            if bad.size:
                row = int(bad[0])
                raise InputError(
                    f"{where} row {row + 1}, column {names[name]}",
                    given.iloc[row],
                    f"{name} as a plain number",
                )
            frame[name] = numbers
        frame = frame.sort_values("start", ignore_index=True)
        if frame.empty:
            raise InputError(where, Problem("no rows"), "one row a bill")
        for start, end in zip(frame["start"], frame["end"], strict=True):
            if end <= start:
                raise InputError(where, Problem(f"the bill of {start:%Y-%m-%d} ends on {end:%Y-%m-%d}"), "an end after the start: the day of the next reading")  # fmt: skip
        over = np.flatnonzero(frame["start"].to_numpy()[1:] < frame["end"].to_numpy()[:-1])
        if over.size:
            start = frame["start"].iloc[int(over[0]) + 1]
            raise InputError(where, Problem(f"the bill of {start:%Y-%m-%d} begins before the one before it ends"), "bills that do not overlap")  # fmt: skip
        return cls(frame=frame)

    @property
    def days(self) -> pd.Series:
        """Number of days of each bill."""
        return (self.frame["end"] - self.frame["start"]).dt.days.rename("days")

    def between(self, start: str, end: str) -> Bills:
        """Return the bills that lie wholly from the day `start` to the day `end`."""
        kept = (self.frame["start"] >= pd.Timestamp(start)) & (
            self.frame["end"] <= pd.Timestamp(end) + _DAY
        )
        if not kept.any():
            raise InputError("bills.between", (start, end), "days that hold a whole bill")
        return Bills(frame=self.frame[kept].reset_index(drop=True))

    def __len__(self) -> int:
        return len(self.frame)

    def __repr__(self) -> str:
        first, last = self.frame["start"].iloc[0], self.frame["end"].iloc[-1]
        return f"<Bills: {len(self)} bills, {first:%Y-%m-%d} to {last:%Y-%m-%d}, {self.frame['kWh'].sum():,.0f} kWh>"
