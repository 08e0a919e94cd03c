"""Range of each reading, and the consistent readings at which the review tries rules."""

import itertools
from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np

from moistsim import air

POSSIBLE = {
    "temperature": (-10.0, 60.0),
    "relative_humidity": (0.0, 100.0),
    "dew_point": (-40.0, 60.0),
    "outdoor_temperature": (-50.0, 60.0),
    "outdoor_relative_humidity": (0.0, 100.0),
    "outdoor_dew_point": (-60.0, 60.0),
    "hour": (0.0, 24.0),
    "day": (1.0, 366.0),
    "month": (1.0, 12.0),
    "cooling_stage": (0.0, 9.0),
    "reheat_stage": (0.0, 9.0),
    "heating_stage": (0.0, 2.0),
    "dehumidifier_on": (0.0, 1.0),
    "airflow": (0.0, 1.0),
    "occupied": (0.0, 1.0),
    "cooling_stages": (1.0, 9.0),
    "variable_speed": (0.0, 1.0),
}
"""Lowest and highest value of each reading, in its SI unit.

Where nature sets no limit, the range is our own wide figure. Times are not listed: they start at
0 s.
"""
_LONGEST = 366.0 * 86400.0
USUAL = {
    "temperature": 23.0,
    "relative_humidity": 50.0,
    "dew_point": 12.0,
    "outdoor_temperature": 25.0,
    "outdoor_relative_humidity": 70.0,
    "outdoor_dew_point": 18.0,
    "hour": 12.0,
    "month": 7.0,
}
"""Usual value of each reading, in its SI unit.

It is used where no row compares the reading with a quantity. Examples show the point nearest to it.
"""
_WHOLE = ("day", "month", "cooling_stage", "reheat_stage", "heating_stage", "dehumidifier_on",
          "occupied", "cooling_stages", "variable_speed")  # fmt: skip
SIDES = (
    ("temperature", "relative_humidity", "dew_point"),
    ("outdoor_temperature", "outdoor_relative_humidity", "outdoor_dew_point"),
)
OWN_TIMES = ("message_age", "cooling_minutes", "heating_minutes", "dehumidifier_minutes")
"""Times that continue without messages from the room's sensor, s."""


@cache
def _saturation(temperature: float) -> float:
    return float(air.saturation_pressure(temperature))


def air_around(side: Sequence[str], marks: Mapping[str, set[float]]) -> list[tuple[float, ...]]:
    """Temperature, relative humidity and dew point of the air of a side, consistent."""
    temperature, humidity, dew_point = side
    found: list[tuple[float, ...]] = []
    dew_points = values_around(dew_point, marks[dew_point]) if dew_point in marks else []
    temperatures = values_around(temperature, marks.get(temperature, set()) | set(dew_points))
    for t in temperatures:
        by_dew = [100.0 * _saturation(d) / _saturation(t) for d in dew_points if d <= t]
        humidities = (
            values_around(humidity, marks.get(humidity, set())) if humidity in marks else []
        )
        for rh in [*humidities, *by_dew] or [USUAL[humidity]]:
            if 0.0 <= rh <= 100.0:
                pressure = max(rh, 0.01) / 100.0 * _saturation(t)
                found.append((t, rh, float(air.dew_point(pressure))))
    return found


def values_around(name: str, marks: set[float]) -> list[float]:
    """Values at and between the marks that a reading can have, the usual one first."""
    low, high = range_of(name)
    inside = sorted({min(max(mark, low), high) for mark in marks} | {low, high})
    if not marks and name in USUAL:
        return [USUAL[name]]
    # Beyond the outermost marks, the value tried lies at most one unit away.
    values = [
        min(max(0.5 * (a + b), b - 1.0 if a == low else a), a + 1.0 if b == high else b)
        for a, b in itertools.pairwise(inside)
    ] + inside
    if name in _WHOLE:
        values = sorted({float(v) for mark in inside for v in (
            np.floor(mark), np.ceil(mark), mark - 1.0, mark + 1.0)
            if low <= v <= high and v == np.floor(v)})  # fmt: skip
    if name == "hour":
        values = [value for value in values if value < 24.0]
    return list(dict.fromkeys(values))


def range_of(name: str) -> tuple[float, float]:
    """Lowest and highest value of a reading, in its SI unit."""
    return POSSIBLE.get(name, (0.0, _LONGEST))
