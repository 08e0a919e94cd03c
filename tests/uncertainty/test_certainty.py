"""How sure a verdict is: shares that can be known beforehand, seeds, workers, words, pictures."""

import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs
import matplotlib
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from scipy import stats
from support.small_sweeps import PLAIN, REHEAT, study
from support.weathers import stretch

import moistsim as ms
from moistsim.__main__ import main
from moistsim.figures import certainty_figure, error_budget_figure
from moistsim.figures.certainty import GAIN, UNSURE
from moistsim.scenario import DEMO, ScenarioError, read_scenario, write_scenario
from moistsim.sensitivity.sampling import Normal, in_si, plus_minus
from moistsim.study.study import Comparison
from moistsim.uncertainty import certainty as module
from moistsim.uncertainty.error_sources import MEASURES, budget_words

COST = f"options.{REHEAT}.purchase.first_cost"
ACH, PRICE = "house.ach50", "tariff.price"
BOUGHT = {
    REHEAT: ms.Purchase(first_cost=20.0, life=10),
    PLAIN: ms.Purchase(first_cost=100.0, life=10),
}
PAIR = (PLAIN, REHEAT)
"""The more expensive to buy is the cheaper to run, as two July days will have it."""


@lru_cache
def as_set() -> Comparison:
    return study().run(progress=False)


def sure(ranges: dict[str, Any], n: int = 16, **more: Any) -> ms.Certainty:
    """Certainty from these ranges alone, unless stand-ins are asked for."""
    what = {"options": PAIR, "as_set": as_set(), "progress": False, "stand_ins": False} | more
    purchases = what.pop("purchases", BOUGHT)
    return ms.how_sure(study(), purchases, ms.Terms(), ranges, n=n, **what)


def break_even() -> float:
    """The first cost of the more expensive option at which nothing is saved over its life of ten years."""
    found = ms.economics(as_set(), BOUGHT, ms.Terms(years=10)).break_even(*PAIR)
    assert found.first_cost is not None
    return found.first_cost


# ---------------------------------------------------------------------- what can be known beforehand


def test_a_first_cost_alone_gives_the_share_of_its_distribution_below_the_break_even() -> None:
    """The quantile function and the economics against the normal distribution of scipy."""
    turn = break_even()
    name = f"options.{PLAIN}.purchase.first_cost"
    for shift in (-1.0, 0.0, 0.5):
        found = sure({name: ms.normal(turn + 5.0 * shift, 5.0)}, n=1024)
        assert found.probability == pytest.approx(stats.norm.cdf(-shift), abs=0.004)
        assert found.band[0] < stats.norm.cdf(-shift) < found.band[1]
    assert found.simple_probability > found.probability


@pytest.mark.parametrize(("low", "high", "share"), [(0.1, 0.9, 1.0), (1.1, 3.0, 0.0)])
def test_a_certain_case_is_certain(low: float, high: float, share: float) -> None:
    turn = break_even()
    name = f"options.{PLAIN}.purchase.first_cost"
    found = sure({name: ms.uniform(low * turn, high * turn)}, n=32)
    assert found.probability == share
    assert ("in 100 % of 32" if share else "in 0 % of 32") in found.verdict
    assert found.band[0] < 1.0 and found.band[1] > 0.0


def test_dearer_electricity_speaks_for_what_is_cheaper_to_run() -> None:
    name = f"options.{PLAIN}.purchase.first_cost"
    turn = break_even()
    shares = [
        sure({name: ms.uniform(0.5 * turn, 1.5 * turn), PRICE: ms.uniform(p, p + 0.01)}, n=64).probability
        for p in (0.12, 0.15, 0.18)
    ]  # fmt: skip
    assert shares == sorted(shares)
    assert shares[0] < shares[1] < shares[2]


