"""The owner's goal: humid hours allowed, and the setpoints at which each option keeps it."""

from functools import lru_cache

import attrs
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls import moved
from moistsim.core.units import Role, fahrenheit
from moistsim.study import AtGoal, bring_to_goal
from moistsim.study.at_goal import DRIEST, MARGIN, SAME

PLAIN, REHEAT, DRYER, OVER, RULES = "thermostat", "reheat", "dryer", "overcooling", "rules"
ROWS = [
    {"do": "cooling stage 1", "when": "temperature > 76 degF", "release_when": "temperature < 75 degF"},
    {"do": "cooling stage 1", "when": "humidity > 55 %",
     "release_when": ["humidity < 50 %", "temperature < 71 degF"]},
]  # fmt: skip


@lru_cache
def study(hours: float = 150.0) -> ms.Study:
    """A humid month of a Miami autumn, in coarse steps, with a small goal."""
    options = {
        PLAIN: (machines(), ms.strategies.temperature_only),
        REHEAT: (machines(), ms.strategies.staged_reheat(target_rh=47)),
        DRYER: (machines(), ms.strategies.with_dehumidifier(target_rh=46.5)),
        OVER: (machines(), ms.strategies.overcooling(target_rh=48)),
        RULES: (machines(), ms.rule_table(ROWS)),
    }
    goal = ms.Goal(hours=hours)
    return ms.Study(house(), options, stretch("miami", 270, 28), step="5 min", goal=goal)


@lru_cache
def found(hours: float = 150.0) -> AtGoal:
    return study(hours).at_goal(progress=False)


def test_the_default_is_one_hour_in_a_hundred():
    assert ms.Goal().most_hours(8760.0) == pytest.approx(87.6)
    assert ms.Goal(hours=73).most_hours(4380.0) == pytest.approx(36.5)
    assert ms.Goal().words == "at most 88 hours a year above 60 % RH"


def test_only_marks_that_a_season_counts():
    with pytest.raises(ms.InputError, match="55, 60 or 65"):
        ms.Goal(above_rh=58)


def test_humid_hours_are_those_of_the_meter():
    season = found().as_set.seasons[PLAIN]
    for mark in (55, 60, 65):
        assert (
            ms.Goal(above_rh=mark).humid_hours(season)
            == season.meter.humidity[f"hours_over_{mark}"]
        )


def test_the_more_humid_zone_counts():
    """A wing with all the moisture, and none of the gains and the sun, is the more humid one."""
    two = house(
        second_zone=ms.SecondZone(
            kind="wing", share=0.4, moisture_share=1.0, gains_share=0.0, window_share=0.0
        )
    )
    season = ms.simulate(
        two, machines(), ms.strategies.temperature_only, stretch("miami", 290, 4), step="5 min"
    )
    main, wing = (float((season.hourly[name] > 55).sum())
                  for name in ("indoor_rh_pct", "second_zone_rh_pct"))  # fmt: skip
    assert wing > main
    assert ms.Goal(above_rh=55).humid_hours(season) == pytest.approx(wing)
    assert ms.Goal().humid_hours(season) >= season.meter.humidity["hours_over_60"]


def test_each_option_is_at_the_dampest_setting_that_keeps_the_goal():
    """One percent more breaks the goal, or is too close to the limit."""
    at = found()
    keeping = [name for name, x in at.options.items() if x.meets and x.moved_rh]
    assert {REHEAT, DRYER} <= set(keeping)
    for name in keeping:
        x, goal = at.options[name], at.goal
        assert goal.is_kept(x.season)
        damper = max(x.setpoints.values()) + 1.0
        if damper > goal.above_rh - MARGIN:
            continue
        machine, control = moved(x.equipment, x.strategy, 1.0)
        season = ms.simulate(house(), machine, control, study().weather, step="5 min")
        assert not goal.is_kept(season)


