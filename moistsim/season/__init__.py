"""A season: the result of one run, its table, totals, balances and events."""

from moistsim.season.columns import COLUMNS
from moistsim.season.meter import END_USES, HUMIDITY_WORDS, Meter, read_humidity, read_meter
from moistsim.season.season import Season, package_version, simulate

__all__ = [
    "COLUMNS",
    "END_USES",
    "HUMIDITY_WORDS",
    "Meter",
    "Season",
    "package_version",
    "read_humidity",
    "read_meter",
    "simulate",
]
