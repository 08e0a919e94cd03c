"""A house divided into two conditioned zones: what part of it the second zone has.

Without a second zone all its shares are 0.
"""

from typing import Any, NamedTuple, TypeVar, cast

import attrs

from moistsim.core.units import Stated
from moistsim.house import UPPER_FLOOR, UPRIGHT, House, Surface, Window

Facing = TypeVar("Facing", Surface, Window)
SIDES = ("front", "left", "back", "right")
"""Walls of a house, clockwise from the front."""


class Division(NamedTuple):
    """Shares of the house that belong to the second zone."""

    area: float
    """Share of the floor area: of volume, mass, moisture storage and leaks of walls too."""
    roof: float
    """Share of the roof and of the leaks of the ceiling."""
    floor: float
    """Share of the floor above ground, crawl space or basement."""
    gains: float
    """Share of the sensible gains."""
    moisture: float
    """Share of the household's moisture except for cooking."""
    supply: float
    """Share of the supply air."""
    back: float
    """Share of the return air."""


def division(house: House) -> Division:
    """Shares of a house that belong to its second zone; all 0 without one."""
    zone = house.second_zone
    if zone is None:
        return Division(*(0.0 for _ in Division._fields))
    share = zone.share
    above = zone.kind == UPPER_FLOOR
    supply = share if zone.supply_share is None else zone.supply_share
    return Division(
        area=share,
        roof=min(share * house.stories, 1.0) if above else share,
        floor=0.0 if above else share,
        gains=share if zone.gains_share is None else zone.gains_share,
        moisture=share if zone.moisture_share is None else zone.moisture_share,
        supply=supply,
        back=supply if zone.return_share is None else zone.return_share,
    )


def share_of(house: House, part: Surface | Window) -> float:
    """Share of a wall, a window or a roof that belongs to the second zone.

    A wall belongs to the side of the house that it faces.
    """
    zone = house.second_zone
    if zone is None:
        return 0.0
    if isinstance(part, Window) and zone.window_share is not None:
        return zone.window_share
    if part.tilt != UPRIGHT:
        return division(house).roof
    turned = (part.azimuth - house.envelope.orientation) % 360.0
    share = getattr(zone, f"{SIDES[round(turned / 90.0) % 4]}_share")
    return zone.share if share is None else float(share)


def parted(house: House, parts: tuple[Facing, ...], second: bool) -> tuple[Facing, ...]:
    """Parts of the envelope that belong to one zone, each with its share of the area."""
    if house.second_zone is None:
        return () if second else parts
    areas = [
        part.area * (share_of(house, part) if second else 1.0 - share_of(house, part))
        for part in parts
    ]
    return tuple(
        attrs.evolve(cast(Any, part), area=Stated(area))
        for part, area in zip(parts, areas, strict=True)
        if area > 0.0
    )


def partition_area(house: House) -> float:
    """Area of the floor or wall between the two zones, m2; 0 without a second zone."""
    zone = house.second_zone
    if zone is None:
        return 0.0
    if zone.partition_area is not None:
        return zone.partition_area
    if zone.kind == UPPER_FLOOR:
        return min(zone.share * house.floor_area, house.footprint)
    side = (house.footprint / house.envelope.aspect) ** 0.5
    return float(side * house.ceiling_height * house.stories)
