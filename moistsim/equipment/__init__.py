"""The machines of a house, described by their labels."""

from moistsim.equipment.cooling import (
    LEAST_BLOWER_FLOW,
    RATED_OUTDOOR,
    RATED_WET_BULB,
    Cooling,
    Stage,
)
from moistsim.equipment.dehumidifier import (
    ENERGY_FACTOR,
    FILTER_POWER,
    FILTER_WATER,
    RATED_INLET,
    RATED_RH,
    RATING_INLETS,
    WATER_REMOVAL,
    Dehumidifier,
)
from moistsim.equipment.equipment import Equipment
from moistsim.equipment.fan_words import fan_off_delay, fan_switch, fan_words
from moistsim.equipment.heating import LIMIT_ENTERING, Furnace, HeatPump, RoomHeater, Strips
from moistsim.equipment.hot_gas import HotGas
from moistsim.equipment.machine_phrases import machine_phrases
from moistsim.equipment.performance_table import fit_table
from moistsim.equipment.seasonal_rating import seer2
from moistsim.equipment.second_system import SecondSystem
from moistsim.equipment.sensor import MAIN_FLOOR, Sensor
from moistsim.equipment.system import System
from moistsim.equipment.ventilation import (
    Ventilation,
    ashrae_62_2_fan_rate,
    ashrae_62_2_rate,
    intermittent_airflow,
)
from moistsim.equipment.wires import CUTS, Enable, Relays
from moistsim.equipment.zoning import Zoning

__all__ = [
    "CUTS",
    "Cooling",
    "Dehumidifier",
    "ENERGY_FACTOR",
    "Enable",
    "Equipment",
    "FILTER_POWER",
    "FILTER_WATER",
    "Furnace",
    "HeatPump",
    "HotGas",
    "LEAST_BLOWER_FLOW",
    "LIMIT_ENTERING",
    "MAIN_FLOOR",
    "RATED_INLET",
    "RATED_OUTDOOR",
    "RATED_RH",
    "RATED_WET_BULB",
    "RATING_INLETS",
    "Relays",
    "RoomHeater",
    "SecondSystem",
    "Sensor",
    "Stage",
    "Strips",
    "System",
    "Ventilation",
    "WATER_REMOVAL",
    "Zoning",
    "ashrae_62_2_fan_rate",
    "ashrae_62_2_rate",
    "fan_off_delay",
    "fan_switch",
    "fan_words",
    "fit_table",
    "intermittent_airflow",
    "machine_phrases",
    "seer2",
]