def test_what_decides_is_the_share_of_a_sum_of_known_parts() -> None:
    """Net savings are a straight line in a first cost: variances add up, in closed form."""
    names = [f"options.{option}.purchase.first_cost" for option in PAIR]
    purchases = {o: ms.Purchase(first_cost=100.0, life=10) for o in PAIR}
    found = sure(
        {names[0]: ms.uniform(40.0, 160.0), names[1]: ms.uniform(70.0, 130.0),
         "economics.gas_escalation": ms.uniform(0.0, 0.1)},
        n=512, purchases=purchases,
    )  # fmt: skip
    share = found.decides["share"]
    assert share[names[0]] == pytest.approx(4 / 5, abs=0.02)
    assert share[names[1]] == pytest.approx(1 / 5, abs=0.02)
    assert share["economics.gas_escalation"] == pytest.approx(0.0, abs=0.02)
    signs = np.sign(found.decides["correlation"][names])
    assert list(signs) == [-1, 1]
    assert f"first cost of {PLAIN} (80 %" in found.verdict
    assert "Assumed certain: weather year, machine coefficients, house" in found.verdict


def test_a_weather_that_alone_differs_decides_all() -> None:
    years = [stretch("miami", 190, 2), stretch("greensboro", 190, 2)]
    found = sure({"weather": years, COST: ms.uniform(19.999, 20.001)})
    assert found.decides.loc["weather", "share"] > 0.99
    assert math.isnan(found.decides.loc["weather", "correlation"])
    assert set(found.cases["weather"].value_counts()) == {8}


def test_a_life_is_whole_and_a_limit_is_cut() -> None:
    name = f"options.{PLAIN}.purchase.life"
    found = sure({name: ms.normal(2, 2), COST: ms.normal(20, 15)}, n=128)
    assert (found.cases[name] % 1 == 0).all() and found.cases[name].min() == 1.0
    assert found.cases[COST].min() >= 0.0
    assert (found.cases["status"] == "ok").all()


@pytest.mark.parametrize("least", [-1.0, 0.5])
def test_a_cut_normal_is_that_of_scipy(least: float) -> None:
    def read(value: Any) -> float:
        if value < least:
            raise ms.InputError("x", value, "more")
        return float(value)

    of = in_si(ms.normal(1.0, 0.8), read, "count", "x")
    theirs = stats.truncnorm((least - 1.0) / 0.8, np.inf, loc=1.0, scale=0.8)
    for share in (0.001, 0.1, 0.5, 0.9, 0.999):
        assert of.at(share) == pytest.approx(theirs.ppf(share), abs=1e-6)


# ---------------------------------------------------------------------- seeds, workers, nesting

MANY = {
    ACH: ms.normal(4.0, 1.0),
    "equipment.ventilation.airflow": ms.uniform("30 cfm", "90 cfm"),
    "strategy.cooling_setpoint": ms.normal("76 degF", "1 degF"),
    PRICE: ms.triangular("10 cent/kWh", "15 cent/kWh", "25 cent/kWh"),
    COST: ms.log_uniform(5.0, 60.0),
    "economics.discount_rate": ms.uniform("1 %", "6 %"),
}


def test_the_same_bits_for_any_workers_and_the_first_cases_of_more() -> None:
    one = sure(MANY, n=16, executor="threads", workers=1)
    two = sure(MANY, n=16, executor="processes", workers=2)
    pd.testing.assert_frame_equal(one.cases, two.cases, check_exact=True)
    pd.testing.assert_frame_equal(one.results, two.results, check_exact=True)
    fewer = sure(MANY, n=9)
    pd.testing.assert_frame_equal(fewer.cases, one.cases.head(9), check_exact=True)
    assert not sure(MANY, n=16, seed=1).cases.equals(one.cases)


def test_all_options_of_a_case_meet_the_same_draw() -> None:
    """A case by hand: the study with its values, run by itself."""
    found = sure(MANY)
    case = found.cases.iloc[5]
    base = study()
    options: Any = {
        name: (
            attrs.evolve(
                machines,
                ventilation=attrs.evolve(
                    machines.ventilation, airflow=case["equipment.ventilation.airflow"]
                ),
            ),
            control(cooling_setpoint=case["strategy.cooling_setpoint"]),
        )
        for name, (machines, control) in base.options.items()
    }
    by_hand = attrs.evolve(
        base,
        options=options,
        house=attrs.evolve(base.house, ach50=case[ACH]),
        tariff=ms.Tariff(price=case[PRICE]),
    )
    purchases = {**BOUGHT, REHEAT: ms.Purchase(first_cost=case[COST], life=10)}
    terms = ms.Terms(years=10, discount_rate=case["economics.discount_rate"])
    pair = ms.economics(by_hand.run(progress=False), purchases, terms).pair(*PAIR)
    assert case["net_savings_USD"] == pytest.approx(pair.net_savings, rel=1e-9)
    assert case["yearly_saving_USD"] == pytest.approx(pair.yearly_saving, rel=1e-9)
    assert case["dew_point_difference_K"] == pytest.approx(pair.dew_point_difference, abs=1e-9)
    table = found.table
    assert table.loc[(REHEAT, "running_USD")].is_monotonic_increasing
    assert table.loc[(PLAIN, "net_savings_USD"), 0.5] == found.cases["net_savings_USD"].median()


