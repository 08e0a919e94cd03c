"""Two systems in one house: each zone has its machines and its control, and all that flows is found."""

from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import any_control
from support.houses import any_ducts, any_house, any_second_zone, house
from support.machines import any_equipment, any_second_system, machines, two_stage
from support.weathers import any_days, stretch

import moistsim as ms
from moistsim.engine import SYSTEM_FLOWS, column_catalog
from moistsim.engine.second_system import SYSTEM_FIELDS

CLOSES = 1e-9
NO_FANS = ms.Exhausts(dryer=None, range_hood=None, bath_fans=None)


def test_the_catalog_has_every_quantity_of_a_second_system() -> None:
    names = {flow.field for flow in SYSTEM_FLOWS}
    assert names == {f"second_system_{field}" for field in SYSTEM_FIELDS}
    assert len(names) == len(SYSTEM_FIELDS)


@settings(max_examples=25)
@given(
    whole=any_house(one_zone=True), zone=any_second_zone(), ducts=st.one_of(st.none(), any_ducts("garage")),
    equipment=any_equipment(), upstairs=any_second_system(), main=any_control(), second=any_control(),
    weather=any_days(), alike=st.booleans(),
)  # fmt: skip
def test_any_house_of_two_systems_closes(
    whole: ms.House, zone: ms.SecondZone, ducts: ms.Ducts | None, equipment: ms.Equipment,
    upstairs: ms.SecondSystem, main: ms.Strategy, second: ms.Strategy, weather: ms.Weather, alike: bool,
) -> None:  # fmt: skip
    parted = attrs.evolve(whole, stories=2.0, second_zone=attrs.evolve(zone, ducts=ducts))
    both = attrs.evolve(equipment, second_system=upstairs)
    strategy = main if alike else main.with_second(second)
    season = ms.simulate(parted, both, strategy, weather, spin_up="2 day")
    assert np.isfinite(season.hourly.to_numpy()).all()
    assert (season.balance["relative"].abs() <= CLOSES).all()
    # The quarters' power, which is billed, is that of the end uses of both systems.
    assert season.quarters.sum() / 4.0 == pytest.approx(season.meter.total_kwh, rel=1e-9, abs=1e-9)


def plant(scale: float, **changes: Any) -> dict[str, Any]:
    """Machines of one blower, `scale` times as large as a unit of one ton and a half."""
    return {
        "cooling": ms.Cooling(
            stages=[ms.Stage(capacity=f"{18000 * scale} Btu/h", airflow=f"{600 * scale} cfm")],
            # Two compressors have two of these heaters, whatever their size.
            crankcase_heat=0.0,
        ),
        "strips": ms.Strips(stages=[f"{2.5 * scale} kW"]),
        "standby_power": 0.0,
        **changes,
    }


def test_two_equal_wings_with_a_unit_each_behave_as_one_house_with_a_unit_of_twice_the_size() -> (
    None
):
    """Both halves are alike at every hour, and like the undivided house: the tolerance is 1e-6.

    Two machines of half the size in step with each other do what the large one does.
    """
    wing = ms.SecondZone(kind="wing", share=0.5)
    control, weather = ms.strategies.staged_reheat, stretch("miami", 180, 10)
    both = ms.Equipment(**plant(1.0), second_system=ms.SecondSystem(**plant(1.0)))
    parted = ms.simulate(
        house(second_zone=wing, exhausts=NO_FANS), both, control, weather, spin_up="4 day"
    )
    whole = ms.simulate(
        house(exhausts=NO_FANS), ms.Equipment(**plant(2.0)), control, weather, spin_up="4 day"
    )
    hourly = parted.hourly
    for name in ("indoor_temperature_C", "indoor_rh_pct"):
        other = name.replace("indoor", "second_zone")
        np.testing.assert_allclose(hourly[other], hourly[name], rtol=1e-6)
        np.testing.assert_allclose(hourly[name], whole.hourly[name], rtol=1e-6)
    for name in (
        "compressor_kWh",
        "reheat_kWh",
        "indoor_fan_kWh",
        "water_coil_kg",
        "cooling_stage_1_starts",
    ):
        np.testing.assert_allclose(
            hourly[f"second_system_{name}"], hourly[name], rtol=1e-6, atol=1e-9
        )
    assert parted.meter.total_kwh == pytest.approx(whole.meter.total_kwh, rel=1e-6)
    assert parted.meter.water_kg["coil"] == pytest.approx(whole.meter.water_kg["coil"], rel=1e-6)
    assert parted.meter.starts["cooling_stage_1"] == whole.meter.starts["cooling_stage_1"]
    assert parted.meter.peak_kw["kW"].tolist() == pytest.approx(
        whole.meter.peak_kw["kW"].tolist(), rel=1e-6
    )


