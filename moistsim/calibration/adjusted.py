"""Values that a log may move: their names, prior ranges, and descriptions that contain them.

Each value is moved on a scale of its own prior: 0 is the median, and 1 is one standard deviation of a
normal quantile. On that scale all priors are standard normal.
"""

import math
from collections.abc import Mapping
from statistics import NormalDist
from typing import Any, NamedTuple

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.calibration.structures import Structure
from moistsim.controls import Strategy
from moistsim.core.changes import changed
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import Stated
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Tariff
from moistsim.sensitivity import (
    DISTRIBUTIONS,
    Distribution,
    Normal,
    Range,
    distribution_of,
    in_si,
    plus_minus,
)
from moistsim.study import Study
from moistsim.sweep import find
from moistsim.weather import Weather

PEAKS, COSINE, SINE = "rhythm.peaks", "rhythm.cosine", "rhythm.sine"
OFFSET, DRIFT = "logger.humidity_offset", "logger.humidity_drift"
DEEP = "start.deep_humidity"
OWN: dict[str, tuple[Distribution, str]] = {
    PEAKS: (Range(0.0, 1.2), "1"),
    COSINE: (Normal(0.0, 0.6), "1"),
    SINE: (Normal(0.0, 0.6), "1"),
    OFFSET: (Normal(0.0, 1.2), "percent"),
    DRIFT: (Normal(0.0, 0.5), "percent"),
    DEEP: (Normal(0.0, 12.0), "percent"),
}
"""Values that no description has: the daily rhythm of household moisture, the error that all humidity
loggers share and its growth in 30 days, and how much more humid the depth of the materials was than the air
when the log began, all in percent RH. Prior deviations are round figures of ours; 1.2 % is that of a logger
that holds ± 2 % evenly."""
EXTRA = "extra."
"""Beginning of the name of an extra input: the share by which household moisture rises with one standard
deviation of it."""
EXTRA_PRIOR = Normal(0.0, 0.4)
OWN_WORDS = {
    PEAKS: "strength of the described daily peaks of moisture",
    COSINE: "daily rhythm of moisture (midnight against noon)",
    SINE: "daily rhythm of moisture (morning against evening)",
    OFFSET: "offset of the humidity loggers",
    DRIFT: "drift of the humidity loggers in 30 days",
    DEEP: "humidity deep in the materials at the start, over that of the air",
}
LEAST_SHARE = 0.05
"""Share of its mean below which household moisture does not fall in any hour."""
_CURVE = NormalDist()
_FARTHEST = 6.0
"""Deviations from the median beyond which no value is tried."""


@attrs.frozen
class Adjusted:
    """A value that the log may move, with its prior range."""

    name: str
    prior: Distribution
    unit: str
    path: tuple[str, ...] = ()
    """Keys that lead to it from `house`, `equipment` or `strategy`; none for a value of our own."""

    def at(self, z: float) -> float:
        """The value so many deviations from the median of its prior."""
        share = _CURVE.cdf(min(max(z, -_FARTHEST), _FARTHEST))
        return float(self.prior.at(share))


class Described(NamedTuple):
    """Descriptions with values in them, as a run takes them."""

    house: House
    equipment: Equipment
    strategy: Strategy


def adjusted(
    structure: Structure, strategy: Strategy, weather: Weather, ranges: Mapping[str, Any]
) -> tuple[Adjusted, ...]:
    """Check names and prior ranges of a structure's values, and convert them to SI.

    Raises
    ------
    InputError
        If the description has no such value, or its range cannot be used.
    """
    study = Study(
        structure.house, {"measured": (structure.equipment, strategy)}, weather, tariff=Tariff()
    )
    found = []
    for name, given in ranges.items():
        where = f"calibrate vary[{name!r}]"
        read = plus_minus(given, where) if isinstance(given, str) else None
        of = distribution_of(given if read is None else read, where)
        if not isinstance(of, DISTRIBUTIONS):
            raise InputError(
                where,
                given,
                "ms.log_uniform(low, high), ms.normal(mean, deviation) or a text such as '80 cfm ± 8 cfm'",
            )
        if name.startswith(EXTRA):
            found.append(Adjusted(name, in_si(of, float, None, where), "1"))
            continue
        if name in OWN:
            found.append(Adjusted(name, in_si(of, float, None, where), OWN[name][1]))
            continue
        try:
            parameter = find(study, name)
        except InputError as error:
            raise InputError(where, error.found, error.accepted, error.problem) from None
        if parameter.kind != "number" or parameter.path[0] not in (
            "house",
            "equipment",
            "strategy",
        ):
            raise InputError(where, Problem("a range"), "the name of a number of the house")
        prior = in_si(of, parameter.read, parameter.unit, where)
        found.append(Adjusted(name, prior, parameter.unit or "1", parameter.path))
    return tuple(found)