def test_gas_is_told_apart_where_it_escalates_by_itself() -> None:
    """A sweep has the bill as one sum; the economics of the same study know both of its parts."""
    base = study()
    options: Any = {
        name: (attrs.evolve(machines, heating=None, furnace=ms.Furnace(capacity="40 kBtu/h")), c)
        for name, (machines, c) in base.options.items()
    }
    cold = attrs.evolve(
        base, options=options, weather=stretch("greensboro", 10, 2), start="01-11", end="01-12",
        tariff=ms.Tariff(price=0.15, gas_fixed_charge="12 USD/month"),
    )  # fmt: skip
    run = cold.run(progress=False)
    terms, own = ms.Terms(gas_escalation="5 %"), base.house.changes_at_50_pa
    found = ms.how_sure(
        cold, BOUGHT, terms, {ACH: ms.uniform(own - 1e-4, own + 1e-4)}, n=8, options=PAIR, as_set=run,
        stand_ins=False, progress=False,
    )  # fmt: skip
    center = ms.how_sure(
        cold, BOUGHT, terms, {COST: ms.uniform(19.9999, 20.0001)}, n=8, options=PAIR, as_set=run,
        stand_ins=False, progress=False,
    )  # fmt: skip
    economics = ms.economics(run, BOUGHT, terms)
    assert economics.yearly[PLAIN].gas > 1.0
    for one in (found, center):
        saved = one.cases["study_net_savings_USD"].median()
        assert saved == pytest.approx(economics.pair(*PAIR).net_savings, abs=0.05)
        gas = one.results.xs(PLAIN, level="option")["gas_USD"].median()
        assert gas == pytest.approx(economics.yearly[PLAIN].gas, rel=1e-3)


@pytest.mark.slow
def test_two_thousand_of_four_thousand_cases_tell_the_same() -> None:
    """Costs and terms alone, so that 4,000 cases can be had: the seasons are those at hand."""
    turn = break_even()
    ranges = {
        f"options.{PLAIN}.purchase.first_cost": ms.normal(0.9 * turn, 0.3 * turn),
        f"options.{PLAIN}.purchase.life": ms.triangular(6, 10, 15),
        "economics.discount_rate": ms.uniform("1 %", "6 %"),
        "economics.electricity_escalation": ms.normal(0.0, 0.02),
    }
    all_of = sure(ranges, n=4000)
    half = sure(ranges, n=2000)
    assert 0.1 < all_of.probability < 0.9
    assert abs(half.probability - all_of.probability) < 0.02
    pd.testing.assert_frame_equal(half.cases, all_of.cases.head(2000), check_exact=True)


@pytest.mark.slow
def test_half_of_the_cases_tell_the_same_where_houses_differ() -> None:
    """The same of simulated houses: of so few, within three points."""
    even = {**BOUGHT, PLAIN: ms.Purchase(first_cost=break_even(), life=10)}
    found = sure(MANY, n=256, purchases=even, executor="processes", workers=2)
    half = found.cases["pays_back"].head(128).astype(float).mean()
    assert 0.1 < found.probability < 0.9
    assert abs(half - found.probability) < 0.03


# ---------------------------------------------------------------------- what cannot be


def test_a_case_without_a_result_is_said_and_not_counted() -> None:
    purchases = {**BOUGHT, REHEAT: ms.Purchase(first_cost=20.0, rebate=10.0, life=10)}
    rebate = f"options.{REHEAT}.purchase.rebate"
    ranges = {COST: ms.uniform(12.0, 28.0), rebate: ms.uniform(2.0, 18.0)}
    found = sure(ranges, n=64, purchases=purchases)
    lost = int(found.failed.sum())
    over = found.cases[rebate] > found.cases[COST]
    assert lost == over.sum() > 0
    assert len(found.counted) == 64 - lost
    assert f"Not counted: {lost} of 64 cases" in found.verdict
    assert "at most the first cost" in found.failed.index[0]


