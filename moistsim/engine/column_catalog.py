"""The catalog: every flow and state that a step is metered by, and every measure of a season.

A column of the hourly table is one line of `FLOWS`. A column of the comparison table, of a sweep or
of the meter is one line of `MEASURES`. Everything else that a column needs follows from its line:

* from a line of `FLOWS`: how an hour adds it up (`season.columns`), the balance that it closes
  (`season.balance`), the tag of its inflow and the sink of its outflow (`engine.tags`), and
  its name among the events of a season (`season.events`);
  A second system has those of its machines once more, under names of its own (`SYSTEM_FLOWS`);
* from a line of `MEASURES`, or of `SPACE_MEASURES` for each space: its place in the meter (`season.meter`), the comparison table
  (`study.study`) and the results of a sweep (`sweep.worker`), the phrases that `Study.matched` and
  `tune` take, its trade unit, and its words on the screen, on the page and in figures.

Tests check that `FLOWS` and the groups of `engine.metering.Step` have the same names in the same
order, and that no other file spells the name of a measure.

**To add a column**, such as the hours below 40 % RH, takes two files: a field of a group of
`engine.metering` with its value, and here one line of `FLOWS`, with one line of `MEASURES` if a
season adds it up.

**To add a machine**, such as hot-gas reheat, takes its description (`equipment/hot_gas.py`, a field of
`equipment.equipment`), the call that a control makes (`controls.interface`), its parameters
(`engine.records`, `engine.parameters`), its interlocks (`engine.interlocks`), its physics
(`engine.air_handler`), and its meter (`engine.metering` and this file). Balances, ledgers, meter,
tables, sweeps, events and the account of drying follow. Three additions are optional: a word for it
in tables of rules (`controls.rules`), a probe of its call on the sequence sheet, and its color in
figures.
"""

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any, Literal, NamedTuple

from moistsim.core.measures import UNITS, Measure
from moistsim.core.units import Role
from moistsim.engine.second_system import SYSTEM_FIELDS

How = Literal["mean", "percent", "hours", "energy", "mass", "volume", "sum", "end", "step"]


class Flow(NamedTuple):
    """Quantity that a step is metered by; a flow into the house is positive."""

    field: str
    """Name in a group of `engine.metering.Step`, or in `State` for a state at the hour's end."""
    unit: str
    """SI unit, as a step meters it."""
    how: How
    """Rule by which an hour adds up its steps.

    mean; percent, the mean of 0 to 1 times 100; hours, the integral over time; energy in kWh; mass
    in kg; volume in m3; sum; end, the state at the hour's end. A step value stays out of the hourly
    table, and only the table of minutes shows it."""
    column: str
    """Name of the column in the hourly table."""
    words: str
    """Noun phrase for people, which stands alone."""
    crosses: str = ""
    """Balance whose boundary the flow crosses: dry_air, water or energy."""
    into: str = "air"
    """Reservoir of the ledger that the flow enters or leaves; see `engine.tags`."""
    source: str | None = None
    """Tag of the inflow; None for a flow that never comes in."""
    sink: str | None = None
    """Destination of the outflow; None for a flow that never leaves."""
    dries: str = ""
    """Machine that can dry only because this heat is added: coil or dehumidifier."""
    event: str = ""
    """Name of its changes in `Season.events`."""

    @property
    def shown_unit(self) -> str:
        """Unit of the column in the hourly table, as a reader writes it; empty for a count."""
        if self.how in ("mean", "step") and self.unit == "1":
            return "kg/kg" if "humidity_ratio" in self.field else ""
        if self.how == "hours":
            # An integral over time of a temperature, of a relative humidity, or of 0 to 1.
            return {"K": "K h"}.get(self.unit, "% h" if self.column.endswith("_pct_h") else "h")
        if self.how == "end" and self.unit == "1":
            return "%"
        fixed = {"percent": "%", "energy": "kWh", "mass": "kg", "volume": "m³", "sum": ""}
        return fixed.get(self.how, UNITS[self.unit].sign if self.unit in UNITS else self.unit)


