"""What the ground floor feels from below: the ground through the year, and a space above it."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.house import SLAB, Foundation, House
from moistsim.weather import Weather

YEAR = 365.0
"""Days."""
DAY = 86400.0
"""s."""
WHOLE_YEAR = 8736
"""Hours (364 days) from which a weather tells its year."""


class AnnualCycle(NamedTuple):
    """The surface temperature of the ground: mean - amplitude cos(2 pi (day - coldest) / 365)."""

    mean: float
    """degC."""
    amplitude: float
    """K."""
    coldest_day: float
    """Days since 1 January 0 h."""


def day_of_year(index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """Days since 1 January 0 h, in the middle of the hours that begin at `index`."""
    return np.asarray(index.day_of_year - 1 + (index.hour + index.minute / 60.0 + 0.5) / 24.0)


@lru_cache(maxsize=8)
def annual_cycle(weather: Weather) -> AnnualCycle:
    """The year's harmonic in the monthly mean temperatures of the air, by least squares.

    The harmonic is averaged over the same months, so that their width does not flatten it. The
    surface of the ground is taken to follow the air. A weather of less than a year has its mean
    alone.
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
        m.
    diffusivity : float
        m2/s.
    day : array
        Days since 1 January 0 h.
    """
    reach = depth * np.sqrt(np.pi / (YEAR * DAY * diffusivity))
    phase = 2.0 * np.pi * (day - cycle.coldest_day) / YEAR - reach
    return np.asarray(cycle.mean - cycle.amplitude * np.exp(-reach) * np.cos(phase))


def ground_temperature(foundation: Foundation, weather: Weather) -> NDArray[np.float64]:
    """The ground's temperature under a house by hour, degC."""
    cycle = annual_cycle(weather)
    if foundation.mean_temperature is not None:
        assert foundation.amplitude is not None and foundation.coldest_day is not None
        cycle = AnnualCycle(
            foundation.mean_temperature, foundation.amplitude, foundation.coldest_day - 1.0
        )
    day = day_of_year(pd.DatetimeIndex(weather.frame.index))
    return kusuda_achenbach(cycle, foundation.depth, foundation.diffusivity, day)


def below_floor(foundation: Foundation, weather: Weather) -> NDArray[np.float64]:
    """The temperature that the floor is coupled to by `floor_conductance`, by hour, degC.

    Under a slab it is the ground's. A space below holds no heat of its own and is at rest between
    floor, ground and outdoors: seen from the floor it is one temperature, the mean of ground and
    outdoors by their conductances, behind the two in parallel (ISO 13370's way with unheated
    spaces, from memory).
    """
    ground = ground_temperature(foundation, weather)
    if foundation.kind == SLAB:
        return ground
    below, t_out = foundation.below, weather.frame["temp_air"].to_numpy(float)
    return (below.ground_u * ground + below.outdoor_u * t_out) / (below.ground_u + below.outdoor_u)


def floor_conductance(house: House) -> float:
    """From the slow mass to the temperature of `below_floor`, W/K."""
    footprint = house.floor_area / house.stories
    envelope = house.envelope
    if envelope.foundation.kind == SLAB or envelope.floor_u == 0.0:
        return envelope.floor_u * footprint
    return footprint / (1.0 / envelope.floor_u + 1.0 / sum(envelope.foundation.below))
