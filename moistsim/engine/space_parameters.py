"""Parameters of the spaces next to a house."""

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine.records import (
    DehumidifierParameters,
    Path,
    SpaceParameters,
    Volume,
    ZoneParameters,
)
from moistsim.house import GARAGE_SHARE, House


def space_parameters(house: House, dt: float) -> dict[str, SpaceParameters]:
    """Parameters of the spaces of a house by name, for steps of `dt` seconds."""
    ducts = house.ducts
    if ducts.location == "inside":
        return {}
    footprint, envelope = house.floor_area / house.stories, house.envelope
    beside = {
        "attic": envelope.roof_u,
        "crawl space": envelope.floor_u,
        "garage": GARAGE_SHARE * envelope.wall_u,
    }
    none = ZoneParameters(*(0.0 for _ in ZoneParameters._fields))
    nowhere = Path(*(0.0 for _ in Path._fields))
    zone = none._replace(
        volume=footprint * ducts.space_height,
        fast_capacity=ducts.space_heat_capacity * footprint,
        air_to_fast=6.0 * footprint,
        air_weight=1.0,
        opaque=ducts.space_u * footprint,
        sun_to_fast=1.0,
        condensing=1.0e-7 * footprint,
        leakage_exponent=0.5,
    )
    space = SpaceParameters(
        zone=zone,
        house=nowhere._replace(conductance=beside[ducts.location] * footprint),
        second=nowhere,
        conditioned=0.0,
        supply_share=0.0,
        return_share=0.0,
        soil=0.0,
        dehumidifier=DehumidifierParameters(*(0.0 for _ in DehumidifierParameters._fields)),
    )
    return {ducts.location.replace(" ", "_"): space}


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
