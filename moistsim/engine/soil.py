"""The soil below a crawl space, a basement or a garage: a path to outdoors that stores the year's heat.

By ISO 13370, the heat flow from a space to the ground has a steady part and two periodic parts: what the
space's own year drives, and what the year outdoors drives. A conductance to a temperature at depth has
only the first and the last. Here the soil is one node between two conductances. They and its capacity
follow from the standard's flows:

- steady, by U;
- by the space's year, that of a semi-infinite solid below floor and walls, (1 + i) l / delta with their
  surface resistances, and by the edge H_pe, because heat that leaves through the edge returns through it;
- by the year outdoors, H_pe, one month late.

H_pe = 0.37 P l (exp(-z/delta) ln(delta/d_t + 1) + 2 (1 - exp(-z/delta)) ln(delta/d_w + 1)), with the
penetration depth delta = sqrt(year x diffusivity / pi), and P, z, d_t, d_w as in `ground`. All of the
standard is from memory. Against the heat equation in two dimensions (`tests/sources/test_soil.py`) the
flows hold within a fifth.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine.ground import (
    DAY,
    FLOOR_FILM,
    FLOOR_THICKNESS,
    SOIL,
    WALL_FILM,
    YEAR,
    AnnualCycle,
    basement_ground_u,
    day_of_year,
    ground_u,
    kusuda_achenbach,
    surface_cycle,
)
from moistsim.engine.records import SpaceParameters
from moistsim.engine.space_forcing import space_vents
from moistsim.house import House
from moistsim.weather import Weather

FREQUENCY = 2.0 * math.pi / (YEAR * DAY)
"""Angular frequency of the year, 1/s."""
MONTH_LATE = math.pi / 6.0
"""Delay of the flow that the year outdoors drives: one month (ISO 13370, from memory)."""


class Soil(NamedTuple):
    """Soil between a space and outdoors."""

    near: float
    """Conductance from the floor's surface to the soil's node, W/K."""
    capacity: float
    """Heat capacity of the node, J/K."""
    far: float
    """Conductance from the node to outdoors through the year, W/K."""
    year: complex
    """Temperature on the far side, over that of the ground's surface: amplitude and phase of the year."""


class Buried(NamedTuple):
    """Floor and walls on the ground."""

    area: float
    """Area of the floor, m2."""
    perimeter: float
    """Length of the outer walls, m."""
    depth: float
    """Height of the walls below ground, m."""
    wall_u: float
    """U-value of these walls, W/(m2 K)."""
    u: float
    """Steady conductance to the ground by ISO 13370, W/(m2 K) of the floor's area."""
    given: float | None
    """That conductance as described, or None."""


def buried(house: House, name: str) -> Buried | None:
    """Floor and walls of a space on the ground, or None for a space that is not on it."""
    if name == "crawl_space" and house.crawl_space is not None:
        area, edge = house.footprint, house.perimeter
        return Buried(area, edge, 0.0, 1.0, ground_u(area, edge), house.crawl_space.ground_u)
    if name == "basement" and house.basement is not None:
        space, u = house.basement, basement_ground_u(house, house.basement)
        area, edge = house.footprint, house.perimeter
        return Buried(area, edge, space.below_grade, space.wall_u, u, space.ground_u)
    if name == "garage" and house.garage is not None:
        area = house.garage.floor_area
        edge = 4.0 * area**0.5
        return Buried(area, edge, 0.0, 1.0, ground_u(area, edge), None)
    return None


def soil(shape: Buried, diffusivity: float) -> Soil:
    """Soil whose flows, steady and through the year, are those of ISO 13370.

    A steady conductance that was given changes all of them in proportion.

    Parameters
    ----------
    diffusivity : float
        Thermal diffusivity, m2/s.
    """
    delta = math.sqrt(2.0 * diffusivity / FREQUENCY)
    walls = shape.perimeter * shape.depth
    surface = 1.0 / (shape.area / FLOOR_FILM + walls / WALL_FILM)
    into_solid = delta / (SOIL * (1.0 + 1.0j))
    column = shape.area / (FLOOR_FILM + into_solid) + walls / (1.0 / shape.wall_u + into_solid)
    steady = shape.u * shape.area
    edge = through_edge(shape, delta)
    # Outdoors drives no more than the steady flow, and soil that lets it pass does not delay it. Walls that
    # reach little below the surface pass more than by H_pe: without the lower limit the soil would give heat.
    damped = min(max(edge / steady, 1.0 - 0.5 * column.real / steady), 1.0)
    late = min(MONTH_LATE, -math.log(damped))
    outer = damped * steady * complex(math.cos(late), -math.sin(late))
    # Surface resistances are not part of the soil.
    total = 1.0 / steady - surface
    inner = 1.0 / (column + outer) - surface
    stored, lag = total - inner.real, -inner.imag
    far = (lag**2 + stored**2) / stored
    near = total - far
    capacity = stored / lag / (far * FREQUENCY)
    passed = 1.0 / (near + surface) / far
    node = 1.0j * FREQUENCY * capacity + 1.0 / far + 1.0 / (near + surface)
    part = 1.0 if shape.given is None else shape.given / shape.u
    return Soil(part / near, part * capacity, part / far, outer * node / passed)