UPSTAIRS = ms.SecondZone(return_share=0.0)
COOLER = plant(1.0, standby_power=6.0)
TWO_FLOORS = {"stories": 2, "ach50": 5.0, "attic": ms.Attic(), "second_zone": UPSTAIRS}


def summer(
    equipment: ms.Equipment, control: ms.Strategy = ms.strategies.temperature_only, **changes: Any
) -> ms.Season:
    return ms.simulate(
        house(**{**TWO_FLOORS, **changes}),
        equipment,
        control,
        stretch("miami", 180, 10),
        spin_up="4 day",
    )


def test_a_unit_that_is_switched_off_is_none() -> None:
    """An upstairs that cools above 40 °C is as hot as without machines, to the last bit of its air."""
    control = ms.strategies.temperature_only
    idle = {"minimum_on": 0.0, "minimum_off": 0.0}
    off = summer(
        ms.Equipment(
            **COOLER, second_system=ms.SecondSystem(cooling=two_stage(**idle), standby_power=0.0)
        ),
        control.with_second(control(cooling_setpoint="40 degC", heating_setpoint="5 degC")),
    )
    none = summer(ms.Equipment(**COOLER, second_system=ms.SecondSystem(standby_power=0.0)))
    for name in (
        "second_zone_temperature_C",
        "second_zone_rh_pct",
        "indoor_temperature_C",
        "compressor_kWh",
    ):
        np.testing.assert_array_equal(off.hourly[name], none.hourly[name])
    assert off.hourly["second_zone_temperature_C"].max() > 28.0
    assert off.meter.second_system["second_system_compressor_kWh"] == 0.0


def test_a_unit_for_each_floor_holds_both_of_them() -> None:
    """Stated before a look: upstairs' hours too warm fall to less than a tenth of those with one unit.

    One unit has the size of both, its sensor and its return downstairs, and ducts that bring a quarter
    of its air upstairs. Two units use more electricity, because the upper floor is cooler: by less than
    a third.
    """
    starved = attrs.evolve(UPSTAIRS, supply_share=0.25)
    one = summer(ms.Equipment(**plant(2.0, standby_power=6.0)), second_zone=starved)
    two = summer(ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)))
    assert (two.balance["relative"].abs() <= CLOSES).all()
    warm = {
        name: [season.meter.of(measure) for measure in column_catalog.IN_BOTH_ZONES[1]]
        for name, season in (("one", one), ("two", two))
    }
    print(warm, one.meter.total_kwh, two.meter.total_kwh)
    assert warm["one"][1] > 24.0
    assert warm["two"][1] < 0.1 * warm["one"][1]
    assert warm["two"][0] <= warm["one"][0] + 1.0
    assert 1.0 < two.meter.total_kwh / one.meter.total_kwh < 4.0 / 3.0
    setpoint = ms.strategies.temperature_only.settings["cooling_setpoint"]
    assert two.hourly["second_zone_temperature_C"].mean() == pytest.approx(setpoint, abs=0.5)


def test_each_control_has_its_own_setpoints() -> None:
    control = ms.strategies.temperature_only.with_second(
        ms.strategies.temperature_only(cooling_setpoint="26.5 degC")
    )
    season = summer(ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)), control)
    assert season.hourly["second_zone_temperature_C"].mean() == pytest.approx(26.5, abs=0.5)
    # Comfort upstairs counts against its own setpoint.
    assert season.meter.spaces["second_zone_above_cooling_setpoint_h"] < 5.0
    assert control(second_cooling_setpoint="25 degC").second.settings["cooling_setpoint"] == 25.0


