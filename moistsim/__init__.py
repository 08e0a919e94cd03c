"""moistsim: how humid a house gets, and what each way of drying it costs.

``import moistsim as ms`` is the one import that a notebook needs.
"""

from moistsim import strategies, units
from moistsim.bench import coil_bench
from moistsim.equipment import (
    Cooling,
    Dehumidifier,
    Equipment,
    Furnace,
    HeatPump,
    HotGas,
    Sensor,
    Stage,
    Strips,
    Ventilation,
)
from moistsim.equipment.performance_table import fit_table
from moistsim.equipment.seasonal_rating import seer2
from moistsim.house import Envelope, House
from moistsim.moisture import MATERIALS, MoistureStore, VapourSources
from moistsim.people import Gains, Occupancy, Party, WindowOpening, design_moisture
from moistsim.season import Season, simulate
from moistsim.strategies import Calls, Readings, Strategy, strategy
from moistsim.study import Comparison, Study
from moistsim.tariff import Tariff
from moistsim.units import InputError
from moistsim.weather import Weather
from moistsim.weather_checks import WeatherError

__all__ = [
    "MATERIALS",
    "Calls",
    "Comparison",
    "Cooling",
    "Dehumidifier",
    "Envelope",
    "Equipment",
    "Furnace",
    "Gains",
    "HeatPump",
    "HotGas",
    "House",
    "InputError",
    "MoistureStore",
    "Occupancy",
    "Party",
    "Readings",
    "Season",
    "Sensor",
    "Stage",
    "Strategy",
    "Strips",
    "Study",
    "Tariff",
    "Ventilation",
    "VapourSources",
    "Weather",
    "WeatherError",
    "WindowOpening",
    "coil_bench",
    "design_moisture",
    "fit_table",
    "seer2",
    "simulate",
    "strategies",
    "strategy",
    "units",
]
