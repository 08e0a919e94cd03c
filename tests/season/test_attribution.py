"""Where each liter and each kWh came from: the tags close on the meter, and say what hand says."""

import json
from functools import lru_cache
from typing import Any
from unittest.mock import patch

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from support import houses, weathers
from support.controls import BUILT_IN, any_control, one_of_everything
from support.houses import any_house, house
from support.machines import any_equipment, machines, two_stage
from support.uncompiled import uncompiled
from support.weathers import SAMPLES, any_days, sample, stretch

import moistsim as ms
from moistsim.engine import parameters, tags
from moistsim.season.attribution import Attribution, attribution, ledgers_of, tally
from moistsim.season.season import Season

CLOSES = 1e-9
"""Residual over gross flow."""
LIQUID = 4186.0 * 10.0
"""Enthalpy of condensate above liquid water at 0 degC, J/kg, from which tags count."""


@lru_cache
def month(place: str, strategy: str) -> Season:
    """The month of a sample year that works most of the machines."""
    first = {"miami": "10-01", "greensboro": "09-20", "sand_point": "01-05"}[place]
    last = {"miami": "10-31", "greensboro": "10-20", "sand_point": "02-04"}[place]
    built_in = ms.strategies.BUILT_IN[strategy]
    return ms.simulate(house(), machines(), built_in, sample(place), start=first, end=last)


@lru_cache
def everything(gas: bool = False, held: bool = False) -> Season:
    """Two days in which every flow is at work.

    Two days, from the start of the year's samples' air, in which every flow is at work, but for
    a furnace where there is a heat pump, and a room heater and an imposed temperature.
    """
    weather = stretch("miami", 190, 2)
    measured = pd.Series([16.0, 27.0, 21.0] * 16, weather.hours) if held else None
    heating = {"heating": None, "furnace": ms.Furnace(capacity="40000 Btu/h")} if gas else {}
    if held:
        heating = {"heating": None, "room_heater": ms.RoomHeater(capacity="6 kW")}
    # Surfaces that hold little, so within two days water runs off them.
    with patch.object(parameters, "FILM", 1.0e-4):
        return ms.simulate(
            house(
                floor_area=60.0,
                gains=ms.Gains(moisture="90 kg/day", moisture_profile=(0.2,) * 18 + (3.0,) * 6),
                # A house of one floor, with the attic that its ducts bring.
                ducts=ms.Ducts(location="attic", supply_leakage=0.1),
                contents_store=ms.MoistureStore.of("paper", area=0.5),
                vapor_sources=ms.VaporSources(ground="0.02 kg/(day m2)", construction="10 kg/m2"),
                window_opening=ms.WindowOpening(rule="habit", high="40 degC", hours=[16, 18]),
            ),
            machines(
                cooling=two_stage(water_held=0.7),
                ventilation=ms.Ventilation(kind="supply", airflow="60 cfm"),
                **heating,
            ),
            one_of_everything, weather, step="300 s", spin_up=0, impose=measured,
        )  # fmt: skip


