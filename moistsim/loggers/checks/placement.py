"""Where sensors hang: rooms that differ, a bathroom among them, and sun on the outdoor sensor."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from moistsim.core.display import number
from moistsim.loggers.catalog import kind_of, part_of
from moistsim.loggers.findings import LogFinding, Reading
from moistsim.loggers.gaps import runs

SPREAD = 0.8
"""Difference of two rooms' mean humidity ratio, g/kg, from which it is told."""
_JUMP = 1.0
"""Rise of a room over the others within half an hour, g/kg, that a shower makes."""
_JUMPS_A_DAY = 0.3
_SUDDEN = 4.0
"""Rise of outdoor air within half an hour, K, that the sun on a sensor makes and weather seldom."""
_SUNNY_DAYS = 0.2


def placement(reading: Reading) -> Iterator[LogFinding]:
    """Find rooms that are far apart, wet rooms, and outdoor sensors in the sun."""
    yield from _spread(reading)
    yield from _wet_room(reading)
    yield from _sun_on_sensor(reading)
    yield from _two_outdoor_sensors(reading)


def _finding(reading: Reading, where: str, says: str, effect: str) -> LogFinding:
    index = reading.frame.index
    return LogFinding(
        what="placement", where=where, start=index[0], end=index[-1], says=says, effect=effect
    )


def _spread(reading: Reading) -> Iterator[LogFinding]:
    rooms = list(reading.log.rooms)
    if len(rooms) < 2:
        return
    means = 1000.0 * reading.ratios[rooms].dropna().mean()
    spread = float(means.max() - means.min())
    if not spread >= SPREAD:
        return
    low, high = str(means.idxmin()), str(means.idxmax())
    says = (
        f"Rooms differ by {number(spread, 1)} g/kg in the mean: {low} has {number(means[low], 1)} and {high} "
        f"{number(means[high], 1)} g/kg."
    )
    share = ""
    if np.isfinite(reading.excess) and abs(reading.excess) >= 0.2:
        share = (
            f" One logger in {low} or in {high} would put the fitted moisture gain {number(100.0 * spread / abs(reading.excess))} "
            "percent apart at a given airflow."
        )
    yield _finding(
        reading, "rooms", says, f"Placement matters more than the model's error.{share} Use the mean of the rooms that people live in."
    )  # fmt: skip


def _wet_room(reading: Reading) -> Iterator[LogFinding]:
    rooms = [str(room) for room in reading.ratios]
    if len(rooms) < 2:
        return
    days = len(reading.frame) / reading.rows_a_day
    rows = max(1, round(1800.0 / reading.step))
    a_day = {}
    for room in rooms:
        others = reading.ratios[[other for other in rooms if other != room]].median(axis=1)
        over = 1000.0 * (reading.ratios[room] - others)
        a_day[room] = sum(1 for _ in runs((over.diff(rows) > _JUMP).to_numpy())) / days
    for room, often in a_day.items():
        rest = float(np.median([other for name, other in a_day.items() if name != room]))
        if often < _JUMPS_A_DAY or often < 4.0 * rest:
            continue
        others = reading.ratios[[other for other in rooms if other != room]].median(axis=1)
        mean_over = 1000.0 * float((reading.ratios[room] - others).mean())
        among = len(reading.log.rooms)
        says = (
            f"Moisture in {room} rises by more than {_JUMP:g} g/kg within half an hour {number(often, 1)} times a day, as in a "
            f"bathroom or next to a stove. In the mean it has {number(mean_over, 2, sign=True)} g/kg against the others."
        )
        if room in reading.log.rooms:
            effect = reading.moves(mean_over, among) + " Leave this room out with rooms=[...]."
        else:
            effect = "It is not among the rooms of the house's mean."
        yield _finding(reading, room, says, effect)


def _sun_on_sensor(reading: Reading) -> Iterator[LogFinding]:
    outdoors = reading.column("outdoor_temperature")
    if outdoors is None:
        return
    rows = max(1, round(1800.0 / reading.step))
    limit = _SUDDEN * max(1.0, reading.step / 1800.0)
    rise = outdoors.diff(rows)
    days = rise.groupby(pd.DatetimeIndex(rise.index).normalize())
    most = days.max()
    sudden = most[most > limit]
    if len(sudden) < max(3.0, _SUNNY_DAYS * len(most)):
        return
    at = pd.DatetimeIndex(
        [rise.loc[str(day.date())].idxmax() for day in pd.DatetimeIndex(sudden.index)]
    )
    hours = ((at - at.normalize()) / pd.Timedelta(hours=1)).to_numpy(float)
    together = np.abs(np.exp(2j * np.pi * hours / 24.0).mean())
    middle = float(np.median(hours))
    if together < 0.85:
        return
    says = (
        f"On {len(sudden)} of {len(most)} days outdoor air warms by more than {limit:g} K within half an hour, at about "
        f"{int(middle)}:{round(60 * (middle % 1)) % 60:02d}. The sun probably shines on the sensor."
    )
    effect = (
        "Its dew point is little changed, but the sun's heat counts as warm air: stack flow and conduction are off then. "
        "Move the sensor to a shaded north wall, or take the temperature of a station."
    )
    yield _finding(reading, "outdoor_temperature", says, effect)


def _two_outdoor_sensors(reading: Reading) -> Iterator[LogFinding]:
    main = reading.column("outdoor_temperature")
    for name in map(str, reading.frame.columns):
        if main is None or kind_of(name) != "outdoor_temperature" or not part_of(name):
            continue
        apart = reading.frame[name] - main
        by_hour = apart.groupby(pd.DatetimeIndex(apart.index).hour).mean()
        day, night = by_hour.loc[8:18], by_hour.drop(index=range(8, 19))
        warmest = int(np.asarray(day.index)[int(day.to_numpy().argmax())])
        over = float(day.max() - night.median())
        if over > 2.0:
            says = (
                f"{name} is {number(over, 1)} K warmer against outdoor_temperature at {warmest}:00 than at night. The sun or a "
                "warm wall probably heats it."
            )
            yield _finding(reading, name, says, "No run uses this sensor.")
