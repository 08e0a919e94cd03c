"""Columns that stand under each other's names, and units that are not as stated."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pandas as pd

from moistsim.core.display import number
from moistsim.loggers.catalog import kind_of, part_of
from moistsim.loggers.findings import LogFinding, Reading

_SMOOTHER = 0.75
"""Exchanged columns must leave this share, or less, of the short-term variance of moisture."""


def swapped(reading: Reading) -> Iterator[LogFinding]:
    """Find exchanged columns and units that are not as stated."""
    yield from _temperature_and_rh(reading)
    yield from _rooms_rh(reading)
    yield from _indoors_and_outdoors(reading)
    yield from _units(reading)


def _finding(reading: Reading, what: str, where: str, says: str, effect: str) -> LogFinding:
    return LogFinding(
        what=what, where=where, start=reading.frame.index[0], end=reading.frame.index[-1], says=says, effect=effect
    )  # fmt: skip


def _temperature_and_rh(reading: Reading) -> Iterator[LogFinding]:
    for name in map(str, reading.frame.columns):
        if (
            kind_of(name) != "indoor_temperature"
            or (rh := reading.column(f"indoor_rh.{part_of(name)}")) is None
        ):
            continue
        t, humidity = reading.frame[name].dropna(), rh.dropna()
        if not len(t) or not len(humidity):
            continue
        if t.median() > 33.0 and 8.0 < humidity.median() < 33.0:
            says = (
                f"The temperature of {part_of(name)} has a median of {number(t.median())} °C and its RH one of "
                f"{number(humidity.median())} percent. The two columns are probably exchanged."
            )
            yield _finding(
                reading,
                "swapped",
                part_of(name),
                says,
                "Nothing from this room can be used. Exchange them in columns=.",
            )


def _quick(values: pd.Series, step: float) -> pd.Series:
    """Changes over half an hour, or over a step that is longer."""
    return values.diff(max(1, round(1800.0 / step)))


def _rooms_rh(reading: Reading) -> Iterator[LogFinding]:
    """Where a room warms, its RH falls and its moisture stays; a stranger's RH does not follow."""
    there = set(map(str, reading.frame.columns))
    rooms = [
        r
        for r in map(str, reading.ratios)
        if {f"indoor_temperature.{r}", f"indoor_rh.{r}"} <= there
    ]
    saturation = {r: np.log(reading.saturation(r)) for r in rooms}
    rh = {r: np.log(reading.frame[f"indoor_rh.{r}"].clip(lower=1.0)) for r in rooms}

    def unrest(t: str, humidity: str) -> float:
        # The median square is deaf to showers and open doors.
        return float((_quick(saturation[t] + rh[humidity], reading.step) ** 2).quantile(0.75))

    own = {r: unrest(r, r) for r in rooms}
    found = []
    for one, other in combinations(rooms, 2):
        given = own[one] + own[other]
        exchanged = unrest(one, other) + unrest(other, one)
        if given > 0.0 and exchanged < _SMOOTHER * given:
            found.append((exchanged / given, one, other))
    used: set[str] = set()
    for _, one, other in sorted(found):
        if {one, other} & used:
            continue
        used |= {one, other}
        says = (
            f"RH of {one} follows the temperature of {other}, and the reverse: with the two exchanged, moisture is "
            "much steadier. The two RH columns are probably exchanged."
        )
        moved = 1000.0 * (reading.ratios[one].mean() - _ratio(reading, one, other).mean())
        yield _finding(
            reading,
            "swapped",
            f"{one} and {other}",
            says,
            reading.moves(moved, len(reading.log.rooms)),
        )


def _ratio(reading: Reading, t: str, humidity: str) -> pd.Series:
    return reading.saturation(t) * reading.frame[f"indoor_rh.{humidity}"] / 100.0


def _indoors_and_outdoors(reading: Reading) -> Iterator[LogFinding]:
    outdoors = reading.column("outdoor_temperature")
    if outdoors is None:
        return

    def swing(values: pd.Series) -> float:
        days = values.resample("D")
        return float((days.max() - days.min()).median())

    for room in dict.fromkeys(
        part_of(str(c)) for c in reading.frame.columns if kind_of(str(c)) == "indoor_temperature"
    ):
        indoors = reading.frame[f"indoor_temperature.{room}"]
        wider = swing(indoors) > 1.5 * swing(outdoors)
        if wider and indoors.std() > 1.5 * outdoors.std() and swing(indoors) > 4.0:
            says = (
                f"{room} swings by {number(swing(indoors), 1)} K a day and outdoor air by {number(swing(outdoors), 1)} K. "
                "The two sensors are probably exchanged."
            )
            yield _finding(
                reading,
                "swapped",
                f"{room} and outdoors",
                says,
                "Nothing from a fit would be right. Exchange them in columns=.",
            )


def _units(reading: Reading) -> Iterator[LogFinding]:
    for name in map(str, reading.frame.columns):
        values = reading.frame[name].dropna()
        if values.empty:
            continue
        if kind_of(name) == "indoor_temperature":
            usual, wide = 22.0, 9.0
        elif kind_of(name) == "outdoor_temperature":
            usual, wide = _usual_outdoors(reading, pd.DatetimeIndex(values.index)), 14.0
        else:
            continue
        middle = float(values.median())
        read = {"°F": (middle - 32.0) / 1.8, "°C": 1.8 * middle + 32.0}
        better = [unit for unit, value in read.items() if abs(value - usual) < wide / 2.0]
        if abs(middle - usual) > wide + 4.0 and better:
            says = (
                f"{name} has a median of {number(middle, 1)} °C, and {number(read[better[0]], 1)} °C if the file's numbers are "
                f"in {better[0]}. The stated unit is probably wrong."
            )
            yield _finding(
                reading,
                "unit",
                name,
                says,
                "Humidity ratios from it are far off. State the other unit.",
            )


def _usual_outdoors(reading: Reading, index: pd.DatetimeIndex) -> float:
    """A rough mean temperature of latitude and season, degC (common practice, no source)."""
    latitude = abs(reading.log.latitude)
    mean = 27.0 - 0.0078 * latitude**2 - 0.0065 * reading.log.elevation
    day = index.day_of_year.to_numpy() + (0.0 if reading.log.latitude >= 0.0 else 182.0)
    season = -np.cos(2.0 * np.pi * (day - 20.0) / 365.0)
    return float(mean + 0.25 * latitude * season.mean())