@pytest.mark.parametrize(
    ("ranges", "words"),
    [
        ({}, "cannot use {}. Use one input or more"),
        ({"house.ach5": ms.normal(4, 1)}, (
            "how_sure ranges['house.ach5']: unknown name 'ach5' of house in 'house.ach5'. "
            "Did you mean 'ach50'?")),
        ({"attic.ach50": ms.normal(4, 1)}, "'house', 'weather'"),
        ({"economics.discont_rate": ms.normal(4, 1)}, (
            "how_sure ranges['economics.discont_rate']: unknown name 'discont_rate' of "
            "economics in 'economics.discont_rate'. Did you mean 'discount_rate'? Other "
            "choices: 'years', 'rates', 'inflation', 'electricity_escalation', "
            "'gas_escalation', 'loan'.")),
        ({"options.none.purchase.life": ms.normal(4, 1)}, "an option with a purchase"),
        ({ACH: 4.0}, "cannot use 4.0. Use ms.normal"),
        ({ACH: ms.uniform(5, 4)}, "cannot use '5 to 4'. Use a range from low to high"),
        ({ACH: ms.triangular(1, 5, 4)}, "Use one between the ends"),
        ({ACH: ms.normal(4, 0)}, "Use a standard deviation above zero"),
        ({ACH: ms.normal(-4, 1)}, (
            "how_sure ranges['house.ach50']: -4 is too small. Use a rate of air changes "
            "from 0 to 60 per hour.")),
        ({ACH: ms.normal(4, "1 cfm")}, (
            "how_sure ranges['house.ach50']: cannot read '1 cfm' as a rate of air changes. "
            "Write '1.5 ACH' or '1.5'.")),
        ({"strategy.cooling_setpoint": ms.normal("75 degF", "2 %")}, "'1 K' or '2 degF'"),
        ({"house.envelope.construction": ms.uniform(1, 2)}, "Use none: it is no number"),
        ({"weather": []}, "a list of Weather"),
    ],
)  # fmt: skip
def test_what_is_refused(ranges: dict[str, Any], words: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        sure(ranges)
    assert words in str(caught.value)
    assert str(caught.value).startswith("how_sure ranges")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"n": 4}, "from 8 to 1,048,576"),
        ({"seed": -1}, "0 or more"),
        ({"options": (PLAIN, PLAIN)}, "two options: one"),
        ({"options": (PLAIN, "rehead")}, "Use one of"),
        (
            {"purchases": {REHEAT: BOUGHT[REHEAT]}},
            "purchases.*nothing.*a Purchase with a first_cost",
        ),
    ],
)
def test_what_else_is_refused(more: dict[str, Any], words: str) -> None:
    with pytest.raises(ms.InputError, match=words):
        sure({COST: ms.uniform(1.0, 2.0)}, **more)


# ---------------------------------------------------------------------- the error budget


def budget(ranges: dict[str, Any], **more: Any) -> pd.DataFrame:
    what = {"options": PAIR, "as_set": as_set(), "progress": False, "units": "si"} | more
    return ms.error_budget(study(), BOUGHT, ms.Terms(), ranges, **what)


