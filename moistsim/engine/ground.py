"""Temperature below the ground floor: the ground through the year, and a space above it."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.house import SLAB, Foundation, House
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


def ground_temperature(foundation: Foundation, weather: Weather) -> NDArray[np.float64]:
    """Ground temperature under a house by hour, degC."""
    cycle = annual_cycle(weather)
    if foundation.mean_temperature is not None:
        assert foundation.amplitude is not None and foundation.coldest_day is not None
        cycle = AnnualCycle(
            foundation.mean_temperature, foundation.amplitude, foundation.coldest_day - 1.0
        )
    day = day_of_year(pd.DatetimeIndex(weather.frame.index))
    return kusuda_achenbach(cycle, foundation.depth, foundation.diffusivity, day)


def below_floor(foundation: Foundation, weather: Weather) -> NDArray[np.float64]:
    """Temperature below the floor by hour, degC, to which `floor_conductance` couples it.

    Under a slab it is the ground temperature. A space below has no heat capacity and is in balance
    with floor, ground and outdoors. For the floor it is one temperature, the mean of ground and
    outdoors weighted by their conductances. Those two conductances act in parallel (method of
    ISO 13370 for unheated spaces, from memory).
    """
    ground = ground_temperature(foundation, weather)
    if foundation.kind == SLAB:
        return ground
    below, t_out = foundation.below, weather.frame["temp_air"].to_numpy(float)
    return (below.ground_u * ground + below.outdoor_u * t_out) / (below.ground_u + below.outdoor_u)


def floor_conductance(house: House) -> float:
    """Conductance from the slow mass to the temperature of `below_floor`, W/K."""
    footprint = house.floor_area / house.stories
    envelope = house.envelope
    if envelope.foundation.kind == SLAB or envelope.floor_u == 0.0:
        return envelope.floor_u * footprint
    return footprint / (1.0 / envelope.floor_u + 1.0 / sum(envelope.foundation.below))
