"""The ground through the year, and the heat flows to it from slab, crawl space and basement."""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.house import Basement, Ground, House
from moistsim.weather import Weather

YEAR = 365.0
"""Length of the year, days."""
DAY = 86400.0
"""Length of a day, s."""
WHOLE_YEAR = 8736
"""Minimum length of a weather that gives an annual cycle, hours (364 days)."""


class AnnualCycle(NamedTuple):
    """The surface temperature of the ground: mean - amplitude cos(2 pi (day - coldest) / 365)."""

    mean: float
    """Annual mean temperature, degC."""
    amplitude: float
    """Amplitude of the annual cycle, K."""
    coldest_day: float
    """Day of the minimum, days since January 1, 0 h."""


def day_of_year(index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Days since January 1, 0 h, in the middle of the hours that begin at `index`."""
    return np.asarray(index.day_of_year - 1 + (index.hour + index.minute / 60.0 + 0.5) / 24.0)


@lru_cache(maxsize=8)
def annual_cycle(weather: Weather) -> AnnualCycle:
    """Annual harmonic of the monthly mean air temperatures, by least squares.

    The harmonic is averaged over the same months, so the width of a month does not flatten it. The
    surface of the ground is assumed to follow the air. A weather of less than a year gives only its
    mean.
    """
    t_out = weather.frame["temp_air"]
    if len(weather) < WHOLE_YEAR:
        return AnnualCycle(float(t_out.mean()), 0.0, 0.0)
    index = pd.DatetimeIndex(weather.frame.index)
    angle = 2.0 * np.pi * day_of_year(index) / YEAR
    months = pd.DataFrame(
        {"t": t_out.to_numpy(), "one": 1.0, "cos": np.cos(angle), "sin": np.sin(angle)}
    )
    months = months.groupby(index.month).mean()
    basis = months[["one", "cos", "sin"]].to_numpy()
    mean, cosine, sine = np.linalg.lstsq(basis, months["t"].to_numpy(), rcond=None)[0]
    # mean - A cos(x - x0) has the cosine -A cos(x0) and the sine -A sin(x0).
    coldest = np.arctan2(-sine, -cosine) * YEAR / (2.0 * np.pi)
    return AnnualCycle(float(mean), float(np.hypot(cosine, sine)), float(coldest % YEAR))


def kusuda_achenbach(
    cycle: AnnualCycle, depth: float, diffusivity: float, day: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Temperature of undisturbed ground, degC.

    T = Tm - A exp(-z k) cos(2 pi/365 (t - t0) - z k), k = sqrt(pi/(365 alpha)), with alpha in m2
    a day (Kusuda & Achenbach 1965, from memory): the harmonic of a semi-infinite solid.

    Parameters
    ----------
    depth : float
        Depth below the surface, m.
    diffusivity : float
        Thermal diffusivity of the ground, m2/s.
    day : array
        Days since January 1, 0 h.
    """
    reach = depth * np.sqrt(np.pi / (YEAR * DAY * diffusivity))
    phase = 2.0 * np.pi * (day - cycle.coldest_day) / YEAR - reach
    return np.asarray(cycle.mean - cycle.amplitude * np.exp(-reach) * np.cos(phase))


def surface_cycle(ground: Ground, weather: Weather) -> AnnualCycle:
    """Annual cycle of the ground's surface, as described or of the weather's air."""
    if ground.mean_temperature is None:
        return annual_cycle(weather)
    assert ground.amplitude is not None and ground.coldest_day is not None
    return AnnualCycle(ground.mean_temperature, ground.amplitude, ground.coldest_day - 1.0)


SLAB_DEPTH = 2.0
"""Depth that stands for the path under a slab and around its edge, m; see `Ground`."""


@lru_cache(maxsize=16)
def ground_temperature(ground: Ground, weather: Weather) -> NDArray[np.float64]:
    """Ground temperature under a slab by hour, degC, kept for all houses on such ground."""
    cycle = surface_cycle(ground, weather)
    day = day_of_year(weather.hours)
    depth = SLAB_DEPTH if ground.depth is None else ground.depth
    found = kusuda_achenbach(cycle, depth, ground.diffusivity, day)
    found.setflags(write=False)
    return found


SOIL = 1.5
"""Thermal conductivity of the soil, W/(m K): clay or silt of ISO 13370, from memory."""
FLOOR_FILM, WALL_FILM, OUTDOOR_FILM = 0.17, 0.13, 0.04
"""Surface resistances of ISO 13370, m2 K/W: floor, wall and outdoors, from memory."""
WALL_THICKNESS = 0.3
"""Thickness of the walls on the ground, m, a round figure of our own."""
FLOOR_THICKNESS = WALL_THICKNESS + SOIL * (FLOOR_FILM + OUTDOOR_FILM)
"""Equivalent thickness of a floor without insulation, m of soil: w + l (R_si + R_se)."""


def floor_conductance(house: House) -> float:
    """Conductance from the house's slow mass to the ground, W/K; 0 over a crawl space or basement."""
    if house.crawl_space is not None or house.basement is not None:
        return 0.0
    return house.envelope.floor_u * house.footprint


def ground_u(area: float, perimeter: float) -> float:
    """Conductance from a crawl space or through a bare slab to the ground, W/(m2 K) of its area.

    U_g = 2 l / (pi B' + d) ln(pi B' / d + 1), with B' the area over half the perimeter and d the
    equivalent thickness w + l (R_si + R_se) (ISO 13370, from memory).

    Examples
    --------
    >>> round(ground_u(180.0, 54.0), 3)
    0.495
    """
    b = area / (0.5 * perimeter)
    d = FLOOR_THICKNESS
    return 2.0 * SOIL / (math.pi * b + d) * math.log(math.pi * b / d + 1.0)


def basement_ground_u(house: House, basement: Basement) -> float:
    """Conductance from a basement through floor and walls to the ground, W/(m2 K) of its floor.

    Floor and walls of a basement of depth z (ISO 13370, from memory):
    U_f = 2 l / (pi B' + d + z/2) ln(pi B' / (d + z/2) + 1), or l / (0.457 B' + d + z/2) where
    d + z/2 exceeds B'; U_w = 2 l / (pi z) (1 + d/2 / (d + z)) ln(z / d_w + 1), d_w = l / `wall_u`,
    with d no more than d_w.
    """
    z, b = basement.below_grade, house.footprint / (0.5 * house.perimeter)
    d = FLOOR_THICKNESS
    reach = d + 0.5 * z
    if reach < b:
        floor = 2.0 * SOIL / (math.pi * b + reach) * math.log(math.pi * b / reach + 1.0)
    else:
        floor = SOIL / (0.457 * b + reach)
    d_w = SOIL / basement.wall_u
    d = min(d, d_w)
    # U_w z, a conductance for each meter of wall, has no depth to divide by.
    walls = 2.0 * SOIL / math.pi * (1.0 + 0.5 * d / (d + z)) * math.log1p(z / d_w)
    return floor + walls * house.perimeter / house.footprint
