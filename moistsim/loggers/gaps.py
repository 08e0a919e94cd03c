"""Gaps of a log: short ones interpolated and told, longer ones left empty."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.display import duration
from moistsim.core.errors import InputError, Problem
from moistsim.loggers.catalog import CATALOG, kind_of


def runs(flags: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """First and last row of each run of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    for first, after in edges.reshape(-1, 2):
        yield int(first), int(after) - 1


def filled(
    frame: pd.DataFrame, step: float, longest: float
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Interpolate gaps up to `longest` s in the columns that allow it; return notes on each gap."""
    told: dict[tuple[int, int], list[str]] = {}
    out = frame.copy()
    for name in frame.columns:
        values = frame[name].to_numpy()
        missing = np.isnan(values)
        if not CATALOG[kind_of(name)].filled or not missing.any() or missing.all():
            continue
        short = np.zeros(len(values), bool)
        for first, last in runs(missing):
            if first > 0 and last < len(values) - 1 and (last - first + 1) * step <= longest + 0.5:
                short[first : last + 1] = True
                told.setdefault((first, last), []).append(str(name))
        rows = np.arange(len(values))
        new = values.copy()
        new[short] = np.interp(rows[short], rows[~missing], values[~missing])
        out[name] = new
    able = [name for name in frame.columns if CATALOG[kind_of(str(name))].filled]
    notes = []
    for (first, last), names in sorted(told.items()):
        which = "all outdoor columns and indoor temperatures" if names == able else ", ".join(names)
        notes.append(
            f"gap of {duration((last - first + 1) * step)} from {frame.index[first]:%Y-%m-%d %H:%M}: "
            f"{which} interpolated"
        )
    return out, tuple(notes)


def refuse_gaps(frame: pd.DataFrame, columns: list[str], step: float, why: str) -> None:
    """Refuse a log that lacks values in columns that a run needs.

    Raises
    ------
    InputError
        One sentence with the first gap and the longest part without one.
    """
    missing = np.isnan(frame[columns].to_numpy(float))
    lacking = np.asarray(missing.any(axis=1), bool)
    if not lacking.any():
        return
    first, last = next(runs(lacking))
    names = [
        name
        for name, bad in zip(columns, missing[first : last + 1].any(axis=0).tolist(), strict=True)
        if bad
    ]
    found = f"{', '.join(names)} missing for {duration((last - first + 1) * step)}, and {why}"
    whole = max(runs(~lacking), key=lambda run: run[1] - run[0], default=None)
    if whole is None:
        raise InputError(
            f"log row {frame.index[first]}", Problem(found), "a log with these columns"
        )
    start, end = (f"{frame.index[row]:%Y-%m-%d %H:%M}" for row in whole)
    raise InputError(
        f"log row {frame.index[first]}", Problem(found),
        f"log.between({start!r}, {end!r}), the longest part without a gap, or a larger gaps=",
    )  # fmt: skip