# One line each, so a search for a name finds the whole entry.
# fmt: off
FLOWS = (
    # The room and its surroundings; time in states, and RH above a mark (integral).
    Flow("indoor_temperature", "degC", "mean", "indoor_temperature_C", "room dry bulb"),
    Flow("indoor_humidity_ratio", "1", "mean", "indoor_humidity_ratio", "room humidity ratio, kg/kg of dry air"),
    Flow("indoor_rh", "1", "percent", "indoor_rh_pct", "room relative humidity"),
    Flow("sensed_temperature", "degC", "mean", "sensed_temperature_C", "dry bulb at the sensor"),
    Flow("sensed_rh", "1", "percent", "sensed_rh_pct", "relative humidity at the sensor"),
    Flow("outdoor_temperature", "degC", "mean", "outdoor_temperature_C", "outdoor dry bulb"),
    Flow("outdoor_humidity_ratio", "1", "mean", "outdoor_humidity_ratio", "outdoor humidity ratio, kg/kg of dry air"),
    Flow("below_40", "1", "hours", "below_40_h", "time with room RH below 40 %"),
    Flow("above_50", "1", "hours", "above_50_h", "time with room RH above 50 %"),
    Flow("above_55", "1", "hours", "above_55_h", "time with room RH above 55 %"),
    Flow("above_60", "1", "hours", "above_60_h", "time with room RH above 60 %"),
    Flow("above_65", "1", "hours", "above_65_h", "time with room RH above 65 %"),
    Flow("rh_over_55", "1", "hours", "rh_over_55_pct_h", "room RH above 55 %, integrated"),
    Flow("rh_over_60", "1", "hours", "rh_over_60_pct_h", "room RH above 60 %, integrated"),
    Flow("warm", "1", "hours", "warm_h", "time more than 1 K above the cooling setpoint"),
    Flow("cool", "1", "hours", "cool_h", "time more than 1 K below the cooling setpoint"),
    Flow("cold", "1", "hours", "cold_h", "time more than 1 K below the heating setpoint"),
    Flow("supply_temperature", "degC", "step", "supply_temperature_C", "dry bulb of the supply air"),
    Flow("entering_temperature", "degC", "mean", "entering_temperature_C", "dry bulb of the air entering the air handler"),
    Flow("occupied", "1", "hours", "occupied_h", "time with people at home"),
    Flow("bedroom_rh", "1", "percent", "bedroom_rh_pct", "relative humidity in the bedroom; the zone's without a bedroom"),
    Flow("bedroom_above_60", "1", "hours", "bedroom_above_60_h", "time with bedroom RH above 60 %"),
    Flow("off_curve", "1", "hours", "off_curve_h", "time with a performance curve held at its limit"),
    # Electricity, W.
    Flow("ventilation_fan", "W", "energy", "ventilation_fan_kWh", "electricity of ventilation and exhaust fans"),
    Flow("standby", "W", "energy", "standby_kWh", "electricity of controls, crankcase heater and idle machines"),
    Flow("space_dehumidifier", "W", "energy", "space_dehumidifier_kWh", "electricity of dehumidifiers in spaces next to the house"),
    # Dry air.
    Flow("air_infiltration", "kg/s", "mass", "air_infiltration_kg", "dry air in with air that leaks in", crosses="dry_air"),
    Flow("air_ventilation", "kg/s", "mass", "air_ventilation_kg", "dry air in with air that fans bring in", crosses="dry_air"),
    Flow("air_out", "kg/s", "mass", "air_out_kg", "dry air out with all air that leaves (negative)", crosses="dry_air"),
    Flow("ventilation_volume", "m3/s", "volume", "ventilation_m3", "outdoor air that fans brought in"),
    Flow("natural_infiltration", "m3/s", "volume", "natural_infiltration_m3", "infiltration by wind and stack alone"),
    # Water.
    Flow("water_infiltration", "kg/s", "mass", "water_infiltration_kg", "water in with air that leaks in", crosses="water", source="infiltration"),
    Flow("water_ventilation", "kg/s", "mass", "water_ventilation_kg", "water in with air that fans bring in", crosses="water", source="ventilation"),
    Flow("water_out", "kg/s", "mass", "water_out_kg", "water out with all air that leaves (negative)", crosses="water", sink="air_out"),
    Flow("water_gains", "kg/s", "mass", "water_gains_kg", "water from the household", crosses="water", source="household_vapor"),
    Flow("water_stored", "kg/s", "mass", "water_stored_kg", "water from the surface layer of the store to the air"),
    Flow("water_stored_deep", "kg/s", "mass", "water_stored_deep_kg", "water from the deep layer of the store to the surface layer"),
    # Heat.
    Flow("heat_infiltration", "W", "energy", "heat_infiltration_kWh", "enthalpy in with air that leaks in", crosses="energy", source="infiltration", sink="infiltration"),
    Flow("heat_ventilation", "W", "energy", "heat_ventilation_kWh", "enthalpy in with air that fans bring in", crosses="energy", source="ventilation", sink="ventilation"),
    Flow("heat_out", "W", "energy", "heat_out_kWh", "enthalpy out with all air that leaves (negative)", crosses="energy", sink="air_out"),
    Flow("heat_opaque", "W", "energy", "heat_opaque_kWh", "heat through walls and roof", crosses="energy", into="fast_mass", source="opaque", sink="opaque"),
    Flow("heat_windows", "W", "energy", "heat_windows_kWh", "heat by conduction through windows", crosses="energy", source="windows", sink="windows"),
    Flow("heat_sun", "W", "energy", "heat_sun_kWh", "sun through windows", crosses="energy", source="sun"),
    Flow("heat_ground", "W", "energy", "heat_ground_kWh", "heat from the ground", crosses="energy", into="slow_mass", source="ground", sink="ground"),
    Flow("heat_gains", "W", "energy", "heat_gains_kWh", "sensible heat of people and appliances", crosses="energy", source="people_and_appliances"),
    Flow("heat_moisture", "W", "energy", "heat_moisture_kWh", "enthalpy of the household's vapor", crosses="energy", source="household_vapor"),
    Flow("heat_ventilation_fan", "W", "energy", "heat_ventilation_fan_kWh", "heat of the ventilation fan that stays in the house", crosses="energy", source="ventilation_fan"),
    Flow("heat_standby", "W", "energy", "heat_standby_kWh", "heat of controls and an idle dehumidifier", crosses="energy", source="standby"),
    Flow("heat_pressure", "W", "energy", "heat_pressure_kWh", "work of the weather's pressure on the room's air", crosses="energy", source="pressure", sink="pressure"),
    Flow("heat_stored", "W", "energy", "heat_stored_kWh", "heat from the fast mass to the air"),
    Flow("heat_stored_deep", "W", "energy", "heat_stored_deep_kWh", "heat from the slow mass to the fast mass"),
    # The cooling coil, and the blower for whatever it runs.
    Flow("cooling_stage", "1", "step", "cooling_stage", "cooling stage that runs", event="cooling stage"),
    Flow("fan_on", "1", "hours", "indoor_fan_h", "time with the indoor blower on"),
    Flow("airflow", "1", "mean", "airflow_fraction", "airflow of the indoor blower, as a fraction of full flow", event="blower"),
    Flow("dry_coil", "1", "hours", "dry_coil_h", "time with a coil that runs and stays dry"),
    Flow("frost", "1", "hours", "frost_h", "time with a frosted coil"),
    Flow("compressor", "W", "energy", "compressor_kWh", "electricity of the compressor and outdoor fan"),
    Flow("indoor_fan", "W", "energy", "indoor_fan_kWh", "electricity of the indoor blower", crosses="energy", source="indoor_fan"),
    Flow("water_coil", "kg/s", "mass", "water_coil_kg", "water condensed on the coil (negative)"),
    Flow("water_reevaporated", "kg/s", "mass", "water_reevaporated_kg", "water from an idle wet coil back to the air"),
    Flow("water_drained", "kg/s", "mass", "water_drained_kg", "water from the coil to the drain (negative)", crosses="water", into="coil", sink="coil"),
    Flow("heat_refrigerant", "W", "energy", "heat_refrigerant_kWh", "heat to the refrigerant (negative)", crosses="energy"),
    Flow("heat_drained", "W", "energy", "heat_drained_kWh", "heat of the coil's condensate (negative)", crosses="energy"),
    Flow("coil_total", "W", "energy", "coil_total_kWh", "enthalpy that the coil took from the air"),
    Flow("coil_sensible", "W", "energy", "coil_sensible_kWh", "sensible heat that the coil took from the air"),
    # Machines that heat: strips, heat pump, furnace, hot gas.
    Flow("reheat_stage", "1", "step", "reheat_stage", "strip stages on as reheat", event="reheat stage"),
    Flow("heating_stage", "1", "step", "heating_stage", "heating stage that runs", event="heating stage"),
    Flow("reheat_on", "1", "hours", "reheat_h", "time with strips on as reheat"),
    Flow("heat_pump_on", "1", "hours", "heat_pump_h", "time with the heat pump heating", event="heat pump"),
    Flow("backup_on", "1", "hours", "backup_heat_h", "time with strips on as heat", event="strips as heat"),
    Flow("strips_start", "1", "sum", "strips_starts", "starts of the strips"),
    Flow("heat_pump_start", "1", "sum", "heat_pump_starts", "starts of the heat pump in heating"),
    Flow("reheat", "W", "energy", "reheat_kWh", "electricity of strips as reheat", crosses="energy", source="reheat", dries="coil"),
    Flow("backup_heat", "W", "energy", "backup_heat_kWh", "electricity of strips as heat", crosses="energy", source="backup_heat"),
    Flow("heat_pump", "W", "energy", "heat_pump_kWh", "electricity of the heat pump in heating"),
    Flow("heat_heat_pump", "W", "energy", "heat_heat_pump_kWh", "heat from the heat pump", crosses="energy", source="heat_pump"),
    Flow("hot_gas_on", "1", "hours", "hot_gas_h", "time with hot-gas reheat", event="hot gas"),
    Flow("furnace_on", "1", "hours", "furnace_h", "time with the furnace on"),
    Flow("furnace_start", "1", "sum", "furnace_starts", "starts of the furnace"),
    Flow("strip_trip", "1", "sum", "strip_trips", "times that the strips' limit switch opened"),
    Flow("strip_rise", "K", "hours", "strip_rise_K_h", "temperature rise across the strips, integrated over time"),
    Flow("gas", "W", "energy", "gas_kWh", "gas burned in furnace or room heater (higher heating value)"),
    Flow("heat_furnace", "W", "energy", "heat_furnace_kWh", "heat from the furnace", crosses="energy", source="furnace"),
    Flow("heat_hot_gas", "W", "energy", "heat_hot_gas_kWh", "heat from hot-gas reheat", crosses="energy", source="hot_gas", dries="coil"),
    Flow("strips_without_air", "1", "hours", "strips_without_air_h", "time with strips on in still air"),
    Flow("fighting", "1", "hours", "fighting_h", "time with strips heating against cooling in a dry or warm room"),
    # The dehumidifier.
    Flow("dehumidifier_on", "1", "hours", "dehumidifier_h", "time with the dehumidifier on", event="dehumidifier"),
    Flow("dehumidifier_start", "1", "sum", "dehumidifier_starts", "starts of the dehumidifier"),
    Flow("dehumidifier", "W", "energy", "dehumidifier_kWh", "electricity of the dehumidifier", crosses="energy", source="dehumidifier", dries="dehumidifier"),
    Flow("water_dehumidifier", "kg/s", "mass", "water_dehumidifier_kg", "water removed by the dehumidifier (negative)", crosses="water", sink="dehumidifier"),
    Flow("water_dehumidifier_straight", "kg/s", "mass", "water_dehumidifier_straight_kg", "water that the dehumidifier took from outdoor air before it met the room (negative)"),
    Flow("heat_dehumidifier_drain", "W", "energy", "heat_dehumidifier_drain_kWh", "heat of the dehumidifier's condensate (negative)", crosses="energy"),
    Flow("dehumidifier_defrost", "1", "hours", "dehumidifier_defrost_h", "time with the dehumidifier defrosting"),
    Flow("bucket_full", "1", "hours", "bucket_full_h", "time with the dehumidifier's bucket full", event="bucket full"),
    # Ducts outside the envelope.
    Flow("air_return_leak", "kg/s", "mass", "air_return_leak_kg", "dry air in with air that leaks into return ducts outside the envelope", crosses="dry_air"),
    Flow("air_supply_leak", "kg/s", "mass", "air_supply_leak_kg", "dry air out with air that supply ducts outside the envelope lose (negative)", crosses="dry_air"),
    Flow("water_return_leak", "kg/s", "mass", "water_return_leak_kg", "water in with air that leaks into return ducts outside the envelope", crosses="water", source="ducts"),
    Flow("water_supply_leak", "kg/s", "mass", "water_supply_leak_kg", "water out with air that supply ducts outside the envelope lose (negative)", crosses="water", sink="ducts"),
    Flow("heat_return_leak", "W", "energy", "heat_return_leak_kWh", "enthalpy in with air that leaks into return ducts outside the envelope", crosses="energy", source="ducts", sink="ducts"),
    Flow("heat_supply_leak", "W", "energy", "heat_supply_leak_kWh", "enthalpy out with air that supply ducts outside the envelope lose (negative)", crosses="energy", source="ducts", sink="ducts"),
    Flow("heat_duct_walls", "W", "energy", "heat_duct_walls_kWh", "heat through the walls of ducts outside the envelope", crosses="energy", source="ducts", sink="ducts"),
    # Ventilation lockout, a second store, vapor from outside the household, open windows, wet
    # surfaces.
    Flow("ventilation_locked", "1", "hours", "ventilation_locked_h", "time with ventilation held off by a lockout", event="ventilation locked out"),
    Flow("water_contents", "kg/s", "mass", "water_contents_kg", "water from the contents to the air"),
    Flow("water_contents_deep", "kg/s", "mass", "water_contents_deep_kg", "water from deep in the contents to their surface"),
    Flow("water_ground", "kg/s", "mass", "water_ground_kg", "vapor from the ground or a basement", crosses="water", source="ground_vapor"),
    Flow("water_construction", "kg/s", "mass", "water_construction_kg", "water from new materials", crosses="water", source="construction"),
    Flow("heat_ground_vapor", "W", "energy", "heat_ground_vapor_kWh", "enthalpy of vapor from the ground or a basement", crosses="energy", source="ground_vapor"),
    Flow("heat_construction", "W", "energy", "heat_construction_kWh", "enthalpy of water from new materials", crosses="energy", source="construction"),
    Flow("air_opening", "kg/s", "mass", "air_opening_kg", "dry air in through open windows", crosses="dry_air"),
    Flow("water_opening", "kg/s", "mass", "water_opening_kg", "water in through open windows", crosses="water", source="window_opening"),
    Flow("heat_opening", "W", "energy", "heat_opening_kWh", "enthalpy in through open windows", crosses="energy", source="window_opening", sink="window_opening"),
    Flow("windows_open", "1", "hours", "windows_open_h", "time with windows open", event="windows open"),
    Flow("water_surfaces", "kg/s", "mass", "water_surfaces_kg", "water condensed on room surfaces (negative)"),
    Flow("water_fog", "kg/s", "mass", "water_fog_kg", "water that saturated room air lost as fog, which settles on surfaces (negative)"),
    Flow("water_film", "kg/s", "mass", "water_film_kg", "water that evaporated from wet room surfaces"),
    Flow("water_run_off", "kg/s", "mass", "water_run_off_kg", "water that ran off wet room surfaces or was wiped away (negative)", crosses="water", into="film", sink="surfaces"),
    Flow("heat_run_off", "W", "energy", "heat_run_off_kWh", "heat of water that ran off room surfaces (negative)", crosses="energy", sink="surfaces"),
    # Heat straight into the room.
    Flow("room_heater_on", "1", "hours", "room_heater_h", "time with the room heater on", event="room heater"),
    Flow("room_heater_start", "1", "sum", "room_heater_starts", "starts of the room heater"),
    Flow("room_heater", "W", "energy", "room_heater_kWh", "electricity of the room heater"),
    Flow("heat_room_heater", "W", "energy", "heat_room_heater_kWh", "heat from the room heater", crosses="energy", source="room_heater"),
    Flow("heat_imposed", "W", "energy", "heat_imposed_kWh", "heat that holds the room at a measured temperature", crosses="energy", source="imposed", sink="imposed"),
    # Calls refused: 1 in the step in which a refusal begins.
    Flow("refused_minimum_time", "1", "sum", "refused_minimum_time", "calls refused: minimum time not over"),
    Flow("refused_outdoor_cold", "1", "sum", "refused_outdoor_cold", "calls refused: outdoor air too cold"),
    Flow("refused_coil_frost", "1", "sum", "refused_coil_frost", "calls refused: frosted coil"),
    Flow("refused_heat_against_cool", "1", "sum", "refused_heat_against_cool", "calls refused: heating against cooling"),
    Flow("refused_reheat_alone", "1", "sum", "refused_reheat_alone", "calls refused: reheat without cooling"),
    Flow("refused_low_airflow", "1", "sum", "refused_low_airflow", "calls refused: too little airflow"),
    Flow("refused_dehumidifier_cold", "1", "sum", "refused_dehumidifier_cold", "calls refused: air too cold for the dehumidifier"),
    Flow("refused_not_installed", "1", "sum", "refused_not_installed", "calls refused: machine not installed"),
    Flow("refused_strips_tripped", "1", "sum", "refused_strips_tripped", "calls refused: strips tripped"),
    Flow("refused_strips_locked_out", "1", "sum", "refused_strips_locked_out", "calls refused: strips locked out"),
    Flow("refused_bucket_full", "1", "sum", "refused_bucket_full", "calls refused: full bucket"),
    Flow("refused_room_hot", "1", "sum", "refused_room_hot", "calls refused: room too hot"),
)
"""All quantities that a step is metered by, in the order of `engine.metering.STEP_FIELDS`."""