def test_each_source_of_error_is_that_of_two_runs() -> None:
    ranges = {
        ACH: ms.normal(4.0, 1.0),
        PRICE: ms.normal(0.15, 0.03),
        f"options.{PLAIN}.purchase.first_cost": ms.normal(100.0, 10.0),
    }
    table = budget(ranges, stand_ins=False)
    assert [*table.index] == ["time step", "house description", "prices", "together"]
    economics = ms.economics(as_set(), BOUGHT, ms.Terms())
    pair = economics.pair(*PAIR)
    kwh = economics.yearly[PLAIN].kwh - economics.yearly[REHEAT].kwh
    assert [table.attrs[name] for name in MEASURES] == pytest.approx(
        [kwh, -pair.yearly_saving, pair.net_savings]
    )

    def at(ach50: float) -> np.ndarray[Any, Any]:
        house = attrs.evolve(study().house, ach50=ach50)
        run = attrs.evolve(study(), house=house).run(progress=False)
        found = ms.economics(run, BOUGHT, ms.Terms())
        one = found.pair(*PAIR)
        more = found.yearly[PLAIN].kwh - found.yearly[REHEAT].kwh
        return np.array([more, -one.yearly_saving, one.net_savings])

    by_hand = 0.5 * np.abs(at(5.0) - at(3.0))
    assert table.loc["house description", [*MEASURES]].tolist() == pytest.approx(by_hand, rel=1e-4)
    # A straight line in the price, and one dollar of first cost is one of net savings.
    prices = table.loc["prices"]
    assert prices["kWh"] == 0.0
    assert prices["USD"] == pytest.approx(abs(pair.yearly_saving) / 5.0, rel=1e-3)
    factor = (pair.net_savings + pair.extra_first_cost) / pair.yearly_saving
    expected = math.hypot(factor * pair.yearly_saving / 5.0, 10.0)
    assert prices["net_savings_USD"] == pytest.approx(expected, rel=0.02)
    parts = table.drop("together")[[*MEASURES]].to_numpy(float)
    assert table.loc["together", [*MEASURES]].tolist() == pytest.approx(
        np.sqrt((parts**2).sum(axis=0))
    )
    assert table.loc["house description", "basis"] == "air leakage 4 ± 1 per hour"
    assert table.attrs["cases"] == 3
    assert "±" in budget_words(table)


def test_listed_years_take_the_place_of_the_stand_in() -> None:
    years = [stretch("miami", first, 2) for first in (190, 190, 190)]
    table = budget({"weather": dict(zip("abc", years, strict=True))})
    assert table.loc["weather year", "kWh"] == pytest.approx(0.0, abs=1e-9)
    assert "3 years" in table.loc["weather year", "basis"]
    assert "a stand-in" in table.loc["prices", "basis"]
    assert table.loc["prices", "USD"] > 0.0


def test_what_is_given_away_has_no_first_cost_to_miss() -> None:
    free = {option: ms.Purchase(first_cost=0.0) for option in PAIR}
    table = ms.error_budget(study(), free, None, {}, options=PAIR, as_set=as_set(), progress=False)
    assert table.loc["prices", "basis"] == "energy by 10 % (a stand-in)"
    assert table.loc["prices", "USD"] == pytest.approx(0.1 * abs(table.attrs["USD"]))


def test_an_option_beside_the_pair_moves_nothing() -> None:
    three = attrs.evolve(study(), options={**study().options, "third": study().options[PLAIN]})
    purchases = {**BOUGHT, "third": ms.Purchase(first_cost=1.0)}
    seasons = {**as_set().seasons, "third": as_set().seasons[PLAIN]}
    ranges = {"options.third.purchase.first_cost": ms.uniform(0.0, 2.0)}
    table = ms.error_budget(
        three, purchases, None, ranges, options=PAIR, as_set=Comparison(three, seasons),
        progress=False, units="si",
    )  # fmt: skip
    pd.testing.assert_frame_equal(table, budget({}))


# ---------------------------------------------------------------------- as a file has it


@pytest.mark.parametrize(
    ("text", "mean", "deviation"),
    [
        ("1.5 ± 0.4", "1.5", "0.4"),
        ("1.5+-0.4", "1.5", "0.4"),
        ("80 ± 15 cfm", "80 cfm", "15 cfm"),
        ("80 cfm +/- 15", "80 cfm", "15 cfm"),
        ("1,800 ± 250 USD", "1,800 USD", "250 USD"),
        ("80 cfm ± 20 %", "80 cfm", "20 %"),
        ("3 % ± 1 %", "3 %", "1 %"),
        ("-2.5 ± 1 K", "-2.5 K", "1 K"),
        ("2e-3 ± 1e-4 kg/s", "2e-3 kg/s", "1e-4 kg/s"),
    ],
)
def test_plus_minus_is_read(text: str, mean: str, deviation: str) -> None:
    assert plus_minus(text, "x") == Normal(mean, deviation)