def check_against_the_meter(found: Attribution, table: pd.DataFrame) -> float:
    """Every sum of the tags that is a column of the meter's, in kg or kWh; the worst, over gross.

    Only what outdoor air carries is not here: its heat is counted from the room's temperature.
    That the whole closes is the residual's affair.
    """
    total = table.sum()
    water, heat = found.water, found.heat
    came, warmth = found.water_sources["brought"], found.heat_sources["brought"]
    liquid = LIQUID / 3.6e6
    condensed = total["water_coil_kg"]
    pairs = {
        "water": [
            (came["infiltration"], total["water_infiltration_kg"]),
            (came["ventilation"], total["water_ventilation_kg"]),
            (came["household_vapor"], total["water_gains_kg"]),
            (came["ducts"], total["water_return_leak_kg"]),
            (water["ducts"].sum(), -total["water_supply_leak_kg"]),
            (came["window_opening"], total["water_opening_kg"]),
            (came["ground_vapor"], total["water_ground_kg"]),
            (came["construction"], total["water_construction_kg"]),
            (water["coil"].sum(), -total["water_drained_kg"]),
            (water["dehumidifier"].sum(), -total["water_dehumidifier_kg"]),
            (water["air_out"].sum(), -total["water_out_kg"]),
            (water["surfaces"].sum(), -total["water_run_off_kg"]),
        ],
        "heat": [
            (warmth["sun"], total["heat_sun_kWh"]),
            (warmth["people_and_appliances"], total["heat_gains_kWh"]),
            (
                warmth["household_vapor"],
                total["heat_moisture_kWh"] - liquid * total["water_gains_kg"],
            ),
            *(
                (warmth[use], total[f"{use}_kWh"])
                for use in ("indoor_fan", "reheat", "backup_heat", "dehumidifier")
            ),
            *(
                (warmth[name], total[f"heat_{name}_kWh"])
                for name in ("heat_pump", "furnace", "hot_gas")
            ),
            *(
                (warmth[source], total[f"heat_{name}_kWh"] - liquid * total[f"water_{mass}_kg"])
                for source, name, mass in (
                    ("ground_vapor", "ground_vapor", "ground"),
                    ("construction", "construction", "construction"),
                )
            ),
            (warmth["ventilation_fan"], total["heat_ventilation_fan_kWh"]),
            (warmth["standby"], total["heat_standby_kWh"]),
            *(
                (warmth[name] - heat[name].sum(), total[f"heat_{name}_kWh"])
                for name in ("opaque", "windows", "ground", "pressure")
            ),
            (heat["coil_sensible"].sum(), total["coil_sensible_kWh"]),
            (
                heat["coil_latent"].sum(),
                total["coil_total_kWh"] - total["coil_sensible_kWh"] + liquid * condensed,
            ),
            (
                heat["coil_sensible"].sum() + heat["coil_latent"].sum(),
                -total["heat_refrigerant_kWh"],
            ),
            (warmth["dehumidifier_condensing"], heat["dehumidifier"].sum()),
            (found.compressor_kwh.sum(), total["compressor_kWh"]),
            (found.kwh["dehumidifier"].sum(), total["dehumidifier_kWh"]),
            (found.reheat_kwh, total["reheat_kWh"]),
            (
                heat["surfaces"].sum(),
                -total["heat_run_off_kWh"] + liquid * total["water_run_off_kg"],
            ),
        ],
    }
    worst = 0.0
    for name, both in pairs.items():
        gross = found.residual.loc[name, "gross"]
        for one, other in both:
            worst = max(worst, abs(one - other) / gross)
    for table, sources in ((water, found.water_sources), (heat, found.heat_sources)):
        rows = (table.sum(axis=1) - sources.sum(axis=1)).abs().max()
        worst = max(worst, rows / table.to_numpy().sum())
        # Positive, to what is left of a reservoir that was emptied.
        assert table.to_numpy().min() >= -1e-12 * table.to_numpy().sum()
    return max(worst, float(found.residual["relative"].abs().max()))


@pytest.mark.parametrize("place", SAMPLES)
@pytest.mark.parametrize("strategy", BUILT_IN)
def test_tags_add_up_to_the_meter(place: str, strategy: str) -> None:
    season = month(place, strategy)
    worst = check_against_the_meter(season.attribution(), season.hourly)
    print(f"{place}, {strategy}: {worst:.1e} of the gross flow")
    assert worst <= CLOSES


def test_a_whole_season_adds_up() -> None:
    season = ms.simulate(
        house(), machines(), ms.strategies.staged_reheat, sample("greensboro"),
        start="03-01", end="10-31",
    )  # fmt: skip
    found = season.attribution()
    worst = check_against_the_meter(found, season.hourly)
    print(f"{worst:.1e} of the gross flow\n{found.residual}")
    assert worst <= CLOSES
    # By October little is left of what was there in February: the slow mass and the deep store
    # turn over within weeks.
    assert 0.0 < found.compressor_kwh["initial"] < 0.01 * found.compressor_kwh.sum()
    assert found.compressor_kwh["reheat"] > 0.0