SPACE_FLOWS = (
    # A space next to the house's zone; {} is its name. Flows to and from a conditioned zone are positive into that zone.
    Flow("temperature", "degC", "mean", "temperature_C", "{} dry bulb"),
    Flow("humidity_ratio", "1", "mean", "humidity_ratio", "{} humidity ratio, kg/kg of dry air"),
    Flow("rh", "1", "percent", "rh_pct", "{} relative humidity"),
    Flow("fast_temperature", "degC", "mean", "surface_temperature_C", "temperature of wood and surfaces, {}"),
    Flow("surface_rh", "1", "percent", "surface_rh_pct", "relative humidity at the surface of the wood, {}"),
    Flow("deep_rh", "1", "percent", "deep_rh_pct", "relative humidity in the depth of the wood, {}"),
    Flow("above_60", "1", "hours", "above_60_h", "time with {} RH above 60 %"),
    Flow("above_80", "1", "hours", "surface_above_80_h", "time with RH above 80 % at the surface of the wood, {}"),
    Flow("warm", "1", "hours", "warm_h", "time with the {} more than 1 K above the cooling setpoint"),
    Flow("cool", "1", "hours", "cool_h", "time with the {} more than 1 K below the cooling setpoint"),
    Flow("cold", "1", "hours", "cold_h", "time with the {} more than 1 K below the heating setpoint"),
    Flow("air_outdoors", "kg/s", "mass", "air_outdoors_kg", "dry air into the {} from outdoors", crosses="dry_air"),
    Flow("air_out", "kg/s", "mass", "air_out_kg", "dry air from the {} to outdoors (negative)", crosses="dry_air"),
    Flow("air_to_house", "kg/s", "mass", "air_to_house_kg", "dry air from the {} to the house", crosses="dry_air", into="house"),
    Flow("air_from_house", "kg/s", "mass", "air_from_house_kg", "dry air from the house to the {} (negative)", crosses="dry_air", into="house"),
    Flow("air_to_second", "kg/s", "mass", "air_to_second_kg", "dry air from the {} to the second zone", crosses="dry_air", into="second_zone"),
    Flow("air_from_second", "kg/s", "mass", "air_from_second_kg", "dry air from the second zone to the {} (negative)", crosses="dry_air", into="second_zone"),
    Flow("air_ducts", "kg/s", "mass", "air_ducts_kg", "dry air from leaks of ducts in the {}", crosses="dry_air"),
    Flow("water_outdoors", "kg/s", "mass", "water_outdoors_kg", "water into the {} with outdoor air", crosses="water"),
    Flow("water_out", "kg/s", "mass", "water_out_kg", "water from the {} with air to outdoors (negative)", crosses="water"),
    Flow("water_to_house", "kg/s", "mass", "water_to_house_kg", "water from the {} to the house", crosses="water", into="house"),
    Flow("water_from_house", "kg/s", "mass", "water_from_house_kg", "water from the house to the {} (negative)", crosses="water", into="house"),
    Flow("water_to_second", "kg/s", "mass", "water_to_second_kg", "water from the {} to the second zone", crosses="water", into="second_zone"),
    Flow("water_from_second", "kg/s", "mass", "water_from_second_kg", "water from the second zone to the {} (negative)", crosses="water", into="second_zone"),
    Flow("water_ducts", "kg/s", "mass", "water_ducts_kg", "water from leaks of ducts in the {}, less what drips off cold ducts", crosses="water"),
    Flow("water_soil", "kg/s", "mass", "water_soil_kg", "vapor from the soil of the {}", crosses="water"),
    Flow("water_gains", "kg/s", "mass", "water_gains_kg", "vapor from people and wet things in the {}", crosses="water"),
    Flow("water_stored", "kg/s", "mass", "water_stored_kg", "water from the wood of the {} to its air"),
    Flow("water_stored_deep", "kg/s", "mass", "water_stored_deep_kg", "water from the depth of the wood of the {} to its surface"),
    Flow("water_surfaces", "kg/s", "mass", "water_surfaces_kg", "water condensed on surfaces of the {} (negative)"),
    Flow("water_fog", "kg/s", "mass", "water_fog_kg", "water that saturated air of the {} lost as fog, which settles (negative)"),
    Flow("water_film", "kg/s", "mass", "water_film_kg", "water that evaporated from wet surfaces of the {}"),
    Flow("water_run_off", "kg/s", "mass", "water_run_off_kg", "water that ran off wet surfaces of the {} (negative)", crosses="water"),
    Flow("water_dehumidifier", "kg/s", "mass", "water_dehumidifier_kg", "water removed by the dehumidifier of the {} (negative)", crosses="water"),
    Flow("water_sweat", "kg/s", "mass", "water_sweat_kg", "water that drips off cold ducts in the {}"),
    Flow("heat_outdoors", "W", "energy", "heat_outdoors_kWh", "enthalpy into the {} with outdoor air", crosses="energy"),
    Flow("heat_out", "W", "energy", "heat_out_kWh", "enthalpy from the {} with air to outdoors (negative)", crosses="energy"),
    Flow("heat_to_house", "W", "energy", "heat_to_house_kWh", "enthalpy of air from the {} to the house", crosses="energy", into="house"),
    Flow("heat_from_house", "W", "energy", "heat_from_house_kWh", "enthalpy of air from the house to the {} (negative)", crosses="energy", into="house"),
    Flow("heat_to_second", "W", "energy", "heat_to_second_kWh", "enthalpy of air from the {} to the second zone", crosses="energy", into="second_zone"),
    Flow("heat_from_second", "W", "energy", "heat_from_second_kWh", "enthalpy of air from the second zone to the {} (negative)", crosses="energy", into="second_zone"),
    Flow("heat_ducts", "W", "energy", "heat_ducts_kWh", "heat from ducts in the {}, by leaks and through their walls", crosses="energy"),
    Flow("heat_partition", "W", "energy", "heat_partition_kWh", "heat from the {} through ceiling, floor or wall to the house", crosses="energy", into="house"),
    Flow("heat_partition_second", "W", "energy", "heat_partition_second_kWh", "heat from the {} through ceiling, floor or wall to the second zone", crosses="energy", into="second_zone"),
    Flow("heat_opaque", "W", "energy", "heat_opaque_kWh", "heat through walls and roof of the {}", crosses="energy"),
    Flow("heat_windows", "W", "energy", "heat_windows_kWh", "heat by conduction through windows and doors of the {}", crosses="energy"),
    Flow("heat_sun", "W", "energy", "heat_sun_kWh", "sun through windows of the {}", crosses="energy"),
    Flow("heat_ground", "W", "energy", "heat_ground_kWh", "heat from the ground into the {}", crosses="energy"),
    Flow("heat_soil", "W", "energy", "heat_soil_kWh", "heat of the water that evaporates from the soil of the {}", crosses="energy"),
    Flow("heat_gains", "W", "energy", "heat_gains_kWh", "sensible gains in the {}", crosses="energy"),
    Flow("heat_moisture", "W", "energy", "heat_moisture_kWh", "enthalpy of vapor from people and wet things in the {}", crosses="energy"),
    Flow("heat_run_off", "W", "energy", "heat_run_off_kWh", "heat of water that ran off surfaces of the {} (negative)", crosses="energy"),
    Flow("heat_pressure", "W", "energy", "heat_pressure_kWh", "work of the weather's pressure on the air of the {}", crosses="energy"),
    Flow("heat_dehumidifier_drain", "W", "energy", "heat_dehumidifier_drain_kWh", "heat of the condensate of the dehumidifier of the {} (negative)", crosses="energy"),
    Flow("dehumidifier", "W", "energy", "dehumidifier_kWh", "electricity of the dehumidifier of the {}", crosses="energy"),
    Flow("dehumidifier_on", "1", "hours", "dehumidifier_h", "time with the dehumidifier of the {} on"),
    Flow("dehumidifier_start", "1", "sum", "dehumidifier_starts", "starts of the dehumidifier of the {}"),
)
"""All quantities that a space is metered by, in the order of `engine.space_metering.SPACE_FIELDS`."""

