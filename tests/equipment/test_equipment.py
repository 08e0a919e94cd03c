"""Machines as described: what a label gives, and every sentence that refuses one."""

import math
from typing import Any

import attrs
import numpy as np
import pytest

import moistsim as ms
from moistsim.core.errors import brief
from moistsim.equipment.ventilation import ashrae_62_2_rate

CFM = 0.3048**3 / 60.0
BTU_H = 1055.05585262 / 3600.0
DESCRIPTIONS: dict[type, dict[str, Any]] = {
    ms.Stage: {"capacity": 7000.0},
    ms.Cooling: {"stages": [ms.Stage(capacity=7000.0)]},
    ms.Strips: {"stages": ["5 kW"]},
    ms.HeatPump: {"capacity": 7000.0},
    ms.Furnace: {"capacity": 12000.0},
    ms.HotGas: {},
    ms.Dehumidifier: {"capacity": "70 pint/day"},
    ms.Ventilation: {},
    ms.Sensor: {},
    ms.Equipment: {},
}


@pytest.mark.parametrize("kind", DESCRIPTIONS)
def test_descriptions_do_not_change_and_can_be_keys(kind: type) -> None:
    value = kind(**DESCRIPTIONS[kind])
    assert hash(value) == hash(kind(**DESCRIPTIONS[kind]))
    for field in attrs.fields(kind):
        with pytest.raises(attrs.exceptions.FrozenInstanceError):
            setattr(value, field.name, 1.0)


@pytest.mark.parametrize("kind", DESCRIPTIONS)
def test_no_number_field_takes_what_is_no_number(kind: type) -> None:
    for field in attrs.fields(kind):
        if "unit" not in field.metadata or "list" in field.metadata:
            continue
        for bad in (True, math.nan, math.inf, "3 furlong2", []):
            with pytest.raises(ms.InputError) as refusal:
                kind(**{**DESCRIPTIONS[kind], field.name: bad})
            assert refusal.value.where == f"{kind.__name__}.{field.name}"


def one(**stage: Any) -> dict[str, Any]:
    """Cooling of one stage of 24000 Btu/h."""
    return {"stages": [ms.Stage(**{"capacity": "24000 Btu/h", **stage})]}


def one_unit() -> dict[str, Any]:
    """Equipment with cooling of one stage."""
    return {"cooling": ms.Cooling(**one())}


HOURS = "two different hours from 0 to 24, such as [14, 18], or none: []"
MONTHS = "two whole months from 1 to 12, the first and the last, such as [6, 9]"
POWERS = "powers above 0 and at most 40 kW, one a stage"
STAGES = "a list of Stage, the smallest first"
STAGE = ms.Stage(capacity=7000.0)