@pytest.mark.parametrize("text", ["1.5", "80 cfm", "plus ± minus", "2026-05-01", "1e-3"])
def test_a_text_without_a_range_is_none(text: str) -> None:
    assert plus_minus(text, "x") is None


def file(folder: Path, change: tuple[str, str]) -> Path:
    before, after = change
    text = DEMO.read_text(encoding="utf-8")
    assert before in text
    path = folder / "house.toml"
    path.write_text(text.replace(before, after), encoding="utf-8")
    return path


def test_the_demo_has_ranges_and_keeps_its_middle(tmp_path: Path) -> None:
    demo = read_scenario(DEMO)
    assert demo.study.house.ach50 == 2.0
    assert demo.terms is not None and demo.terms.discount_rate == 0.03
    box = "options.Stand-alone dehumidifier"
    assert demo.ranges[f"{box}.purchase.first_cost"] == Normal(
        1800.0, 250.0, pytest.approx(0.0, abs=1e-9)
    )
    write_scenario(demo, tmp_path / "run.toml")
    again = read_scenario(tmp_path / "run.toml")
    assert again.ranges == demo.ranges
    assert again.study.house == demo.study.house
    assert dict(again.study.options) == dict(demo.study.options)
    assert (again.purchases, again.terms) == (demo.purchases, demo.terms)


@pytest.mark.parametrize(
    ("change", "name", "expected"),
    [
        (('window_shgc = 0.25', 'window_shgc = { low = 0.2, high = "30 %" }'), "", "the same unit at both"),
        (('window_shgc = 0.25', 'window_shgc = { low = 0.2, high = 0.3 }'), "house.envelope.window_shgc", (0.2, 0.3, False)),
        (('airflow = "80 cfm"', 'airflow = { low = "40 cfm", high = "160 cfm", scale = "log" }'), "equipment.ventilation.airflow", None),
        (('strategy = "overcooling"', 'strategy = "overcooling"\nsetpoints = { cooling_setpoint = "75 ± 1.8 degF" }'), "options.Overcooling allowed.strategy.cooling_setpoint", None),
        (('sample = "miami"', 'sample = "miami"\nyears = [{ sample = "miami" }, { sample = "sand_point" }]'), "weather", None),
    ],
)  # fmt: skip
def test_ranges_in_a_file(
    tmp_path: Path, change: tuple[str, str], name: str, expected: Any
) -> None:
    path = file(tmp_path, change)
    if isinstance(expected, str):
        with pytest.raises(ScenarioError, match=expected):
            read_scenario(path)
        return
    scenario = read_scenario(path)
    of: Any = scenario.ranges[name]
    if expected is not None:
        assert tuple(of) == expected
    if name == "weather":
        assert list(of) == ["miami", "sand_point"]
    elif "cooling_setpoint" in name:
        assert of.deviation == pytest.approx(1.0)
        assert of.mean == pytest.approx((75.0 - 32.0) / 1.8)
        control = scenario.study.options["Overcooling allowed"][1]
        assert control.settings["cooling_setpoint"] == of.mean
    elif "airflow" in name:
        ventilation = next(iter(scenario.study.options.values()))[0].ventilation
        assert ventilation is not None
        assert ventilation.airflow == pytest.approx(ms.units.to_si("80 cfm", "m3/s", "x"))
    write_scenario(scenario, tmp_path / "run.toml")
    again = read_scenario(tmp_path / "run.toml").ranges
    if name == "weather":
        assert [*again["weather"]] == [*of]
    else:
        assert again == scenario.ranges