SECOND_SYSTEM = "second_system"
"""Name with which fields, columns and measures of a second system begin."""
# fmt: on
SYSTEM_FLOWS = tuple(
    flow._replace(
        field=f"{SECOND_SYSTEM}_{flow.field}",
        column=f"{SECOND_SYSTEM}_{flow.column}",
        words=f"{flow.words}, second system",
        event=f"second system: {flow.event}" if flow.event else "",
    )
    for flow in FLOWS
    if flow.field in SYSTEM_FIELDS
)
"""All quantities that a second system is metered by: those of the first one's machines."""
# fmt: off

STATES = (
    Flow("fast_temperature", "degC", "end", "fast_mass_temperature_C", "temperature of board and contents, at the hour's end"),
    Flow("slow_temperature", "degC", "end", "slow_mass_temperature_C", "temperature of slab and structure, at the hour's end"),
    Flow("surface_rh", "1", "end", "surface_store_rh_pct", "surface layer of the moisture store, at the hour's end"),
    Flow("deep_rh", "1", "end", "deep_store_rh_pct", "deep layer of the moisture store, at the hour's end"),
    Flow("contents_rh", "1", "end", "contents_surface_rh_pct", "surface layer of the contents, at the hour's end"),
    Flow("contents_deep_rh", "1", "end", "contents_deep_rh_pct", "deep layer of the contents, at the hour's end"),
    Flow("coil_water", "kg", "end", "coil_water_kg", "water on the coil, at the hour's end"),
    Flow("film", "kg", "end", "film_kg", "water on room surfaces, at the hour's end"),
    Flow("bucket", "kg", "end", "bucket_kg", "water in the dehumidifier's bucket, at the hour's end"),
)
"""States that the hourly table shows at the hour's end."""


