"""Tables that drive the loop: weather every half hour, household every hour, faults every step.

`forcing` and `disturbance` fill them from descriptions; the loop reads their rows by name.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class Node(NamedTuple):
    """Weather at a start, a middle or an end of an hour: a row of `Forcing.nodes`."""

    temperature: float
    """Outdoors, degC."""
    humidity_ratio: float
    """Outdoors, kg/kg."""
    sol_air: float
    """Sol-air temperature of the opaque surfaces, degC."""
    sun: float
    """Sun through the windows, W."""
    pressure: float
    """Pa."""
    roof: float
    """Sol-air temperature of the roof, degC."""


class Hour(NamedTuple):
    """An hour: a row of `Forcing.hours`."""

    wind: float
    """Infiltration by wind, m3/s."""
    gains: float
    """Sensible gains, W."""
    moisture: float
    """Household moisture outside of showers and cooking, kg/s."""
    hour: float
    """Start, as the hour of the day."""
    day: float
    """Of the year."""
    month: float
    outdoor_rh: float
    """Percent."""
    outdoor_dew_point: float
    """degC."""
    density: float
    """Dry air outdoors, kg/m3."""
    ground: float
    """Temperature under the floor, degC."""
    dryer: float
    """Share of the hour for which the clothes dryer runs, from its start; so the next two."""
    range_hood: float
    bath_fans: float
    shower: float
    """Vapor of showers, kg/s, and then the share of the hour, from its start, for which it lasts."""
    shower_share: float
    cooking: float
    """Vapor of cooking, kg/s, and then its share of the hour."""
    cooking_share: float
    occupied: float
    """1 if people live there, 0 if not."""
    ground_vapor: float
    """Vapor from the ground, kg/s."""
    construction: float
    """Water from new materials, kg/s."""
    opening_wind: float
    """Flow by wind through windows while they are open, m3/s."""
    may_open: float
    """1 if people would open them in this hour."""


OUTDOOR_RH = Hour._fields.index("outdoor_rh")
PRESSURE = Node._fields.index("pressure")
OUTDOOR_TEMPERATURE = Node._fields.index("temperature")


class Disturbance(NamedTuple):
    """Errors of sensors and faults in n hours; a table that is not needed has no columns."""

    faults: NDArray[np.float64]
    """(n, steps) bits of `wiring`."""
    errors: NDArray[np.float64]
    """(n, 2 steps) errors of the room's sensor: temperature (K) for each step and then relative
    humidity (percent)."""
    outdoors: NDArray[np.float64]
    """(n, 2 steps) readings of the outdoor sensor, degC and then percent."""

    def part(self, first: int, last: int) -> "Disturbance":
        """The hours from `first` up to but not including `last`."""
        return Disturbance(*(table[first:last] for table in self))

    def without_faults(self) -> "Disturbance":
        """The sensors' errors alone."""
        return self._replace(faults=np.zeros_like(self.faults))


def nothing(hours: int) -> Disturbance:
    """Exact sensors, and nothing that fails."""
    return Disturbance(*(np.zeros((hours, 0)) for _ in Disturbance._fields))


class Forcing(NamedTuple):
    """Arrays for a stretch of n hours."""

    nodes: NDArray[np.float64]
    """(2n + 1, 6) `Node` at each hour's start, middle, ... and the last hour's end."""
    hours: NDArray[np.float64]
    """(n, 22) `Hour`."""
    disturbance: Disturbance

    def part(self, first: int, last: int) -> "Forcing":
        """The hours from `first` up to but not including `last`."""
        return Forcing(
            self.nodes[2 * first : 2 * last + 1],
            self.hours[first:last],
            self.disturbance.part(first, last),
        )
