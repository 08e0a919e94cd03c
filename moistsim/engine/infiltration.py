"""A house's infiltration model: stack and wind flow from leakage, height, shelter and terrain."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moistsim import air
from moistsim.engine.airflow import natural_infiltration
from moistsim.engine.division import division
from moistsim.engine.records import ZoneLeaks
from moistsim.house import (
    BASIC_BY_STORIES,
    FLAT_SHARE_BY_STORIES,
    LEAKAGE_BY_STORIES,
    SHELTER_FACTOR,
    TERRAINS,
    UPPER_FLOOR,
    WIND_OVER_CRAWL_SPACE,
    House,
)
from moistsim.weather import Weather

AIR_DENSITY = 1.2
"""Density of air in the infiltration models, kg/m3."""
STACK_PRESSURE = AIR_DENSITY * 9.81 / 295.0
"""Stack pressure of air by height and temperature difference, Pa/(m K)."""
VENT_DISCHARGE = 0.6
"""Discharge coefficient of a vent over its net free area (sharp-edged opening)."""
STACK_HEIGHT = 2.5
"""Height of one story in the basic model, m."""
WIND_NEAR_GROUND = 0.67
"""Wind at vents 0.4 m above the ground over that at one story's eaves: (0.4/2.5)^0.22, suburbs."""


class Infiltration(NamedTuple):
    """Stack and wind flow of a house; the two combine in quadrature."""

    stack: float
    """Stack flow at 1 K, m3/s; it varies as |dT|^exponent."""
    wind: float
    """Wind flow at 1 m/s at the weather station, m3/s; it varies as speed^(2 exponent)."""
    exponent: float
    """Exponent of the leakage flow."""

    def by_wind(self, speed: NDArray[np.float64]) -> NDArray[np.float64]:
        """Wind flow at each wind speed of the weather station, m3/s."""
        return np.asarray(self.wind * speed ** (2.0 * self.exponent))


def local_wind(house: House) -> float:
    """Wind at the eaves, behind the shelter of the house, over that at the weather station."""
    return SHELTER_FACTOR[int(house.shelter)] * wind_at_eaves(house)


def wind_at_eaves(house: House) -> float:
    """Wind at the eaves' height in the house's terrain over that at the weather station."""
    leakage = house.leakage
    if leakage.terrain == "as tabulated":
        return LEAKAGE_BY_STORIES[int(house.stories)].speed_multiplier
    return wind_at(
        house.eaves_height, leakage.terrain, leakage.station_height, leakage.station_terrain
    )


def infiltration(house: House) -> Infiltration:
    """The enhanced or the basic model of ASHRAE Fundamentals ch. 16 for a house.

    Enhanced: c C_s |dT|^n and c C_w (s G U)^(2n), C_s and C_w tabulated by stories, or by
    `stack_factor` and `wind_factor`; s is the shelter factor and G the multiplier of the station's
    wind. Basic: A_L sqrt(C_s |dT| + C_w U²), of which the exponent is one half.
    """
    leakage, stories, n = house.leakage, int(house.stories), house.leakage_exponent
    shelter = int(house.shelter)
    c = house.flow_coefficient
    if leakage.model == "basic":
        basic = BASIC_BY_STORIES[stories]
        # m2 to cm2, and L/s to m3/s.
        area = 10.0 * c * 4.0**n / math.sqrt(8.0 / AIR_DENSITY)
        wind = math.sqrt(basic.wind[shelter - 1])
        return Infiltration(area * math.sqrt(basic.stack), area * wind, 0.5)
    crawl = house.crawl_space is not None and house.crawl_space.kind == "vented"
    table = LEAKAGE_BY_STORIES[stories]
    multiplier, sheltered = wind_at_eaves(house), SHELTER_FACTOR[shelter]
    height = house.eaves_height
    if leakage.tabulated:
        stack = table.stack
        wind = WIND_OVER_CRAWL_SPACE[stories] if crawl else table.wind
    else:
        ceiling, floor, flue = leak_shares(house)
        stack = stack_factor(n, ceiling, floor, flue, flue_top(house))
        stack *= (STACK_PRESSURE * height) ** n
        wind = wind_factor(n, ceiling, floor, flue, crawl) * (0.5 * AIR_DENSITY) ** n
        sheltered = sheltered * (1.0 - flue) + 1.5 * flue * leakage.flue_shelter
    return Infiltration(c * stack, c * wind * (sheltered * multiplier) ** (2.0 * n), n)


