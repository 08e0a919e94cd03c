"""Years of cost: both conventions agree, sums add up, verdicts turn where they are said to."""

import math
import re
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from matplotlib.text import Text
from support.drawing import drawn, written

import moistsim as ms
from moistsim.economics.life_cycle import NOT_ALIKE, Economics
from moistsim.figures import bridge_figure, cost_figure
from moistsim.prices.cash_flow import Stay
from moistsim.prices.discounting import single_present_value, uniform_present_value

CHEAP, DEAR = "reheat", "machine"


def made(
    cheap: ms.Purchase, dear: ms.Purchase, terms: ms.Terms, *use: tuple[float, float, float]
) -> Economics:
    """Two options; `use` is kWh, USD a kWh and USD of gas of each, spread over eight months."""
    shares = np.array([1, 2, 3, 4, 4, 3, 2, 1, 0, 0, 0, 0]) / 20.0
    months = [*range(3, 13), 1, 2]
    tables = {
        name: pd.DataFrame(
            {
                "electricity_kWh": kwh * shares,
                "electricity_USD": kwh * price * shares,
                "gas_USD": gas * shares,
            },
            index=pd.Index(months, name="month"),
        )
        for name, (kwh, price, gas) in zip((CHEAP, DEAR), use, strict=True)
    }
    return Economics(
        base=CHEAP,
        purchases={CHEAP: cheap, DEAR: dear},
        terms=terms,
        bills=pd.concat(tables, names=["option"]),
        dew_points={CHEAP: 12.0, DEAR: 12.1},
    )


money = st.floats(0.0, 5000.0)
rates = st.floats(-0.03, 0.15)
purchases = st.builds(
    lambda first, back, life, again, keep: ms.Purchase(
        first_cost=first, rebate=back * first, life=life, replacement_cost=again, maintenance=keep
    ),
    money,
    st.floats(0.0, 1.0),
    st.integers(1, 30),
    st.none() | money,
    st.floats(0.0, 200.0),
)
terms = st.builds(
    ms.Terms,
    years=st.integers(1, 30),
    rates=st.sampled_from(["real", "nominal"]),
    inflation=st.floats(0.0, 0.08),
    discount_rate=st.floats(0.0, 0.15),
    electricity_escalation=rates,
    gas_escalation=rates,
)
uses = st.tuples(st.floats(0.0, 9000.0), st.just(0.15), st.floats(0.0, 500.0))
cases = st.builds(made, purchases, purchases, terms, uses, uses)


def test_a_saving_below_half_a_cent_pays_nothing_back() -> None:
    """2 USD more to buy over the smallest float a year would be an infinite payback."""
    cheap, dear = (ms.Purchase(first_cost=f, maintenance=m) for f, m in ((0, 1e-308), (2, 0)))
    pair = made(cheap, dear, ms.Terms(), (0.0, 0.15, 0.0), (0.0, 0.15, 0.0)).pair(DEAR)
    assert pair.simple_payback is None
    assert pair.words["simple_payback"] == "saves nothing: no payback"


# ---------------------------------------------------------------------- what holds for all


@settings(max_examples=50)
@given(cases)
def test_real_and_nominal_rates_give_the_same_present_values(found: Economics) -> None:
    other = attrs.evolve(
        found, terms=found.terms.restated("real" if found.terms.nominal else "nominal")
    )
    for option in found.options:
        cost = found.life_cycle_cost(option)
        assert other.life_cycle_cost(option) == pytest.approx(cost, rel=1e-9, abs=1e-6)
    again = other.terms.restated(found.terms.rates)
    for name, value in attrs.asdict(found.terms).items():
        if isinstance(value, float):
            assert getattr(again, name) == pytest.approx(value, rel=1e-9, abs=1e-12)


