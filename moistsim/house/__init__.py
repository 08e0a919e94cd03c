"""Houses: what a house is made of, and who lives in it."""

from moistsim.house.bedroom import Bedroom
from moistsim.house.ducts import GARAGE_SHARE, Ducts
from moistsim.house.foundation import SLAB, Foundation
from moistsim.house.house import Envelope, House
from moistsim.house.leakage import (
    BASIC_BY_STOREYS,
    FLAT_SHARE_BY_STOREYS,
    LEAKAGE_BY_STOREYS,
    SHELTER_FACTOR,
    TERRAINS,
    WIND_OVER_CRAWL_SPACE,
    ExhaustFan,
    Exhausts,
    Leakage,
)
from moistsim.house.moisture import MATERIALS, MoistureStore, VapourSources
from moistsim.house.people import (
    ACTIVITIES,
    LATENT_PER_KG,
    Gains,
    Occupancy,
    Party,
    WindowOpening,
    design_moisture,
    hours_within,
    on_day,
)
from moistsim.house.surfaces import GLASS, UPRIGHT, Surface, Window
from moistsim.house.typical import TypicalHouse, replaced

__all__ = [
    "ACTIVITIES",
    "BASIC_BY_STOREYS",
    "Bedroom",
    "Ducts",
    "Envelope",
    "ExhaustFan",
    "Exhausts",
    "FLAT_SHARE_BY_STOREYS",
    "Foundation",
    "GARAGE_SHARE",
    "GLASS",
    "Gains",
    "House",
    "LATENT_PER_KG",
    "LEAKAGE_BY_STOREYS",
    "Leakage",
    "MATERIALS",
    "MoistureStore",
    "Occupancy",
    "Party",
    "SHELTER_FACTOR",
    "SLAB",
    "Surface",
    "TERRAINS",
    "TypicalHouse",
    "UPRIGHT",
    "VapourSources",
    "WIND_OVER_CRAWL_SPACE",
    "Window",
    "WindowOpening",
    "design_moisture",
    "hours_within",
    "on_day",
    "replaced",
]
