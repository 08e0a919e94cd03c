"""The columns of the hourly table: which quantity of a step each shows, and how an hour is made of it."""

from collections.abc import Iterator
from typing import NamedTuple

from moistsim.engine import REFUSALS
from moistsim.season.meter import END_USES


class Column(NamedTuple):
    """A column of the hourly table: its name, the step's quantity, how an hour is made of it."""

    name: str
    field: str
    how: str
    """mean; percent (mean of 0 to 1, times 100); h (time); kWh (energy of W); kg (mass of kg/s);
    m3 (volume of m3/s); sum; end (state at the hour's end)."""
    meaning: str


def _columns() -> Iterator[Column]:
    yield from (
        Column("indoor_temperature_C", "indoor_temperature", "mean", "room dry bulb"),
        Column(
            "indoor_humidity_ratio", "indoor_humidity_ratio", "mean", "room humidity ratio, kg/kg"
        ),
        Column("indoor_rh_pct", "indoor_rh", "percent", "room relative humidity"),
        Column("sensed_temperature_C", "sensed_temperature", "mean", "sensor's dry bulb"),
        Column("sensed_rh_pct", "sensed_rh", "percent", "sensor's relative humidity"),
        Column("outdoor_temperature_C", "outdoor_temperature", "mean", "outdoor dry bulb"),
        Column("outdoor_humidity_ratio", "outdoor_humidity_ratio", "mean", "kg/kg"),
    )
    for mark in (50, 55, 60, 65):
        yield Column(f"above_{mark}_h", f"above_{mark}", "h", f"time with room RH above {mark} %")
    for mark in (55, 60):
        yield Column(
            f"rh_over_{mark}_pct_h", f"rh_over_{mark}", "h", f"RH above {mark} %, integrated"
        )
    yield from (
        Column("warm_h", "warm", "h", "time more than 1 K above the cooling setpoint"),
        Column("cool_h", "cool", "h", "time more than 1 K below the cooling setpoint"),
        Column("cold_h", "cold", "h", "time more than 1 K below the heating setpoint"),
        Column("reheat_h", "reheat_on", "h", "time with strips on as reheat"),
        Column("heat_pump_h", "heat_pump_on", "h", "time with the heat pump heating"),
        Column("backup_heat_h", "backup_on", "h", "time with strips on as heat"),
        Column("dehumidifier_h", "dehumidifier_on", "h", "time with the dehumidifier on"),
        Column("indoor_fan_h", "fan_on", "h", "time with the indoor blower on"),
        Column("strips_starts", "strips_start", "sum", "times that strips came on"),
        Column("heat_pump_starts", "heat_pump_start", "sum", "starts in heating"),
        Column("dehumidifier_starts", "dehumidifier_start", "sum", "starts of the dehumidifier"),
        Column("airflow_fraction", "airflow", "mean", "indoor blower, of its full flow"),
        Column("duct_space_temperature_C", "duct_space_temperature", "mean", "around the ducts"),
        Column("entering_temperature_C", "entering_temperature", "mean", "into the air handler"),
        Column("dry_coil_h", "dry_coil", "h", "time with a coil that runs and stays dry"),
        Column("off_curve_h", "off_curve", "h", "time with a performance curve held at its limit"),
        Column("frost_h", "frost", "h", "time with a coil that frosts, or rests to melt"),
    )
    for use in END_USES:
        yield Column(f"{use}_kWh", use, "kWh", f"electricity, {use.replace('_', ' ')}")
    yield from (
        Column("gas_kWh", "gas", "kWh", "gas burnt in the furnace (higher heating value)"),
        Column("hot_gas_h", "hot_gas_on", "h", "time with hot-gas reheat"),
        Column("furnace_h", "furnace_on", "h", "time with the furnace on"),
        Column("furnace_starts", "furnace_start", "sum", "starts of the furnace"),
        Column("strip_trips", "strip_trip", "sum", "times that the strips' limit switch opened"),
        Column("strip_rise_K_h", "strip_rise", "h", "temperature rise across strips, integrated"),
    )
    for name, meaning in (
        ("infiltration", "in with air that leaks in"),
        ("ventilation", "in with air that fans bring in"),
        ("out", "out with all air that leaves (negative)"),
        ("return_leak", "in with air that leaks into return ducts outside the envelope"),
        ("supply_leak", "out with air that supply ducts outside the envelope lose (negative)"),
    ):
        yield Column(f"air_{name}_kg", f"air_{name}", "kg", f"dry air {meaning}")
        yield Column(f"water_{name}_kg", f"water_{name}", "kg", f"water {meaning}")
        yield Column(f"heat_{name}_kWh", f"heat_{name}", "kWh", f"enthalpy {meaning}")
    for name, meaning in (
        ("gains", "from the household"),
        ("stored", "from the surface layer of the store to the air"),
        ("stored_deep", "from the deep layer of the store to the surface layer"),
        ("coil", "condensed on the coil (negative)"),
        ("reevaporated", "from an idle wet coil back to the air"),
        ("drained", "from the coil to the drain (negative)"),
        ("dehumidifier", "taken by the dehumidifier (negative)"),
        ("dehumidifier_straight", "of it, from outdoors without having met the room (negative)"),
        ("surfaces", "condensed on wet room surfaces and wiped away (negative)"),
    ):
        yield Column(f"water_{name}_kg", f"water_{name}", "kg", f"water {meaning}")
    for name, meaning in (
        ("duct_walls", "through the walls of ducts outside the envelope"),
        ("opaque", "through walls and roof"),
        ("windows", "by conduction through windows"),
        ("sun", "sun through windows"),
        ("ground", "from the ground"),
        ("gains", "sensible, people and appliances"),
        ("moisture", "enthalpy of the household's vapor"),
        ("ventilation_fan", "of the ventilation fan that stays in the house"),
        ("standby", "of controls and a resting dehumidifier"),
        ("refrigerant", "taken by the refrigerant (negative)"),
        ("heat_pump", "given by the heat pump"),
        ("furnace", "given by the furnace"),
        ("hot_gas", "given back by the refrigerant's hot gas"),
        ("drained", "with the coil's condensate (negative)"),
        ("dehumidifier_drain", "with the dehumidifier's condensate (negative)"),
        ("surfaces", "with water wiped off surfaces (negative)"),
        ("pressure", "work of the weather's pressure on the room's air"),
        ("stored", "from the fast mass to the air"),
        ("stored_deep", "from the slow mass to the fast mass"),
    ):
        yield Column(f"heat_{name}_kWh", f"heat_{name}", "kWh", f"heat {meaning}")
    yield Column("coil_total_kWh", "coil_total", "kWh", "enthalpy that the coil took from the air")
    yield Column("coil_sensible_kWh", "coil_sensible", "kWh", "sensible part of it")
    yield from (
        Column(
            "dehumidifier_defrost_h", "dehumidifier_defrost", "h", "time that it spent defrosting"
        ),
        Column("bucket_full_h", "bucket_full", "h", "time with the dehumidifier's bucket full"),
        Column("ventilation_locked_h", "ventilation_locked", "h", "time that a lockout held it"),
        Column("ventilation_m3", "ventilation_volume", "m3", "outdoor air that fans brought in"),
        Column("air_opening_kg", "air_opening", "kg", "dry air in through opened windows"),
        Column("water_opening_kg", "water_opening", "kg", "water in with that air"),
        Column("heat_opening_kWh", "heat_opening", "kWh", "enthalpy in with that air"),
        Column("water_contents_kg", "water_contents", "kg", "water from the contents to the air"),
        Column(
            "water_contents_deep_kg", "water_contents_deep", "kg", "water, deep in them to surface"
        ),
        Column("water_ground_kg", "water_ground", "kg", "vapor from the ground or a basement"),
        Column("water_construction_kg", "water_construction", "kg", "water from new materials"),
        Column("heat_ground_vapor_kWh", "heat_ground_vapor", "kWh", "enthalpy of that vapor"),
        Column("heat_construction_kWh", "heat_construction", "kWh", "enthalpy of that water"),
        Column("windows_open_h", "windows_open", "h", "time with windows open"),
        Column("bedroom_rh_pct", "bedroom_rh", "percent", "bedroom behind its door; else the zone"),
        Column("bedroom_above_60_h", "bedroom_above_60", "h", "time with it above 60 % RH"),
        Column("occupied_h", "occupied", "h", "time in which people live there"),
        Column("strips_without_air_h", "strips_without_air", "h", "strips on in still air"),
        Column("fighting_h", "fighting", "h", "strips against cooling in a dry or warm room"),
    )
    for name in REFUSALS:
        yield Column(name, name, "sum", f"calls refused: {name.removeprefix('refused_')}")
    yield from (
        Column("fast_mass_temperature_C", "fast_temperature", "end", "board and contents"),
        Column("slow_mass_temperature_C", "slow_temperature", "end", "slab and structure"),
        Column("surface_store_rh_pct", "surface_rh", "end", "surface layer of the moisture store"),
        Column("deep_store_rh_pct", "deep_rh", "end", "deep layer of the moisture store"),
        Column("contents_surface_rh_pct", "contents_rh", "end", "surface layer of the contents"),
        Column("contents_deep_rh_pct", "contents_deep_rh", "end", "deep layer of the contents"),
        Column("coil_water_kg", "coil_water", "end", "water on the coil"),
        Column("bucket_kg", "bucket", "end", "water in the dehumidifier's bucket"),
    )


SLOW_STATES = (
    "fast_temperature", "slow_temperature", "surface_rh", "deep_rh", "contents_rh",
    "contents_deep_rh",
)  # fmt: skip
"""What a spin-up is for."""

COLUMNS = tuple(_columns())
"""Every column of the hourly table but those of the cooling stages, the dew point, which is that
of the hour's mean humidity ratio, and `supply_temperature_max_C`, its hottest step's."""