@settings(max_examples=50)
@given(cases)
def test_measures_of_a_pair_agree_with_each_other(found: Economics) -> None:
    pair, terms = found.pair(DEAR), found.terms
    assert pair.net_savings == pytest.approx(
        found.life_cycle_cost(CHEAP) - found.life_cycle_cost(DEAR), rel=1e-9, abs=1e-6
    )
    assert pair.net_savings == pytest.approx(-found.pair(CHEAP, DEAR).net_savings, abs=1e-6)
    if pair.simple_payback is not None:
        assert pair.simple_payback * pair.yearly_saving == pytest.approx(pair.extra_first_cost)
    if pair.savings_to_investment is not None and abs(pair.net_savings) > 1e-6:
        assert (pair.savings_to_investment > 1.0) == (pair.net_savings > 0.0)
        if pair.adjusted_internal_rate is not None:
            assert (pair.adjusted_internal_rate > terms.discount_rate) == (pair.net_savings > 0.0)
    if pair.internal_rate is not None:
        flow = (found.cash_flow(CHEAP) - found.cash_flow(DEAR))["total_USD"]
        worth = flow * single_present_value(pair.internal_rate, flow.index)
        assert worth.sum() == pytest.approx(0.0, abs=1e-6 * worth.abs().sum() + 1e-9)
    for name, value in attrs.asdict(pair).items():
        assert (value is None) == (name in pair.words), name
        assert not (isinstance(value, float) and not math.isfinite(value)), name
    assert "nan" not in pair.verdict and "None" not in pair.verdict


@settings(max_examples=50)
@given(cases, st.floats(0.001, 0.1))
def test_a_higher_discount_never_raises_what_savings_are_worth(
    found: Economics, more: float
) -> None:
    gap = found.yearly[CHEAP].electricity - found.yearly[DEAR].electricity
    assume(gap > 0.0)
    rate = found.terms.discount_rate
    later = attrs.evolve(found.terms, discount_rate=rate + more)
    assert uniform_present_value(rate + more, 10) < uniform_present_value(rate, 10)
    same = dict.fromkeys(found.options, ms.Purchase(first_cost=0.0))
    no_gas = found.bills.assign(gas_USD=0.0)
    values = [
        attrs.evolve(found, purchases=same, bills=no_gas, terms=t).pair(DEAR).net_savings
        for t in (found.terms, later)
    ]
    assert values[1] <= values[0]