def through_edge(shape: Buried, delta: float) -> float:
    """Periodic conductance H_pe from outdoors to a space through the ground, W/K."""
    thickness = FLOOR_THICKNESS
    deep = math.exp(-shape.depth / delta)
    floor = deep * math.log(delta / thickness + 1.0)
    walls = 2.0 * (1.0 - deep) * math.log(delta * shape.wall_u / SOIL + 1.0)
    return 0.37 * shape.perimeter * SOIL * (floor + walls)


def soil_below(house: House, name: str) -> Soil | None:
    """Soil below a space of a house, or None for a space that is not on the ground."""
    shape = buried(house, name)
    return None if shape is None else soil(shape, house.envelope.ground.diffusivity)


def beyond_soil(house: House, weather: Weather) -> dict[str, NDArray[np.float64]]:
    """Temperature on the far side of the soil by hour, for each space on the ground, degC."""
    if not house.spaces:
        return {}
    ground, cycle = house.envelope.ground, surface_cycle(house.envelope.ground, weather)
    day = day_of_year(weather.hours)
    found = {}
    for name in house.spaces:
        below = soil_below(house, name)
        if below is None:
            continue
        if ground.depth is not None:
            found[name] = kusuda_achenbach(cycle, ground.depth, ground.diffusivity, day)
        else:
            found[name] = np.asarray(cycle.mean - cycle.amplitude * wave(below.year, cycle, day))
    return found


def wave(
    factor: complex, cycle: AnnualCycle, day: NDArray[np.float64] | float
) -> NDArray[np.float64]:
    """Year's harmonic, 1 on the coldest day at the surface, with another amplitude and phase."""
    angle = 2.0 * np.pi * (np.asarray(day) - cycle.coldest_day) / YEAR
    return np.asarray((factor * np.exp(1.0j * angle)).real)


USUAL_DIFFERENCE = 2.0
"""Temperature difference that drives the stack of a space in a usual hour, K."""


def soil_at_start(
    house: House,
    spaces: Mapping[str, SpaceParameters],
    weather: Weather,
    row: int,
    temperature: float,
) -> dict[str, float]:
    """Temperature of the soil below each space before the first step, degC.

    The soil remembers a month and more, longer than a spin-up. So it starts from the year in which a
    space lies between the house, at `temperature`, and outdoors.

    Parameters
    ----------
    row : int
        First hour of the run in the weather.
    """
    if not spaces:
        return {}
    cycle = surface_cycle(house.envelope.ground, weather)
    frame = weather.frame
    day = float(day_of_year(weather.hours[row : row + 1])[0])
    heat = air.STANDARD_DENSITY * air.CP_DRY_AIR
    found = {}
    for name, space in spaces.items():
        below = soil_below(house, name)
        if below is None or below.capacity == 0.0:
            continue
        vents = space_vents(house, name)
        flow = math.hypot(
            vents.stack * USUAL_DIFFERENCE**vents.exponent,
            float(vents.by_wind(frame["wind_speed"].to_numpy(float)).mean()),
        )
        indoors = sum(way.conductance + heat * way.mixing for way in (space.house, space.second))
        outdoors = space.zone.opaque + heat * flow
        down = 1.0 / (1.0 / space.zone.fast_to_slow + 1.0 / below.near)
        total = indoors + outdoors + down

        def node(
            inside: float, out: complex, beyond: complex, frequency: float,
            below: Soil = below, indoors: float = indoors, outdoors: float = outdoors,
            down: float = down, total: float = total,
        ) -> complex:  # fmt: skip
            known = below.far * beyond + down * (indoors * inside + outdoors * out) / total
            kept = 1.0j * frequency * below.capacity + below.far + down - down**2 / total
            return known / kept

        mean = node(temperature, cycle.mean, cycle.mean, 0.0).real
        swing = cycle.amplitude * float(wave(node(0.0, 1.0, below.year, FREQUENCY), cycle, day))
        found[name] = mean - swing
    return found
