"""Tables that drive the loop: weather every half hour, household every hour, faults every step.

`forcing` and `disturbance` fill them from descriptions; the loop reads their rows by name.
"""

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.core.compiled import piece


class Node(NamedTuple):
    """Weather at the start, middle or end of an hour: a row of `Forcing.nodes`."""

    temperature: float
    """Outdoor dry bulb, degC."""
    humidity_ratio: float
    """Outdoor humidity ratio, kg/kg."""
    sol_air: float
    """Sol-air temperature of the opaque surfaces, degC."""
    sun: float
    """Sun through the windows, W."""
    pressure: float
    """Air pressure, Pa."""


class Hour(NamedTuple):
    """Weather and household of an hour: a row of `Forcing.hours`."""

    wind: float
    """Infiltration by wind, m3/s."""
    gains: float
    """Sensible gains, W."""
    moisture: float
    """Household moisture outside of showers and cooking, kg/s."""
    hour: float
    """Hour of the day at which the hour starts."""
    day: float
    """Day of the year."""
    month: float
    """Month of the year, 1 to 12."""
    outdoor_rh: float
    """Outdoor relative humidity, percent."""
    outdoor_dew_point: float
    """Outdoor dew point, degC."""
    density: float
    """Density of outdoor air, kg/m3 of dry air."""
    ground: float
    """Temperature under the floor, degC."""
    dryer: float
    """Share of the hour for which the clothes dryer runs, from its start."""
    range_hood: float
    """Share of the hour for which the range hood runs, from its start."""
    bath_fans: float
    """Share of the hour for which the bath fans run, from its start."""
    shower: float
    """Vapor of showers while they run, kg/s."""
    shower_share: float
    """Share of the hour for which showers run, from its start."""
    cooking: float
    """Vapor of cooking while people cook, kg/s."""
    cooking_share: float
    """Share of the hour for which people cook, from its start."""
    occupied: float
    """1 if people live there, 0 if not."""
    ground_vapor: float
    """Vapor from the ground, kg/s."""
    construction: float
    """Water from new materials, kg/s."""
    opening_wind: float
    """Flow by wind through windows while they are open, m3/s."""
    may_open: float
    """1 if people would open windows in this hour."""


class SpaceNode(NamedTuple):
    """Weather on a space next to the house at the start, middle or end of an hour."""

    sol_air: float
    """Sol-air temperature of its opaque surfaces, degC."""
    sun: float
    """Sun through its windows, W."""


class SpaceHour(NamedTuple):
    """Surroundings and household of a space in an hour."""

    ground: float
    """Temperature on the far side of the soil below it, degC; without soil of its own, under its floor."""
    wind: float
    """Outdoor air by wind through its vents and leaks, m3/s."""
    gains: float
    """Sensible gains, W."""
    moisture: float
    """Vapor from people and wet things, kg/s."""


OUTDOOR_RH = Hour._fields.index("outdoor_rh")
"""Column of `Hour.outdoor_rh`."""
PRESSURE = Node._fields.index("pressure")
"""Column of `Node.pressure`."""
OUTDOOR_TEMPERATURE = Node._fields.index("temperature")
"""Column of `Node.temperature`."""


class Place(NamedTuple):
    """Rows of a step in the tables."""

    hour: int
    """Row of the hour."""
    node: int
    """Row of the node before the middle of the step."""
    share: float
    """Share of the way from this node to the next one, in the middle of the step."""
    row: int
    """Row of the step in a trace."""


def rows(kind: Any, **columns: Any) -> NDArray[np.float64]:
    """Table whose rows are a named tuple, from the values of its fields."""
    table = np.column_stack([columns[name] for name in kind._fields])
    return np.ascontiguousarray(table, dtype=float)


class Disturbance(NamedTuple):
    """Sensor errors and faults in n hours; a table without any has no columns."""

    faults: NDArray[np.float64]
    """Bits of `wiring` by hour and step, (n, steps)."""
    errors: NDArray[np.float64]
    """Errors of the room's sensor, (n, 2 steps).
    The first steps hold the temperature, K, and the others the relative humidity, percent."""
    outdoors: NDArray[np.float64]
    """Readings of the outdoor sensor, (n, 2 steps), degC and then percent."""

    def part(self, first: int, last: int) -> "Disturbance":
        """Disturbances of the hours from `first` up to but not including `last`."""
        return Disturbance(*(table[first:last] for table in self))

    def without_faults(self) -> "Disturbance":
        """Disturbances with the sensors' errors only."""
        return self._replace(faults=np.zeros_like(self.faults))


def nothing(hours: int) -> Disturbance:
    """Disturbance with exact sensors and without faults."""
    return Disturbance(*(np.zeros((hours, 0)) for _ in Disturbance._fields))


NOT_IMPOSED = -1000.0
"""Temperature below absolute zero, degC: the room's temperature is not imposed."""
NOT_GIVEN = -1.0
"""Call below zero: the control calls this machine, not a measured series."""
GIVEN_CALLS = ("cooling", "heating", "dehumidifier", "fan")
"""Calls that a measured series may give, in the order of `Imposed.calls`."""


@piece
def given_or(called: float, given: float) -> float:
    """Call that a series gives, or that of the control where it gives none."""
    return given if given >= 0.0 else called


class Imposed(NamedTuple):
    """Measured values in place of calculated ones in n hours; a table without any has no columns."""

    temperature: NDArray[np.float64]
    """Room temperature at the end of each step, degC, (n, steps)."""
    calls: NDArray[np.float64]
    """`GIVEN_CALLS` one after the other, each by step, (n, 4 steps); `NOT_GIVEN` for a call of the control."""
    settings: NDArray[np.float64]
    """All settings of the strategy in each hour, in the order in which it takes them."""

    def part(self, first: int, last: int) -> "Imposed":
        """Values of the hours from `first` up to but not including `last`."""
        return Imposed(*(table[first:last] for table in self))


@lru_cache(maxsize=8)
def nothing_imposed(hours: int) -> Imposed:
    """Tables of a run that calculates everything."""
    return Imposed(*(np.zeros((hours, 0)) for _ in Imposed._fields))


class Forcing(NamedTuple):
    """Weather, household, disturbances and measured values for a stretch of n hours."""

    nodes: NDArray[np.float64]
    """Rows of `Node` at each hour's start, middle, ... and the last hour's end, (2n + 1, ...).
    A `SpaceNode` for each space follows in the row."""
    hours: NDArray[np.float64]
    """Rows of `Hour`, (n, ...). A `SpaceHour` for each space follows in the row."""
    disturbance: Disturbance
    """Sensor errors and faults."""
    imposed: Imposed
    """Measured values in place of calculated ones."""

    def part(self, first: int, last: int) -> "Forcing":
        """Forcing of the hours from `first` up to but not including `last`."""
        return Forcing(
            self.nodes[2 * first : 2 * last + 1],
            self.hours[first:last],
            self.disturbance.part(first, last),
            self.imposed.part(first, last),
        )
