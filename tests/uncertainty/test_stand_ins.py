"""Stand-ins: each moves its own input alone, a range takes its place, and the budget knows them."""

from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.machines import machines
from support.small_sweeps import PLAIN, REHEAT, study

import moistsim as ms
from moistsim.controls import moved
from moistsim.study import Comparison, Study
from moistsim.sweep import find, varied
from moistsim.uncertainty import SOURCES, in_words, stand_ins
from moistsim.uncertainty.ranges import source_of, uncertain_inputs

BOUGHT = {REHEAT: ms.Purchase(first_cost=20.0), PLAIN: ms.Purchase(first_cost=100.0)}
PAIR = (PLAIN, REHEAT)
BOX = "own humidistat"
OFFSET = "equipment.sensor.humidity_offset"


def with_box() -> Study:
    """The small study, and a dehumidifier by its own humidistat."""
    box = machines(dehumidifier=ms.Dehumidifier(capacity="70 pint/day", humidistat="50 %"))
    own = (box, ms.strategies.temperature_only)
    return attrs.evolve(study(), options={**study().options, BOX: own})


@lru_cache
def as_set() -> Comparison:
    return study().run(progress=False)


def budget(ranges: dict[str, Any], **more: Any) -> pd.DataFrame:
    what = {"options": PAIR, "as_set": as_set(), "progress": False} | more
    return ms.error_budget(study(), BOUGHT, None, ranges, **what)


def names(of: Study, ranges: dict[str, Any] | None = None) -> dict[str, set[str]]:
    """Dotted names that each stand-in moves."""
    return {name: set(made.moves) for name, made in stand_ins(of, BOUGHT, ranges or {}).items()}


# ---------------------------------------------------------------------- each moves its own input


@pytest.mark.parametrize(
    ("name", "source", "change"),
    [
        ("humidity setpoint", "setpoints", {"strategy.target_rh": 2.0}),
        ("reading of the humidity sensor", "humidity sensor", {OFFSET: 3.0}),
        ("fan-off delay", "fan-off delay", {"equipment.cooling.fan_off_delay": 30.0}),
        ("deadbands", "deadbands", {
            "strategy.deadband": 0.3 * 0.5, "strategy.reheat_deadband": 0.3 * 0.6,
            "strategy.enable_over": -0.6, "strategy.stage_1_on": 0.6, "strategy.stage_1_off": -0.6,
            "strategy.stage_2_on": 1.2}),
        # ASHRAE 62.2 for 100 m2 and 3 bedrooms: 0.15 L/s per m2 and 3.5 L/s for each of four.
        ("ventilation delivered", "ventilation delivered", {"equipment.ventilation.airflow": None}),
    ],
)  # fmt: skip
def test_each_moves_its_input_and_nothing_else(
    name: str, source: str, change: dict[str, float | None]
) -> None:
    base = study()
    made = stand_ins(base, BOUGHT, {})[name]
    assert made.source == source and source in SOURCES
    assert "common practice, no source" in made.said
    of_reheat = {key for key in made.moves if key.startswith(f"options.{REHEAT}.")}
    assert of_reheat == {f"options.{REHEAT}.{key}" for key in change}
    _, other = dict(varied(base, made.at(made.deviation))), base.resolved[REHEAT]
    one = _[REHEAT]
    assert isinstance(one, Study)
    machines_then, control, house = one.resolved[REHEAT]
    assert house == other.house and one.weather is base.weather and one.tariff == base.tariff
    for key, expected in change.items():
        if expected is None:
            rate = 0.15e-3 * base.house.floor_area + 4 * 3.5e-3
            assert machines_then.ventilation is not None
            assert machines_then.ventilation.airflow == pytest.approx(1.2 * rate)
        elif key.startswith("strategy."):
            key = key.removeprefix("strategy.")
            shift = control.settings[key] - other.strategy.settings[key]
            assert shift == pytest.approx(expected, rel=1e-9)
    # Setting back what moved gives the study as it was.
    back: Any = dict(varied(one, {k: v for k, v in made.at(0.0).items() if k in of_reheat}))
    if name != "ventilation delivered":
        assert back[REHEAT].resolved[REHEAT] == other


def test_setpoints_move_as_one_person_turns_them() -> None:
    """The same as `moved` makes of each option."""
    base = with_box()
    made = stand_ins(base, BOUGHT, {})["humidity setpoint"]
    for option, one in varied(base, made.at(2.0)):
        assert isinstance(one, Study)
        machines_of, control, _ = base.resolved[option]
        assert one.options[option] == moved(machines_of, control, 2.0)