DEW_POINT = "indoor_dew_point_C"
"""Column of the hourly table: dew point of the hour's mean humidity ratio."""
HOTTEST_SUPPLY = "supply_temperature_max_C"
"""Column of the hourly table: the hour's hottest step of supply air."""
HOTTEST_STRIPS = "strip_limit_temperature_max_C"
"""Column of the hourly table: the hour's highest temperature at the strips' limit switch."""

MEASURES = (
    # Electricity by end use, in the order in which figures stack it.
    Measure("compressor_kWh", "kWh", "compressor and outdoor fan", part="kwh", how="total"),
    Measure("indoor_fan_kWh", "kWh", "indoor fan", part="kwh", how="total"),
    Measure("reheat_kWh", "kWh", "electric reheat", part="kwh", how="total"),
    Measure("backup_heat_kWh", "kWh", "auxiliary heat", part="kwh", how="total"),
    Measure("heat_pump_kWh", "kWh", "heat pump", part="kwh", how="total"),
    Measure("room_heater_kWh", "kWh", "room heater", part="kwh", how="total"),
    Measure("dehumidifier_kWh", "kWh", "dehumidifier", part="kwh", how="total"),
    Measure("ventilation_fan_kWh", "kWh", "ventilation fan", part="kwh", how="total"),
    Measure("standby_kWh", "kWh", "standby", part="kwh", how="total"),
    Measure("space_dehumidifier_kWh", "kWh", "dehumidifier in a space next to the house", part="kwh", how="total"),
    Measure("total_kWh", "kWh", "total electricity", "electricity"),
    Measure("cost_USD", "USD", "energy cost", "cost"),
    Measure("emissions_kgCO2e", "kg CO2e", "greenhouse gas emissions", "emissions"),
    Measure("peak_15_min_kW", "kW", "peak power over 15 min", "peak over 15 min", digits=1),
    Measure("peak_15_min_begins", "text", "beginning of the highest 15 minutes"),
    Measure("peak_60_min_kW", "kW", "peak power over an hour", "peak over 60 min", digits=1),
    Measure("peak_60_min_begins", "text", "beginning of the highest hour"),
    # Runtimes.
    Measure("cooling_stage_{}_h", "hour", "runtime of cooling stage {}", part="runtime_h", how="total", first_stage=1),
    Measure("reheat_h", "hour", "runtime of strips as reheat", part="runtime_h", how="total"),
    Measure("heat_pump_h", "hour", "runtime of the heat pump in heating", part="runtime_h", how="total"),
    Measure("furnace_h", "hour", "runtime of the furnace", part="runtime_h", how="total"),
    Measure("room_heater_h", "hour", "runtime of the room heater", part="runtime_h", how="total"),
    Measure("hot_gas_h", "hour", "runtime of hot-gas reheat", part="runtime_h", how="total"),
    Measure("backup_heat_h", "hour", "runtime of strips as heat", part="runtime_h", how="total"),
    Measure("dehumidifier_h", "hour", "runtime of the dehumidifier", part="runtime_h", how="total"),
    Measure("indoor_fan_h", "hour", "runtime of the indoor fan", part="runtime_h", how="total"),
    # Starts.
    Measure("cooling_stage_1_starts", "count", "compressor starts for cooling", "compressor starts", phrases=("compressor starts",), part="starts", how="count", first_stage=1),
    Measure("cooling_stage_{}_starts", "count", "starts of cooling stage {}", part="starts", how="count", first_stage=2),
    Measure("strips_starts", "count", "strip starts", phrases=("strip starts", "strips starts"), part="starts", how="count"),
    Measure("heat_pump_starts", "count", "heat pump starts in heating", "heat pump starts", part="starts", how="count"),
    Measure("furnace_starts", "count", "furnace starts", part="starts", how="count"),
    Measure("room_heater_starts", "count", "room heater starts", part="starts", how="count"),
    Measure("dehumidifier_starts", "count", "dehumidifier starts", part="starts", how="count"),
    # Water that left the house.
    Measure("coil_water_kg", "kg", "water removed by the cooling coil", "water, coil", digits=1, part="water_kg", columns=("water_coil_kg", "water_reevaporated_kg"), how="removed"),
    Measure("dehumidifier_water_kg", "kg", "water removed by the dehumidifier", "water, dehumidifier", digits=1, part="water_kg", columns=("water_dehumidifier_kg",), how="removed"),
    # Humidity: means, the excess integrated, and time by the step.
    Measure("mean_dew_point_C", "degC", "mean indoor dew point", "dew point", digits=1, phrases=("mean dew point",), part="humidity", columns=(DEW_POINT,), how="mean", alike=0.2, per_rh=0.3),
    Measure("mean_rh_pct", "percent", "mean indoor relative humidity", "mean RH", digits=1, phrases=("mean RH",), part="humidity", columns=("indoor_rh_pct",), how="mean", alike=0.5, per_rh=1.0),
    Measure("rh_hours_over_55", "percent hour", "RH-hours above 55 %", phrases=("RH-hours above 55 %",), part="humidity", columns=("rh_over_55_pct_h",), how="total", alike=20.0),
    Measure("rh_hours_over_60", "percent hour", "RH-hours above 60 %", phrases=("RH-hours above 60 %",), part="humidity", columns=("rh_over_60_pct_h",), how="total", alike=20.0),
    Measure("hours_below_40", "hour", "time below 40 % RH", "below 40 % RH", phrases=("hours below 40 %",), part="humidity", columns=("below_40_h",), how="total"),
    Measure("hours_over_50", "hour", "time above 50 % RH", "above 50 % RH", phrases=("hours above 50 %",), part="humidity", columns=("above_50_h",), how="total"),
    Measure("hours_over_55", "hour", "time above 55 % RH", "above 55 % RH", phrases=("hours above 55 %",), part="humidity", columns=("above_55_h",), how="total"),
    Measure("hours_over_60", "hour", "time above 60 % RH", "above 60 % RH", phrases=("hours above 60 %",), part="humidity", columns=("above_60_h",), how="total"),
    Measure("hours_over_65", "hour", "time above 65 % RH", "above 65 % RH", phrases=("hours above 65 %",), part="humidity", columns=("above_65_h",), how="total"),
    # Comfort; unknown without the setpoint.
    Measure("above_cooling_setpoint_h", "hour", "time more than 1 K (1.8 °F) above the cooling setpoint", "too warm", phrases=("hours above the cooling setpoint",), part="comfort_h", columns=("warm_h",), how="total", needs=Role.COOLING),
    Measure("below_cooling_setpoint_h", "hour", "time more than 1 K (1.8 °F) below the cooling setpoint", "too cool", phrases=("hours below the cooling setpoint",), part="comfort_h", columns=("cool_h",), how="total", needs=Role.COOLING),
    Measure("below_heating_setpoint_h", "hour", "time more than 1 K (1.8 °F) below the heating setpoint", "too cold", phrases=("hours below the heating setpoint",), part="comfort_h", columns=("cold_h",), how="total", needs=Role.HEATING),
    Measure("gas_kWh", "kWh gas", "gas burned", "gas", how="total"),
    Measure("strip_trips", "count", "strip limit switch trips", how="count"),
    Measure("calls_refused", "count", "calls that machines refused"),
)
"""All measures of a season, in the order of the comparison table's columns."""

