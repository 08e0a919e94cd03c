"""A season: the result of one run, its table, totals, balances and events."""

from moistsim.season.air_leakage import AirLeakage
from moistsim.season.columns import COLUMNS
from moistsim.season.first_state import HouseState
from moistsim.season.meter import Meter, read_meter
from moistsim.season.season import Season, package_version
from moistsim.season.simulating import simulate

__all__ = [
    "AirLeakage",
    "COLUMNS",
    "HouseState",
    "Meter",
    "Season",
    "package_version",
    "read_meter",
    "simulate",
]