def test_options_may_be_called_low_and_high(tmp_path: Path) -> None:
    demo = DEMO.read_text(encoding="utf-8")
    head, _, _ = demo.partition('[options."Cooling')
    text = head.replace('base = "Cooling by temperature only"', "").partition("[economics]")
    machines = text[2].partition("[equipment")
    tail = (
        '[options.low]\nstrategy = "overcooling"\n[options.high]\nstrategy = "temperature_only"\n'
    )
    path = tmp_path / "house.toml"
    path.write_text(text[0] + machines[1] + machines[2] + tail, encoding="utf-8")
    scenario = read_scenario(path)
    assert [*scenario.study.options] == ["low", "high"]
    assert ACH in scenario.ranges


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('"2.0 ± 0.4"', '"2.0 ±"'), ("house.toml [house] ach50: cannot use '2.0 ±'. Use a "
                                       "number after ±, the standard deviation, such as '1.5 ± "
                                       "0.4'.")),
        (('"2.0 ± 0.4"', '"2.0 ± 20 %"'), "units on both sides"),
        (('"2.0 ± 0.4"', '"-2.0 ± 0.4"'), "[house] ach50: cannot use '-2.0 ± 0.4'. Use a rate of air changes"),
        (('"2.0 ± 0.4"', '"2.0 ± 0"'), "a standard deviation above zero"),
        (('"2.0 ± 0.4"', '"2.0 ± 0.4 cfm"'), "[house] ach50: cannot use '2.0 ± 0.4 cfm'"),
        (('"2.0 ± 0.4"', "{ low = 3, high = 2 }"), "[house] ach50: cannot use {'low': 3, 'high': 2}. Use a range from low to high"),
        (('"2.0 ± 0.4"', "{ low = 3 }"), "Use { low = ..., high = ... }"),
        (('"2.0 ± 0.4"', "{ low = 1, likely = 5, high = 3 }"), "one between the ends"),
        (('"2.0 ± 0.4"', '{ low = 0, high = 3, scale = "log" }'), "ends above zero"),
        (('orientation = "180 deg"', 'construction = "1 ± 2"'), "[house.envelope] construction: cannot use '1 ± 2'. Use one of"),
        (('stages = ["5 kW"]', 'stages = ["5 ± 0.1 kW"]'), "a field of a description"),
        (('shr = "0.74 ± 0.015"', 'shrr = "0.74 ± 0.015"'), (
            "house.toml "
            "[equipment.cooling.stages] number "
            "1: unknown key 'shrr'. Did you "
            "mean 'shr'? Other choices: "
            "'capacity', 'cop', 'airflow', "
            "'curves'.")),
        (('sample = "miami"', 'sample = "miami"\nyears = []'), "[weather] years: cannot use []"),
        (('sample = "miami"', 'sample = "miami"\nyears = [{ sample = "miam" }]'), "[weather.years] number 1 sample"),
        (('[options."Stand-alone dehumidifier".equipment.dehumidifier]', '[options."Stand-alone dehumidifier".equipment.cooling]\nstages = [{ capacity = "2 ton" }]\n[options."Stand-alone dehumidifier".equipment.dehumidifier]'), "has another one in its place"),
    ],
)  # fmt: skip
def test_a_range_that_cannot_be_is_one_sentence(
    tmp_path: Path, change: tuple[str, str], words: str
) -> None:
    with pytest.raises(ScenarioError) as caught:
        read_scenario(file(tmp_path, change))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


# ---------------------------------------------------------------------- command line and pictures

SHORT = (
    'sample = "miami"',
    'sample = "miami"\n\n[season]\nstart = "07-01"\nend = "07-02"\nstep = "15 min"',
)


@pytest.mark.slow
def test_study_says_how_sure(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = file(tmp_path, SHORT), tmp_path / "out"
    assert main(["study", str(path), "--out", str(out), "--sure", "8"]) == 0
    text = capsys.readouterr().out
    assert "pays back within its" in text and "of 8 cases" in text.replace("\n    ", " ")
    assert "Error budget" in text and "first cost of Stand-alone dehumidifier" in text
    assert len(pd.read_csv(out / "sure.csv")) == 8
    assert (out / "sure.png").exists() and (out / "error_budget.png").exists()
    assert "of 8 cases (" in (out / "report.html").read_text(encoding="utf-8")
    assert main(["study", str(path), "--out", str(out), "--quiet"]) == 0
    assert not (out / "sure.csv").exists() and not (out / "sure.png").exists()
    budget = pd.read_csv(out / "error_budget.csv", index_col="source")
    assert budget.index[-1] == "together" and budget.loc["together", "kWh"] > 0.0
    assert "“--sure 256”" in (out / "report.html").read_text(encoding="utf-8")


def test_study_refuses_to_be_sure_of_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["study", str(file(tmp_path, SHORT)), "--sure", "2"]) == 2
    assert "--sure: cannot use 2. Use a whole number of cases from 8" in capsys.readouterr().err
    demo = read_scenario(DEMO)
    path = tmp_path / "plain.toml"
    write_scenario(attrs.evolve(demo, ranges={}), path)
    assert main(["study", str(path), "--sure", "16", "--only-ranges"]) == 2
    assert (
        "moistsim: plain.toml --sure --only-ranges: no value has a range. Use numbers with ±, such "
        "as ach50 = '2.0 ± 0.4', or { low = ..., high = ... }; or --sure without --only-ranges.\n"
    ) in capsys.readouterr().err


