"""The second conditioned zone: the two add up to the house, and act as one where they are alike."""

from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import any_control
from support.houses import any_house, any_second_zone, house
from support.machines import any_equipment, machines
from support.values import floats
from support.weathers import any_days, stretch

import moistsim as ms
from moistsim.engine import column_catalog, force, parameters, space_parameters
from moistsim.engine.forcing_tables import Hour, Node, SpaceHour, SpaceNode
from moistsim.engine.infiltration import path_shares, stack_flows, zone_leaks

DT = 60.0
SHARED = {"volume", "light_contents", "fast_capacity", "slow_capacity", "air_to_fast", "fast_to_slow", "surface_store",
          "deep_store", "air_to_surface", "surface_to_deep", "condensing", "contents_store",
          "contents_deep_store", "air_to_contents", "contents_to_deep"}  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(whole=any_house(one_zone=True), zone=any_second_zone())
def test_two_zones_add_up_to_the_house(whole: ms.House, zone: ms.SecondZone) -> None:
    """Areas, conductances, masses, stores, windows, sun, leaks, gains and moisture."""
    whole = attrs.evolve(whole, stories=2.0)
    parted = attrs.evolve(whole, second_zone=zone)
    one = parameters.zone_parameters(whole, DT)
    main = parameters.zone_parameters(parted, DT)
    second = space_parameters(parted, ms.Equipment(), DT)["second_zone"].zone
    # A garage takes its wall from the main zone alone.
    outer = () if whole.garage else ("opaque",)
    for name in (*SHARED, *outer, "windows", "ground", "stack"):
        total = getattr(main, name) + getattr(second, name)
        assert total == pytest.approx(getattr(one, name), rel=1e-12, abs=1e-12), name
    assert main.air_weight == pytest.approx(one.air_weight, rel=1e-12)

    weather = stretch("miami", 190, 2)
    alone, both = force(whole, weather), force(parted, weather)
    first = len(Node._fields)
    node = SpaceNode(*both.nodes[:, first : first + 2].T)
    first = len(Hour._fields)
    hour = SpaceHour(*both.hours[:, first : first + 4].T)
    # Sun through windows adds up, and so does what sol-air temperatures drive.
    np.testing.assert_allclose(both.nodes[:, 3] + node.sun, alone.nodes[:, 3], atol=1e-9)
    if outer:
        np.testing.assert_allclose(
            main.opaque * both.nodes[:, 2] + second.opaque * node.sol_air,
            one.opaque * alone.nodes[:, 2], rtol=1e-9, atol=1e-6,
        )  # fmt: skip
    np.testing.assert_allclose(both.hours[:, 1] + hour.gains, alone.hours[:, 1], atol=1e-9)
    np.testing.assert_allclose(both.hours[:, 2] + hour.moisture, alone.hours[:, 2], atol=1e-15)
    np.testing.assert_array_equal(both.hours[:, 0], alone.hours[:, 0])


def test_showers_add_up_and_cooking_stays_in_the_main_zone() -> None:
    lived_in = ms.Occupancy()
    alone, both = (
        force(house(stories=2, occupancy=lived_in, second_zone=zone), stretch("miami", 190, 2))
        for zone in (None, ms.SecondZone(moisture_share=0.3))
    )

    def water(hours: Any) -> Any:
        shower, shower_share, cooking, cooking_share, steady = (
            hours[:, Hour._fields.index(name)]
            for name in ("shower", "shower_share", "cooking", "cooking_share", "moisture")
        )
        return steady, shower * shower_share, cooking * cooking_share

    of_one, of_main = water(alone.hours), water(both.hours)
    second = SpaceHour(*both.hours[:, -4:].T).moisture
    np.testing.assert_array_equal(of_one[2], of_main[2])
    assert of_one[1].max() > 0.0
    np.testing.assert_allclose(of_main[1], 0.7 * of_one[1])
    np.testing.assert_allclose(sum(of_main) + second, sum(of_one), rtol=1e-12)


