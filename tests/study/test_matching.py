"""Options at the same humidity: what is moved, what it reaches, and what is said where it cannot."""

import itertools
from functools import lru_cache

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls.thresholds import K_PER_PERCENT, USUAL_LIMITS, moved, reach, thresholds
from moistsim.study.matching import MOST_RUNS, _search, match_option, read_measure

PLAIN, REHEAT, DRYER, OVER = "thermostat", "reheat", "dehumidifier", "overcooling"
ROWS = [
    {"do": "cooling stage 1", "when": "temperature > 76 degF", "release_when": "temperature < 74 degF"},
    {"do": "dehumidifier", "name": "drying", "when": "humidity > 56 %", "for": "5 min",
     "release_when": ["humidity < 51 %", "dew point < 50 degF", "message age > 15 min"]},
    {"do": "ventilation at 30 %", "when": "outdoor dew point > 62 degF",
     "release_when": "outdoor dew point < dew point + 2 K"},
]  # fmt: skip


@ms.strategy
def by_night(
    readings, memory, *, dry_above: ms.units.HumiditySetpoint = 56.0, rh_deadband: ms.units.Percent = 20.0,
    more_by: ms.units.Percent = 6.0, outdoor_rh_above: ms.units.Percent = 70.0,
    dew_point_above: ms.units.DewPointSetpoint = 13.0, cooling_setpoint: ms.units.CoolingSetpoint = 24.5,
):  # fmt: skip
    return ms.Calls()


@lru_cache
def study() -> ms.Study:
    """A warm, humid fortnight of a Miami autumn, in coarse steps."""
    options = {
        PLAIN: (machines(), ms.strategies.temperature_only),
        REHEAT: (machines(), ms.strategies.staged_reheat),
        DRYER: (machines(), ms.strategies.with_dehumidifier(target_rh=58)),
        OVER: (machines(), ms.strategies.overcooling),
    }
    return ms.Study(house(), options, stretch("miami", 290, 14), step="5 min")


@lru_cache
def matched() -> ms.Matched:
    return study().matched(within="0.1 K", target=DRYER, progress=False)


def names(control: ms.Strategy, **changes) -> set[str]:
    return {f"{x.owner} {x.name}" for x in thresholds(machines(**changes), control)}


def test_which_setpoints_answer_humidity():
    built_in = ms.strategies.BUILT_IN
    assert not names(built_in["temperature_only"])
    for name in set(built_in) - {"temperature_only"}:
        assert names(built_in[name]) == {"strategy target_rh"}
    reheat = ms.strategies.staged_reheat
    slower = reheat + ms.strategies.slower_airflow + ms.strategies.held_back_ventilation
    assert names(slower) == {"strategy target_rh"}
    by_dew_point = reheat + ms.strategies.dew_point_control
    assert names(by_dew_point) == {"strategy target_dew_point"}
    assert names(by_night) == {"strategy dry_above", "strategy dew_point_above"}
    assert names(ms.rule_table(ROWS)) == {
        "strategy drying when", "strategy drying release 1", "strategy drying release 2"
    }  # fmt: skip
    dryer = ms.Dehumidifier(capacity="70 pint/day", humidistat="50 %")
    assert names(built_in["temperature_only"], dehumidifier=dryer, enable=ms.Enable()) == {
        "dehumidifier humidistat", "enable on_above", "enable off_below"
    }  # fmt: skip


@pytest.mark.parametrize(
    "option",
    [
        (machines(), ms.strategies.staged_reheat),
        (machines(), ms.strategies.hot_gas_reheat + ms.strategies.dew_point_control),
        (machines(), ms.rule_table(ROWS)),
        (machines(), ms.rule_table(ROWS) + ms.strategies.slower_airflow),
        (machines(), by_night),
        (
            machines(
                dehumidifier=ms.Dehumidifier(capacity="70 pint/day", humidistat="50 %"),
                enable=ms.Enable(),
            ),
            ms.strategies.with_dehumidifier,
        ),
    ],
)
@given(share=st.floats(0.0, 1.0))
def test_setpoints_move_by_one_amount_and_keep_their_order(option, share):
    low, high = reach(*option)
    assert low < 0.0 < high
    shift = low + share * (high - low)
    before, after = thresholds(*option), thresholds(*moved(*option, shift))
    # The same ones, in the same order: none has become too low to be told from a difference.
    assert [(x.owner, x.name) for x in before] == [(x.owner, x.name) for x in after]
    for was, now in zip(before, after, strict=True):
        scale = {"percent": 1.0, "degC": K_PER_PERCENT}[was.unit]
        assert now.value - was.value == pytest.approx(scale * shift, abs=1e-9)
        assert was.least - 1e-9 <= now.value <= was.most + 1e-9
    for a, b in itertools.combinations(range(len(before)), 2):
        if before[a].unit == before[b].unit and before[a].value < before[b].value:
            assert after[a].value < after[b].value
    # What is no threshold stays.
    named = {x.name for x in before}
    for name, value in option[1].settings.items():
        assert name in named or moved(*option, shift)[1].settings[name] == value