@settings(max_examples=12)
@given(home=any_house(), plant=any_equipment(), strategy=any_control(), weather=any_days())
def test_tags_of_any_house_add_up(
    home: ms.House, plant: ms.Equipment, strategy: ms.Strategy, weather: ms.Weather
) -> None:
    season = ms.simulate(home, plant, strategy, weather, spin_up="1 day")
    assert check_against_the_meter(season.attribution(), season.hourly) <= CLOSES


def test_what_a_machine_draws_for_nothing_is_shared_out() -> None:
    """A dehumidifier in a room whose air is as dry as it may make it takes nothing and draws on."""
    season = ms.simulate(
        house(gains=ms.Gains(moisture="0 kg/day")),
        ms.Equipment(
            dehumidifier=ms.Dehumidifier(capacity="70 pint/day", low_inlet_limit="1 degC")
        ),
        ms.strategies.with_dehumidifier(target_rh=35.0),
        stretch("greensboro", 12, 3),
        spin_up="3 day",
    )
    assert season.hourly["water_dehumidifier_kg"].sum() == 0.0
    assert season.hourly["dehumidifier_kWh"].sum() > 0.0
    assert check_against_the_meter(season.attribution(), season.hourly) <= CLOSES


# --- A day --------------------------------------------------------------------------------------


def test_days_add_up_to_the_season() -> None:
    season = month("miami", "with_dehumidifier")
    whole = season.attribution()
    names = pd.unique(season.hourly.index.strftime("%m-%d"))
    days = [season.attribution(day) for day in names]
    for part in ("water", "heat"):
        sinks = getattr(whole, part).columns.drop("held")
        added = sum(getattr(day, part)[sinks] for day in days)
        pd.testing.assert_frame_equal(added, getattr(whole, part)[sinks])
        for earlier, later in zip(days[:-1], days[1:], strict=True):
            pd.testing.assert_series_equal(
                getattr(earlier, part)["held"],
                getattr(later, f"{part}_sources")["held_before"],
                check_names=False,
            )
    pd.testing.assert_frame_equal(sum(day.kwh for day in days), whole.kwh)
    assert sum(day.reheat_kwh for day in days) == pytest.approx(whole.reheat_kwh)


def test_a_day_is_that_day() -> None:
    season = month("miami", "staged_reheat")
    minutes = season.minutes("10-20")
    found = season.attribution("10-20")
    assert found.water["coil"].sum() > 1.0
    assert check_against_the_meter(found, minutes) <= CLOSES
    with pytest.raises(ms.InputError, match="Season.attribution: cannot use '12-24'"):
        season.attribution("12-24")


# --- Nothing is missing: leave a flow out -------------------------------------------------------


def with_flows(season: Season, water: tags.Ledger, heat: tags.Ledger) -> Attribution:
    return attribution(season._tags(ledgers=(water, heat), below=1.0))


LEFT_OUT = [
    (name, part, number)
    for name, ledger in (
        ("water", tags.water_beside(("attic",))),
        ("heat", tags.heat_beside(("attic",))),
    )
    for part in ("flows", "moves")
    for number in range(len(getattr(ledger, part)))
]


@pytest.mark.parametrize(("name", "part", "number"), LEFT_OUT)
def test_a_flow_left_out_opens_the_residual(name: str, part: str, number: int) -> None:
    water, heat = ledgers_of(everything()._machine)
    ledgers = {"water": water, "heat": heat}
    kept = list(getattr(ledgers[name], part))
    gone = kept.pop(number)
    season = everything(
        gas=gone.field == "heat_furnace", held=gone.field in ("heat_imposed", "heat_room_heater")
    )
    assert with_flows(season, **ledgers).residual["relative"].abs().max() <= CLOSES
    ledgers[name] = ledgers[name]._replace(**{part: tuple(kept)})
    opened = with_flows(season, **ledgers).residual["relative"].abs()
    print(f"without {gone.field}: {opened[name]:.1e}")
    assert opened[name] > CLOSES


# --- Linear in the sources ----------------------------------------------------------------------