@settings(max_examples=60)
@given(
    share=floats(0.05, 0.95),
    kind=st.sampled_from(["upper floor", "wing"]),
    whole=any_house(one_zone=True),
)
def test_leaks_of_two_zones_add_up(share: float, kind: str, whole: ms.House) -> None:
    """A zone takes a share of 0 to 1 of each flow, and at least what its own ceiling leaks."""
    parted = attrs.evolve(whole, stories=2.0, second_zone=ms.SecondZone(kind=kind, share=share))
    leaks, shares = zone_leaks(parted), path_shares(parted)
    assert all(-1e-12 <= part <= 1.0 + 1e-9 for part in leaks)
    roof = min(2.0 * share, 1.0) if kind == "upper floor" else share
    assert leaks.cool >= roof * shares.ceiling_cool - 1e-9
    assert leaks.wind >= roof * shares.ceiling_wind - 1e-9
    if kind == "upper floor":
        # It never takes in more in warm weather's stack than a wing of its size.
        assert leaks.warm <= leaks.cool + 1.0
    level = stack_flows(parted)
    assert level.below == pytest.approx(level.above, rel=1e-6, abs=1e-9)


def test_the_upper_half_takes_in_nothing_below_the_neutral_level() -> None:
    leaks = zone_leaks(house(stories=2, second_zone=ms.SecondZone()))
    assert leaks.warm == pytest.approx(0.0, abs=1e-9)
    assert leaks.cool == pytest.approx(1.0, abs=1e-9)
    # A third of the height, with a neutral level at half of it.
    small = zone_leaks(house(stories=2, second_zone=ms.SecondZone(share=1 / 3)))
    assert small.warm == pytest.approx(0.0, abs=1e-9)
    assert 0.5 < small.cool < 1.0


ALIKE = ("indoor_temperature_C", "indoor_rh_pct")


@pytest.mark.parametrize("back", [None, 0.5])
def test_two_equal_wings_behave_as_one_zone(back: float | None) -> None:
    """Equal halves of every wall, of people and of the air handler's air, with fans in neither.

    Ventilation and standby are in the main zone, so this house has none; both halves must then be
    alike at every hour, and like the undivided house.
    """
    wing = ms.SecondZone(kind="wing", share=0.5, return_share=back)
    plant = machines(ventilation=None, dehumidifier=None, standby_power=0.0)
    whole, parted = (
        ms.simulate(
            house(second_zone=zone, exhausts=ms.Exhausts(dryer=None, range_hood=None, bath_fans=None)), plant,
            ms.strategies.staged_reheat, stretch("miami", 180, 10), spin_up="4 day",
        )
        for zone in (None, wing)
    )  # fmt: skip
    hourly = parted.hourly
    for name in ALIKE:
        other = name.replace("indoor", "second_zone")
        np.testing.assert_allclose(hourly[other], hourly[name], rtol=1e-6)
        np.testing.assert_allclose(hourly[name], whole.hourly[name], rtol=1e-6)
    for name in ("compressor_kWh", "water_coil_kg"):
        assert hourly[name].sum() == pytest.approx(whole.hourly[name].sum(), rel=1e-6)


@settings(max_examples=25)
@given(
    whole=any_house(one_zone=True), zone=any_second_zone(), machines=any_equipment(), strategy=any_control(),
    weather=any_days(), hangs=st.sampled_from(["main floor", "second", "both"]),
)  # fmt: skip
def test_any_house_of_two_zones_closes(
    whole: ms.House, zone: ms.SecondZone, machines: ms.Equipment, strategy: ms.Strategy,
    weather: ms.Weather, hangs: str,
) -> None:  # fmt: skip
    parted = attrs.evolve(whole, stories=2.0, second_zone=zone)
    if hangs == "second":
        sensor = attrs.evolve(machines.sensor, zone=zone.kind)
        machines = attrs.evolve(machines, sensor=sensor)
    if hangs == "both":
        sensor = attrs.evolve(machines.sensor, place="room")
        machines = attrs.evolve(machines, sensor=sensor, zoning=ms.Zoning())
    season = ms.simulate(parted, machines, strategy, weather, spin_up="2 day")
    assert np.isfinite(season.hourly.to_numpy()).all()
    assert (season.balance["relative"].abs() <= 1e-9).all()
    rows = {"second_zone_dry_air", "second_zone_water", "second_zone_energy"}
    assert rows <= set(season.balance.index)


UPSTAIRS = ms.SecondZone(return_share=0.0)
"""An upper floor with a central return below it."""


