"""A study with other values, by the names that a sweep varies."""

from functools import cache

import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.study import Study

PLAIN, DRYER, SEALED = "thermostat", "dehumidifier", "dehumidifier.and sealing"
DRY = ms.strategies.with_dehumidifier(target_rh=52)


@cache
def study() -> Study:
    options = {
        PLAIN: (machines(dehumidifier=None), ms.strategies.temperature_only),
        DRYER: (machines(), DRY),
        SEALED: (machines(), DRY, house(ach50=2.0)),
    }
    return ms.Study(house(ach50=6.0), options, stretch("miami", 190, 2), step="5 min")


def settings(of: Study) -> list[float | None]:
    return [option.strategy.settings.get("target_rh") for option in of.resolved.values()]


def test_its_own_fields() -> None:
    after = study().evolve(
        {"tariff.price": "20 cent/kWh", "goal.hours": 10}, start="07-10", base=DRYER
    )
    assert (after.tariff.price, after.goal.hours, after.start) == (0.2, 10, "07-10")
    assert (after.base, study().base) == (DRYER, None)
    assert after.options == study().options


def test_a_value_of_all_options_that_have_it() -> None:
    assert settings(study().evolve({"strategy.target_rh": "48 %"})) == [None, 48.0, 48.0]
    small = study().evolve({"equipment.dehumidifier.capacity": "50 pint/day"})
    sizes = [option.equipment.dehumidifier for option in small.resolved.values()]
    assert sizes[0] is None
    assert {box.capacity for box in sizes[1:] if box} == {
        ms.Dehumidifier(capacity="50 pint/day").capacity
    }


def test_a_value_of_one_option() -> None:
    assert settings(study().evolve({f"options.{SEALED}.strategy.target_rh": 45})) == [
        None,
        52.0,
        45.0,
    ]
    assert settings(study().evolve({f"options.{DRYER}.strategy.target_rh": 45})) == [
        None,
        45.0,
        52.0,
    ]


def test_what_an_option_changes_in_the_house_is_changed_in_the_new_one() -> None:
    after = study().evolve({"house.bedrooms": 4})
    assert [option.house.bedrooms for option in after.resolved.values()] == [4.0, 4.0, 4.0]
    assert [option.house.ach50 for option in after.resolved.values()] == [6.0, 6.0, 2.0]
    (change,) = after.changes(SEALED)
    assert change.path == ("ach50",)


def test_the_same_names_as_in_a_sweep_make_the_same_study() -> None:
    values = {
        "house.ach50": 4.0,
        "strategy.target_rh": 50.0,
        "equipment.cooling.fan_off_delay": 60.0,
        f"options.{DRYER}.strategy.target_rh": 47.0,
        "tariff.price": 0.3,
    }
    sweep = ms.Sweep(study(), {name: [value] for name, value in values.items()})
    by_sweep, by_hand = sweep.study(0), study().evolve(values)
    assert by_hand.resolved == by_sweep.resolved
    assert (by_hand.house, by_hand.tariff) == (by_sweep.house, by_sweep.tariff)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("stat", "unknown name 'stat'. Did you mean 'start'?"),
        ("house.ach5", "unknown field 'ach5' of house. Did you mean 'ach50'?"),
        ("strategy.target_r", "unknown setting 'target_r'. Did you mean 'target_rh'?"),
        ("equipment.coolin.fan", "unknown field 'coolin'. Did you mean 'cooling'?"),
        ("equipment.furnace.capacity", "no option with the part of equipment.furnace.capacity."),
        ("options.thermostatt.house.ach50", "unknown option 'thermostatt'. Did you mean 'thermostat'?"),
        ("options.thermostat.hose.ach50", "unknown part 'hose' of an option. Did you mean 'house'?"),
    ],
)  # fmt: skip
def test_unknown_names_are_refused_in_a_sentence(name: str, sentence: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        study().evolve({name: 3.0})
    assert f"Study.evolve: {sentence}" in str(caught.value)
