"""Heat pump with its frost, furnace, room heater, changeover and hot gas, by hand."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from support.houses import house
from support.machines import machines, two_stage
from support.values import floats
from support.weathers import stretch

import moistsim as ms
from moistsim.engine import parameters
from moistsim.engine.heating import frost, heat_pump
from moistsim.study.study import Comparison

PUMP = ms.HeatPump(capacity=7000.0)
UNIT = parameters.air_handler_parameters(machines(heating=PUMP))


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


# --- Frost --------------------------------------------------------------------------------------


def test_the_ratings_of_the_procedure() -> None:
    """The heat pump gives the ratings of AHRI 210/240 at 17, 35 and 47 degF.

    AHRI 210/240, from memory: at 35 degF capacity is 0.90 and input 0.985 of the straight line
    between 17 and 47 degF, 0.6 of the way up; at 17 and 47 degF the ratings themselves.
    """
    line = 7000.0 * (0.62 + 0.6 * (1.0 - 0.62))
    cop = 2.3 + 0.6 * (3.5 - 2.3)
    capacity, power = heat_pump(UNIT, celsius(35.0))
    assert capacity == pytest.approx(0.90 * line)
    assert power == pytest.approx(0.985 * line / cop)
    assert heat_pump(UNIT, celsius(47.0)) == pytest.approx((7000.0, 2000.0))
    assert heat_pump(UNIT, celsius(17.0)) == pytest.approx((0.62 * 7000.0, 0.62 * 7000.0 / 2.3))


def test_frost_comes_and_goes() -> None:
    """Half of it in the middle of each side; none from 45 degF up and from 17 degF down."""
    assert frost(celsius(35.0)) == pytest.approx(1.0)
    assert frost(celsius(40.0)) == pytest.approx(0.5)
    assert frost(celsius(26.0)) == pytest.approx(0.5)
    for t in (-40.0, celsius(17.0), celsius(45.0), 47.0, 30.0):
        assert frost(t) == pytest.approx(0.0, abs=1e-12)


@given(floats(-40.0, 30.0), floats(0.6, 1.0), floats(0.6, 1.2))
def test_heating_is_finite_positive_and_does_not_jump(
    t: float, capacity: float, power: float
) -> None:
    """No step above 1 % of the rating per 0.1 K, down to the deepest frost that counts (0.85)."""
    pump = ms.HeatPump(capacity=7000.0, defrost_capacity=capacity, defrost_input=power)
    unit = parameters.air_handler_parameters(machines(heating=pump))
    a, b = heat_pump(unit, t), heat_pump(unit, t + 0.1)
    assert np.isfinite([*a, *b]).all()
    assert min(*a, *b) > 0.0
    assert abs(b[0] - a[0]) < 0.015 * 7000.0
    if capacity >= 0.75:
        assert abs(b[0] - a[0]) < 0.01 * 7000.0
    if 0.75 <= power <= 1.15:
        assert abs(b[1] - a[1]) < 0.01 * 2000.0
    # Above freezing's end and with no frost: the straight line.
    dry = parameters.air_handler_parameters(
        machines(heating=ms.HeatPump(capacity=7000.0, defrost_capacity=1.0, defrost_input=1.0))
    )
    factor = 1.0 - frost(t) * (1.0 - capacity)
    assert a[0] == pytest.approx(factor * heat_pump(dry, t)[0])


# --- Back-up ------------------------------------------------------------------------------------


@ms.strategy
def all_heat(readings: Any, memory: Any) -> Any:
    """Heat pump and strips, always."""
    return ms.Calls(heating=2.0)


def test_back_up_is_locked_out_above_its_temperature() -> None:
    weather = stretch("greensboro", 5, 4)
    limit = float(weather.frame["temp_air"].iloc[24:48].median())
    # Heat without end makes a hot room, whose air alone would trip a limit switch.
    bare = ms.Strips(stages=["5 kW", "5 kW"], least_airflow=0.0)
    plant = machines(heating=ms.HeatPump(capacity=7000.0, backup_lockout=limit), strips=bare)
    season = ms.simulate(house(), plant, all_heat, weather, spin_up=0)
    m = season.minutes("01-07")
    backup, outdoors = m["backup_heat_kWh"] > 0.0, m["outdoor_temperature_C"]
    assert (m["heat_pump_kWh"] > 0.0).all()
    assert outdoors.min() < limit < outdoors.max()
    assert (backup == (outdoors <= limit)).all()
    assert season.meter.refused["strips_locked_out"] >= 1
    # Below the heat pump's own limit strips are the only heat: that is no back-up.
    alone = ms.HeatPump(capacity=7000.0, low_outdoor_limit="40 degC", backup_lockout=limit)
    plant = machines(heating=alone, strips=bare)
    m = ms.simulate(house(), plant, all_heat, weather, spin_up=0).minutes("01-07")
    assert (m["backup_heat_kWh"] > 0.0).all()


# --- Furnace ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("efficiency", "airflow"), [("80 %", 1.0), ("95 %", 0.7)])
def test_furnace_by_hand(efficiency: str, airflow: float) -> None:
    """40000 Btu/h (11.72 kW) for each hour on; gas is the heat over the efficiency."""
    furnace = ms.Furnace(capacity="40000 Btu/h", efficiency=efficiency, airflow=airflow)
    plant = machines(heating=None, furnace=furnace)
    season = ms.simulate(
        house(),
        plant,
        ms.strategies.temperature_only,
        stretch("sand_point", 10, 5),
        spin_up="1 day",
    )
    meter, hourly = season.meter, season.hourly
    hours = meter.runtime_h["furnace"]
    heat = 11.7228 * hours
    assert 10.0 < hours < 120.0
    assert hourly["heat_furnace_kWh"].sum() == pytest.approx(heat, rel=1e-5)
    assert meter.gas_kwh == pytest.approx(heat / furnace.efficiency, rel=1e-5)
    # Gas is no electricity, and strips do not back a furnace up.
    assert meter.kwh["heat_pump"] == meter.kwh["backup_heat"] == meter.kwh["reheat"] == 0.0
    assert meter.total_kwh < 0.1 * meter.gas_kwh
    assert meter.starts["furnace"] > 0
    assert meter.starts["heat_pump"] == 0
    # Fan law: 900 cfm at 0.42 W/cfm is 378 W at full flow, and two minutes more after each burn.
    blown = hours + meter.starts["furnace"] * 2.0 / 60.0
    assert hourly["indoor_fan_h"].sum() == pytest.approx(blown, abs=2.001 / 60.0)
    expected = 0.378 * airflow**3 * hourly["indoor_fan_h"].sum()
    assert meter.kwh["indoor_fan"] == pytest.approx(expected, rel=1e-6)
    assert (season.balance["relative"].abs() <= 1e-9).all()
    tariff = ms.Tariff(price=0.2, gas_price="1.5 USD/therm")
    study = ms.Study(house(), {"gas": (plant, season.strategy)}, season.weather, tariff=tariff)
    row = Comparison(study, {"gas": season}).table("si").loc["gas"]
    assert row["gas_kWh"] == meter.gas_kwh
    # A therm is 100,000 Btu, 29.307 kWh.
    bill = 0.2 * meter.total_kwh + 1.5 * meter.gas_kwh / 29.3071
    assert row["cost_USD"] == pytest.approx(bill, rel=1e-5)
    # Comfort: the room is held, so the heat went into it.
    assert hourly["indoor_temperature_C"].min() > 18.5


# --- Room heater ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("fuel", "efficiency"), [("electricity", 1.0), ("gas", 0.85)])
def test_a_house_with_a_room_heater_alone(fuel: str, efficiency: float) -> None:
    """8 kW for each hour on. The house is warm, no blower runs, and electricity or gas is metered."""
    heater = ms.RoomHeater(capacity="8 kW", efficiency=efficiency, fuel=fuel)
    plant = ms.Equipment(room_heater=heater, standby_power=0.0)
    season = ms.simulate(
        house(), plant, ms.strategies.temperature_only(heating_setpoint=20.0),
        stretch("sand_point", 10, 5), spin_up="1 day",
    )  # fmt: skip
    meter, hourly = season.meter, season.hourly
    hours = meter.runtime_h["room_heater"]
    assert 10.0 < hours < 110.0 and meter.starts["room_heater"] > 5
    assert hourly["heat_room_heater_kWh"].sum() == pytest.approx(8.0 * hours, rel=1e-9)
    used = {"electricity": meter.kwh["room_heater"], "gas": meter.gas_kwh}
    assert used.pop(fuel) == pytest.approx(8.0 * hours / efficiency, rel=1e-9)
    assert [*used.values()] == [0.0] and meter.starts["heat_pump"] == 0
    assert meter.kwh["indoor_fan"] == hourly["airflow_fraction"].sum() == 0.0
    assert 0.25 * season.quarters.sum() == pytest.approx(meter.kwh["room_heater"])
    assert hourly["indoor_temperature_C"].between(19.0, 22.5).all()
    assert meter.refused.sum() == 0
    assert (season.balance["relative"].abs() <= 1e-9).all()
    assert season.attribution().heat.loc["room_heater"].sum() > 0.0
    assert plant.burns_gas == (fuel == "gas")


def test_a_room_heater_next_to_an_air_conditioner() -> None:
    """It heats without the blower, strips only reheat, and it never heats against cooling."""
    plant = machines(heating=None, room_heater=ms.RoomHeater(capacity="9 kW"))
    season = ms.simulate(
        house(),
        plant,
        ms.strategies.temperature_only,
        stretch("sand_point", 10, 3),
        spin_up="1 day",
    )
    meter = season.meter
    assert meter.runtime_h["room_heater"] > 5.0
    assert meter.kwh["backup_heat"] == meter.kwh["indoor_fan"] == 0.0
    hot = ms.simulate(
        house(), plant, ms.strategies.temperature_only, stretch("miami", 190, 3), spin_up="1 day"
    )
    assert hot.meter.runtime_h["cooling_stage_1"] > 5.0 and hot.meter.kwh["room_heater"] == 0.0


# --- Changeover ---------------------------------------------------------------------------------


@ms.strategy
def torn(readings: Any, memory: Any, *, point: ms.units.DegC = 22.0) -> Any:
    """No deadband between heating and cooling: the worst thermostat."""
    warm = readings.temperature > point
    return ms.Calls(cooling=1.0 if warm else 0.0, heating=0.0 if warm else 1.0)


@pytest.mark.parametrize(("delay", "rest"), [(0.0, 5), (1200.0, 20)])
def test_heating_and_cooling_do_not_alternate_within_the_delay(delay: float, rest: int) -> None:
    """The minimum rest of 5 min holds without a delay; a longer delay holds alone between modes."""
    plant = machines(
        cooling=two_stage(changeover_delay=delay, low_outdoor_limit=-30.0), strips=None
    )
    small = house(floor_area=40.0)
    season = ms.simulate(small, plant, torn, stretch("greensboro", 100, 3), spin_up=0)
    gaps = []
    for day in ("04-11", "04-12", "04-13"):
        m = season.minutes(day)
        mode = np.sign(m["cooling_stage"].to_numpy() - m["heating_stage"].to_numpy())
        on = np.flatnonzero(mode)
        change = mode[on[1:]] != mode[on[:-1]]
        gaps += list((np.diff(on) - 1)[change])
    print(f"{len(gaps)} changes, shortest rest {min(gaps)} min")
    assert len(gaps) > 5
    assert min(gaps) == rest
    assert season.meter.refused["minimum_time"] > 0


# --- Heat and reheat in the meter ---------------------------------------------------------------


@ms.strategy
def both_in_a_day(readings: Any, memory: Any) -> Any:
    """Heats for half an hour, cools and reheats in the afternoon."""
    if readings.hour < 0.5:
        return ms.Calls(heating=2.0)
    if 12.0 <= readings.hour < 18.0:
        return ms.Calls(cooling=1.0, reheat=1.0)
    return ms.Calls()


def test_heating_and_reheat_are_not_confused() -> None:
    plant = machines(strips=ms.Strips(stages=["5 kW"]))
    season = ms.simulate(house(), plant, both_in_a_day, stretch("miami", 20, 1), spin_up=0)
    by_hour = season.hourly
    heating, drying = by_hour.index.hour < 1, (by_hour.index.hour >= 12) & (by_hour.index.hour < 18)
    for column in ("backup_heat_kWh", "heat_pump_kWh", "heat_heat_pump_kWh"):
        assert (by_hour.loc[heating, column] > 0.0).all()
        assert (by_hour.loc[~heating, column] == 0.0).all()
    for column in ("reheat_kWh", "compressor_kWh"):
        assert (by_hour.loc[drying, column] > 0.0).all()
        assert (by_hour.loc[~drying, column] == 0.0).all()
    assert season.meter.kwh["backup_heat"] == pytest.approx(2.5)
    assert season.meter.kwh["reheat"] == pytest.approx(30.0)


# --- Hot gas ------------------------------------------------------------------------------------


@ms.strategy
def with_hot_gas(readings: Any, memory: Any, *, hot_gas: float = 0.0) -> Any:
    """Cooling all day, hot gas all day."""
    return ms.Calls(cooling=1.0, hot_gas=hot_gas)


def cooled(hot_gas: ms.HotGas, call: float) -> ms.Season:
    plant = machines(hot_gas=hot_gas, strips=None, ventilation=None)
    weather = stretch("miami", 190, 2)
    return ms.simulate(house(), plant, with_hot_gas(hot_gas=call), weather, spin_up=0)


def total(season: ms.Season) -> pd.Series:
    return season.hourly.sum()


@pytest.mark.parametrize(("share", "call"), [(0.5, 1.0), (0.5, 0.4), (1.0, 1.0)])
def test_hot_gas_by_hand(share: float, call: float) -> None:
    """It gives share x call of the heat that the refrigerant took and of the input."""
    season = cooled(ms.HotGas(share=share), call)
    sums = total(season)
    condenser = sums["compressor_kWh"] - sums["heat_refrigerant_kWh"]
    assert sums["heat_hot_gas_kWh"] == pytest.approx(share * call * condenser, rel=1e-9)
    assert season.meter.runtime_h["hot_gas"] == 48.0
    assert season.meter.kwh["reheat"] == 0.0
    assert (season.balance["relative"].abs() <= 1e-9).all()


def test_hot_gas_costs_capacity_and_input() -> None:
    """Full hot gas leaves 0.9 of the capacity and takes 1.1 of the input.

    In the first hour, from one state: 0.9 of the capacity and 1.1 of the input at full call,
    as far as the room, which moves by a few tenths, lets them be compared.
    """
    plain = cooled(ms.HotGas(capacity_ratio=0.9, input_ratio=1.1), 0.0)
    full = cooled(ms.HotGas(capacity_ratio=0.9, input_ratio=1.1), 1.0)
    a, b = plain.minutes("07-10").iloc[0], full.minutes("07-10").iloc[0]
    assert b["coil_total_kWh"] == pytest.approx(0.9 * a["coil_total_kWh"])
    assert b["water_coil_kg"] == pytest.approx(0.9 * a["water_coil_kg"])
    assert b["compressor_kWh"] == pytest.approx(1.1 * a["compressor_kWh"])
    assert plain.hourly["heat_hot_gas_kWh"].sum() == 0.0


def test_all_of_it_heats_the_room() -> None:
    """A unit with all condenser heat in the room heats it by its own input.

    All condenser heat back in the room: the machine is a heater of its own input (first law),
    but for the condensate that leaves.
    """
    season = cooled(ms.HotGas(share=1.0), 1.0)
    sums = total(season)
    net = sums["heat_hot_gas_kWh"] + sums["heat_refrigerant_kWh"]
    assert net == pytest.approx(sums["compressor_kWh"], rel=1e-9)
    assert (
        season.hourly["indoor_temperature_C"].iloc[-1]
        > season.hourly["indoor_temperature_C"].iloc[0]
    )


def test_the_built_in_uses_hot_gas_first_and_saves() -> None:
    """Against strips at the same setpoints: nearly as dry, with far less electricity."""
    damp = house(gains=ms.Gains(moisture="16 kg/day"))
    weather = stretch("miami", 330, 14)
    gas, strips = (
        ms.simulate(damp, machines(dehumidifier=None), ms.strategies.BUILT_IN[name], weather)
        for name in ("hot_gas_reheat", "staged_reheat")
    )
    dew = [s.meter.humidity["mean_dew_point_C"] for s in (gas, strips)]
    kwh = [s.meter.total_kwh for s in (gas, strips)]
    print(f"dew point {dew}, kWh {kwh}, strips {gas.meter.kwh['reheat']:.1f} kWh")
    assert gas.meter.runtime_h["hot_gas"] > 10.0
    assert gas.meter.kwh["reheat"] < 0.2 * strips.meter.kwh["reheat"]
    assert abs(dew[0] - dew[1]) < 0.7
    assert kwh[0] < 0.8 * kwh[1]