def two_floors(machines: ms.Equipment, strategy: ms.Strategy, first: int = 180) -> ms.Season:
    return ms.simulate(
        house(stories=2, ach50=5.0, attic=ms.Attic(), second_zone=UPSTAIRS), machines, strategy,
        stretch("miami", first, 10), spin_up="4 day",
    )  # fmt: skip


COOLER = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="30000 Btu/h")]))


def test_the_floor_of_the_sensor_is_the_one_that_holds_the_setpoint() -> None:
    """Upstairs is the warmer floor in summer, so a thermostat there overcools the main floor."""
    seasons = {
        zone: two_floors(
            attrs.evolve(COOLER, sensor=ms.Sensor(zone=zone)), ms.strategies.temperature_only
        )
        for zone in ("main floor", "upper floor")
    }
    setpoint = ms.strategies.temperature_only.settings["cooling_setpoint"]
    t = {name: season.hourly for name, season in seasons.items()}
    for name, column in (
        ("main floor", "indoor_temperature_C"), ("upper floor", "second_zone_temperature_C")
    ):  # fmt: skip
        held = t[name][column]
        assert held.mean() == pytest.approx(setpoint, abs=0.5), name
        # The sensor follows the air of its own floor.
        assert (t[name]["sensed_temperature_C"] - held).abs().mean() < 0.3
    below, above = (
        (t[name]["second_zone_temperature_C"] - t[name]["indoor_temperature_C"]).mean()
        for name in t
    )
    assert 0.2 < below < 4.0 and 0.2 < above < 4.0
    kwh = {name: season.meter.total_kwh for name, season in seasons.items()}
    assert kwh["upper floor"] > kwh["main floor"]
    warm = [seasons["main floor"].meter.of(measure) for measure in column_catalog.IN_BOTH_ZONES[1]]
    assert warm[1] >= warm[0]


def test_two_thermostats_hold_both_floors() -> None:
    one = two_floors(COOLER, ms.strategies.temperature_only)
    two = two_floors(attrs.evolve(COOLER, zoning=ms.Zoning()), ms.strategies.temperature_only)
    assert (two.balance["relative"].abs() <= 1e-9).all()

    def apart(season: ms.Season) -> float:
        hourly = season.hourly
        gap = hourly["second_zone_temperature_C"] - hourly["indoor_temperature_C"]
        return float(gap.abs().mean())

    assert apart(two) < 0.5 * apart(one)


def test_a_day_simulated_again_has_the_same_bits_with_two_thermostats() -> None:
    season = two_floors(attrs.evolve(COOLER, zoning=ms.Zoning()), ms.strategies.temperature_only)
    day = str(season.hourly.index[72].date())
    minutes, hourly = season.minutes(day), season.hourly.loc[day]
    for name in (
        "compressor_kWh",
        "second_zone_water_to_house_kg",
        "second_zone_heat_from_house_kWh",
    ):
        again = minutes[name].resample("h").sum()
        np.testing.assert_allclose(again, hourly[name], rtol=1e-12)


@ms.strategy
def heat_below_cool_above(readings: Any, memory: Any) -> Any:
    """Memory counts the calls of each thermostat apart."""
    if readings.temperature > 24.0:
        memory[0] += 1.0
        return ms.Calls(cooling=1)
    return ms.Calls()


def test_each_thermostat_has_a_memory_of_its_own() -> None:
    """People heat the second zone alone, so its thermostat alone calls."""
    plant = attrs.evolve(COOLER, zoning=ms.Zoning(bleed=0.0, airflow_loss=0.0))
    lonely = ms.SecondZone(
        kind="wing", gains_share=1.0, opening_width=0.0, mixing=0.0, partition_u=0.0
    )
    season = ms.simulate(
        house(second_zone=lonely, gains=ms.Gains(occupants=0.0, appliances_and_lights=4000.0)),
        plant, heat_below_cool_above, stretch("greensboro", 80, 4), spin_up=0.0,
    )  # fmt: skip
    memories = season._record.memories[-1]
    own = heat_below_cool_above.memory_size
    assert season.hourly["indoor_temperature_C"].max() < 24.0
    assert memories[0] == 0.0 and memories[own] > 10.0
    # All supply air goes to the zone that calls.
    moved = season.hourly["second_zone_air_from_house_kg"].sum()
    full = season.hourly["airflow_fraction"].sum() * season._machine.plant.unit.full_flow * 3600.0
    assert -moved == pytest.approx(full, rel=0.02)