def relabeled(ledger: tags.Ledger, name: str, other: str) -> tags.Ledger:
    def relabel(flow: tags.Flow) -> tags.Flow:
        straight = flow.straight
        if straight and straight[1] == name:
            straight = (straight[0], other)
        return flow._replace(
            source=other if flow.source == name else flow.source, straight=straight
        )

    return ledger._replace(flows=tuple(relabel(flow) for flow in ledger.flows))


@pytest.mark.parametrize(
    ("name", "other"),
    [("ventilation", "infiltration"), ("household_vapor", "infiltration"), ("sun", "reheat")],
)
def test_two_tags_merged_before_are_two_tags_added_after(name: str, other: str) -> None:
    season = everything()
    apart = season.attribution()
    ledgers = tuple(relabeled(one, name, other) for one in ledgers_of(season._machine))
    merged = attribution(season._tags(ledgers=ledgers))
    for part in ("water", "heat", "kwh"):
        before, after = getattr(apart, part).copy(), getattr(merged, part)
        if name in before.index:
            before.loc[other] += before.loc[name]
            before = before.drop(index=name)
        np.testing.assert_allclose(
            after.loc[before.index], before, atol=1e-12 * before.to_numpy().sum()
        )


# --- Hand cases ---------------------------------------------------------------------------------

NO_MACHINES = {"standby_power": 0.0}


def test_room_air_tends_to_the_shares_of_its_flows() -> None:
    """Room air comes to hold each tag in the share of its inflow.

    No store and constant flows: what leaves is infiltration, ventilation and household vapor
    as they come in, once the air has been changed some tens of times. 1e-4: the household's vapor
    comes at 33 degC and slowly warms the room, so that infiltration is not quite constant.
    """
    season = ms.simulate(
        houses.bare_house(ach50=8.0, gains={"moisture": "6 kg/day"}),
        ms.Equipment(ventilation=ms.Ventilation(kind="balanced", airflow="40 cfm"), **NO_MACHINES),
        ms.strategies.temperature_only(heating_setpoint=10.0),
        weathers.flat(23.0, 0.006, days=6, wind_speed=3.0),
        spin_up=0,
    )  # fmt: skip
    found, minutes = season.attribution("01-06"), season.minutes("01-06").sum()
    came = {
        "infiltration": minutes["water_infiltration_kg"],
        "ventilation": minutes["water_ventilation_kg"],
        "household_vapor": minutes["water_gains_kg"],
    }
    shares = found.water["air_out"] / found.water["air_out"].sum()
    for source, amount in came.items():
        assert amount > 0.0
        assert shares[source] == pytest.approx(amount / sum(came.values()), rel=1e-4)
    assert found.water_sources["held_before"]["initial"] < 1e-9
    assert season.attribution("01-01").water["air_out"]["initial"] > 1.0


def test_household_vapor_returns_days_later_under_its_own_name() -> None:
    """Vapor that a store returns days later is still the household's.

    10 kg of household vapor on the first day, none after, in a house with a store through
    which dry outdoor air passes. Three days later the air has been changed dozens of times, and
    what the store then gives back is still the household's.
    """
    home = houses.bare_house(
        ach50=12.0, gains={"moisture": "10 kg/day"}, moisture_store=ms.MoistureStore()
    )
    season = ms.simulate(
        home, ms.Equipment(**NO_MACHINES), ms.strategies.temperature_only(heating_setpoint=10.0),
        weathers.flat(23.0, 0.004, days=5, wind_speed=3.0), spin_up=0,
    )  # fmt: skip
    forcing = season._forcing._replace(hours=season._forcing.hours.copy())
    forcing.hours[24:, 2] = 0.0
    state, memory = season._first_state.copy(), season._first_memory.copy()
    record = season._machine.run(forcing, state, memory)
    result = tally(
        season._machine, forcing, season._index, season._first_state, season._first_memory,
        record.states, record.hourly,
    )  # fmt: skip
    whole, last = attribution(result), attribution(result, 4)
    source = "household_vapor"
    assert whole.water.loc[source].sum() == pytest.approx(10.0, rel=1e-9)
    assert last.water_sources.loc[source, "brought"] == 0.0
    changes = last.water["air_out"].sum() / 0.004 / (250.0 * 1.19)
    print(f"{changes:.1f} air changes in the day, {last.water.loc[source].to_dict()}")
    assert changes > 5.0
    assert last.water.loc[source, "air_out"] > 0.1
    given = last.water_sources["held_before"] - last.water["held"]
    assert last.water.loc[source, "air_out"] == pytest.approx(given[source], rel=1e-9)