def infiltration_in(house: House, weather: Weather, indoors: ArrayLike) -> NDArray[np.float64]:
    """Natural infiltration of a house in every hour of the weather, m3/s.

    It is what wind and stack alone bring in, without fans and ducts, as a run calculates it.

    Parameters
    ----------
    house : House
    weather : Weather
    indoors : array_like
        Indoor dry bulb, degC: one value, or one for each hour.
    """
    leaks, frame = infiltration(house), weather.frame
    return air.over(
        natural_infiltration, leaks.stack, leaks.exponent,
        leaks.by_wind(frame["wind_speed"].to_numpy(float)), indoors,
        frame["temp_air"].to_numpy(float),
    )  # fmt: skip


def vents(area: float, stack_height: float, stories: float, shelter: float) -> Infiltration:
    """Outdoor air through vents of a space, by the basic model of ASHRAE Fundamentals ch. 16.

    The effective leakage area of the model has a discharge coefficient of 1, so it is
    `VENT_DISCHARGE` times the net free area.

    Parameters
    ----------
    area : float
        Net free area of all vents, m2.
    stack_height : float
        Height between low and high vents, m.
    stories : float
        Number of stories at whose eaves the wind drives the vents; 0 for vents near the ground.
    shelter : float
        Shelter class of the house.
    """
    basic = BASIC_BY_STORIES[max(int(stories), 1)]
    # m2 to cm2, and L/s to m3/s.
    effective = 10.0 * VENT_DISCHARGE * area
    stack = BASIC_BY_STORIES[1].stack * stack_height / STACK_HEIGHT
    wind = math.sqrt(basic.wind[int(shelter) - 1])
    if stories == 0.0:
        wind *= WIND_NEAR_GROUND
    return Infiltration(effective * math.sqrt(stack), effective * wind, 0.5)


class LeakShares(NamedTuple):
    """Leaks at the ceiling, the floor and a flue, over all leaks; the walls have the rest."""

    ceiling: float
    floor: float
    flue: float


def leak_shares(house: House) -> LeakShares:
    """Shares of the leaks at the ceiling, the floor and a flue: as given, or by number of stories.

    Default shares shrink to the leakage that a large flue leaves.
    """
    leakage = house.leakage
    flat = FLAT_SHARE_BY_STORIES[int(house.stories)]
    ceiling = flat if leakage.ceiling_share is None else leakage.ceiling_share
    floor = flat if leakage.floor_share is None else leakage.floor_share
    room = 1.0 - leakage.flue_share
    if ceiling + floor > room:
        if leakage.ceiling_share is None:
            ceiling = max(min(ceiling, room - floor), 0.0)
        if leakage.floor_share is None:
            floor = max(min(floor, room - ceiling), 0.0)
    return LeakShares(ceiling, floor, leakage.flue_share)


def flue_top(house: House) -> float:
    """Height of the flue's top over the height of the eaves; default: 2 m above the eaves."""
    given = house.leakage.flue_height
    return (house.eaves_height + 2.0 if given is None else given) / house.eaves_height


class PathShares(NamedTuple):
    """Infiltration that enters from a space below or above, over all natural infiltration.

    The rest enters through walls and flue, from outdoors.
    """

    floor_warm: float
    """Stack flow with the house warmer than outdoors: share that enters through the floor."""
    ceiling_cool: float
    """Stack flow with the house cooler than outdoors: share that enters through the ceiling."""
    floor_wind: float
    """Wind flow: share that enters through the floor."""
    ceiling_wind: float
    """Wind flow: share that enters through the ceiling."""


class StackFlows(NamedTuple):
    """Stack flow of a house at a pressure difference that grows by 1 with the height of the eaves."""

    level: float
    """Height of the neutral level over that of the eaves."""
    below: float
    """Flow through all leaks below the neutral level."""
    above: float
    """Flow through all leaks above the neutral level; equal to `below` within rounding."""