def test_a_dew_point_setpoint_moves_by_its_share() -> None:
    control = ms.strategies.staged_reheat + ms.strategies.dew_point_control
    base = attrs.evolve(study(), options={REHEAT: (machines(), control)})
    made = stand_ins(base, BOUGHT, {})["humidity setpoint"]
    assert list(made.moves) == [f"options.{REHEAT}.strategy.target_dew_point"]
    name, at = f"options.{REHEAT}.strategy.target_dew_point", control.settings["target_dew_point"]
    assert made.at(2.0) == pytest.approx({name: at + 0.6})


def test_a_machines_own_humidistat_has_an_error_of_its_own() -> None:
    found = stand_ins(with_box(), BOUGHT, {})
    own = found["reading of the humidistat of the dehumidifier"]
    name = f"options.{BOX}.equipment.dehumidifier.humidistat"
    assert own.at(5.0) == {name: 45.0}, "it reads 5 % too high, and dries to 45 %"
    assert not any(BOX in key for key in found["reading of the humidity sensor"].moves)
    assert name in found["humidity setpoint"].moves
    assert f"options.{BOX}.equipment.dehumidifier.deadband" in found["deadbands"].moves


def test_a_rule_tables_deadband_widens_around_its_middle() -> None:
    rows = [
        {"do": "cooling stage 1", "when": "humidity > 56 %",
         "release_when": ["humidity < 52 %", "temperature < 72 degF"]},
        {"do": "cooling stage 2", "when": "temperature > 25 degC", "release_when": "temperature < 24 degC"},
        {"do": "heating", "when": "temperature < 20 degC", "release_when": "temperature > 21 degC"},
    ]  # fmt: skip
    base = attrs.evolve(study(), options={REHEAT: (machines(), ms.rule_table(rows))})
    made = stand_ins(base, BOUGHT, {})["deadbands"].at(0.5)
    values = {name.removeprefix(f"options.{REHEAT}.strategy."): it for name, it in made.items()}
    assert values == pytest.approx({
        "row 1 when": 57.0, "row 1 release 1": 51.0, "row 2 when": 25.25, "row 2 release": 23.75,
        "row 3 when": 19.75, "row 3 release": 21.25,
    })  # fmt: skip


def test_the_fan_on_has_no_delay_and_a_fan_switched_off_none_to_lose() -> None:
    def delay(**changes: Any) -> Any:
        unit = attrs.evolve(machines().cooling, **changes)  # type: ignore[type-var]
        options = {PLAIN: (machines(cooling=unit), ms.strategies.temperature_only)}
        return stand_ins(attrs.evolve(study(), options=options), {}, {}).get("fan-off delay")

    assert delay(fan="on") is None
    name = f"options.{PLAIN}.equipment.cooling.fan_off_delay"
    assert delay(fan_off_delay=0.0).sides == [{name: 30.0}]
    assert delay(fan_off_delay=30.0).sides == [{name: 0.0}, {name: 60.0}]


def test_a_second_system_moves_with_the_first_and_its_humidistat_by_itself() -> None:
    unit = ms.Cooling(stages=[ms.Stage(capacity="1.5 ton")])
    box = ms.Dehumidifier(capacity="50 pint/day", humidistat="50 %")
    second = ms.SecondSystem(cooling=unit, dehumidifier=box)
    rows = [{"do": "cooling stage 1", "when": "humidity > 56 %", "release_when": "humidity < 52 %"}]
    control = ms.strategies.with_dehumidifier.with_second(ms.rule_table(rows))
    house = attrs.evolve(study().house, second_zone=ms.SecondZone(kind="wing", share=0.4))
    options = {REHEAT: (machines(second_system=second), control)}
    base = attrs.evolve(study(), house=house, options=options)
    found = stand_ins(base, {}, {})
    stem = f"options.{REHEAT}"
    for name, key, shift in (
        ("fan-off delay", "equipment.second_system.cooling.fan_off_delay", 30.0),
        ("humidity setpoint", "equipment.second_system.dehumidifier.humidistat", 2.0),
        ("humidity setpoint", "strategy.second_row 1 when", 2.0),
        ("deadbands", "strategy.second_row 1 when", 0.6),
        ("deadbands", "strategy.humidity_deadband", 1.2),
        ("reading of the humidistat of the second system's dehumidifier",
         "equipment.second_system.dehumidifier.humidistat", -5.0),
    ):  # fmt: skip
        made = found[name]
        value, _ = made.moves[f"{stem}.{key}"]
        assert made.at(made.deviation)[f"{stem}.{key}"] - value == pytest.approx(shift)
    assert f"{stem}.equipment.second_system.cooling.stages.1.capacity" in (
        found["capacity of cooling"].moves
    )


