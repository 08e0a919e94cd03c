"""Weather on the spaces next to a house, and the ground below them, as arrays by hour."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.engine.forcing_tables import SpaceHour, SpaceNode, rows
from moistsim.engine.household import Household
from moistsim.engine.infiltration import Infiltration, vents
from moistsim.house import Attic, Basement, CrawlSpace, House


class Sun(NamedTuple):
    """Sun on a house, by hour."""

    sol_air: NDArray[np.float64]
    """Sol-air temperature of the main zone's opaque surfaces, weighted by UA, degC."""
    windows: NDArray[np.float64]
    """Sun through the main zone's windows, W."""
    roof: NDArray[np.float64]
    """Sol-air temperature of surfaces that are not vertical, weighted by area, degC.
    Without such surfaces it is the outdoor dry bulb."""
    walls: NDArray[np.float64]
    """Sol-air temperature of vertical surfaces, weighted by area, degC."""
    second_sol_air: NDArray[np.float64]
    """Sol-air temperature of the second zone's opaque surfaces, weighted by UA, degC."""
    second_windows: NDArray[np.float64]
    """Sun through the second zone's windows, W."""


LOW_VENTS = 0.2
"""Height between the vents of a crawl space or the leaks of a basement, m, our own round figure."""


def space_vents(house: House, name: str) -> Infiltration:
    """Outdoor air through vents and leaks of a space of a house."""
    space = getattr(house, name)
    if isinstance(space, CrawlSpace | Basement):
        free = space.practice.vent_area if isinstance(space, CrawlSpace) else space.vent_area
        area, height, stories = house.footprint, LOW_VENTS, 0.0
    elif isinstance(space, Attic):
        # Vents at the eaves and at the ridge, twice the mean height above them.
        free, area = space.practice.vent_area, house.footprint
        height, stories = 2.0 * space.height, house.stories
    else:
        free, area, height, stories = space.vent_area, space.floor_area, space.height, 1.0
    return vents(free * area, height, stories, house.shelter)


def space_nodes(
    house: House, sunlit: Sun, t_out: NDArray[np.float64]
) -> Iterator[NDArray[np.float64]]:
    """Columns of `SpaceNode` for each space, in the middle of each hour.

    A garage has half of its outer surface in the roof. Walls of a crawl space and a basement lie in
    the shade of plants and eaves.

    Parameters
    ----------
    sunlit : Sun
    t_out : array
        Outdoor dry bulb, degC.
    """
    sol_air = {
        "second_zone": sunlit.second_sol_air,
        "attic": sunlit.roof,
        "garage": 0.5 * (sunlit.roof + sunlit.walls),
    }
    sun = {"second_zone": sunlit.second_windows}
    none = np.zeros(len(t_out))
    for name in house.spaces:
        yield rows(SpaceNode, sol_air=sol_air.get(name, t_out), sun=sun.get(name, none))


def space_hours(
    house: House,
    wind_speed: NDArray[np.float64],
    ground: NDArray[np.float64],
    beyond: Mapping[str, NDArray[np.float64]],
    from_ground: NDArray[np.float64],
    second: Household,
) -> Iterator[NDArray[np.float64]]:
    """Columns of `SpaceHour` for each space.

    Parameters
    ----------
    wind_speed : array
        Wind at the weather station, m/s.
    ground : array
        Temperature of the ground under a slab, degC.
    beyond : mapping
        Temperature on the far side of the soil below each space on the ground, degC.
    from_ground : array
        Vapor of `VaporSources` from the ground and a wet basement, kg/s, which a space below the
        house takes up.
    second : Household
        Household of the second zone.
    """
    none = np.zeros(len(ground))
    for name in house.spaces:
        if name == "second_zone":
            # Its infiltration is a share of the house's, see `spaces`.
            yield rows(
                SpaceHour, ground=ground, wind=none, gains=second.sensible, moisture=second.moisture
            )
            continue
        below = name in ("crawl_space", "basement")
        leaks = space_vents(house, name)
        yield rows(
            SpaceHour,
            ground=beyond.get(name, ground),
            wind=leaks.wind * wind_speed,
            gains=none,
            moisture=from_ground if below else none,
        )