def through_walls(level: float, low: float, high: float, n: float) -> float:
    """Stack flow through leaks even over a wall, between two heights on one side of the level."""
    near, far = sorted((abs(low - level), abs(high - level)))
    return float((far ** (n + 1.0) - near ** (n + 1.0)) / (n + 1.0))


def stack_flows(house: House) -> StackFlows:
    """Neutral level of a house and its stack flow, see `path_shares`."""
    from scipy.optimize import brentq

    n, (ceiling, floor, flue) = house.leakage_exponent, leak_shares(house)
    walls, top = max(1.0 - ceiling - floor - flue, 0.0), flue_top(house)

    def below(level: float) -> float:
        return float(
            floor * level**n
            + walls * through_walls(level, 0.0, min(level, 1.0), n)
            + ceiling * max(level - 1.0, 0.0) ** n
        )

    def above(level: float) -> float:
        return float(
            ceiling * max(1.0 - level, 0.0) ** n
            + walls * through_walls(level, min(level, 1.0), 1.0, n)
            + flue * (top - level) ** n
        )

    level = brentq(lambda z: below(z) - above(z), 0.0, top, xtol=1e-12)
    return StackFlows(level, below(level), above(level))


def zone_leaks(house: House) -> ZoneLeaks:
    """Shares of a house's infiltration that enter its second zone; all 0 without one.

    Stairs and doors pass the stack's flow without a pressure difference worth counting, so the house
    has one neutral level. The leaks of an upper floor are those of the ceiling and of the upper part of
    the walls. Wind crosses each zone by its own leaks. A flue is in the main zone.
    """
    part = division(house)
    zone = house.second_zone
    if zone is None:
        return ZoneLeaks(0.0, 0.0, 0.0, 0.0)
    n, (ceiling, floor, flue) = house.leakage_exponent, leak_shares(house)
    walls = max(1.0 - ceiling - floor - flue, 0.0)
    level, below, above = stack_flows(house)
    # Walls of an upper floor reach from the height at which it begins; a wing has a share of all.
    begins, dense = (
        (1.0 - zone.share, walls) if zone.kind == UPPER_FLOOR else (0.0, part.area * walls)
    )
    neutral = min(max(level, begins), 1.0)
    enters = (
        part.floor * floor * level**n
        + dense * through_walls(level, begins, neutral, n)
        + part.roof * ceiling * max(level - 1.0, 0.0) ** n
    )
    leaves = part.roof * ceiling * max(1.0 - level, 0.0) ** n
    leaves += dense * through_walls(level, neutral, 1.0, n)
    shares = path_shares(house)
    level_wind = part.roof * shares.ceiling_wind + part.floor * shares.floor_wind
    return ZoneLeaks(
        warm=_over(enters, below),
        cool=_over(leaves, above),
        wind=level_wind + part.area * (1.0 - shares.ceiling_wind - shares.floor_wind),
        fans=part.roof * ceiling + part.floor * floor + part.area * walls,
    )


WALL_PRESSURE = (0.60, -0.65, -0.65, -0.30)
"""Wind pressure on the four walls of a house that stands alone, over the velocity pressure.

Windward, sides and leeward, wind normal to a wall (Walker & Wilson 1998, from memory).
"""


def path_shares(house: House) -> PathShares:
    """Shares of infiltration that enter through the floor and through the ceiling.

    All leaks have one exponent n, so the shares depend on no pressure. A level leak with a share R of all
    leaks passes R |dP|^n. Leaks even over a wall pass the integral of |dP|^n over its height.

    Stack: the pressure grows evenly with height from the neutral level, where inflow equals outflow. With
    equal leaks at floor and ceiling and no flue the neutral level is at mid-height, and the floor's share
    is R / (R + W / (2 (n + 1))), with W the share of the walls.

    Wind: each wall has a quarter of W. The spaces below and above have the mean pressure of the four
    walls, as vents on all sides give them. The pressure indoors makes inflow equal outflow. A flue's top has
    the leeward wall's pressure.

    Source: the leaks of AIM-2 (Walker & Wilson 1998), solved as a network here.

    Examples
    --------
    >>> shares = path_shares(House(floor_area="1400 ft2"))
    >>> [round(share, 2) for share in shares]
    [0.62, 0.62, 0.12, 0.12]
    """
    from scipy.optimize import brentq

    n, (ceiling, floor, flue) = house.leakage_exponent, leak_shares(house)
    walls = max(1.0 - ceiling - floor - flue, 0.0)
    level, below, above = stack_flows(house)
    vents = sum(WALL_PRESSURE) / 4.0
    leaks = [(0.25 * walls, outside) for outside in WALL_PRESSURE]
    leaks += [(floor, vents), (ceiling, vents), (flue, WALL_PRESSURE[-1])]

    def through(share: float, pressure: float) -> float:
        return share * math.copysign(abs(pressure) ** n, pressure)

    inside = brentq(
        lambda p: sum(through(share, outside - p) for share, outside in leaks),
        min(WALL_PRESSURE), max(WALL_PRESSURE), xtol=1e-12,
    )  # fmt: skip
    wind = sum(max(through(share, outside - inside), 0.0) for share, outside in leaks)
    return PathShares(
        _over(floor * level**n, below),
        _over(ceiling * max(1.0 - level, 0.0) ** n, above),
        _over(max(through(floor, vents - inside), 0.0), wind),
        _over(max(through(ceiling, vents - inside), 0.0), wind),
    )