@ms.strategy
def declares_nothing(
    readings, memory, *, night_offset: ms.units.Percent = 16.0, hysteresis: ms.units.Percent = 20.0,
    minimum_blower: ms.units.Percent = 40.0, room_dew_point: ms.units.DegC = 13.0,
):  # fmt: skip
    """Percents and a dew point that are no setpoints of the room's humidity."""
    humid = readings.relative_humidity > 100.0 - hysteresis - night_offset
    return ms.Calls(dehumidifier=1 if humid else 0, airflow=0.01 * minimum_blower)


@ms.strategy
def declares_all(
    readings, memory, *, outdoor_deadband: ms.units.HumiditySetpoint = 54.0,
    margin: ms.units.HumiditySetpoint = 12.0, cold_at: ms.units.DewPointSetpoint = 13.0,
):  # fmt: skip
    """Setpoints whose names and values look like something else."""
    if readings.relative_humidity > outdoor_deadband:
        memory[0] = 1.0
    elif readings.relative_humidity < outdoor_deadband - 4.0:
        memory[0] = 0.0
    wet = memory[0] > 0.0 and readings.dew_point > cold_at and readings.relative_humidity > margin
    return ms.Calls(dehumidifier=1 if wet else 0, cooling=1 if readings.temperature > 24.5 else 0)


def test_a_setting_is_a_setpoint_by_its_declaration_and_not_by_its_name_or_value():
    assert thresholds(machines(), declares_nothing) == ()
    assert moved(machines(), declares_nothing, 3.0)[1] == declares_nothing
    found = {x.name: x.value for x in thresholds(machines(), declares_all)}
    assert found == {"outdoor_deadband": 54.0, "margin": 12.0, "cold_at": 13.0}
    settings = moved(machines(), declares_all, 3.0)[1].settings
    assert settings == {
        "outdoor_deadband": 57.0, "margin": 15.0, "cold_at": pytest.approx(13.0 + 3.0 * K_PER_PERCENT)
    }  # fmt: skip


def test_matched_moves_what_is_declared_and_nothing_else():
    options = {
        DRYER: (machines(), ms.strategies.with_dehumidifier(target_rh=58)),
        "nothing": (machines(), declares_nothing),
        "all": (machines(), declares_all(margin=40.0, cold_at=8.0)),
    }
    few = attrs.evolve(study(), options=options, base=None)
    found = few.matched(within="0.2 K", target=DRYER, progress=False).options
    assert found["nothing"].strategy == declares_nothing and found["nothing"].setpoints == {}
    assert not found["nothing"].matched
    assert found["all"].matched and abs(found["all"].shift) > 0.5
    assert found["all"].setpoints["outdoor_deadband"] == pytest.approx(54.0 + found["all"].shift)
    assert found["all"].setpoints["margin"] == pytest.approx(40.0 + found["all"].shift)


def test_what_a_strategy_refuses_is_not_in_reach():
    def not_below_45(settings):
        if settings["dry_above"] < 45.0:
            raise ms.InputError("strategy careful.dry_above", settings["dry_above"], "45 % or more")

    @ms.strategy(check=not_below_45)
    def careful(readings, memory, *, dry_above: ms.units.HumiditySetpoint = 56.0):
        return ms.Calls()

    low, high = reach(machines(), careful)
    assert -11.0 <= low < -8.0
    assert high == pytest.approx(95.0 - 56.0)
    assert reach(machines(), ms.strategies.temperature_only) == (0.0, 0.0)