SPACES = ("second_zone", "crawl_space", "basement", "attic", "garage")
"""Names of the spaces that a house may have, as `house.SPACES` has them, which compiled code does not see."""
SPACE_PART = "spaces"
"""The Series of `Meter` that holds the measures of spaces."""
SPACE_MEASURES = (
    # A space next to the house's zone; {} is its name, in names as columns begin and in labels as people say it.
    Measure("{}_mean_temperature_C", "degC", "mean {} temperature", digits=1, part=SPACE_PART, columns=("{}_temperature_C",), how="mean"),
    Measure("{}_mean_rh_pct", "percent", "mean {} RH", digits=1, part=SPACE_PART, columns=("{}_rh_pct",), how="mean"),
    Measure("{}_above_60_h", "hour", "time with {} RH above 60 %", "above 60 % RH, {}", part=SPACE_PART, columns=("{}_above_60_h",), how="total"),
    Measure("{}_surface_above_80_h", "hour", "time with RH above 80 % at {} wood or board", part=SPACE_PART, columns=("{}_surface_above_80_h",), how="total"),
    Measure("{}_condensed_kg", "kg", "water condensed on {} surfaces", digits=1, part=SPACE_PART, columns=("{}_water_surfaces_kg", "{}_water_fog_kg"), how="removed"),
    Measure("{}_sweat_kg", "kg", "water that drips off cold ducts, {}", digits=1, part=SPACE_PART, columns=("{}_water_sweat_kg",), how="total"),
    Measure("{}_dehumidifier_h", "hour", "runtime of the {} dehumidifier", part=SPACE_PART, columns=("{}_dehumidifier_h",), how="total"),
    Measure("{}_dehumidifier_water_kg", "kg", "water removed by the {} dehumidifier", digits=1, part=SPACE_PART, columns=("{}_water_dehumidifier_kg",), how="removed"),
)
"""Measures of one space next to the house, in the order of the comparison table's columns."""
SECOND_ZONE = "second_zone"
"""Name of a second conditioned zone among the spaces."""
COMFORT_MEASURES = (
    # Comfort in a second conditioned zone; unknown without the setpoint.
    Measure("{}_above_cooling_setpoint_h", "hour", "time with the {} more than 1 K (1.8 °F) above the cooling setpoint", "too warm, {}", part=SPACE_PART, columns=("{}_warm_h",), how="total", needs=Role.COOLING),
    Measure("{}_below_cooling_setpoint_h", "hour", "time with the {} more than 1 K (1.8 °F) below the cooling setpoint", "too cool, {}", part=SPACE_PART, columns=("{}_cool_h",), how="total", needs=Role.COOLING),
    Measure("{}_below_heating_setpoint_h", "hour", "time with the {} more than 1 K (1.8 °F) below the heating setpoint", "too cold, {}", part=SPACE_PART, columns=("{}_cold_h",), how="total", needs=Role.HEATING),
)
"""Measures that a second conditioned zone has besides."""