@settings(max_examples=50)
@given(cases)
def test_months_add_up_to_the_nominal_cash_flow_of_their_year(found: Economics) -> None:
    years = int(found.terms.years)
    plan = (Stay(CHEAP, years // 2), Stay(DEAR, years - years // 2))
    flow = attrs.evolve(found, terms=found.terms.restated("nominal")).cash_flow(plan)
    by_year = found.monthly(plan).groupby("year").sum()
    for name in ("purchase", "maintenance", "electricity", "gas"):
        assert by_year[f"{name}_USD"].to_numpy() == pytest.approx(
            flow[f"{name}_USD"].to_numpy(), rel=1e-9, abs=1e-6
        )
    assert found.monthly(plan)["spent_USD"].iloc[-1] == pytest.approx(flow["spent_USD"].iloc[-1])


@settings(max_examples=50)
@given(cases, st.floats(0.0, 0.2), st.integers(1, 120), money)
def test_payments_pay_the_loan_back(
    found: Economics, rate: float, months: int, down: float
) -> None:
    assume(months <= 12 * found.terms.years)
    loan = ms.Loan(rate=rate, term=months / 12.0, down_payment=down)
    found = attrs.evolve(found, terms=attrs.evolve(found.terms, loan=loan))
    table = found.monthly(DEAR)
    owed = found.purchases[DEAR].paid - table.loc[0, "purchase_USD"]
    assert table.loc[0, "purchase_USD"] <= down + 1e-9
    for paid in table["loan_USD"][1:]:
        owed = owed * (1.0 + rate / 12.0) - paid
    assert owed == pytest.approx(0.0, abs=1e-6 * (1.0 + found.purchases[DEAR].paid))
    # A loan at what money earns elsewhere costs nothing; a more expensive one costs something.
    nominal = found.terms.restated("nominal").discount_rate
    same = attrs.evolve(loan, rate=12.0 * ((1.0 + nominal) ** (1.0 / 12.0) - 1.0))
    for offered, change in ((same, 0.0), (attrs.evolve(same, rate=same.rate + 0.05), 1.0)):
        lent = attrs.evolve(found, terms=attrs.evolve(found.terms, loan=offered))
        gap = lent.financed_cost(DEAR) - lent.life_cycle_cost(DEAR)
        assert gap == pytest.approx(0.0, abs=1e-6) if change == 0.0 else gap >= 0.0


@settings(max_examples=50)
@given(cases)
def test_at_break_even_the_two_cost_the_same(found: Economics) -> None:
    turn, scale = found.break_even(DEAR), 1e-7 * (1.0 + found.life_cycle_cost(DEAR))
    if turn.first_cost is not None:
        bought = attrs.evolve(found.purchases[DEAR], first_cost=turn.first_cost)
        there = attrs.evolve(found, purchases={**found.purchases, DEAR: bought})
        assert there.pair(DEAR).net_savings == pytest.approx(0.0, abs=scale)
    if turn.electricity_price is not None:
        bills = found.bills.copy()
        bills["electricity_USD"] = turn.electricity_price * bills["electricity_kWh"]
        there = attrs.evolve(found, bills=bills)
        assert there.pair(DEAR).net_savings == pytest.approx(0.0, abs=max(scale, 1e-3))
    if turn.usage is not None:
        there = attrs.evolve(found, bills=found.bills * turn.usage)
        assert there.pair(DEAR).net_savings == pytest.approx(0.0, abs=max(scale, 1e-3))
    for name in ("first_cost", "electricity_price", "usage"):
        assert turn.words[name].startswith("at no") == (getattr(turn, name) is None)


@settings(max_examples=50)
@given(cases)
def test_a_bridge_of_no_seasons_is_the_one_and_of_all_the_other(found: Economics) -> None:
    bridge = found.bridge(CHEAP, DEAR)
    cost = bridge.table["life_cycle_cost_USD"]
    assert list(cost.index) == [*range(int(found.terms.years) + 1)]
    assert cost.iloc[0] == pytest.approx(found.life_cycle_cost(DEAR))
    assert cost.iloc[-1] == pytest.approx(found.life_cycle_cost(CHEAP))
    assert cost[bridge.best] <= cost.min() + 0.01


# ---------------------------------------------------------------------- numbers by hand


def plain(**changes: Any) -> Economics:
    """600 or 1,800 USD; 7,000 or 4,000 kWh at 10 cents; ten years, no discount, no inflation."""
    given = {"years": 10, "discount_rate": 0.0, "inflation": 0.0} | changes
    return made(
        ms.Purchase(first_cost=600, life=20),
        ms.Purchase(first_cost=2000, rebate=200, life=6, maintenance=40),
        ms.Terms(**given),
        (7000.0, 0.1, 0.0),
        (4000.0, 0.1, 0.0),
    )


def test_years_by_hand() -> None:
    found = plain()
    # Half of 600 is left of 20 years; of the machine bought again for 2,000 in year 6, a third.
    assert found.life_cycle_cost(CHEAP) == pytest.approx(600 - 300 + 10 * 700)
    residual = 2000 / 3
    assert found.life_cycle_cost(DEAR) == pytest.approx(1800 + 2000 - residual + 10 * 440)
    flow = found.cash_flow(DEAR)
    assert flow["purchase_USD"][flow["purchase_USD"] > 0].to_dict() == {0: 1800.0, 6: 2000.0}
    assert flow["spent_USD"].iloc[-1] == pytest.approx(1800 + 2000 + 4400)
    pair = found.pair(DEAR)
    assert (pair.extra_first_cost, pair.yearly_saving) == pytest.approx((1200, 260))
    assert pair.simple_payback == pytest.approx(1200 / 260)
    assert pair.discounted_payback == pytest.approx(1200 / 260)
    invested = 1200 + 2000 - residual + 300
    assert pair.savings_to_investment == pytest.approx(2600 / invested)
    turn = found.break_even(DEAR)
    # 300 USD a year are the electricity's own; the rest of the sum is 7,300 - 4,000 - ... by hand.
    missing = (1800 + 2000 - residual + 400) - 300
    assert turn.electricity_price == pytest.approx(missing / 10 / 3000)
    assert turn.usage == pytest.approx(missing / 10 / 300)


def test_a_bridge_by_hand() -> None:
    bridge = plain().bridge(CHEAP, DEAR, 3)
    # Two years of the one, then the other for eight: again after six, and two thirds left.
    expected = 600 + 2 * 700 + 1800 + 8 * 440 + 2000 - 2000 * 4 / 6
    assert bridge.table.loc[2, "life_cycle_cost_USD"] == pytest.approx(expected)
    assert bridge.table.loc[2, "first_day_USD"] == 600.0
    monthly = bridge.monthly(2)
    bought = monthly["purchase_USD"][monthly["purchase_USD"] > 0.0]
    assert bought.to_dict() == pytest.approx({0: 600.0, 24: 1800.0, 96: 2000.0})
    # The fourth of the season's eight months has a fifth of the year's use.
    assert monthly.loc[4, ["calendar_month", "electricity_USD"]].tolist() == pytest.approx([6, 140])
    assert monthly.loc[28, "electricity_USD"] == pytest.approx(80.0)
    assert bridge.verdict.startswith("cheapest over 10 years: keep") is False


def test_a_bridge_between_equally_dry_options_is_not_warned_of_a_third() -> None:
    notes = (NOT_ALIKE, "Another.")
    found = attrs.evolve(plain(), notes=notes, dew_points={CHEAP: 12.9, DEAR: 13.1})
    assert found.bridge(CHEAP, DEAR).notes == ("Another.",)
    damper = attrs.evolve(found, dew_points={CHEAP: 13.9, DEAR: 13.1})
    assert damper.bridge(CHEAP, DEAR).notes == notes


def test_what_is_undefined_is_said_in_words() -> None:
    found = plain()
    other = found.pair(CHEAP, DEAR)
    assert other.simple_payback is None
    assert other.words["simple_payback"] == "no payback: more expensive to run"
    assert other.words["internal_rate"] == "no extra investment"
    reversed_bills = attrs.evolve(found, bills=found.bills.iloc[::-1].set_axis(found.bills.index))
    verdict = reversed_bills.pair(DEAR).verdict
    assert "1,200 USD more to buy, 340 USD a year more to run; saves nothing: no payback" in verdict
    table = reversed_bills.table()
    assert table["simple_payback_years"].isna().all()
    assert table.loc[CHEAP, "verdict"] == "base"
    same = reversed_bills.pair(DEAR, DEAR)
    assert same.verdict.startswith("the same to buy and to run; nothing to pay back")
    short = plain(years=2).pair(DEAR)
    assert short.words["discounted_payback"] == "not within the 2 years studied"
    assert "at no first cost" in reversed_bills.break_even(DEAR).words["first_cost"]


def test_what_only_costs_more_has_no_rate_of_return() -> None:
    # A third of the price is left at the end: a rate of -84 % a year solves for it and means nothing.
    dear = ms.Purchase(first_cost=150, life=15)
    use = (3742.0, 0.15, 0.0), (4198.0, 0.15, 0.0)
    found = made(ms.Purchase(first_cost=0), dear, ms.Terms(years=10, discount_rate=0.03), *use)
    pair = found.pair(DEAR)
    assert pair.yearly_saving < 0.0 and pair.internal_rate is None
    assert pair.words["internal_rate"] == "saves nothing: no return"


# ---------------------------------------------------------------------- input


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: ms.Purchase(first_cost="-5 USD"), "Purchase.first_cost: '-5 USD' is too small. "
                                                   "Use a sum of money from 0 to 10,000,000 USD."),
        (lambda: ms.Purchase(first_cost=5, life=0), "Purchase.life: 0 is too small. Use a span "
                                                    "of years from 1 to 100 years."),
        (lambda: ms.Purchase(first_cost=5, life=2.5), "Purchase.life: cannot use 2.5. Use a "
                                                      "whole number of years."),
        (lambda: ms.Purchase(first_cost=5, maintenance=-1), "Purchase.maintenance: -1 is too "
                                                            "small. Use a sum of money a year "
                                                            "from 0 to 1,000,000 USD/year."),
        (lambda: ms.Purchase(first_cost=5, rebate=6), "Purchase.rebate: cannot use '6.00 USD'. "
                                                      "Use a value of at most the first cost, 5.00 USD."),
        (lambda: ms.Purchase(first_cost="1,80 USD"), "Purchase.first_cost: cannot read the comma "
                                                     "in '1,80 USD'. Write '1.80 USD' with a "
                                                     "decimal point, or group thousands as in "
                                                     "'1,500'."),
        (lambda: ms.Terms(discount_rate=5), "Terms.discount_rate: 5 is 500 % if it is a rate a "
                                            "year. Did you mean '5 %'? Write the unit."),
        (lambda: ms.Terms(discount_rate="3"), "Terms.discount_rate: '3' is 300 % if it is a rate "
                                              "a year. Did you mean '3 %'? Write the unit."),
        (lambda: ms.Terms(electricity_escalation="-100 %"), "Terms.electricity_escalation: '-100 "
                                                            "%' is too small. Use a rate a year "
                                                            "between -50 and 100 %."),
        (lambda: ms.Terms(rates="mixed"), "Terms.rates: cannot use 'mixed'. Use one of real, "
                                          "nominal."),
        (lambda: ms.Terms(years=0), "Terms.years: 0 is too small. Use a span of years from 1 to "
                                    "60 years."),
        (lambda: ms.Terms(years=3, loan=ms.Loan(rate="7 %", term=5)), "Terms.loan: the loan's term is 5 "
                                                                      "years. Use a value of at most the "
                                                                      "study period, 3 years."),
        (lambda: ms.Loan(rate=7, term=5), "Loan.rate: 7 is 700 % if it is a rate a year. Did you "
                                          "mean '7 %'? Write the unit."),
        (lambda: plain().pair("machin"), "economics option: cannot use 'machin'. Did you mean "
                                         "'machine'? The other choice is 'reheat'."),
        (lambda: plain().cash_flow([Stay(CHEAP, 3), Stay(DEAR, 4)]), "economics plan: cannot use "
                                                                     "'[3, 4] years'. Use stays "
                                                                     "that add up to 10 years, "
                                                                     "none negative."),
        (lambda: plain().financed_cost(DEAR), "financed_cost: terms without a loan. Use "
                                              "Terms(loan=Loan(...))."),
        (lambda: plain().bridge(CHEAP, CHEAP), "bridge then: cannot use 'reheat'. Use another "
                                               "option than the first."),
        (lambda: plain().bridge(CHEAP, DEAR, 11), "bridge seasons: cannot use 11. Use a whole "
                                                  "number from 1 to 10."),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence(make: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        make()
    assert str(caught.value) == sentence


def test_money_is_read_with_its_commas() -> None:
    bought = ms.Purchase(first_cost="12,345.50 USD", maintenance="2 USD/month", life="24 months")
    assert (bought.first_cost, bought.maintenance) == pytest.approx((12345.5, 24.0))
    assert bought.life == 2.0
    assert ms.Terms(discount_rate="4.5 %").discount_rate == pytest.approx(0.045)
    nominal = ms.Terms(rates="nominal", inflation="2 %")
    assert nominal.discount_rate == pytest.approx(0.0506)
    assert nominal.gas_escalation == pytest.approx(0.02)


# ---------------------------------------------------------------------- of a comparison


@pytest.fixture(scope="module")
def comparison() -> ms.Comparison:
    shared: dict[str, Any] = {
        "cooling": ms.Cooling(stages=[ms.Stage(capacity="2 ton")]),
        "strips": ms.Strips(stages=["5 kW"]),
        "furnace": ms.Furnace(capacity="40 kBtu/h"),
    }
    study = ms.Study(
        ms.House(floor_area="1500 ft2", ach50=3.0),
        {
            CHEAP: (ms.Equipment(**shared), ms.strategies.staged_reheat),
            DEAR: (
                ms.Equipment(**shared, dehumidifier=ms.Dehumidifier(capacity="70 pint/day")),
                ms.strategies.with_dehumidifier,
            ),
        },
        ms.Weather.sample("greensboro"),
        tariff=ms.Tariff(price="20 cent/kWh"),
        start="10-28",
        end="11-03",
    )
    return study.run(progress=False)


BOUGHT = {CHEAP: ms.Purchase(first_cost=600), DEAR: ms.Purchase(first_cost="1,800 USD")}


def test_the_year_is_the_season_of_the_comparison(comparison: ms.Comparison) -> None:
    found = ms.economics(comparison, BOUGHT)
    cost = comparison.table()["cost_USD"]
    for option, yearly in found.yearly.items():
        assert yearly.cost == pytest.approx(cost[option])
        meter = comparison.seasons[option].meter
        assert yearly.kwh == pytest.approx(meter.total_kwh)
        assert yearly.gas == pytest.approx(comparison.study.tariff.gas_price * meter.gas_kwh)
    assert found.yearly[CHEAP].gas > 0.0
    # Four days of October and three of November, in this order; nothing else was simulated.
    bills = found.bills.loc[CHEAP]
    assert list(bills.index) == [10, 11, 12, *range(1, 10)]
    assert (bills["electricity_kWh"] > 0.0).tolist() == [True, True, *[False] * 10]
    assert "season of 7 days" in found.notes[-1]
    assert "assumed to cost the same" in found.notes[-1]
    assert found.table().loc[DEAR, "yearly_energy_USD"] == pytest.approx(cost[DEAR])


def test_an_option_without_a_purchase_is_named(comparison: ms.Comparison) -> None:
    with pytest.raises(ms.InputError) as caught:
        ms.economics(comparison, {CHEAP: BOUGHT[CHEAP]})
    assert str(caught.value) == (
        "economics purchases['machine']: nothing. Use a Purchase with a first_cost, 0 if nothing "
        "is bought."
    )
    with pytest.raises(ms.InputError, match=r"purchases: cannot use 'box'. Use one of"):
        ms.economics(comparison, {**BOUGHT, "box": BOUGHT[CHEAP]})
    with pytest.raises(ms.InputError, match=r"economics terms: cannot use .*. Use Terms"):
        ms.economics(comparison, BOUGHT, {"years": 5})  # type: ignore[arg-type]


# ---------------------------------------------------------------------- figures


def figures() -> list[Figure]:
    found = attrs.evolve(plain(discount_rate=0.03, inflation=0.02), notes=("One. " * 40, "Two."))
    bridge = found.bridge(CHEAP, DEAR)
    plans = {**{option: option for option in found.options}, "both in turn": bridge.plans[2]}
    return [cost_figure(found), cost_figure(found, plans), bridge_figure(bridge)]


@pytest.mark.parametrize("k", range(3))
def test_a_figure_says_its_sums_and_cuts_nothing_off(k: int) -> None:
    figure = figures()[k]
    renderer = drawn(figure).get_renderer()
    for ax in figure.axes:
        for text in ax.texts:
            box = Text.get_window_extent(text, renderer)
            assert figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1, text.get_text()
            assert figure.bbox.y0 <= box.y0 and box.y1 <= figure.bbox.y1, text.get_text()
        boxes = sorted((Text.get_window_extent(t, renderer) for t in ax.texts), key=lambda b: b.y0)
        for low, high in zip(boxes, boxes[1:], strict=False):
            assert low.y1 <= high.y0 + 1.0
    found = plain(discount_rate=0.03, inflation=0.02)
    text = written(figure)
    if k < 2:
        for option in found.options:
            assert f"{option}: {found.cash_flow(option)['spent_USD'].iloc[-1]:,.0f} USD" in text
    else:
        bridge = found.bridge(CHEAP, DEAR)
        assert f"Lowest cost, {bridge.table['life_cycle_cost_USD'].min():,.0f} USD" in text
        assert re.search(r"never: [\d,]+ USD", text)
        # Bars and lines are in the same money: each line ends at the height of its bar.
        bars, lines = figure.axes
        heights = [bar.get_height() for bar in bars.patches]
        ends = [float(line.get_ydata()[-1]) for line in lines.lines]
        cost = bridge.table["life_cycle_cost_USD"]
        assert heights == pytest.approx(cost.tolist())
        longest = max(bridge.plans)
        assert ends == pytest.approx([cost[n] for n in sorted({0, 1, longest // 2, longest})])
