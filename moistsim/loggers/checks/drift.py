"""Slow drift of a sensor, and steps where one was replaced, from the other rooms' sensors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import number
from moistsim.loggers.catalog import part_of
from moistsim.loggers.findings import LogFinding, Reading

_FEWEST_DAYS = 14
_POINTS = 2.5
"""Smallest change that is told, points of RH: a little over the usual accuracy of a sensor."""
_MEMORY = 0.5
"""Smallest correlation of a room's difference from one day to the next (measured houses: 0.2 to 0.65)."""
_T = 5.0
"""Smallest change in standard errors, with the days' correlation counted."""
_OUTDOOR_POINTS = 8.0
"""The same for two outdoor sensors, which may be some miles apart."""
_FORTNIGHT = 14
_LOST_POINTS = 25.0
"""Fall of the dampest nights' RH from the first to the last two weeks that is told."""
_EDGE = 3
"""Days on each side of a step."""


def drift_and_steps(reading: Reading) -> Iterator[LogFinding]:
    """Find rooms whose humidity moves against the median of the others, one after the other."""
    yield from _outdoor_sensors(reading)
    rooms = [str(room) for room in reading.ratios if reading.ratios[room].notna().any()]
    if len(rooms) == 2:
        found = _against(reading, rooms[0], [rooms[1]])
        if found is not None:
            change, finding = found
            yield _pair(reading, rooms, change, finding)
        return
    while len(rooms) >= 3:
        each = {
            room: _against(reading, room, [other for other in rooms if other != room])
            for room in rooms
        }
        moved = {room: one for room, one in each.items() if one is not None}
        if not moved:
            return
        worst = max(moved, key=lambda room: abs(moved[room][0]))
        yield moved[worst][1]
        rooms.remove(worst)


class _Move(NamedTuple):
    """A steady change or a step of a sensor against others."""

    change: float
    """Points of RH from the first to the last day, or over the step."""
    is_step: bool
    at: pd.Timestamp
    """First day after a step."""
    days: float


def _moved(points: pd.Series, rows_a_day: int, smallest: float) -> _Move | None:
    """The change of a difference in points of RH; None if it is steady, by day."""
    days = points.resample("D").agg(["mean", "count"])
    days = days[days["count"] >= 0.5 * rows_a_day]
    y, index = days["mean"].to_numpy(float), pd.DatetimeIndex(days.index)
    n = len(y)
    if n < _FEWEST_DAYS:
        return None
    x = ((index - index[0]) / pd.Timedelta(days=1)).to_numpy(float)
    line = np.polyfit(x, y, 1)
    of_line = y - np.polyval(line, x)
    steps = {
        k: y - np.where(np.arange(n) < k, y[:k].mean(), y[k:].mean())
        for k in range(_EDGE, n - _EDGE + 1)
    }
    at = min(steps, key=lambda k: float((steps[k] ** 2).sum()))
    of_step = steps[at]
    # A step has a day of its own to choose, so it must fit clearly better than a line.
    is_step = bool((of_step**2).sum() < 0.9 * (of_line**2).sum())
    left = of_step if is_step else of_line
    change = float(y[at:].mean() - y[:at].mean()) if is_step else float(line[0] * (x[-1] - x[0]))
    if abs(change) < max(smallest, _T * _standard_error(left, is_step, at, x)):
        return None
    return _Move(change, is_step, index[at], float(x[-1] - x[0]))


def _against(reading: Reading, room: str, others: list[str]) -> tuple[float, LogFinding] | None:
    """Change of a room against others in points of RH, with its finding; None if it is steady."""
    gap = (reading.ratios[room] - reading.ratios[others].median(axis=1)) / reading.saturation(room)
    move = _moved(100.0 * gap, reading.rows_a_day, _POINTS)
    if move is None:
        return None
    grams = reading.of_points(room, move.change)
    among = len(reading.log.rooms) if room in reading.log.rooms else 1
    versus = "the other room" if len(others) == 1 else f"the median of {len(others)} other rooms"
    says = f"Against {versus}, {_words(room, move)} "
    if move.is_step:
        says += "A sensor was replaced, moved or reset, or the room's use changed."
        effect = " Fit the two parts apart, or leave the room out."
    else:
        says += "A sensor drifts so, or the use of a room that changes slowly."
        effect = " A fit takes a slow drift for a change of season in the moisture stored."
    return move.change, _finding(reading, room, move, says, reading.moves(grams, among) + effect)


