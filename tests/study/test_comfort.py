"""Comfort of an option: hours too warm and too cold, and whose they are."""

from functools import lru_cache

import attrs
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.core.display import Show
from moistsim.study import Comfort, bring_to_goal, comfort_of, warmer_room

HALF, THREE = "half a ton", "three tons"
PLAIN = ms.strategies.temperature_only


def unit(tons: float) -> ms.Cooling:
    return ms.Cooling(stages=[ms.Stage(capacity=f"{tons} ton", cop=3.5, shr=0.74)])


def bare(**changes) -> ms.Equipment:
    none = dict.fromkeys(("dehumidifier", "strips", "hot_gas", "heating"))
    return machines(**{**none, **changes})


@lru_cache
def hot() -> ms.Comparison:
    """Ten days of a Miami July: half a ton cannot hold the setpoint, three tons can."""
    options = {HALF: (bare(cooling=unit(0.5)), PLAIN), THREE: (bare(cooling=unit(3)), PLAIN)}
    study = ms.Study(house(), options, stretch("miami", 190, 10), step="5 min")
    return study.run(progress=False)


def with_options(options: dict, **changes) -> ms.Study:
    return ms.Study(house(), options, stretch("miami", 190, 10), step="5 min", **changes)


def test_too_warm_is_more_than_one_kelvin_above_the_setpoint():
    """The hours are those of the hourly means, up to the hours in which the mark is crossed."""
    run = hot()
    for name, season in run.seasons.items():
        it = comfort_of(run.study, season)
        above = (
            season.hourly["indoor_temperature_C"] > season.strategy.settings["cooling_setpoint"] + 1
        )
        crossings = int((above != above.shift()).sum())
        assert it.warm == pytest.approx(float(above.sum()), abs=crossings)
        assert it.most == pytest.approx(2.4)
        assert it.holds == (name == THREE)


def test_words_name_the_side_the_hours_and_what_is_allowed():
    it = Comfort(warm=1457.3, cold=0.0, most=87.6)
    said = "its room is more than {} above its cooling setpoint for 1,457 hours, 88 are allowed"
    assert it.words() == said.format("1 K (1.8 °F)")
    assert it.words(Show("us")) == said.format("1.8 °F")
    assert it.words(Show("si")) == said.format("1.0 °C")
    assert "87.9 hours, 87.6 are allowed" in Comfort(87.9, None, 87.6).words()
    assert "below its heating setpoint for 90 hours" in Comfort(None, 90.0, 87.6).words()
    assert Comfort(87.6, 87.6, 87.6).words() == ""


def test_the_limit_itself_is_held():
    assert Comfort(87.6, 0.0, 87.6).holds
    assert not Comfort(87.7, 0.0, 87.6).holds
    assert not Comfort(0.0, 87.7, 87.6).holds
    assert Comfort(None, None, 87.6).holds
    assert Comfort(100.0, 90.0, 87.6).beyond == pytest.approx(14.8)


def test_as_good_as_another():
    """Within the limit any hours are good; beyond it, none more than the other's."""
    good, bad, worse = (Comfort(hours, None, 88.0) for hours in (10.0, 200.0, 250.0))
    assert Comfort(88.0, None, 88.0).as_good_as(good)
    assert not bad.as_good_as(good)
    assert bad.as_good_as(bad) and good.as_good_as(bad)
    assert not worse.as_good_as(bad)
    assert worse.as_good_as(bad, more=50.0)


def test_a_house_without_heating_is_not_judged_for_cold():
    """A week of a Greensboro January in a house that nothing heats, and in the same with a heat pump."""
    cold = stretch("greensboro", 10, 7)
    alone = {"cools": (bare(cooling=unit(2)), PLAIN)}
    run = ms.Study(house(), alone, cold, step="5 min").run(progress=False)
    it = comfort_of(run.study, run.seasons["cools"])
    assert it.cold is None and it.holds
    small = bare(cooling=unit(2), heating=ms.HeatPump(capacity="0.2 ton"))
    run = ms.Study(house(), {"small": (small, PLAIN)}, cold, step="5 min").run(progress=False)
    it = comfort_of(run.study, run.seasons["small"])
    assert it.cold is not None and it.cold > 50.0
    assert it.too_cold and not it.too_warm


def test_hours_on_vacation_do_not_count():
    """Nobody is there to be too warm, so a thermostat set back is no fault."""
    dates = stretch("miami", 190, 10).frame.index
    first, last = (dates[k].strftime("%m-%d") for k in (0, -1))
    away = house(occupancy=ms.Occupancy(vacations=[f"{first} to {last}"]))
    strategy = PLAIN + ms.strategies.set_back
    study = attrs.evolve(with_options({"away": (bare(cooling=unit(3)), strategy)}), house=away)
    run = study.run(progress=False)
    room = run.seasons["away"].hourly["indoor_temperature_C"]
    assert (room > strategy.settings["cooling_setpoint"] + 1.0).sum() > 20
    assert comfort_of(run.study, run.seasons["away"]).warm == 0.0


def test_rules_without_a_setpoint_are_judged_by_the_base_options():
    rows = [{"do": "cooling stage 1", "when": "temperature > 82 degF",
             "release_when": "temperature < 81 degF"}]  # fmt: skip
    three = bare(cooling=unit(3))
    run = with_options({"base": (three, PLAIN), "rules": (three, ms.rule_table(rows))}).run(
        progress=False
    )
    it = comfort_of(run.study, run.seasons["rules"])
    assert it.too_warm
    assert "the base option’s cooling setpoint" in it.words()
    # Alone, there is no setpoint to judge by.
    alone = with_options({"rules": (three, ms.rule_table(rows))})
    assert comfort_of(alone, run.seasons["rules"]).warm is None


def test_an_option_that_is_too_warm_does_not_fit():
    """It says why, in the words of its comfort."""
    run = hot()
    study = attrs.evolve(run.study, goal=ms.Goal(hours=8760.0), base=THREE)
    found = {n: bring_to_goal(study, n, run.seasons[THREE], run.seasons[n]) for n in study.options}
    assert found[HALF].meets and found[HALF].comparable and not found[HALF].fits
    assert found[HALF].why_not == found[HALF].comfort.words()
    assert found[THREE].fits and found[THREE].why_not == ""


def test_a_base_that_is_too_warm_is_no_standard_of_temperature():
    """Three tons hold the setpoint. They are not colder than a house that cannot hold it."""
    run = hot()
    half, three = run.seasons[HALF], run.seasons[THREE]
    assert (
        three.hourly["indoor_temperature_C"].mean() < half.hourly["indoor_temperature_C"].mean() - 1
    )
    assert warmer_room(three, half) > -0.2
    study = attrs.evolve(run.study, goal=ms.Goal(hours=8760.0))
    assert bring_to_goal(study, THREE, half, three).moved_temperature == 0.0
