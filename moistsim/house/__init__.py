"""Houses: envelope, spaces above and below, leakage, ducts, moisture storage and people."""

from moistsim.house.attic import Attic
from moistsim.house.basement import Basement
from moistsim.house.bedroom import Bedroom
from moistsim.house.crawl_space import CrawlSpace
from moistsim.house.ducts import Ducts
from moistsim.house.envelope import Envelope, WindowToWallRatio
from moistsim.house.garage import Garage
from moistsim.house.ground import Ground
from moistsim.house.house import SPACES, House
from moistsim.house.house_facts import house_facts
from moistsim.house.leakage import (
    BASIC_BY_STORIES,
    FLAT_SHARE_BY_STORIES,
    LEAKAGE_BY_STORIES,
    SHELTER_FACTOR,
    TERRAINS,
    WIND_OVER_CRAWL_SPACE,
    ExhaustFan,
    Exhausts,
    Leakage,
)
from moistsim.house.moisture import MATERIALS, MoistureStore, VaporSources
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
from moistsim.house.second_zone import UPPER_FLOOR, WING, SecondZone
from moistsim.house.surfaces import GLASS, UPRIGHT, Surface, Window
from moistsim.house.typical import TypicalHouse, one_leakage, replaced

__all__ = [
    "ACTIVITIES",
    "Attic",
    "BASIC_BY_STORIES",
    "Basement",
    "Bedroom",
    "CrawlSpace",
    "Ducts",
    "Envelope",
    "ExhaustFan",
    "Exhausts",
    "FLAT_SHARE_BY_STORIES",
    "GLASS",
    "Gains",
    "Garage",
    "Ground",
    "House",
    "LATENT_PER_KG",
    "LEAKAGE_BY_STORIES",
    "Leakage",
    "MATERIALS",
    "MoistureStore",
    "Occupancy",
    "Party",
    "SHELTER_FACTOR",
    "SPACES",
    "SecondZone",
    "Surface",
    "TERRAINS",
    "TypicalHouse",
    "UPPER_FLOOR",
    "UPRIGHT",
    "VaporSources",
    "WIND_OVER_CRAWL_SPACE",
    "WING",
    "Window",
    "WindowOpening",
    "WindowToWallRatio",
    "design_moisture",
    "hours_within",
    "house_facts",
    "on_day",
    "one_leakage",
    "replaced",
]