@pytest.mark.parametrize("hours", [0.0, 150.0, 8000.0])
def test_setpoints_end_on_whole_percents_within_their_limits(hours):
    for name in (REHEAT, DRYER):
        x = found(hours).options[name]
        for value in x.setpoints.values():
            assert value == pytest.approx(round(value), abs=1e-9)
            assert DRIEST <= value <= 60.0 - MARGIN


def test_a_goal_that_allows_more_is_no_drier_and_no_more_expensive():
    """Humid hours and money do not fall as the goal is relaxed."""
    strict, loose = found(0.0), found(8000.0)
    for name in (REHEAT, DRYER):
        assert loose.options[name].moved_rh >= strict.options[name].moved_rh
        assert loose.options[name].hours >= strict.options[name].hours
    costs = [at.table()["cost_at_goal_USD"] for at in (strict, loose)]
    assert costs[1][DRYER] <= costs[0][DRYER]


def test_a_colder_room_is_moved_to_the_same_temperature():
    """Overcooling is colder as set, and as warm as the base at the goal, on a half degree."""
    at = found()
    as_set = at.as_set.seasons
    cooled = as_set[PLAIN].hourly["compressor_kWh"] > 0.01
    mean = {n: s.hourly["indoor_temperature_C"][cooled].mean() for n, s in as_set.items()}
    assert mean[OVER] < mean[PLAIN] - SAME
    x = at.options[OVER]
    assert x.moved_temperature > 0.0
    assert x.warmer >= -SAME
    again = x.season.hourly["indoor_temperature_C"][cooled].mean() - mean[PLAIN]
    assert x.warmer == pytest.approx(again)
    assert 2.0 * fahrenheit(x.strategy.setpoint(Role.COOLING)) % 1.0 == pytest.approx(0.0, abs=1e-6)


def test_rows_that_hold_a_colder_room_are_not_comparable():
    x = found().options[RULES]
    assert x.warmer < -SAME
    assert not x.comparable
    assert "colder" in x.why_not or "humid" in x.why_not
    assert x.moved_temperature == 0.0


def test_the_base_stays_as_it_is():
    x = found().options[PLAIN]
    assert (x.moved_rh, x.moved_temperature, x.warmer, x.runs) == (0.0, 0.0, 0.0, 0)
    assert x.strategy is study().options[PLAIN][1]
    assert "no humidity setpoint" in x.why_not


def test_an_option_that_keeps_the_goal_already_gets_damper_not_drier():
    at = found(8000.0)
    assert all(at.options[name].moved_rh > 0.0 for name in (REHEAT, DRYER))


def test_the_table_says_what_moved():
    at = found()
    si, us = at.table("si"), at.table("us")
    assert list(si.index) == list(study().options)
    assert si["keeps_goal"][DRYER]
    assert us["moved_degF"][OVER] == pytest.approx(1.8 * si["moved_K"][OVER])
    assert at.moved_words(PLAIN) == "nothing"
    assert at.moved_words(DRYER).startswith("humidity setpoint from 46 % to") or at.moved_words(
        DRYER
    ).startswith("humidity setpoint from 47 % to")
    assert "°F" in at.moved_words(OVER)
    assert "°C" in at.moved_words(OVER, "si")
    assert set(at.cannot) >= {PLAIN}
    with pytest.raises(ms.InputError):
        at.table("metric")


def test_the_comparison_has_the_moved_setpoints():
    at = found()
    assert at.comparison.seasons[DRYER] is at.options[DRYER].season
    assert at.study.options[DRYER][1].settings["target_rh"] == max(
        at.options[DRYER].setpoints.values()
    )
    assert at.study.goal == study().goal


def test_one_option_alone():
    alone = bring_to_goal(study(), DRYER, found().as_set.seasons[PLAIN])
    assert alone.moved_rh == found().options[DRYER].moved_rh
    with pytest.raises(ms.InputError, match="nothing like it|one of"):
        bring_to_goal(study(), "nothing like it", found().as_set.seasons[PLAIN])


def test_a_comparison_of_another_study_is_refused():
    other = attrs.evolve(study(), end=None, step="10 min")
    with pytest.raises(ms.InputError, match="step"):
        other.at_goal(as_set=found().as_set, progress=False)
