"""A house's infiltration model: stack and wind flow from leakage, height, shelter and terrain."""

import math
from typing import NamedTuple

from moistsim.house import (
    BASIC_BY_STORIES,
    FLAT_SHARE_BY_STORIES,
    LEAKAGE_BY_STORIES,
    SHELTER_FACTOR,
    TERRAINS,
    WIND_OVER_CRAWL_SPACE,
    House,
)

AIR_DENSITY = 1.2
"""Density of air in the infiltration models, kg/m3."""
STACK_PRESSURE = AIR_DENSITY * 9.81 / 295.0
"""Stack pressure of air by height and temperature difference, Pa/(m K)."""


class Infiltration(NamedTuple):
    """Stack and wind flow of a house; the two combine in quadrature."""

    stack: float
    """Stack flow at 1 K, m3/s; it varies as |dT|^exponent."""
    wind: float
    """Wind flow at 1 m/s at the weather station, m3/s; it varies as speed^(2 exponent)."""
    exponent: float
    """Exponent of the leakage flow."""


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
    crawl = leakage.foundation == "crawl space"
    table = LEAKAGE_BY_STORIES[stories]
    multiplier, sheltered = wind_at_eaves(house), SHELTER_FACTOR[shelter]
    height = house.eaves_height
    if leakage.tabulated:
        stack = table.stack
        wind = WIND_OVER_CRAWL_SPACE[stories] if crawl else table.wind
    else:
        flue = leakage.flue_share
        flat = FLAT_SHARE_BY_STORIES[stories]
        ceiling = flat if leakage.ceiling_share is None else leakage.ceiling_share
        floor = flat if leakage.floor_share is None else leakage.floor_share
        # Default shares shrink to the leakage that a large flue leaves.
        room = 1.0 - flue
        if ceiling + floor > room:
            if leakage.ceiling_share is None:
                ceiling = max(min(ceiling, room - floor), 0.0)
            if leakage.floor_share is None:
                floor = max(min(floor, room - ceiling), 0.0)
        top = height + 2.0 if leakage.flue_height is None else leakage.flue_height
        stack = stack_factor(n, ceiling, floor, flue, top / height)
        stack *= (STACK_PRESSURE * height) ** n
        wind = wind_factor(n, ceiling, floor, flue, crawl) * (0.5 * AIR_DENSITY) ** n
        sheltered = sheltered * (1.0 - flue) + 1.5 * flue * leakage.flue_shelter
    return Infiltration(c * stack, c * wind * (sheltered * multiplier) ** (2.0 * n), n)


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
