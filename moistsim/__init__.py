"""moistsim: how humid a house gets, and what each way of drying it costs.

``import moistsim as ms`` is the one import that a notebook needs. Its names stand in
``__init__.pyi``.
"""

    Addition,
    Calls,
    Cooling,
    Dehumidifier,
    Enable,
    Equipment,
    Furnace,
    HeatPump,
    HotGas,
    Readings,
    Relays,
    Sensor,
    Stage,
    Strategy,
    Strips,
    Ventilation,
    addition,
    break_even,
    one_at_a_time_cases,
    quantiles,
    rule_table,
    saltelli_cases,
    sobol_from,
    sobol_indices,
    strategy,
    tornado,
)
from moistsim import faults, strategies, units
from moistsim.bedroom import Bedroom
from moistsim.bench import coil_bench
from moistsim.cash_flow import Stay
from moistsim.ducts import Ducts
from moistsim.economics import Bridge, Economics, economics
from moistsim.equipment import (
from moistsim.equipment.performance_table import fit_table
from moistsim.equipment.seasonal_rating import seer2
from moistsim.fault_table import fault_table
from moistsim.foundation import Foundation
from moistsim.house import Envelope, House
from moistsim.leakage import ExhaustFan, Exhausts, Leakage
from moistsim.moisture import MATERIALS, MoistureStore, VapourSources
from moistsim.people import Gains, Occupancy, Party, WindowOpening, design_moisture
from moistsim.purchase import Loan, Purchase, Terms
from moistsim.review import Finding, review
from moistsim.sampling import log_uniform, uniform
from moistsim.season import Season, simulate
from moistsim.sensitivity import (
from moistsim.strategies import (
from moistsim.study import Comparison, Study
from moistsim.surfaces import Surface, Window
from moistsim.sweep import Sweep, SweepError
from moistsim.tariff import Tariff
from moistsim.tuning import Tuned, tune
from moistsim.units import InputError
from moistsim.weather import Weather
from moistsim.weather_checks import WeatherError
from moistsim.weather_service import fetch_typical_year
from moistsim.weighing import BreakEven, Pair

    "Addition",
    "Bedroom",
    "Bill",
    "BreakEven",
    "Bridge",
    "Calls",
    "Comparison",
    "Cooling",
    "Dehumidifier",
    "DemandCharge",
    "Ducts",
    "Economics",
    "Emissions",
    "Enable",
    "Envelope",
    "Equipment",
    "ExhaustFan",
    "Exhausts",
    "Finding",
    "Foundation",
    "Furnace",
    "Gains",
    "HeatPump",
    "HotGas",
    "HourlyProfile",
    "House",
    "InputError",
    "Leakage",
    "Loan",
    "MATERIALS",
    "Matched",
    "MoistureStore",
    "Occupancy",
    "Pair",
    "Party",
    "Purchase",
    "RatePeriod",
    "RateSeason",
    "RateTier",
    "Readings",
    "Relays",
    "RiskBasis",
    "Season",
    "Sensor",
    "Stage",
    "Stay",
    "Strategy",
    "Strips",
    "Study",
    "Surface",
    "Sweep",
    "SweepError",
    "Tariff",
    "Terms",
    "Tuned",
    "VapourSources",
    "Ventilation",
    "Weather",
    "WeatherError",
    "Window",
    "WindowOpening",
    "addition",
    "bill",
    "break_even",
    "coil_bench",
    "design_moisture",
    "economics",
    "fault_table",
    "faults",
    "fetch_typical_year",
    "fit_table",
    "log_uniform",
    "match_option",
    "mould_index",
    "one_at_a_time_cases",
    "quantiles",
    "review",
    "risk",
    "risk_hours",
    "rule_table",
    "saltelli_cases",
    "seer2",
    "simulate",
    "sobol_from",
    "sobol_indices",
    "strategies",
    "strategy",
    "tornado",
    "tune",
    "uniform",
    "units",
    Addition,
    Calls,
    Cooling,
    Dehumidifier,
    Enable,
    Equipment,
    Furnace,
    HeatPump,
    HotGas,
    Readings,
    Relays,
    Sensor,
    Stage,
    Strategy,
    Strips,
    Ventilation,
    addition,
    break_even,
    one_at_a_time_cases,
    quantiles,
    rule_table,
    saltelli_cases,
    sobol_from,
    sobol_indices,
    strategy,
    tornado,
)
]
__all__ = [
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
from moistsim import faults, strategies, units
from moistsim.bedroom import Bedroom
from moistsim.bench import coil_bench
from moistsim.billing import Bill, bill
from moistsim.ducts import Ducts
from moistsim.economics import BreakEven, Bridge, Economics, Pair, economics
from moistsim.emissions import Emissions
from moistsim.equipment import (
from moistsim.equipment.performance_table import fit_table
from moistsim.equipment.seasonal_rating import seer2
from moistsim.fault_table import fault_table
from moistsim.foundation import Foundation
from moistsim.hourly_profile import HourlyProfile
from moistsim.house import Envelope, House
from moistsim.leakage import ExhaustFan, Exhausts, Leakage
from moistsim.matching import Matched, match_option
from moistsim.moisture import MATERIALS, MoistureStore, VapourSources
from moistsim.mould import mould_index
from moistsim.people import Gains, Occupancy, Party, WindowOpening, design_moisture
from moistsim.purchase import Loan, Purchase, Terms
from moistsim.rates import DemandCharge, RatePeriod, RateSeason, RateTier
from moistsim.review import Finding, review
from moistsim.risk import RiskBasis, risk, risk_hours
from moistsim.sampling import log_uniform, uniform
from moistsim.season import Season, simulate
from moistsim.sensitivity import (
from moistsim.strategies import (
from moistsim.study import Comparison, Study
from moistsim.surfaces import Surface, Window
from moistsim.sweep import Sweep, SweepError
from moistsim.tariff import Tariff
from moistsim.tuning import Tuned, tune
from moistsim.units import InputError
from moistsim.weather import Weather
from moistsim.weather_checks import WeatherError
from moistsim.weather_service import fetch_typical_year
import lazy_loader