# ---------------------------------------------------------------------- a range takes the place


@pytest.mark.parametrize(
    ("ranged", "of", "name"),
    [
        ("strategy.target_rh", ms.normal(52, 1), "humidity setpoint"),
        (OFFSET, ms.normal(0, 1), "reading of the humidity sensor"),
        ("equipment.cooling.fan_off_delay", ms.normal("60 s", "10 s"), "fan-off delay"),
        ("equipment.ventilation.airflow", ms.normal("80 cfm", "5 cfm"), "ventilation delivered"),
        ("house.ach50", ms.normal(4, 1), "air leakage"),
        ("house.gains.occupants", ms.normal(3, 1), "household moisture"),
        ("tariff.price", ms.normal(0.15, 0.01), "energy price"),
        (f"options.{PLAIN}.purchase.first_cost", ms.normal(100, 5), f"first cost of {PLAIN}"),
    ],
)
def test_a_range_takes_the_place_of_its_stand_in_alone(ranged: str, of: Any, name: str) -> None:
    before, after = names(study()), names(study(), {ranged: of})
    assert name in before and name not in after
    assert {key: moves for key, moves in before.items() if key != name} == after
    if ranged.startswith(("strategy", "equipment")):
        own = f"options.{REHEAT}.{ranged}"
        left = names(study(), {own: of}).get(name, set())
        assert left == {key for key in before[name] if REHEAT not in key}, "the other's stays"


def test_a_range_of_one_deadband_leaves_the_others() -> None:
    ranged = "strategy.stage_1_on"
    left = names(study(), {ranged: ms.normal(2, 0.2)})["deadbands"]
    assert left == {key for key in names(study())["deadbands"] if not key.endswith(ranged)}


@pytest.mark.parametrize(
    ("name", "source"),
    [
        ("strategy.humidity_deadband", "deadbands"),
        ("options.My box.equipment.dehumidifier.deadband", "deadbands"),
        ("strategy.stage_2_off", "deadbands"),
        ("strategy.second_enable_over", "deadbands"),
        ("strategy.second_stage_at", "setpoints"),
        ("strategy.cooling_setpoint", "setpoints"),
        ("equipment.dehumidifier.humidistat", "setpoints"),
        (OFFSET, "humidity sensor"),
        ("equipment.cooling.fan_off_delay", "fan-off delay"),
        ("options.A.equipment.ventilation.airflow", "ventilation delivered"),
        ("equipment.ventilation.fan_power", "machine coefficients"),
        ("options.A.house.ducts.supply_leakage", "house description"),
    ],
)
def test_a_range_is_filed_under_the_name_of_its_stand_in(name: str, source: str) -> None:
    assert source_of(name) == source


# ---------------------------------------------------------------------- the budget


def test_the_budget_files_each_under_its_own_name() -> None:
    table = budget({})
    assert [*table.index] == ["time step", *SOURCES, "together"]
    assert "humidity setpoint by 2 % RH, what a person turns" in table.loc["setpoints", "basis"]
    parts = table.drop("together")[["kWh", "USD", "net_savings_USD"]].to_numpy(float)
    assert table.loc["together", "kWh"] == pytest.approx(np.sqrt((parts**2).sum(axis=0))[0])
    # Two sides of each stand-in, each with two options, and the study itself.
    made = stand_ins(study(), BOUGHT, {})
    simulated = [it for it in made.values() if it.source != "prices"]
    assert table.attrs["cases"] == 1 + 2 + sum(len(it.sides) for it in simulated)