def _over(part: float, total: float) -> float:
    """Part over the total; 0 where nothing flows, as with all leaks at one height."""
    return part / total if total > 1e-5 else 0.0


def stack_factor(n: float, ceiling: float, floor: float, flue: float, flue_height: float) -> float:
    """Stack flow over c P^n, P being the stack pressure over the height of the eaves.

    AIM-2 (Walker & Wilson 1990, 1998), from memory. With leaks in the walls only and no flue,
    it is the integral over their height, (1/2)^(n+1) / (n+1). With leaks in ceiling and floor only,
    it is (1/2)^(n+1).

    Parameters
    ----------
    n : float
        Flow exponent.
    ceiling, floor, flue : float
        Shares of all leaks.
    flue_height : float
        Top of the flue over the height of the eaves, at least 1.
    """
    r, x = ceiling + floor, ceiling - floor
    m = min((x + (2.0 * n + 1.0) * flue) ** 2 / (2.0 - r), 1.0)
    through_flue = 0.0
    if flue > 0.0:
        above = flue_height - 1.0
        neutral = r + 2.0 * (1.0 - r - flue) / (n + 1.0) - 2.0 * flue * above**n
        through_flue = n * flue * above ** ((3.0 * n - 1.0) / 3.0)
        through_flue *= 1.0 - 3.0 * (neutral - x) ** 2 * r ** (1.0 - n) / (2.0 * (above + 2.0))
    return float(
        (1.0 + n * r) / (n + 1.0) * (0.5 - 0.5 * m**1.25) ** (n + 1.0) + max(through_flue, 0.0)
    )


def wind_factor(n: float, ceiling: float, floor: float, flue: float, crawl_space: bool) -> float:
    """Wind flow over c P^n, P being the velocity pressure at the eaves.

    AIM-2 (Walker & Wilson 1990, 1998), from memory; parameters as for `stack_factor`.
    """
    r, x = ceiling + floor, ceiling - floor
    if crawl_space:
        least = (1.0 - r) / 5.0 - 1.5 * flue
        return float(
            0.19 * (2.0 - n) * (1.0 - ((x - least) / (2.0 - r)) ** 2)
            * (1.0 - r * (0.5 * n + 0.2)) * (1.0 - 0.25 * flue)
        )  # fmt: skip
    j = 0.5 * (x + r + 2.0 * flue)
    return float(
        0.19 * (2.0 - n) * (1.0 - (0.5 * (x + r)) ** 1.5)
        - 0.25 * flue * (j - 2.0 * flue * j**4)
    )  # fmt: skip


def wind_at(height: float, terrain: str, station_height: float, station_terrain: str) -> float:
    """Wind at a height in one terrain over that measured at a station in another.

    (d_met/H_met)^a_met (H/d)^a with the exponents and layers of `TERRAINS` (ASHRAE Fundamentals
    ch. 24, from memory).

    >>> float(wind_at(10.0, "open country", 10.0, "open country"))
    1.0
    """
    here, station = TERRAINS[terrain], TERRAINS[station_terrain]
    at_the_top = (station.layer / station_height) ** station.exponent
    return float(at_the_top * (height / here.layer) ** here.exponent)