def words_of(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]  # type: ignore[attr-defined]


def test_pictures_say_what_the_tables_say() -> None:
    turn = break_even()
    name = f"options.{PLAIN}.purchase.first_cost"
    found = sure({name: ms.normal(turn, 0.3 * turn)}, n=64)
    figure = certainty_figure(found)
    figure.draw_without_rendering()
    said = " ".join(words_of(figure))
    assert f"{100.0 * found.probability:.0f} %\npays back" in said
    bars = [bar for bar in figure.axes[0].patches if bar.get_height() > 0.0]
    right = sum(bar.get_height() for bar in bars if bar.get_x() > -1e-6)
    assert right == pytest.approx(100.0 * found.probability)
    assert sum(bar.get_height() for bar in bars) == pytest.approx(100.0)
    table = budget({})
    drawn = error_budget_figure(table)
    drawn.draw_without_rendering()
    widths = [bar.get_width() for bar in drawn.axes[0].patches]
    assert widths == pytest.approx(table["kWh"].tolist())
    assert "machine coefficients" in " ".join(words_of(drawn)).replace("\n", " ")


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0 %"), (1.0, "100 %"), (0.004, "0.4 %"), (0.999, "99.9 %"), (0.87, "87 %"),
     (0.0001, "less than 0.1 %"), (0.9999, "more than 99.9 %")],
)  # fmt: skip
def test_a_share_in_words_is_certain_only_of_what_is(share: float, words: str) -> None:
    assert module.per_cent(share) == words


def test_a_share_of_the_spread_has_a_band() -> None:
    """By hand, z(0.6) = 0.693 ± 1.96 / 5: r = 0.6 of 28 cases lies from 0.292 to 0.795 (95 %)."""
    low, high = module._band_of(np.array([0.36, 0.0, 1.0]), 28)
    assert np.sqrt(low[0]) == pytest.approx(0.292, abs=5e-4)
    assert np.sqrt(high[0]) == pytest.approx(0.795, abs=5e-4)
    assert low[1] == 0.0 and 0.1 < high[1] < 0.2
    assert low[2] == pytest.approx(1.0) and high[2] == pytest.approx(1.0)


def test_the_band_of_a_share_holds_as_often_as_stated() -> None:
    """A share that is known: half of a normal variable's variance, in 400 samples of 40 cases."""
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(400):
        known, rest = rng.standard_normal((2, 40))
        saved = known + rest
        share = np.array([np.corrcoef(known, saved)[0, 1] ** 2])
        low, high = module._band_of(share, 40)
        held += bool(low[0] <= 0.5 <= high[0])
    assert 0.92 <= held / 400 <= 0.98


def test_bars_of_shares_have_their_bands_and_pale_ones_may_be_chance() -> None:
    turn = break_even()
    name = f"options.{PLAIN}.purchase.first_cost"
    found = sure({name: ms.normal(turn, 0.3 * turn), PRICE: ms.normal(0.15, 0.0015)}, n=64)
    shown = found.decides[found.decides["share"] > 0.0]
    assert shown["share_low"].iloc[0] > 0.5
    figure = certainty_figure(found)
    bars = figure.axes[1]
    for k, (low, high) in enumerate(zip(shown["share_low"], shown["share_high"], strict=True)):
        (segment,) = [x for x in bars.collections[0].get_segments() if x[0][1] == k]
        assert segment[:, 0] == pytest.approx([100.0 * low, 100.0 * high])
    colors = [matplotlib.colors.to_hex(bar.get_facecolor()) for bar in bars.patches]
    expected = [UNSURE if low <= 0.0 else GAIN for low in shown["share_low"]]
    assert colors == expected
    assert f"add up to {100.0 * found.decides['share'].sum():.0f} %" in figure.alt