def test_where_the_setpoint_dominates_the_budget_says_so_by_two_runs() -> None:
    """An invented house that is otherwise known well: two runs by hand, one at each setpoint."""
    base, known = study(), 1e-4
    ranges: dict[str, Any] = {
        "weather": [base.weather, attrs.evolve(base.weather, name="the same")],
        "house.ach50": ms.normal(base.house.changes_at_50_pa, known),
        "house.gains.moisture": ms.normal(base.house.moisture_gain, 1e-12),
        "house.gains.appliances_and_lights": ms.normal(600.0, known),
        OFFSET: ms.normal(0.0, known),
        "equipment.ventilation.airflow": ms.normal(0.03, 1e-8),
        "equipment.cooling.fan_off_delay": ms.normal(60.0, known),
        "tariff.price": ms.normal(0.15, 1e-6),
    }
    for stage, capacity in (("1", "20 kBtu/h"), ("2", "30 kBtu/h")):
        stem = f"equipment.cooling.stages.{stage}"
        ranges |= {
            f"{stem}.capacity": ms.normal(capacity, "0.01 W"),
            f"{stem}.cop": ms.normal("12.2 Btu/h/W", known),
            f"{stem}.shr": ms.normal(0.72, 1e-5),
        }
    table = budget(ranges)
    order = table.drop("together")["kWh"].sort_values(ascending=False)
    assert order.index[0] == "setpoints"
    ran = [
        attrs.evolve(
            base,
            options={
                name: (
                    it.equipment,
                    it.strategy(target_rh=it.strategy.settings["target_rh"] + side),
                )
                if name == REHEAT
                else (it.equipment, it.strategy)
                for name, it in base.resolved.items()
            },
        ).run(progress=False)
        for side in (-2.0, 2.0)
    ]
    more = [it.seasons[PLAIN].meter.total_kwh - it.seasons[REHEAT].meter.total_kwh for it in ran]
    by_hand = 0.5 * abs(more[1] - more[0])
    assert table.loc["setpoints", "kWh"] == pytest.approx(by_hand, rel=1e-6)
    assert by_hand > 1.0


# ---------------------------------------------------------------------- how sure


def test_without_any_range_the_verdict_has_a_certainty() -> None:
    found = ms.how_sure(
        study(), BOUGHT, None, {}, options=PAIR, n=128, as_set=as_set(), progress=False
    )
    assert len(found.counted) == 128
    made = stand_ins(study(), BOUGHT, {})
    assert set(found.cases.columns) >= {*made, "weather"}
    assert set(found.cases["weather"].value_counts()) == {25, 26}
    for name in ("humidity setpoint", "reading of the humidity sensor"):
        drawn = found.cases[name]
        assert drawn.std() == pytest.approx(made[name].deviation, rel=0.05)
        assert drawn.mean() == pytest.approx(0.0, abs=0.05 * made[name].deviation)
    assert found.cases["fan-off delay"].min() > -60.0
    shares = found.decides["share"]
    assert 0.5 < shares.sum() < 1.3
    assert set(shares.head(2).index) <= {*made}
    assert "moved by stand-ins" in found.verdict and "Assumed certain" not in found.verdict
    assert found.known == []


def test_both_options_of_a_case_have_the_same_sensor() -> None:
    """Common random numbers: a case by hand, with the shift in each option."""
    known = stand_ins(study(), BOUGHT, {})
    found = ms.how_sure(
        study(), BOUGHT, None, {}, options=PAIR, n=8, as_set=as_set(), progress=False
    )
    inputs = found.inputs
    case = inputs.moved(found.cases[[*inputs.ranges]]).iloc[3]
    offset = found.cases["reading of the humidity sensor"].iloc[3]
    assert case[f"options.{REHEAT}.{OFFSET}"] == offset
    # A setpoint and its deadband move one value by the sum of both.
    values = {str(k): v for k, v in case.items() if k != "weather" and ".purchase." not in str(k)}
    values["weather"] = inputs.weathers()[case["weather"]]
    for option, one in varied(study(), values):
        assert isinstance(one, Study)
        season = one.run(progress=False).seasons[option]
        row = found.results.loc[(3, option)]
        assert season.meter.total_kwh == pytest.approx(row["electricity_kWh"], rel=1e-12)
        bill = one.bill(season).unrounded * (1.0 + found.cases["energy price"].iloc[3])
        assert row["electricity_USD"] + row["gas_USD"] == pytest.approx(bill, rel=1e-9)
    assert known["energy price"].moves == {}


def test_without_stand_ins_only_ranges_move() -> None:
    table = budget({"tariff.price": ms.normal(0.15, 0.01)}, stand_ins=False)
    assert [*table.index] == ["time step", "prices", "together"]
    with pytest.raises(ms.InputError, match="how_sure ranges: cannot use"):
        ms.how_sure(study(), BOUGHT, None, {}, stand_ins=False)


def test_names_of_stand_ins_are_words_and_no_names_of_values() -> None:
    for name, made in stand_ins(with_box(), BOUGHT, {}).items():
        assert in_words(name) == name
        with pytest.raises(ms.InputError):
            find(study(), name)
        for moved_name in made.moves:
            if ".purchase." not in moved_name:
                find(with_box(), moved_name)
    with pytest.raises(ms.InputError):
        uncertain_inputs(study(), BOUGHT, None, {"deadbands": ms.normal(0, 1)}, "here")