@ms.strategy
def cool_and_reheat(readings: Any, memory: Any) -> Any:
    """Compressor and strips without a pause."""
    return ms.Calls(cooling=1.0, reheat=1.0)


@pytest.mark.parametrize(("strips", "other_heat"), [("6.3 kW", 0.0), ("4.8 kW", 1500.0)])
def test_strips_against_the_coil(strips: str, other_heat: float) -> None:
    """A room without skin, leaks or vapor: heat can leave by the coil alone.

    The room rests where the coil takes all that strips, blower and people give. There the strips'
    share of the coil's heat is strips / coil, and of the compressor's electricity the same.
    """
    season = ms.simulate(
        houses.bare_house(
            gains={"appliances_and_lights": other_heat, "appliances_and_lights_profile": (1.0,) * 24}
        ),
        ms.Equipment(
            cooling=two_stage(frost_limit=-30.0), strips=ms.Strips(stages=[strips]), **NO_MACHINES
        ),
        cool_and_reheat, weathers.flat(30.0, 0.004, days=50), spin_up=0,
    )  # fmt: skip
    rooms = season.hourly["indoor_temperature_C"].tail(24)
    total = season.hourly.tail(24).sum()
    assert rooms.max() - rooms.min() < 1e-3 and total["cooling_stage_1_h"] == 24.0
    found = season.attribution("02-19")
    coil = found.heat["coil_sensible"] + found.heat["coil_latent"]
    expected = total["reheat_kWh"] / -total["heat_refrigerant_kWh"]
    share = coil["reheat"] / coil.sum()
    electricity = found.compressor_kwh["reheat"] / found.compressor_kwh.sum()
    print(f"strips / coil {expected:.6f}, heat tagged {share:.6f}, electricity {electricity:.6f}")
    assert 0.5 < expected < 1.0
    assert share == pytest.approx(expected, rel=1e-4)
    assert electricity == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("inlet", ["zone", "outdoors", "ventilation"])
def test_a_dehumidifier_outside_the_room_takes_what_never_met_it(inlet: str) -> None:
    """A dehumidifier on outdoor air removes outdoor vapor alone.

    A machine whose whole air comes from outdoors takes outdoor vapor alone, and its electricity
    is spent on that; one in the room takes the household's too.
    """
    season = ms.simulate(
        houses.bare_house(ach50=2.0, gains={"moisture": "30 kg/day"}),
        ms.Equipment(
            dehumidifier=ms.Dehumidifier(capacity="70 pint/day", inlet=inlet),
            ventilation=ms.Ventilation(kind="supply", airflow="260 cfm"), **NO_MACHINES,
        ),
        always_drying, weathers.flat(27.0, 0.016, days=4), spin_up=0,
    )  # fmt: skip
    found = season.attribution()
    assert check_against_the_meter(found, season.hourly) <= CLOSES
    taken, electricity = found.water["dehumidifier"], found.kwh["dehumidifier"]
    assert taken.sum() > 50.0
    if inlet == "zone":
        assert taken["household_vapor"] > 0.1 * taken.sum()
    else:
        assert taken["ventilation"] == pytest.approx(taken.sum(), rel=1e-12)
        assert electricity["ventilation"] == pytest.approx(electricity.sum(), rel=1e-12)


@ms.strategy
def always_drying(readings: Any, memory: Any) -> Any:
    """The dehumidifier without a pause."""
    return ms.Calls(dehumidifier=1.0)


# --- How far heat's split hangs on its zero -----------------------------------------------------