@pytest.mark.parametrize(
    ("kind", "fields", "text"),
    [
        # --- Stages
        (ms.Stage, {"capacity": "24000 Btu"},
         "Stage.capacity: cannot read '24000 Btu' as a power. Write '24000 Btu/h' or '7000 W'."),
        (ms.Stage, {"capacity": 7000, "shr": 1.1},
         "Stage.shr: 1.1 is too large. Use a fraction above 0.3 and up to 1."),
        (ms.Stage, {"capacity": 7000, "shr": "110 %"},
         "Stage.shr: '110 %' is too large. Use a fraction above 30 and up to 100 %."),
        (ms.Stage, {"capacity": 7000, "cop": "60 Btu/h/W"},
         "Stage.cop: '60 Btu/h/W' is too large. Use an efficiency above 3.412 and up to 27.3 "
         "Btu/h/W."),
        (ms.Stage, {"capacity": 7000, "cop": 12.2},
         "Stage.cop: 12.2 is 41.63 Btu/h/W if it is an efficiency. Did you mean '12.2 Btu/h/W'? "
         "Write the unit."),
        # --- What no coil or fan can be
        (ms.Cooling, one(shr=0.95),
         "Cooling.stages[0].shr: cannot use 0.95. Use a sensible heat ratio from 0.58 to 0.75, "
         "the range that a wet coil can give at this capacity and 0.340 m3/s."),
        (ms.Cooling, {**one(cop="27 Btu/h/W"), "fan_power": "3 W/cfm"},
         "Cooling.stages[0].cop: cannot use '7.91 W/W'. Use an efficiency whose input exceeds "
         "the indoor fan's 2160 W."),
        # --- Order of the stages
        (ms.Cooling, {"stages": [ms.Stage(capacity=7000), ms.Stage(capacity=6000)]},
         "Cooling.stages: cannot use ['7000 W', '6000 W']. Use stages in rising order of "
         "capacity, stage 1 the smallest."),
        (ms.Cooling, {"stages": [ms.Stage(capacity=6000, airflow=0.4),
                                 ms.Stage(capacity=7000, airflow=0.3)]},
         "Cooling.stages: cannot use ['0.400 m3/s', '0.300 m3/s']. Use stages in rising order of "
         "airflow, stage 1 the smallest."),
        (ms.Cooling, {"stages": []}, f"Cooling.stages: cannot use []. Use {STAGES}."),
        (ms.Cooling, {"stages": STAGE}, f"Cooling.stages: cannot use {brief(STAGE)}. Use {STAGES}."),
        (ms.Cooling, {"stages": [7000]}, f"Cooling.stages: cannot use [7000]. Use {STAGES}."),
        (ms.Cooling, {**one(), "minimum_on": "5 kW"},
         "Cooling.minimum_on: cannot read '5 kW' as a time. Write '5 min' or '300 s'."),
        (ms.Cooling, {**one(), "minimum_on": "-1 min"},
         "Cooling.minimum_on: '-1 min' is too small. Use a time from 0 to 120 min."),
        # --- Strips
        (ms.Strips, {"stages": 5000},
         "Strips.stages: cannot use 5000. Use a list of powers, one a stage, such as ['5 kW', '5 "
         "kW']."),
        (ms.Strips, {"stages": "5 kW"},
         "Strips.stages: cannot use '5 kW'. Use a list of powers, one a stage, such as ['5 kW', "
         "'5 kW']."),
        (ms.Strips, {"stages": []}, f"Strips.stages: cannot use []. Use {POWERS}."),
        (ms.Strips, {"stages": ["5 kW", 0]},
         f"Strips.stages: cannot use ['5 kW', 0]. Use {POWERS}."),
        (ms.Strips, {"stages": ["50 kW"]}, f"Strips.stages: cannot use ['50 kW']. Use {POWERS}."),
        (ms.Strips, {"stages": ["5 h"]},
         "Strips.stages: cannot read '5 h' as a power. Write '24000 Btu/h' or '7000 W'."),
        (ms.Strips, {"stages": ["5 kW"], "voltage": 277},
         "Strips.voltage: cannot use '277 V'. Use a value of at most 264 V, a tenth above the rated voltage."),
        (ms.Strips, {"stages": ["5 kW"], "voltage": "208 W"},
         "Strips.voltage: cannot read '208 W' as a voltage. Write '240 V'."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_hours": "14-18"},
         f"Strips.lockout_hours: cannot use '14-18'. Use {HOURS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_hours": [14]},
         f"Strips.lockout_hours: cannot use [14]. Use {HOURS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_hours": [14, 14]},
         f"Strips.lockout_hours: cannot use [14, 14]. Use {HOURS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_hours": [14, 25]},
         f"Strips.lockout_hours: cannot use [14, 25]. Use {HOURS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_months": [0, 9]},
         f"Strips.lockout_months: cannot use [0, 9]. Use {MONTHS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_months": []},
         f"Strips.lockout_months: cannot use []. Use {MONTHS}."),
        (ms.Strips, {"stages": ["5 kW"], "lockout_months": [5.5, 9]},
         f"Strips.lockout_months: cannot use [5.5, 9]. Use {MONTHS}."),
        (ms.Strips, {"stages": ["5 kW"], "proportional": 1},
         "Strips.proportional: cannot use 1. Use true or false."),
        # --- Furnace, hot gas
        (ms.Furnace, {"capacity": "60 kBtu/h", "efficiency": 80},
         "Furnace.efficiency: 80 is 8,000 % if it is a fraction. Did you mean '80 %'? Write the "
         "unit."),
        (ms.HotGas, {"share": 0},
         "HotGas.share: 0 is too small. Use a fraction above 0 and up to 1."),
        (ms.Equipment, {**one_unit(), "heating": ms.HeatPump(capacity=7000),
                        "furnace": ms.Furnace(capacity=12000)},
         "Equipment.furnace: both a furnace and a heat pump are given. Use either heating (a heat pump) or furnace."),
        (ms.Equipment, {**one_unit(), "heating": ms.HeatPump(capacity=7000),
                        "room_heater": ms.RoomHeater(capacity=5000)},
         "Equipment.room_heater: both a room heater and heating are given. Use either room_heater or heating: one call for heat starts one of them."),
        (ms.Equipment, {"hot_gas": ms.HotGas()},
         "Equipment.hot_gas: HotGas without cooling. Use it together with Equipment.cooling, whose blower it shares."),
        # --- Heat pump
        (ms.HeatPump, {"capacity": 7000, "cop": 9},
         "HeatPump.cop: 9 is 30.71 Btu/h/W if it is an efficiency. Did you mean '9 Btu/h/W'? "
         "Write the unit."),
        # --- Dehumidifier
        (ms.Dehumidifier, {"capacity": "70 pint/day", "energy_factor": "2.4 kWh/L"},
         "Dehumidifier.energy_factor: cannot read '2.4 kWh/L' as an energy factor. Write '5.9 "
         "pints/kWh' or '2.8 L/kWh'."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "energy_factor": "24 L/kWh"},
         "Dehumidifier.energy_factor: cannot use '24 L/kWh'. Use a value from 0.3 to 8 L/kWh, which "
         "spans all machines made."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "energy_factor": 2.4},
         "Dehumidifier.energy_factor: 2.4 is 8,655,580 L/kWh if it is in kg/J. Did you mean '2.4 "
         "L/kWh' or '2.4 pints/kWh'? Write the unit."),
        (ms.Dehumidifier, {"capacity": "70 pint"},
         "Dehumidifier.capacity: cannot read '70 pint' as a rate of water. Write '90 pints/day' "
         "or '10 kg/day'."),
        (ms.Dehumidifier, {"capacity": "2000 pint/day"},
         "Dehumidifier.capacity: '2000 pint/day' is too large. Use a rate of water above 0 and "
         "up to 914.6 pint/day."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "energy_factor": "2 L/kWh",
                           "integrated_energy_factor": "1.9 L/kWh"},
         "Dehumidifier.integrated_energy_factor: both energy factors are given. Use either energy_factor or integrated_energy_factor."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "energy_factor": None},
         "Dehumidifier.integrated_energy_factor: no energy factor. Use either energy_factor or integrated_energy_factor."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "integrated_energy_factor": "2.4 kWh/L"},
         "Dehumidifier.integrated_energy_factor: cannot read '2.4 kWh/L' as an energy factor. "
         "Write '5.9 pints/kWh' or '2.8 L/kWh'."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "integrated_energy_factor": 1.8},
         "Dehumidifier.integrated_energy_factor: 1.8 is 6,491,685 L/kWh if it is in kg/J. Did "
         "you mean '1.8 L/kWh' or '1.8 pints/kWh'? Write the unit."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "rating": "80 degF"},
         "Dehumidifier.rating: cannot use '80 degF'. Use one of 26.7 degC, 18.3 degC portable, "
         "22.8 degC whole-home."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "airflow": "-200 cfm"},
         "Dehumidifier.airflow: '-200 cfm' is too small. Use an airflow above 0 and up to "
         "4,238 cfm."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "humidistat": "0.5"},
         "Dehumidifier.humidistat: '0.5' is 0.5 % if it is in %. Did you mean '50 %'? Write the "
         "unit."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "humidistat": "95 %"},
         "Dehumidifier.humidistat: '95 %' is too large. Use a relative humidity from 25 to 80 %."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "defrost_below": "30 degC"},
         "Dehumidifier.defrost_below: cannot use '30 °C'. Use a value above low_inlet_limit, 8 °C, "
         "and at most the rating point's 26.7 °C."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "bucket": "5 kg", "inlet": "outdoors"},
         "Dehumidifier.bucket: the inlet is outdoors. Use a bucket with inlet zone, where somebody can empty it."),
        (ms.Dehumidifier, {"capacity": "70 pint/day", "filter_factor": 0.0},
         "Dehumidifier.filter_factor: 0.0 is too small. Use a fraction above 0.1 and up to 1."),
        # --- Ventilation
        (ms.Ventilation, {"kind": "balance"},
         "Ventilation.kind: cannot use 'balance'. Use one of exhaust, supply, balanced, central."),
        (ms.Ventilation, {"sensible_recovery": 0.5},
         "Ventilation.sensible_recovery: cannot use 0.5. Use 0 for exhaust ventilation: only a "
         "balanced machine recovers."),
        (ms.Ventilation, {"kind": "supply", "latent_recovery": 0.5},
         "Ventilation.latent_recovery: cannot use 0.5. Use 0 for supply ventilation: only a "
         "balanced machine recovers."),
        (ms.Ventilation, {"airflow": "-5 cfm"},
         "Ventilation.airflow: '-5 cfm' is too small. Use an airflow from 0 to 6,357 cfm."),
        (ms.Ventilation, {"kind": "central", "sensible_recovery": 0.5, "airflow": "90 cfm"},
         "Ventilation.sensible_recovery: cannot use 0.5. Use 0 for central ventilation: only a "
         "balanced machine recovers."),
        (ms.Ventilation, {"frost_limit": "-5 degC"},
         "Ventilation.frost_limit: cannot use '-5 °C'. Use nothing for exhaust ventilation: "
         "only a balanced machine has a core."),
        (ms.Ventilation, {"kind": "central", "airflow": "90 cfm", "least_run": "90 min"},
         "Ventilation.least_run: '90 min' is too large. Use a time from 0 to 60 min."),
        (ms.Ventilation, {"kind": "central"},
         "Ventilation.airflow: cannot use None. Use an airflow for a central duct, or a "
         "least_run from which to size it."),
        (ms.Ventilation, {"lockout_below": "30 degC", "lockout_above": "25 degC"},
         "Ventilation.lockout_below: cannot use '30 °C'. Use a value below lockout_above, 25 °C: "
         "between them the fan may run."),
        # --- Together
        (ms.Equipment, {"ventilation": ms.Ventilation(kind="central", airflow=0.05)},
         "Equipment.ventilation: central ventilation without cooling. Use it together with Equipment.cooling, whose blower draws its air."),
        (ms.Equipment, {"dehumidifier": ms.Dehumidifier(capacity=4e-4, inlet="ventilation")},
         "Equipment.dehumidifier: its inlet is ventilation, but there is no ventilation. Use balanced or supply ventilation."),
        (ms.Equipment, {"dehumidifier": ms.Dehumidifier(capacity=4e-4, inlet="ventilation"),
                        "ventilation": ms.Ventilation()},
         "Equipment.dehumidifier: its inlet is ventilation, but there is exhaust ventilation. Use balanced or supply ventilation."),
        (ms.Equipment, {"strips": ms.Strips(stages=["5 kW"])},
         "Equipment.strips: Strips without cooling. Use it together with Equipment.cooling, whose blower it shares."),
        (ms.Equipment, {"heating": ms.HeatPump(capacity=7000)},
         "Equipment.heating: HeatPump without cooling. Use it together with Equipment.cooling, whose blower it shares."),
        (ms.Equipment, {"cooling": 3},
         "Equipment.cooling: cannot use 3. Use a Cooling or nothing."),
        (ms.Equipment, {"sensor": None}, "Equipment.sensor: cannot use None. Use a Sensor."),
    ],
)  # fmt: skip
def test_every_refusal(kind: Any, fields: dict[str, Any], text: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        kind(**fields)
    assert str(refusal.value) == text


def test_a_stage_without_airflow_gets_ours() -> None:
    """360 cfm a ton, our own default (common practice is 350 to 400, no source)."""
    assert ms.Stage(capacity="3 ton").airflow / CFM == pytest.approx(3 * 360.0, rel=1e-6)


def test_the_range_of_heat_ratios_that_an_error_gives_is_the_real_one() -> None:
    """The ends that the sentence names are taken, and what is 0.01 beyond is refused."""
    with pytest.raises(ms.InputError) as refusal:
        ms.Cooling(**one(shr=0.95))
    words = refusal.value.accepted.replace(",", "").split()
    low, high = float(words[words.index("from") + 1]), float(words[words.index("to") + 1])
    for shr in (low, high):
        assert ms.Cooling(**one(shr=shr)).gross_rating(0).bypass_factor >= 0.0
    for shr in (low - 0.01, high + 0.01):
        with pytest.raises(ms.InputError):
            ms.Cooling(**one(shr=shr))


def test_net_and_gross_count_the_fan_once() -> None:
    """AHRI 210/240 (from memory): capacity net of the fan's heat, input with the fan in it."""
    cooling = ms.Cooling(
        stages=[ms.Stage(capacity=8000.0, cop=3.2, shr=0.7, airflow=0.38)], fan_power="0.5 W/cfm"
    )
    fan = 0.5 * 0.38 / CFM
    rating = cooling.gross_rating(0)
    assert cooling.fan_watts(0.38) == pytest.approx(fan)
    assert cooling.fan_watts(0.19) == pytest.approx(fan / 8.0)
    assert rating.capacity == pytest.approx(8000.0 + fan)
    assert rating.input == pytest.approx(8000.0 / 3.2 - fan)
    assert rating.capacity * rating.shr == pytest.approx(0.7 * 8000.0 + fan)
    assert 0.0 < rating.bypass_factor < 1.0
    assert rating.apparatus_dew_point < 19.44  # colder than the entering wet bulb, 67 degF


def test_62_2_rate_in_trade_units() -> None:
    """ASHRAE 62.2 (2013 on), from memory: 0.03 cfm/ft2 + 7.5 cfm x (bedrooms + 1)."""
    for area, bedrooms in ((2000, 3), (1200, 2), (4000, 5)):
        expected = 0.03 * area + 7.5 * (bedrooms + 1)
        assert ashrae_62_2_rate(area * 0.3048**2, bedrooms) / CFM == pytest.approx(
            expected, rel=0.02
        )


def test_a_dehumidifier_needs_air_for_its_water() -> None:
    """A capacity that the airflow cannot carry is refused.

    At 80 degF and 60 % RH air holds 9.4 g/kg above saturation at freezing: by hand, 400 pints
    a day (2.19e-3 kg/s) need 0.23 kg/s or 0.194 m3/s.
    """
    with pytest.raises(ms.InputError) as error:
        ms.Dehumidifier(capacity="400 pint/day")
    assert str(error.value) == (
        "Dehumidifier.airflow: cannot use '0.094 m3/s (200 cfm)'. Use a value of at least 0.194 m3/s (410 "
        "cfm) for this capacity: less air does not hold so much water above frost."
    )


def test_a_call_that_is_no_number_is_said() -> None:
    @ms.strategy
    def lost(readings, memory):  # type: ignore[no-untyped-def]
        return ms.Calls(ventilation=np.nan if readings.hour > 5.0 else 1.0)

    with pytest.raises(ms.InputError, match=r"calls\.ventilation is nan at 5:00 on day 182"):
        ms.simulate(
            ms.House(floor_area=150.0), ms.Equipment(), lost, ms.Weather.sample("miami"),
            start="07-01", end="07-02", spin_up=0,
        )  # fmt: skip
