"""What more moisture, a lower humidity setpoint and reheat must do over a season.

With heating off (its setpoint out of reach) and no lockout by outdoor temperature;
June to August of the sample years.
"""

from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import BUILT_IN
from support.houses import house
from support.machines import machines, two_stage
from support.values import floats
from support.weathers import stretch

import moistsim as ms

SUMMER = {"first": 151, "days": 92}
NO_LOCKOUT = two_stage(low_outdoor_limit=-40.0)
PLANT = machines(cooling=NO_LOCKOUT, heating=None)
places = st.sampled_from(["miami", "greensboro"])


def control(name: str, **settings: Any) -> ms.Strategy:
    """A built-in strategy whose heating no summer calls for."""
    return ms.strategies.BUILT_IN[name](heating_setpoint=5.0, **settings)


def summer(house: ms.House, strategy: ms.Strategy, place: str, plant: ms.Equipment = PLANT) -> Any:
    """The meter of a summer."""
    meter = ms.simulate(house, plant, strategy, stretch(place, **SUMMER)).meter
    assert meter.refused["outdoor_cold"] == 0
    assert meter.kwh["heat_pump"] == meter.kwh["backup_heat"] == 0.0
    return meter


@settings(max_examples=8)
@given(
    name=st.sampled_from(BUILT_IN),
    place=places,
    less=floats(0.0, 15.0),
    more=floats(0.5, 10.0),
    ach50=floats(0.5, 8.0),
)
def test_more_moisture_never_lowers_the_water_removed(
    name: str, place: str, less: float, more: float, ach50: float
) -> None:
    strategy = control(name)
    removed = [
        summer(
            house(ach50=ach50, gains=ms.Gains(moisture=kg / 86400.0)), strategy, place
        ).water_kg.sum()
        for kg in (less, less + more)
    ]
    print(
        f"{place} {name}: {less:.1f} kg/day {removed[0]:.0f} kg, +{more:.1f}: {removed[1]:.0f} kg"
    )
    assert removed[0] > 0.0
    assert removed[1] >= removed[0] * (1.0 - 0.001)


@settings(max_examples=8)
@given(
    name=st.sampled_from(["with_dehumidifier", "staged_reheat"]),
    place=places,
    target=floats(44.0, 58.0),
    lower=floats(1.0, 8.0),
    ach50=floats(0.5, 8.0),
)
def test_a_lower_humidity_setpoint_never_lowers_kwh(
    name: str, place: str, target: float, lower: float, ach50: float
) -> None:
    kwh = [
        summer(house(ach50=ach50), control(name, target_rh=rh), place).total_kwh
        for rh in (target, target - lower)
    ]
    print(f"{place} {name}: {target:.1f} % {kwh[0]:.0f} kWh, {lower:.1f} lower: {kwh[1]:.0f} kWh")
    assert kwh[1] >= kwh[0] * (1.0 - 0.002)


@ms.strategy
def hold_with_reheat(
    readings: Any,
    memory: Any,
    *,
    dry_above: ms.units.DegC = 12.0,
    warm_below: ms.units.DegC = 23.5,
    cooling_setpoint: ms.units.CoolingSetpoint = 24.5,
) -> Any:
    """Cool by temperature and by dew point; strips hold the room up."""
    if readings.temperature > cooling_setpoint + 0.3:
        memory[0] = 1.0
    elif readings.temperature < cooling_setpoint - 0.3:
        memory[0] = 0.0
    if readings.dew_point > dry_above + 0.3:
        memory[1] = 1.0
    elif readings.dew_point < dry_above - 0.3:
        memory[1] = 0.0
    if readings.temperature < warm_below - 0.2:
        memory[2] = 1.0
    elif readings.temperature > warm_below + 0.2:
        memory[2] = 0.0
    return ms.Calls(cooling=max(memory[0], memory[1]), reheat=memory[1] * memory[2], airflow=1.0)


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_reheat_never_costs_less_than_none(place: str) -> None:
    """At equal dry bulb and dew point, reheat against none.

    Between a room that is held up by strips and one that is let go colder the air is not the same,
    so that a cheaper colder room would prove nothing. Both rooms here are held at one dew point,
    and their mean dry bulb is made equal: the room without strips is given its own heat, free of
    charge, as appliances and lights of a constant power found by bisection. What the strips use is then
    pure cost, and the free heat's room must not use more than the reheated one.
    """

    def run(strips: ms.Strips | None, watts: float) -> ms.Season:
        # A sensor that is the room holds both rooms at one dew point.
        exact = ms.Sensor(wall_share=0.0, mixing_time=0.0, temperature_lag=0.0, humidity_lag=0.0)
        plant = machines(
            # Water from the idle coil would part the two dew points.
            cooling=attrs.evolve(NO_LOCKOUT, fan_off_delay=0.0),
            heating=None,
            dehumidifier=None,
            strips=strips,
            sensor=exact,
        )
        return ms.simulate(
            house(gains=ms.Gains(appliances_and_lights=watts)), plant, hold_with_reheat,
            stretch(place, 190, 28), spin_up="7 day",
        )  # fmt: skip

    reheated = run(ms.Strips(stages=["4 kW"]), 380.0)
    warm = reheated.hourly["indoor_temperature_C"].mean()
    low, high = 380.0, 3000.0
    for _ in range(12):
        watts = 0.5 * (low + high)
        plain = run(None, watts)
        if plain.hourly["indoor_temperature_C"].mean() < warm:
            low = watts
        else:
            high = watts
    dry = [s.meter.humidity["mean_dew_point_C"] for s in (reheated, plain)]
    temperature = [s.hourly["indoor_temperature_C"].mean() for s in (reheated, plain)]
    kwh = [s.meter.total_kwh for s in (reheated, plain)]
    print(
        f"{place}: reheat {kwh[0]:.0f} kWh at {temperature[0]:.2f}/{dry[0]:.2f} degC, without "
        f"{kwh[1]:.0f} kWh at {temperature[1]:.2f}/{dry[1]:.2f} degC, {watts:.0f} W given"
    )
    assert reheated.meter.kwh["reheat"] > 1.0
    assert temperature[1] == pytest.approx(temperature[0], abs=0.05)
    assert dry[1] == pytest.approx(dry[0], abs=0.15)
    assert kwh[0] >= kwh[1]


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_the_same_cooling_with_and_without_strips(place: str) -> None:
    """Fixed calls, whatever the room does: strips add their own kWh and the room ends warmer."""

    @ms.strategy
    def by_the_clock(readings: Any, memory: Any, *, reheat: float = 0.0) -> Any:
        on = 1.0 if readings.hour % 1.0 < 0.5 else 0.0
        return ms.Calls(cooling=on, reheat=on * reheat, airflow=1.0)

    plain, reheated = (
        ms.simulate(house(), PLANT, by_the_clock(reheat=r), stretch(place, 190, 14))
        for r in (0.0, 0.5)
    )
    assert reheated.meter.kwh["reheat"] > 0.0
    assert reheated.meter.total_kwh > plain.meter.total_kwh + 0.5 * reheated.meter.kwh["reheat"]
    warmer = reheated.hourly["indoor_temperature_C"] - plain.hourly["indoor_temperature_C"]
    print(f"{place}: warmer by {warmer.mean():.2f} K, at the least {warmer.min():.2f} K")
    assert (warmer > 0.0).all()
