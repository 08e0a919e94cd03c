"""Proposed machines: the proposed size keeps the goal, and the next smaller one does not."""

from functools import lru_cache
from typing import Any

import attrs
import pytest
from support.houses import house
from support.machines import two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.cures.proposals import DUCTED_BOX, HALF_KW, PINTS, SMALL_BOX
from moistsim.study import Option, warmer_room

PINT = 0.473176473 * 0.9982 / 86400.0
PLAIN = ms.Equipment(
    cooling=two_stage(), ventilation=ms.Ventilation(kind="supply", airflow="150 cfm")
)
BOUGHT = {
    "plain": ms.Purchase(first_cost=0),
    "dryer": ms.Purchase(first_cost=2100, life=9),
}


@lru_cache
def study(hours: float | None = None) -> ms.Study:
    """A humid month of a Miami autumn in a ventilated house, in coarse steps."""
    dried = attrs.evolve(PLAIN, dehumidifier=ms.Dehumidifier(capacity="90 pint/day"))
    options: Any = {
        "plain": (PLAIN, ms.strategies.temperature_only),
        "dryer": (dried, ms.strategies.with_dehumidifier(target_rh=50)),
    }
    return ms.Study(
        house(gains=ms.Gains(occupants=7.0)), options, stretch("miami", 270, 28), step="5 min",
        goal=ms.Goal(hours=hours),
    )  # fmt: skip


@lru_cache
def found() -> dict[str, ms.Proposal]:
    return {x.kind: x for x in ms.proposals(study(), purchases=BOUGHT, progress=False)}


def run(option: Option) -> ms.Season:
    return ms.simulate(
        option.house, option.equipment, option.strategy, study().weather, step="5 min"
    )


def test_both_kinds_are_proposed() -> None:
    assert list(found()) == ["dehumidifier", "strips"]
    assert all(x.meets for x in found().values())


@pytest.mark.parametrize("kind", ["dehumidifier", "strips"])
def test_the_proposed_size_keeps_the_goal_and_the_next_smaller_does_not(kind: str) -> None:
    it = found()[kind]
    assert it.option is not None
    season = run(it.option)
    assert study().goal.is_kept(season)
    assert study().goal.humid_hours(season) == it.humid_hours
    assert it.smaller is not None and it.smaller < it.size
    machines: Any = it.option.equipment
    if kind == "dehumidifier":
        box = machines.dehumidifier
        scale = it.smaller / it.size
        less = attrs.evolve(box, capacity=scale * box.capacity, airflow=scale * box.airflow)
        smaller = run(it.option._replace(equipment=attrs.evolve(machines, dehumidifier=less)))
        assert not study().goal.is_kept(smaller)
        assert study().goal.humid_hours(smaller) == pytest.approx(it.smaller_hours)
    else:
        less = attrs.evolve(machines.strips, stages=(it.smaller,))
        smaller = run(it.option._replace(equipment=attrs.evolve(machines, strips=less)))
        base = run(study().resolved["plain"])
        held = study().goal.is_kept(smaller) and warmer_room(smaller, base) >= -0.2
        mine, its = (x.hourly["indoor_temperature_C"].to_numpy() for x in (smaller, base))
        ample = attrs.evolve(machines.strips, stages=(15000.0,))
        largest = run(it.option._replace(equipment=attrs.evolve(machines, strips=ample)))
        most = largest.hourly["indoor_temperature_C"].to_numpy()
        colder = (mine < its - 1.0).sum() - (most < its - 1.0).sum()
        assert not (held and colder <= 0.01 * len(mine))


def test_a_proposal_is_an_option_with_a_price() -> None:
    box, kit = found()["dehumidifier"], found()["strips"]
    assert round(box.size / PINT) in PINTS
    assert kit.size / 1000.0 in HALF_KW
    assert box.name == f"Dehumidifier, {round(box.size / PINT)} pints/day"
    # The file's dehumidifier is of another class. It has no option with reheat.
    assert box.size < PINT * 90 / 1.5 and box.price_of == "" and "stand-in" in box.price_words
    assert kit.price_of == "" and "stand-in" in kit.price_words
    machines = box.option.equipment if box.option else None
    assert machines is not None and machines.dehumidifier is not None
    assert machines.dehumidifier.humidistat == 55.0
    options = {**study().options, **{x.name: x.option for x in found().values() if x.option}}
    whole: Any = attrs.evolve(study(), options=options)
    assert [*whole.run(progress=False).seasons][-1] == kit.name


@pytest.mark.parametrize(("times", "first_cost"), [(1.4, 2100), (3.0, 200)])
def test_a_machine_of_its_class_or_a_cheaper_one_gives_its_price(
    times: float, first_cost: float
) -> None:
    size = found()["dehumidifier"].size
    dried = attrs.evolve(PLAIN, dehumidifier=ms.Dehumidifier(capacity=times * size))
    options: Any = {**study().options, "dryer": (dried, ms.strategies.with_dehumidifier)}
    bought = {**BOUGHT, "dryer": ms.Purchase(first_cost=first_cost, life=9)}
    one: Any = attrs.evolve(study(), options=options)
    box = ms.proposals(one, purchases=bought, progress=False)[0]
    assert box.price_of == "dryer" and box.purchase == bought["dryer"]
    assert box.price_words == f"Price: no more than the {first_cost:,} USD of “dryer”."


def test_each_says_why_nothing_smaller_does() -> None:
    for it in found().values():
        us, si = it.why("us"), it.why("si")
        assert "smallest that keeps the goal" in us and " leaves " in us
        assert ("pints/day" in us) == ("L/day" in si)


def test_without_a_file_price_it_is_a_stand_in() -> None:
    alone = attrs.evolve(study(), options={"plain": study().options["plain"]})
    box = ms.proposals(alone, progress=False)[0]
    pints = round(box.size / PINT)
    assert box.purchase == (SMALL_BOX if pints <= 50 else DUCTED_BOX)


def test_nothing_is_proposed_to_a_house_that_keeps_the_goal() -> None:
    assert ms.proposals(study(8760.0), progress=False) == ()


def test_no_size_is_a_sentence() -> None:
    """No dehumidifier holds a house that takes in 700 cfm of humid air."""
    air = ms.Ventilation(kind="balanced", airflow="1500 cfm")
    flooded = attrs.evolve(PLAIN, ventilation=air)
    options: Any = {"plain": (flooded, ms.strategies.temperature_only)}
    it = attrs.evolve(study(), options=options)
    box, kit = ms.proposals(it, progress=False)
    assert not box.meets and box.option is None and box.purchase is None and box.price_words == ""
    assert box.why("us").startswith("No dehumidifier up to 200 pints/day keeps the goal: ")
    assert kit.kind == "strips"


def test_a_smaller_goal_never_asks_for_a_smaller_machine() -> None:
    sizes = [
        next(
            x.size if x.meets else float("inf")
            for x in ms.proposals(study(hours), progress=False)
            if x.kind == "dehumidifier"
        )
        for hours in (40.0, 400.0, 2000.0)
    ]
    assert sizes == sorted(sizes, reverse=True)


def test_a_near_miss_is_told_from_a_hit() -> None:
    it = attrs.evolve(found()["dehumidifier"], most_hours=87.6, smaller_hours=88.2)
    assert " of 87.6 allowed" in it.why("us") and " leaves 88.2 hours." in it.why("us")