@given(
    slope=st.floats(0.01, 0.6), bend=st.floats(-0.4, 0.4), wanted=st.floats(-3.0, 3.0),
    jump=st.floats(0.0, 0.3),
)  # fmt: skip
def test_search_finds_a_root_or_the_end_or_a_jump(slope, bend, wanted, jump):
    # Rising, bent and broken by jumps, as humidity by setpoint is.
    calls = []

    def away(shift):
        calls.append(shift)
        steps = jump * np.floor(shift / 4.0) if jump else 0.0
        return slope * (shift + bend * 5.0 * np.sin(shift / 5.0)) + steps - wanted

    tried = _search(away, -wanted, (-30.0, 30.0), 0.1, 0.3)
    assert len(calls) == len(set(calls)) <= MOST_RUNS
    assert all(-30.0 <= shift <= 30.0 for shift in calls)
    gaps = [*tried.values()]
    near = min(abs(gap) for gap in gaps)
    end = -30.0 if wanted < 0.0 else 30.0
    if near <= 0.1:
        return
    if min(gaps) < 0.0 < max(gaps):
        # Between two runs that lie close together, over a jump wider than the tolerance; or, with
        # eight runs spent, at least closed in.
        below = max((s for s, g in tried.items() if g < 0.0), default=-30.0)
        above = min((s for s, g in tried.items() if g > 0.0), default=30.0)
        assert above - below < 10.0
        assert jump > 0.0 or len(calls) == MOST_RUNS
    else:
        assert end in tried


def test_options_hold_the_same_humidity():
    found = matched()
    assert found.target == found.as_set.seasons[DRYER].meter.humidity["mean_dew_point_C"]
    for name in (REHEAT, DRYER, OVER):
        option = found.options[name]
        assert option.matched
        assert abs(option.season.meter.humidity["mean_dew_point_C"] - found.target) <= 0.1
        assert option.runs <= MOST_RUNS
    assert found.options[DRYER].shift == 0.0
    # As set they are drier than the dehumidifier at 58 %, so that they are moved up.
    assert found.options[REHEAT].shift > 2.0
    reheat = found.options[REHEAT]
    assert reheat.setpoints == {"target_rh": pytest.approx(55.0 + reheat.shift)}
    # Damper is cheaper, and what is said is what is run: the season again, from its setpoints.
    before, after = found.as_set.table(), found.comparison.table()
    assert after.loc[REHEAT, "total_kWh"] < before.loc[REHEAT, "total_kWh"]
    again = ms.simulate(
        study().house, machines(), reheat.strategy, study().weather, step="5 min"
    ).meter.total_kwh
    assert after.loc[REHEAT, "total_kWh"] == again
    assert set(after["humidity_against_base"]) <= {"base", "as dry as the base"} or found.cannot


def test_thermostat_cannot_and_says_what_it_reaches():
    found = matched()
    assert set(found.cannot) == {PLAIN}
    reached = found.as_set.seasons[PLAIN].meter.humidity["mean_dew_point_C"]
    said = found.cannot[PLAIN]
    assert f"mean dew point {reached:.1f} °C" in said
    assert said.startswith("thermostat: ")
    assert "no humidity setpoint to move" in said
    assert found.options[PLAIN].runs == 0


def test_table_says_whether_the_same_dew_point_is_held_by_being_cold():
    found = matched()
    table, seasons = found.table(), found.comparison.seasons
    for name, season in seasons.items():
        assert table.loc[name, "mean_rh_matched_pct"] == season.meter.humidity["mean_rh_pct"]
        cold = season.meter.comfort_h["below_cooling_setpoint"]
        assert table.loc[name, "below_cooling_setpoint_matched_h"] == cold
    # Overcooling holds the dehumidifier's dew point in a colder room, at a higher RH.
    assert table.loc[OVER, "mean_rh_matched_pct"] > table.loc[DRYER, "mean_rh_matched_pct"]
    cold = table["below_cooling_setpoint_matched_h"]
    assert cold[OVER] > cold[DRYER]


def test_table_of_a_control_without_a_setpoint_of_temperature():
    rows = [
        {"do": "cooling stage 1", "when": "temperature > 76 degF",
         "release_when": "temperature < 74 degF"},
    ]  # fmt: skip
    options = {"rows": (machines(), ms.rule_table(rows)), **study().options}
    short = attrs.evolve(study(), options=options, start="10-20", end="10-20")
    table = short.matched(target=PLAIN, within="1 K", progress=False).table("us")
    assert table["below_cooling_setpoint_as_set_h"].isna().to_dict() == {
        name: name == "rows" for name in options
    }


def test_seasons_of_another_study_are_refused():
    short = attrs.evolve(study(), end="10-20")
    with pytest.raises(
        ms.InputError,
        match=(
            r"study as_set: a comparison of a study with end of its own\. Use what this "
            r"study's `run` returned\."
        ),
    ):
        short.matched(as_set=matched().as_set)