SECOND_PART = "second_system"
"""The Series of `Meter` that holds the measures of a second system."""
IN_BOTH_SYSTEMS = ("kwh", "water_kg")
"""Series of `Meter` in which a second system is added to the first one."""
OF_A_SYSTEM = tuple(
    measure
    for measure in MEASURES
    if measure.part in (*IN_BOTH_SYSTEMS, "runtime_h", "starts")
    and measure.name not in ("ventilation_fan_kWh", "space_dehumidifier_kWh")
    and not measure.name.startswith("room_heater")
)
"""Measures that a second system has of its own."""
SECOND_KWH = Measure("second_system_total_kWh", "kWh", "electricity, second system", part=SECOND_PART, columns=tuple(f"{SECOND_SYSTEM}_{measure.name}" for measure in OF_A_SYSTEM if measure.part == "kwh"), how="total")
"""Electricity of a second system; that of the whole house holds it too."""
STRIP_RISE = "strip_rise_K_h"
"""Column of the hourly table: temperature rise across the strips, integrated over time."""

DIFFERENCES = (
    Measure("difference_kWh", "kWh", "electricity difference from the base option", "difference from base"),
    Measure("difference_USD", "USD", "cost difference from the base option", "difference from base"),
    Measure("difference_water_kg", "kg", "difference from the base option in water removed", "difference from base", digits=1),
    Measure("dew_point_difference_K", "delta_degC", "mean dew point difference from the base option", "difference from base", digits=1),
    Measure("humidity_against_base", "text", "humidity compared with the base option"),
)
"""Columns that the comparison table adds: each option against the base."""
# fmt: on

MEASURE = {measure.name: measure for measure in (*MEASURES, *DIFFERENCES)}
"""Measures by name, except for those of stages and of spaces, of which a house may have several."""


@lru_cache(maxsize=64)
def space_flows(name: str) -> tuple[Flow, ...]:
    """Flows of a space by its name, such as ``crawl_space``, with fields and columns of its own."""
    return tuple(
        flow._replace(
            field=f"{name}_{flow.field}",
            column=f"{name}_{flow.column}",
            words=flow.words.format(name.replace("_", " ")),
        )
        for flow in SPACE_FLOWS
    )


@lru_cache(maxsize=64)
def space_measures(name: str) -> tuple[Measure, ...]:
    """Measures of a space by its name, such as ``crawl_space``.

    >>> [m.name for m in space_measures("attic")][:2]
    ['attic_mean_temperature_C', 'attic_mean_rh_pct']
    """
    return tuple(
        measure._replace(
            name=measure.name.format(name),
            label=measure.label.format(name.replace("_", " ")),
            short=measure.short.format(name.replace("_", " ")),
            columns=tuple(column.format(name) for column in measure.columns),
        )
        for measure in (*SPACE_MEASURES, *(COMFORT_MEASURES if name == SECOND_ZONE else ()))
    )


def of_space(measure: Measure, name: str) -> Measure:
    """One of `SPACE_MEASURES`, for a space by its name.

    >>> of_space(SPACE_MEAN_RH, "crawl_space").name
    'crawl_space_mean_rh_pct'
    """
    return space_measures(name)[(*SPACE_MEASURES, *COMFORT_MEASURES).index(measure)]


# Names for the measures that other files single out.
TOTAL, COST, GAS = MEASURE["total_kWh"], MEASURE["cost_USD"], MEASURE["gas_kWh"]
EMISSIONS, PEAK = MEASURE["emissions_kgCO2e"], MEASURE["peak_15_min_kW"]
PEAKS = tuple(
    (MEASURE[f"peak_{window}_min_kW"], MEASURE[f"peak_{window}_min_begins"]) for window in (15, 60)
)
COMPRESSOR, DEHUMIDIFIER = MEASURE["compressor_kWh"], MEASURE["dehumidifier_kWh"]
MEAN_DEW_POINT, MEAN_RH = MEASURE["mean_dew_point_C"], MEASURE["mean_rh_pct"]
RH_HOURS_OVER_55 = MEASURE["rh_hours_over_55"]
HOURS_OVER_55, HOURS_OVER_60, HOURS_OVER_65 = (MEASURE[f"hours_over_{x}"] for x in (55, 60, 65))
TOO_WARM, TOO_COOL = MEASURE["above_cooling_setpoint_h"], MEASURE["below_cooling_setpoint_h"]
COMPRESSOR_STARTS, STRIP_STARTS = MEASURE["cooling_stage_1_starts"], MEASURE["strips_starts"]
HEAT_PUMP_STARTS = MEASURE["heat_pump_starts"]
DEHUMIDIFIER_STARTS, DEHUMIDIFIER_H = MEASURE["dehumidifier_starts"], MEASURE["dehumidifier_h"]
STRIP_TRIPS, REFUSED = MEASURE["strip_trips"], MEASURE["calls_refused"]
COIL_WATER, DEHUMIDIFIER_WATER = MEASURE["coil_water_kg"], MEASURE["dehumidifier_water_kg"]
(
    MORE_KWH, MORE_USD, MORE_WATER, DEW_POINT_GAP, AGAINST_BASE,
) = DIFFERENCES  # fmt: skip
(
    SPACE_MEAN_TEMPERATURE, SPACE_MEAN_RH, SPACE_OVER_60, SPACE_SURFACE_OVER_80, SPACE_CONDENSED,
    SPACE_SWEAT, SPACE_DEHUMIDIFIER_H, SPACE_DEHUMIDIFIER_WATER,
) = SPACE_MEASURES  # fmt: skip
TOO_COLD = MEASURE["below_heating_setpoint_h"]
IN_BOTH_ZONES = tuple(
    (main, of_space(second, SECOND_ZONE))
    for main, second in zip(
        (HOURS_OVER_60, TOO_WARM, TOO_COOL, TOO_COLD),
        (SPACE_OVER_60, *COMFORT_MEASURES),
        strict=True,
    )
)
"""Measures of the main zone, each with that of a second zone."""