def values_at(names: tuple[Adjusted, ...], z: NDArray[np.float64]) -> dict[str, float]:
    """Values by name at a point of the standard normal scale."""
    return {one.name: one.at(float(x)) for one, x in zip(names, z, strict=True)}


def described(
    structure: Structure,
    strategy: Strategy,
    names: tuple[Adjusted, ...],
    values: Mapping[str, float],
) -> Described:
    """The structure's descriptions with these values; the rhythm goes into the moisture profile."""
    by_root: dict[str, dict[tuple[str, ...], Any]] = {"house": {}, "equipment": {}, "strategy": {}}
    for one in names:
        if one.path and one.name in values:
            by_root[one.path[0]][one.path[1:]] = Stated(values[one.name])
    house: Any = changed(structure.house, by_root["house"])
    if not values.keys().isdisjoint((PEAKS, COSINE, SINE)):
        profile = rhythm(
            house.gains.moisture_profile,
            values.get(PEAKS, 1.0), values.get(COSINE, 0.0), values.get(SINE, 0.0),
        )  # fmt: skip
        house = changed(house, {("gains", "moisture_profile"): profile})
    equipment: Any = changed(structure.equipment, by_root["equipment"])
    points = {path[0]: value for path, value in by_root["strategy"].items()}
    points = apart(strategy, points)
    return Described(house, equipment, strategy(**points) if points else strategy)


HEATING, COOLING = "heating_setpoint", "cooling_setpoint"


def apart(strategy: Strategy, points: Mapping[str, Any]) -> dict[str, Any]:
    """Setpoints of a thermostat, moved apart where its heating would be hidden reheat.

    A cooling setpoint that the log moves pushes the heating setpoint down. A heating setpoint that it
    moves alone pushes the cooling setpoint up.
    """
    both = {**strategy.settings, **points}
    if not {HEATING, COOLING} <= both.keys() or not {HEATING, COOLING} & points.keys():
        return dict(points)
    # Half a deadband below the cooling setpoint and one above the heating setpoint, and how far below
    # the cooling setpoint a control lets the room fall while it dries.
    gap = 1.5 * both.get("deadband", 0.0) + 1.0e-6
    gap += both.get("overcool_by", 0.0) + both.get("reheat_below", 0.0)
    if COOLING in points:
        return {**points, HEATING: Stated(min(both[HEATING], both[COOLING] - gap))}
    return {**points, COOLING: Stated(max(both[COOLING], both[HEATING] + gap))}


def rhythm(
    profile: tuple[float, ...], peaks: float, cosine: float, sine: float
) -> tuple[float, ...]:
    """Household moisture by hour of the day, with a mean of 1.

    The described profile's peaks are made stronger or weaker, and a daily wave is added:
    1 + peaks (profile - 1) + cosine cos(2π h/24) + sine sin(2π h/24).
    """
    angles = 2.0 * math.pi * (np.arange(24) + 0.5) / 24.0
    given = np.array(profile) / np.mean(profile)
    wave = cosine * np.cos(angles) + sine * np.sin(angles)
    shape = np.maximum(1.0 + peaks * (given - 1.0) + wave, LEAST_SHARE)
    return tuple(float(x) for x in shape / shape.mean())