@pytest.mark.parametrize("place", ["miami", "greensboro"])
@pytest.mark.parametrize("strategy", ["staged_reheat", "with_dehumidifier"])
def test_a_zero_one_kelvin_lower_moves_the_split_little(place: str, strategy: str) -> None:
    """The choice is a choice (`engine.tags`), and this is what it decides.

    Counted from 1 K below the room, passing air carries off heat of all sources and brings as much
    under its own name: its share of the compressor rises by about a percentage point, and the
    others fall in proportion. Liters do not move at all.
    """
    season = month(place, strategy)
    chosen, lower = season.attribution(), attribution(season._tags(below=1.0))
    pd.testing.assert_frame_equal(chosen.water, lower.water)
    assert lower.residual["relative"].abs().max() <= CLOSES
    share = chosen.compressor_kwh / chosen.compressor_kwh.sum()
    moved = lower.compressor_kwh / lower.compressor_kwh.sum() - share
    print(f"{place}, {strategy}: percentage points\n{(100.0 * moved).round(2).to_dict()}")
    assert 0.0 < moved.abs().max() < 0.02
    assert moved.idxmax() == "ventilation"
    added = [*("reheat", "dehumidifier", "dehumidifier_condensing")]
    assert abs(moved[added].sum()) < 0.005


# --- What people read ---------------------------------------------------------------------------


def test_a_liter_and_what_it_took() -> None:
    found = month("miami", "with_dehumidifier").attribution()
    meter = month("miami", "with_dehumidifier").meter
    table = found.per_liter
    assert table.loc["dehumidifier", "own_kWh"] == pytest.approx(meter.kwh["dehumidifier"])
    assert table.loc["dehumidifier", "liters"] == pytest.approx(meter.water_kg["dehumidifier"])
    added = found.compressor_kwh[["dehumidifier", "dehumidifier_condensing"]].sum()
    assert table.loc["dehumidifier", "compressor_kWh"] == pytest.approx(added)
    assert table.loc["dehumidifier", "kWh_per_liter"] == pytest.approx(
        (meter.kwh["dehumidifier"] + added) / meter.water_kg["dehumidifier"]
    )
    assert table.loc["coil", "own_kWh"] < meter.kwh["compressor"]
    bare = ms.simulate(
        house(), ms.Equipment(), ms.strategies.temperature_only, stretch("miami", 100, 2), spin_up=0
    ).attribution()
    assert bare.per_liter["kWh_per_liter"].isna().all()
    assert bare.compressor_kwh.sum() == 0.0


@pytest.mark.parametrize("day", [None, "10-20"])
def test_loads_balance_source_by_source(day: str | None) -> None:
    """What came in is where it went; the machines' columns are the meter's, a day."""
    season = month("miami", "with_dehumidifier")
    loads, found = season.loads(day), season.attribution(day)
    days = 1.0 if day else len(season.hourly) / 24.0
    for kind, unit in (("water", "kg"), ("heat", "kWh")):
        columns = [c for c in loads if c.startswith(f"{kind}_")]
        went = loads[columns].sum(axis=1) - loads[f"{kind}_in_{unit}"]
        assert went.to_numpy() == pytest.approx(
            loads[f"{kind}_in_{unit}"].to_numpy(), abs=1e-9 * loads[columns].abs().sum().sum()
        )
    assert loads["water_coil_kg"].sum() * days == pytest.approx(found.liters["coil"].sum())
    assert loads["water_dehumidifier_kg"].sum() > 0.5
    table = season.minutes(day) if day else season.hourly
    came = table[["water_infiltration_kg", "water_ventilation_kg", "water_gains_kg"]].sum()
    assert loads["water_in_kg"].sum() * days == pytest.approx(came.sum())


# --- Compiled and not ---------------------------------------------------------------------------


def results() -> dict[str, Any]:
    found = everything().attribution()
    return {
        "compiled": hasattr(tags.carry, "signatures"),
        **{name: getattr(found, name).to_numpy().tolist() for name in ("water", "heat", "kwh")},
    }


@pytest.mark.slow
def test_compiled_and_uncompiled_agree() -> None:
    plain, compiled = uncompiled(results), json.loads(json.dumps(results()))
    assert compiled.pop("compiled") is True and plain.pop("compiled") is False
    for name, values in compiled.items():
        scale = np.abs(values).max()
        np.testing.assert_allclose(plain[name], values, rtol=0.0, atol=1e-12 * scale)