def of_second(measure: Measure) -> Measure:
    """A measure of a second system, from that of the first one.

    >>> of_second(MEASURE["compressor_kWh"]).label
    'compressor and outdoor fan, second system'
    """
    return measure._replace(
        name=f"{SECOND_SYSTEM}_{measure.name}",
        label=f"{measure.label}, second system",
        short=f"{measure.short}, second system" if measure.short else "",
        phrases=(),
        part=SECOND_PART,
        columns=tuple(f"{SECOND_SYSTEM}_{column}" for column in measure.columns or (measure.name,)),
    )


def _by_stage(measures: Iterable[Measure], stages: int) -> Iterator[Measure]:
    """Measures for so many cooling stages."""
    for measure in measures:
        if "{}" in measure.name:
            yield from (measure.of_stage(k) for k in range(measure.first_stage, stages + 1))
        elif measure.first_stage <= stages:
            yield measure


def measures_of(
    stages: int, spaces: Iterable[str] = (), second: int | None = None
) -> Iterator[Measure]:
    """Measures of a season for an air conditioner with so many cooling stages, next to these spaces.

    Parameters
    ----------
    second : int, optional
        Cooling stages of a second system; default: no second system.

    >>> [m.name for m in measures_of(2) if m.part == "starts"][:2]
    ['cooling_stage_1_starts', 'cooling_stage_2_starts']
    >>> [m.name for m in measures_of(1, ["attic"])][-2:]
    ['attic_dehumidifier_h', 'attic_dehumidifier_water_kg']
    """
    yield from _by_stage(MEASURES, stages)
    for space in spaces:
        yield from space_measures(space)
    if second is not None:
        yield SECOND_KWH
        yield from map(of_second, _by_stage(OF_A_SYSTEM, second))


def second_rows(table: Any) -> Iterator[tuple[str, Any]]:
    """Rows of tables for people about a second system: its electricity, cooling runtime and starts.

    Parameters
    ----------
    table : DataFrame
        Options as rows and measures as columns, or one option's Series of measures.
    """
    names = [str(name) for name in (table.columns if table.ndim == 2 else table.index)]
    yield "Electricity, second system, kWh", table[SECOND_KWH.name]
    stages = [name for name in names if re.fullmatch(rf"{SECOND_SYSTEM}_cooling_stage_\d+_h", name)]
    if stages:
        yield (
            "Cooling runtime, second system, h",
            table[stages].sum(axis=table.ndim - 1, min_count=1),
        )
        yield "Compressor starts, second system", table[of_second(COMPRESSOR_STARTS).name]


def in_both_systems(table: Any, column: str) -> Any:
    """A column of a table of hours, or an entry of their totals, with that of a second system if any."""
    own = f"{SECOND_SYSTEM}_{column}"
    return table[column] + table[own] if own in table else table[column]


def measure(name: str) -> Measure | None:
    """Measure of a column of results; None for a column that is not in the catalog.

    >>> measure("cooling_stage_2_h").label, measure("own_USD")
    ('runtime of cooling stage 2', None)
    >>> measure("crawl_space_mean_rh_pct").label
    'mean crawl space RH'
    """
    if name in MEASURE:
        return MEASURE[name]
    for space in SPACES:
        for each in space_measures(space):
            if each.name == name:
                return each
    if name == SECOND_KWH.name:
        return SECOND_KWH
    if name.startswith(f"{SECOND_SYSTEM}_"):
        found = measure(name.removeprefix(f"{SECOND_SYSTEM}_"))
        return of_second(found) if found is not None else None
    for each in MEASURES:
        before, braces, after = each.name.partition("{}")
        number = name.removeprefix(before).removesuffix(after)
        if braces and number.isdecimal() and name == f"{before}{number}{after}":
            return each.of_stage(int(number))
    return None


class Part(NamedTuple):
    """Series of `Meter`: its name, and the ending of a measure that its keys drop."""

    series: str
    ending: str


PARTS = {
    "kwh": Part("kWh", "_kWh"),
    "runtime_h": Part("h", "_h"),
    "starts": Part("starts", "_starts"),
    "water_kg": Part("kg", "_water_kg"),
    "humidity": Part("humidity", ""),
    "comfort_h": Part("h", "_h"),
    SPACE_PART: Part("spaces", ""),
    SECOND_PART: Part("second system", ""),
}
"""Series of `Meter` by the field of `Meter`."""


def key(measure: Measure) -> str:
    """Name of a measure in its Series of `Meter`.

    >>> key(MEASURE["coil_water_kg"])
    'coil'
    """
    return measure.name.removesuffix(PARTS[measure.part].ending)


END_USES = tuple(key(measure) for measure in MEASURES if measure.part == "kwh")
"""Electricity by end use, in the order in which figures stack it.
Exhaust fans are within `ventilation_fan`. The outdoor fan is within `compressor` (or
`heat_pump`, in heating). Strips are `reheat` or `backup_heat`, never both. `standby` holds the
crankcase heater, the controls and an idle dehumidifier."""


USES = {key(measure): measure for measure in MEASURES if measure.part == "kwh"}
"""Measures of electricity, by end use."""


def plain(words: str) -> str:
    """Words as people may type them, in one spelling.

    >>> plain("RH-hours over 55% RH"), plain("Hours under the cooling set-point")
    ('rh-hours above 55', 'hours below cooling setpoint')
    """
    text = " ".join(words.lower().replace("%", " ").split())
    for pattern, word in _SPELLINGS:
        text = re.sub(pattern, word, text)
    return text


_SPELLINGS = (
    (r"\bover\b", "above"), (r"\bunder\b", "below"), (r"\bthe ", ""), (r"(?<=\d) rh$", ""),
    (r"\bset[- ]points?\b", "setpoint"), (r"\bdewpoint\b", "dew point"),
    (r"\brh hours\b", "rh-hours"), (r"\brelative humidity\b", "rh"),
)  # fmt: skip
_SAID = {
    plain(phrase): measure for measure in MEASURES for phrase in (measure.name, *measure.phrases)
}


def said(words: str) -> Measure | None:
    """Measure that words name; None for words that name no measure.

    >>> said("hours over 60% RH").name, said("mean dewpoint").name, said("wetness")
    ('hours_over_60', 'mean_dew_point_C', None)
    """
    return _SAID.get(plain(words))