def test_ducts_of_a_second_system_leak_into_their_own_space() -> None:
    """Leaky ducts in the attic cost the upper system energy, and its zone stays within the balance."""
    leaky = attrs.evolve(
        UPSTAIRS, ducts=ms.Ducts(location="attic", supply_leakage=0.15, return_leakage=0.05)
    )
    equipment = ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER))
    tight, lossy = summer(equipment), summer(equipment, second_zone=leaky)
    assert (lossy.balance["relative"].abs() <= CLOSES).all()
    kwh = [season.meter.second_system["second_system_compressor_kWh"] for season in (tight, lossy)]
    assert 1.1 < kwh[1] / kwh[0] < 2.0
    lost = lossy.hourly["second_system_air_supply_leak_kg"].sum()
    back = lossy.hourly["second_system_air_return_leak_kg"].sum()
    assert lossy.hourly["attic_air_ducts_kg"].sum() == pytest.approx(-lost - back, rel=1e-9)
    # More leaks out than in, and outdoor air makes up for it through the leaks of both zones.
    more = [
        s.hourly["air_infiltration_kg"].sum() + s.hourly["second_zone_air_outdoors_kg"].sum()
        for s in (tight, lossy)
    ]
    assert more[1] > more[0]


def test_a_day_simulated_again_has_the_same_bits_with_two_systems() -> None:
    season = summer(ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)))
    day = str(season.hourly.index[72].date())
    minutes, hourly = season.minutes(day), season.hourly.loc[day]
    for name in ("compressor_kWh", "second_system_compressor_kWh", "second_zone_water_to_house_kg"):
        np.testing.assert_allclose(minutes[name].resample("h").sum(), hourly[name], rtol=1e-12)
    power = minutes["power_kW"].resample("15min").mean()
    np.testing.assert_allclose(power, season.quarters.loc[day], rtol=1e-12)


def test_events_tell_the_systems_apart() -> None:
    control = ms.strategies.temperature_only
    season = summer(
        ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)),
        control.with_second(control(cooling_setpoint="26 degC")),
    )
    events = season.events
    for begins, starts in (
        ("", season.meter.starts["cooling_stage_1"]),
        ("second system: ", season.meter.second_system["second_system_cooling_stage_1_starts"]),
    ):
        stage = events[events["what"] == f"{begins}cooling stage"]
        assert (stage["now"] > 0.0).sum() == starts > 0
        assert not events[events["what"] == f"{begins}cooling"].empty


@pytest.mark.parametrize("ducts", [None, ms.Ducts(location="attic")])
def test_halving_the_step_moves_little_with_two_systems(ducts: ms.Ducts | None) -> None:
    """As for one zone: kWh and water by less than 0.5 %, starts by less than 3 %."""
    coarse, fine = (
        ms.simulate(
            house(**{**TWO_FLOORS, "second_zone": attrs.evolve(UPSTAIRS, ducts=ducts)}),
            ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)),
            ms.strategies.temperature_only, stretch("greensboro", 150, 60), step=step,
        ).meter
        for step in ("60 s", "30 s")
    )  # fmt: skip
    assert coarse.total_kwh == pytest.approx(fine.total_kwh, rel=0.005)
    assert coarse.water_kg["coil"] == pytest.approx(fine.water_kg["coil"], rel=0.005)
    assert coarse.starts["cooling_stage_1"] == pytest.approx(
        fine.starts["cooling_stage_1"], rel=0.03
    )
    starts = "second_system_cooling_stage_1_starts"
    assert coarse.second_system[starts] == pytest.approx(fine.second_system[starts], rel=0.03)


