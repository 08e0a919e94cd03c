"""Parameters of the spaces next to a house."""

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine.records import SpaceParameters, Volume
from moistsim.house import House


def space_parameters(house: House, dt: float) -> dict[str, SpaceParameters]:
    """Parameters of the spaces of a house by name, for steps of `dt` seconds."""
    return {}


def initial_spaces(
    spaces: dict[str, SpaceParameters], temperature: float, rh: float, pressure: float
) -> NDArray[np.float64]:
    """Rows of `SpaceState` after a long off time, one after the other."""
    w = air.humidity_ratio_at(temperature, rh, pressure)
    rows = []
    for space in spaces.values():
        volume = Volume(
            temperature=temperature,
            humidity_ratio=w,
            dry_air=space.zone.volume * air.dry_air_density(temperature, w, pressure),
            fast_temperature=temperature,
            fast_saturation=air.saturation_pressure(temperature),
            slow_temperature=temperature,
            surface_rh=rh,
            deep_rh=rh,
            contents_rh=rh,
            contents_deep_rh=rh,
        )
        rows += [*volume, 0.0, 86400.0]
    return np.array(rows, dtype=float)