def _words(name: str, move: _Move) -> str:
    points = f"{number(abs(move.change), 1)} points of RH"
    if move.is_step:
        return f"{name} reads {points} {'more' if move.change > 0 else 'less'} from {move.at:%Y-%m-%d} on."
    return (
        f"{name} {'rises' if move.change > 0 else 'falls'} by {points} in {number(move.days)} days."
    )


def _finding(reading: Reading, where: str, move: _Move, says: str, effect: str) -> LogFinding:
    index = reading.frame.index
    return LogFinding(
        what="step" if move.is_step else "drift", where=where, start=move.at if move.is_step else index[0],
        end=index[-1], says=says, effect=effect,
    )  # fmt: skip


def _outdoor_sensors(reading: Reading) -> Iterator[LogFinding]:
    """Find an outdoor humidity that moves against another sensor's, or away from saturation."""
    main, dry = reading.outdoor_ratio, reading.column("outdoor_temperature")
    if main is None or dry is None:
        return
    saturation = 0.621945 * air.over(air.saturation_pressure, dry) / reading.log.pressure.to_numpy()
    sensors = {
        part_of(str(name)) for name in reading.frame.columns if str(name).startswith("outdoor")
    }
    for sensor in sorted(sensors - {""}):
        other = reading.outdoor_ratio_of(sensor)
        if other is None:
            continue
        move = _moved(100.0 * (other - main) / saturation, reading.rows_a_day, _OUTDOOR_POINTS)
        if move is not None:
            says = f"Against the log's main outdoor humidity, {_words(f'outdoor sensor {sensor}', move)} One of the two is wrong."
            yield _finding(
                reading,
                f"outdoor_rh.{sensor}",
                move,
                says,
                "No run uses this sensor; do not put it in the main one's place.",
            )
    yield from _away_from_saturation(reading, 100.0 * main / saturation)


def _away_from_saturation(reading: Reading, rh: pd.Series) -> Iterator[LogFinding]:
    """Nights near saturation that come no more: a sensor that loses its upper end."""
    highest = rh.clip(upper=100.0).resample("D").max().dropna()
    if len(highest) < 4 * _FORTNIGHT:
        return
    early, late = (
        float(part.quantile(0.9))
        for part in (highest.iloc[:_FORTNIGHT], highest.iloc[-_FORTNIGHT:])
    )
    if early < 90.0 or early - late < _LOST_POINTS:
        return
    says = (
        f"The dampest nights outdoors reach {number(early)} percent RH in the first two weeks and {number(late)} in the last two. "
        "Nights near saturation seldom stay away so long: the outdoor sensor probably drifts down."
    )
    ratio = reading.outdoor_ratio
    assert ratio is not None
    grams = (
        1000.0 * float(ratio.iloc[-_FORTNIGHT * reading.rows_a_day :].mean()) * (early / late - 1.0)
    )
    yield LogFinding(
        what="drift", where="outdoor_rh", start=reading.frame.index[0], end=reading.frame.index[-1], says=says,
        effect=f"At the end the outdoor humidity ratio may be {number(grams, 1)} g/kg low, and a fit would put that down to "
        "moisture gain. Use the dew point of a station.",
    )  # fmt: skip


def _standard_error(
    left: NDArray[np.float64], is_step: bool, at: int, x: NDArray[np.float64]
) -> float:
    """Standard error of the change, with the first-order correlation of what is left."""
    n = len(left)
    found = float(np.corrcoef(left[1:], left[:-1])[0, 1]) if left.std() > 0.0 else 0.0
    # Short series show too little of their memory (Kendall 1954), and rooms have at least some.
    rho = float(np.clip(found + (1.0 + 3.0 * found) / n, _MEMORY, 0.9))
    wide = float(left.std(ddof=2)) * np.sqrt((1.0 + rho) / (1.0 - rho))
    if is_step:
        return float(wide * np.sqrt(1.0 / at + 1.0 / (n - at)))
    return float(wide * (x[-1] - x[0]) / np.sqrt(((x - x.mean()) ** 2).sum()))


def _pair(reading: Reading, rooms: list[str], change: float, finding: LogFinding) -> LogFinding:
    return LogFinding(
        what=finding.what, where=" or ".join(sorted(rooms)), start=finding.start, end=finding.end,
        says=finding.says + " Two sensors do not tell which of them it is.",
        effect=finding.effect,
    )  # fmt: skip
