"""Weather on the spaces next to a house, and the ground below them, as arrays by hour."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from moistsim.engine.forcing_tables import SpaceHour, SpaceNode, rows
from moistsim.engine.infiltration import Infiltration, vents
from moistsim.house import Basement, CrawlSpace, House

LOW_VENTS = 0.2
"""Height between the vents of a crawl space or the leaks of a basement, m, our own round figure."""


def space_vents(house: House, name: str) -> Infiltration:
    """Outdoor air through vents and leaks of a space of a house."""
    space = getattr(house, name)
    if isinstance(space, CrawlSpace | Basement):
        area, height, stories = house.footprint, LOW_VENTS, 0.0
    elif name == "attic":
        # Vents at the eaves and at the ridge, twice the mean height above them.
        area, height, stories = house.footprint, 2.0 * space.height, house.stories
    else:
        area, height, stories = space.floor_area, space.height, 1.0
    return vents(space.vent_area * area, height, stories, house.shelter)


def space_nodes(
    house: House,
    roof: NDArray[np.float64],
    walls: NDArray[np.float64],
    t_out: NDArray[np.float64],
) -> Iterator[NDArray[np.float64]]:
    """Columns of `SpaceNode` for each space, in the middle of each hour.

    A garage has half of its outer surface in the roof. Walls of a crawl space and a basement lie in
    the shade of plants and eaves.

    Parameters
    ----------
    roof, walls, t_out : array
        Sol-air temperature of the house's roof and walls, and outdoor dry bulb, degC.
    """
    sol_air = {"attic": roof, "garage": 0.5 * (roof + walls)}
    for name in house.spaces:
        yield rows(SpaceNode, sol_air=sol_air.get(name, t_out), sun=np.zeros(len(t_out)))


def space_hours(
    house: House,
    wind_speed: NDArray[np.float64],
    ground: NDArray[np.float64],
    from_ground: NDArray[np.float64],
) -> Iterator[NDArray[np.float64]]:
    """Columns of `SpaceHour` for each space.

    Parameters
    ----------
    wind_speed : array
        Wind at the weather station, m/s.
    ground : array
        Temperature of the ground, degC.
    from_ground : array
        Vapor of `VaporSources` from the ground and a wet basement, kg/s, which a space below the
        house takes up.
    """
    none = np.zeros(len(ground))
    for name in house.spaces:
        below = name in ("crawl_space", "basement")
        leaks = space_vents(house, name)
        yield rows(
            SpaceHour,
            ground=ground,
            wind=leaks.wind * wind_speed,
            gains=none,
            moisture=from_ground if below else none,
        )