def test_what_does_not_fit_two_systems_is_refused() -> None:
    own = ms.SecondSystem(cooling=two_stage())
    control, weather = ms.strategies.temperature_only, stretch("miami", 180, 1)
    with pytest.raises(ms.InputError, match="second_system: the house has one zone"):
        ms.simulate(house(), machines(second_system=own), control, weather)
    with pytest.raises(ms.InputError, match="the house has one system"):
        ms.simulate(house(), machines(), control.with_second(control), weather)
    with pytest.raises(ms.InputError, match="second system and zoning"):
        ms.Equipment(cooling=two_stage(), zoning=ms.Zoning(), second_system=own)
    with pytest.raises(ms.InputError, match="SecondSystem.strips"):
        ms.SecondSystem(strips=ms.Strips(stages=["5 kW"]))
    with pytest.raises(ms.InputError, match="SecondSystem.sensor"):
        ms.SecondSystem(sensor=ms.Sensor(humidity_noise="2 %"))
    with pytest.raises(ms.InputError, match="SecondSystem.dehumidifier"):
        ms.SecondSystem(dehumidifier=ms.Dehumidifier(capacity="70 pint/day", inlet="outdoors"))
    with pytest.raises(ms.InputError, match="Equipment.sensor"):
        ms.Equipment(sensor=ms.Sensor(zone="wing"), second_system=own)
    with pytest.raises(ms.InputError, match="has a second control already"):
        control.with_second(control).with_second(control)
    with pytest.raises(ms.InputError, match="before with_second"):
        _ = control.with_second(control) + ms.strategies.set_back


def test_design_loads_of_each_zone_add_up_to_what_its_coil_removed() -> None:
    """Over a season without heating, each zone's loads are its coil's heat less its blower's: 0.5 %."""
    from moistsim.sizing.loads import loads, second_loads

    leaky = attrs.evolve(UPSTAIRS, ducts=ms.Ducts(location="attic"))
    season = ms.simulate(
        house(**{**TWO_FLOORS, "second_zone": leaky}),
        ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)),
        ms.strategies.temperature_only, stretch("miami", 150, 60),
    )  # fmt: skip
    for of, begins in ((loads, ""), (second_loads, "second_system_")):
        found = of(season)
        load = (found.sensible.sum(axis=1) + found.latent.sum(axis=1)).sum() / 1000.0
        names = ("coil_total", "indoor_fan", "reheat", "backup_heat")
        coil, *added = (season.hourly[f"{begins}{name}_kWh"].sum() for name in names)
        assert load == pytest.approx(coil - sum(added), rel=0.005)
        water = found.water.sum().sum() * 3600.0
        removed = (
            season.hourly[f"{begins}water_coil_kg"]
            + season.hourly[f"{begins}water_reevaporated_kg"]
        )
        assert water == pytest.approx(-removed.sum(), rel=0.005)


def test_the_sources_of_water_and_heat_close_with_two_systems() -> None:
    """The ledger of the main zone: the second zone stands in it under its name."""
    season = summer(
        ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER)), ms.strategies.staged_reheat
    )
    assert (season.attribution().residual["relative"].abs() <= CLOSES).all()


def test_a_power_cut_stops_both_systems_and_a_failed_blower_the_first() -> None:
    equipment = ms.Equipment(**COOLER, second_system=ms.SecondSystem(**COOLER))

    def power(*faults: Any) -> Any:
        season = ms.simulate(
            house(**TWO_FLOORS), equipment, ms.strategies.temperature_only,
            stretch("miami", 180, 10), spin_up="2 day", faults=faults,
        )  # fmt: skip
        assert (season.balance["relative"].abs() <= CLOSES).all()
        day = str(season.hourly.index[4 * 24].date())
        return season, season.hourly.loc[day].between_time("12:00", "15:59")

    season, sound = power()
    begins = f"{season.hourly.index[4 * 24]:%m-%d} 12:00"
    own = "second_system_compressor_kWh"
    assert sound["compressor_kWh"].sum() > 0.5 and sound[own].sum() > 0.5
    _, cut = power(ms.faults.PowerCut(start=begins, lasts="4 h"))
    names = ["compressor_kWh", own, "standby_kWh", "second_system_standby_kWh"]
    assert (cut[names] == 0.0).all(axis=None)
    _, stuck = power(ms.faults.FailedBlower(start=begins, lasts="4 h"))
    assert stuck["compressor_kWh"].sum() == 0.0
    assert stuck[own].sum() > 0.5