@pytest.mark.parametrize(
    ("main", "second", "cooling", "heating", "share"),
    [
        ({"cooling": 1}, {}, 1, 0, 0.1),
        ({}, {"cooling": 1}, 1, 0, 0.9),
        ({"cooling": 1}, {"cooling": 2}, 2, 0, 0.5),
        ({"cooling": 1}, {"heating": 1}, 1, 0, 0.1),
        ({"heating": 1}, {"cooling": 1}, 0, 1, 0.1),
        ({}, {"fan": 1}, 0, 0, 0.5),
        ({}, {}, 0, 0, 0.7),
    ],
)
def test_dampers_follow_the_calls(
    main: dict[str, float], second: dict[str, float], cooling: float, heating: float, share: float
) -> None:
    from moistsim.engine.outset import Spaces
    from moistsim.engine.rows import flat
    from moistsim.engine.space_parameters import initial_spaces
    from moistsim.engine.spaces import SUPPLY_SHARE
    from moistsim.engine.zoning import serve

    machines = attrs.evolve(COOLER, zoning=ms.Zoning(bleed=0.1, airflow_loss=0.2))
    made = space_parameters(house(second_zone=ms.SecondZone(kind="wing")), machines, DT)
    states = initial_spaces(made, 24.0, 0.5, 101325.0).reshape(1, -1)
    states[0, SUPPLY_SHARE] = 0.7
    empty = np.zeros((0, 0))
    spaces = Spaces(
        np.array([flat(made["second_zone"])]), states, *([empty] * (len(Spaces._fields) - 2))
    )
    calls = serve(spaces, ms.Calls(**main), ms.Calls(**second))
    assert (calls.cooling, calls.heating) == (cooling, heating)
    assert states[0, SUPPLY_SHARE] == pytest.approx(share)
    closed = share not in (0.5,)
    assert calls.slow_down == pytest.approx(0.2 * closed)


def test_what_does_not_fit_the_house_is_refused() -> None:
    cases = [
        (house(), attrs.evolve(COOLER, zoning=ms.Zoning()), "Equipment.zoning"),
        (house(), attrs.evolve(COOLER, sensor=ms.Sensor(zone="wing")), "Sensor.zone"),
    ]
    for whole, plant, where in cases:
        with pytest.raises(ms.InputError, match=where):
            ms.simulate(whole, plant, ms.strategies.temperature_only, stretch("miami", 180, 1))
    with pytest.raises(ms.InputError, match="upper floor in a house of one story"):
        house(second_zone=ms.SecondZone())
    with pytest.raises(ms.InputError, match="bedroom"):
        house(second_zone=ms.SecondZone(kind="wing"), bedroom=ms.Bedroom())
    with pytest.raises(ms.InputError, match="zoning"):
        ms.Equipment(sensor=ms.Sensor(place="return"), zoning=ms.Zoning())


@pytest.mark.parametrize("zoning", [None, ms.Zoning()])
def test_halving_the_step_moves_little(zoning: ms.Zoning | None) -> None:
    """As for one zone: kWh and water by less than 0.5 %, starts by less than 3 %."""
    plant = attrs.evolve(COOLER, zoning=zoning)
    coarse, fine = (
        ms.simulate(
            house(stories=2, ach50=5.0, attic=ms.Attic(), second_zone=UPSTAIRS), plant,
            ms.strategies.temperature_only, stretch("greensboro", 150, 60), step=step,
        ).meter
        for step in ("60 s", "30 s")
    )  # fmt: skip
    assert coarse.total_kwh == pytest.approx(fine.total_kwh, rel=0.005)
    assert coarse.water_kg["coil"] == pytest.approx(fine.water_kg["coil"], rel=0.005)
    starts = "cooling_stage_1"
    assert coarse.starts[starts] == pytest.approx(fine.starts[starts], rel=0.03)
    for main, second in column_catalog.IN_BOTH_ZONES[:1]:
        for measure in (main, second):
            assert coarse.of(measure) == pytest.approx(fine.of(measure), rel=0.01, abs=10.0)
