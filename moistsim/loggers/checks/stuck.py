"""Sensors stuck at a stop or at one value."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from moistsim.core.display import duration, number
from moistsim.loggers.catalog import kind_of, part_of
from moistsim.loggers.findings import LogFinding, Reading
from moistsim.loggers.gaps import runs

_LOW_STOP, _HIGH_STOP = 2.0, 99.5
"""RH, percent, at or beyond which a reading is a sensor's limit; outdoors only the low one."""
_FEWEST_H = 2.0
"""Total time at a stop, h, from which it is told."""
_FLAT_H = {"indoor_temperature": 72.0, "indoor_rh": 24.0, "indoor_dew_point": 24.0,
           "outdoor_temperature": 30.0, "outdoor_rh": 24.0, "outdoor_dew_point": 24.0}  # fmt: skip
"""Time at one value, h, that no air keeps; outdoors, typical years with readings to 1 °F have up to 20 h."""


def stuck(reading: Reading) -> Iterator[LogFinding]:
    """Find readings at a sensor's stop, and readings that stay at one value."""
    for name in map(str, reading.frame.columns):
        if kind_of(name) not in _FLAT_H:
            continue
        values = reading.frame[name].to_numpy(float)
        if np.isnan(values).all():
            continue
        at_stop = np.zeros(len(values), bool)
        if name.startswith(("indoor_rh", "outdoor_rh")):
            at_stop = values <= _LOW_STOP
            if name.startswith("indoor"):
                at_stop |= values >= _HIGH_STOP
        if at_stop.sum() * reading.step >= 3600.0 * _FEWEST_H:
            yield _finding(
                reading, name, at_stop, f"a stop of the sensor ({_said(values[at_stop])})"
            )
        flat = _flat(np.where(at_stop, np.nan, values), reading.step, _FLAT_H[kind_of(name)])
        if flat.any():
            yield _finding(reading, name, flat, f"one value ({_said(values[flat])})")


def _flat(values: np.ndarray, step: float, hours: float) -> np.ndarray:
    """Rows in runs of equal values that are longer than chance and air would make them."""
    same = np.concatenate(([False], np.diff(values) == 0.0))
    found = np.zeros(len(values), bool)
    spells = list(runs(same))
    usual = same[: len(same)].copy()
    for first, last in spells:
        if (last - first + 2) * step >= 3600.0 * hours:
            usual[first : last + 1] = False
    share = max(float(usual.mean()), 1e-3)
    # The longest run of so many rows, were they independent; rows of air are not, hence twice.
    chance = 2.0 * np.log(len(values)) / -np.log(min(share, 0.98))
    for first, last in spells:
        rows = last - first + 2
        if rows * step >= 3600.0 * hours and rows > chance:
            found[first - 1 : last + 1] = True
    return found


def _said(values: np.ndarray) -> str:
    low, high = float(values.min()), float(values.max())
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _finding(reading: Reading, name: str, rows: np.ndarray, at: str) -> LogFinding:
    there = reading.frame.index[rows]
    share = 100.0 * rows.sum() / len(rows)
    unit = "percent RH" if "_rh" in name else "°C"
    says = (
        f"{name} stays at {at}, {unit}, for {duration(float(rows.sum()) * reading.step)} in all, "
        f"{number(share, 1)} percent of the log."
    )
    return LogFinding(
        what="stuck",
        where=name,
        start=there[0],
        end=there[-1],
        says=says,
        effect=_effect(reading, name, rows),
    )


def _effect(reading: Reading, name: str, rows: np.ndarray) -> str:
    if name.startswith("outdoor"):
        ratio = reading.outdoor_ratio_of(part_of(name))
        if part_of(name):
            return "No run uses this sensor."
        if ratio is None or rows.all():
            return "A run cannot use these rows."
        moved = 1000.0 * float(ratio.mean() - ratio[~rows].mean())
        return (
            f"With these rows the mean outdoor humidity ratio is {number(moved, 2, sign=True)} g/kg off, and the "
            "fitted moisture gain takes that up. Use another source of outdoor humidity, or mark these rows as missing."
        )
    room = part_of(name)
    ratio = reading.ratios.get(room)
    if ratio is None or rows.all() or name.startswith("indoor_temperature"):
        return "Leave this room out, or mark these rows as missing."
    moved = 1000.0 * float(ratio.mean() - ratio[~rows].mean())
    return (
        reading.moves(moved, len(reading.log.rooms))
        + " Leave this room out, or mark these rows as missing."
    )