def test_seasons_serve_under_another_tariff():
    dear = attrs.evolve(study(), tariff=ms.Tariff(price=2 * study().tariff.price))
    found = dear.matched(within="0.1 K", target=DRYER, as_set=matched().as_set, progress=False)
    for name, once in matched().table()[["cost_as_set_USD", "cost_matched_USD"]].iterrows():
        twice = found.table().loc[name, ["cost_as_set_USD", "cost_matched_USD"]]
        assert twice.to_list() == pytest.approx([2.0 * cost for cost in once])


def test_table_shows_both():
    table = matched().table()
    assert [*table.index] == [*study().options]
    assert np.isnan(table.loc[PLAIN, "moved_pct_RH"])
    assert table.loc[PLAIN, "setpoints"] == ""
    assert table.loc[DRYER, "setpoints"] == "target_rh 58.0 %"
    assert [*table["matched"]] == [False, True, True, True]
    before = matched().as_set.table()
    assert [*table["cost_as_set_USD"]] == [*before["cost_USD"]]
    assert table.loc[REHEAT, "cost_matched_USD"] < table.loc[REHEAT, "cost_as_set_USD"]
    trade = matched().table("us")
    assert trade.loc[DRYER, "mean_dew_point_target_F"] == pytest.approx(
        32.0 + 1.8 * matched().target
    )
    with pytest.raises(ms.InputError, match="'si' or 'us'"):
        matched().table("metric")


def test_driest_that_can_move_is_the_target_by_default():
    few = attrs.evolve(study(), options={n: study().options[n] for n in (PLAIN, DRYER, REHEAT)})
    found = few.matched("RH-hours above 55 %", as_set=None, progress=False)
    excess = {n: s.meter.humidity["rh_hours_over_55"] for n, s in found.as_set.seasons.items()}
    assert found.target == min(excess[DRYER], excess[REHEAT])
    assert found.within == 20.0
    for name in (DRYER, REHEAT):
        now = found.options[name].season.meter.humidity["rh_hours_over_55"]
        assert abs(now - found.target) <= 20.0


def test_one_option_alone_and_a_target_out_of_reach():
    option = match_option(study(), DRYER, "57 degF", "0.3 K")
    assert option.matched
    assert option.target == pytest.approx((57.0 - 32.0) / 1.8)
    small = machines(dehumidifier=ms.Dehumidifier(capacity="10 pint/day"))
    weak = attrs.evolve(study(), options={DRYER: (small, ms.strategies.with_dehumidifier)})
    option = match_option(weak, DRYER, "5 degC")
    assert not option.matched
    assert USUAL_LIMITS["percent"].low - 55.0 <= option.shift < -10.0
    assert "to their limit" in option.why_not or "no closer" in option.why_not
    assert "above the target" in option.why_not
    # Without the machine its humidistat decides nothing.
    none = attrs.evolve(
        study(), options={DRYER: (machines(dehumidifier=None), ms.strategies.with_dehumidifier)}
    )
    assert "change nothing" in match_option(none, DRYER, "12 degC").why_not


def test_humidity_rises_with_the_shift():
    for name in (DRYER, REHEAT):
        values = []
        for shift in (-6.0, -2.0, 2.0, 6.0):
            machine, control = moved(*study().options[name], shift)
            season = ms.simulate(study().house, machine, control, study().weather, step="5 min")
            values.append(season.meter.humidity["mean_dew_point_C"])
        assert values == sorted(values)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"measure": "wetness"}, "matched measure: cannot use 'wetness'. Use 'mean dew point'"),
        ({"measure": "hours above 60 %"}, "which move steadily with the setpoints"),
        ({"measure": 55}, "matched measure: cannot use 55"),
        ({"within": "-0.2 K"}, "matched within: cannot use '-0.2 K'. Use a difference above zero"),
        (
            {"within": "0.2 kWh"},
            (
                "matched within: cannot read '0.2 kWh' as a temperature "
                "difference. Write '2 F' or '1 K'."
            ),
        ),
        ({"target": "Dehumidifer"}, "Use an option (thermostat, reheat"),
        (
            {"measure": "RH-hours above 55 %", "within": "two"},
            ("matched within: cannot read 'two' as a number. Write '4'."),
        ),
    ],
)
def test_bad_input_is_one_sentence_before_any_run(arguments, said, monkeypatch):
    monkeypatch.setattr("moistsim.study.study.simulate", lambda *a, **k: pytest.fail("it ran"))
    with pytest.raises(ms.InputError) as error:
        study().matched(**arguments)
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_unknown_option():
    with pytest.raises(ms.InputError, match="matched option: cannot use 'fan'. Use one of therm"):
        match_option(study(), "fan", 12.0)
    assert read_measure("Mean  dew point").name == "mean_dew_point_C"
