"""The answer in three lines: true in each case of a study, and the same on screen and page."""

from collections.abc import Callable

import attrs
import pandas as pd
import pytest
from support.report_pages import DRY, PLAIN, REHEAT, Weighed, are_sentences, verdict, words_of

from moistsim.advice import Advice
from moistsim.core.display import Show
from moistsim.report import Report, answer
from moistsim.scenario import Scenario
from moistsim.study.study import Comparison

US = Show("us")


def budget(option: str, against: str, saved: float, error: float) -> pd.DataFrame:
    """An error budget as `error_budget` makes it, with two sources."""
    table = pd.DataFrame(
        {"net_savings_USD": [0.6 * error, 0.8 * error, error]},
        index=["house description", "prices", "together"],
    )
    table.attrs = {"option": option, "against": against, "net_savings_USD": saved}
    return table


def test_it_says_what_to_choose_and_how_to_set_it(of: Callable[..., Advice]) -> None:
    it = of(0.0, plain=0.0, reheat=900.0, dry=320.0)
    assert it.best == DRY and it.bought is not None
    said = answer(it, show=US)
    hours = it.hours_as_set(PLAIN)
    (target,) = it.at_goal.options[DRY].setpoints.values()
    assert said.do.startswith(f"Choose “{DRY}”, set to {round(target, 1):g} % relative humidity.")
    assert f"above 60 % for hardly an hour instead of {hours:,.0f} (October 22" in said.do
    assert "Of 2 options that keep the goal, it costs the least." in said.do
    more = it.bought.pair(DRY, PLAIN)
    assert (
        f"It costs 320 USD more to buy and {-more.yearly_saving:,.0f} USD a year more" in said.costs
    )
    less = it.bought.life_cycle_cost(REHEAT) - it.bought.life_cycle_cost(DRY)
    assert f", {less:,.0f} USD less than “{REHEAT}”." in said.costs
    assert f"Over 10 years it costs {it.bought.life_cycle_cost(DRY):,.0f} USD" in said.costs
    assert all(map(are_sentences, said))


def test_it_says_to_keep_a_dry_base(scenario: Scenario, ran: Comparison) -> None:
    study = attrs.evolve(scenario.study, base=REHEAT)
    dry = Comparison(study, ran.seasons)
    it = verdict(dry, plain=0.0, reheat=1.0, dry=5000.0)
    said = answer(it, show=US)
    assert said.do.startswith(f"Keep “{REHEAT}”: it keeps the goal, at most 88 hours a year")
    assert "more to buy" not in said.costs
    assert all(map(are_sentences, said))


def test_one_option_and_no_prices(
    scenario: Scenario, ran: Comparison, of: Callable[..., Advice]
) -> None:
    said = answer(of(), show=US)
    assert "gives no purchase prices" in said.costs and said.sure.startswith("Not calculated")
    alone = attrs.evolve(
        scenario,
        study=attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]}),
        purchases={PLAIN: scenario.purchases[PLAIN]},
    )
    single = Comparison(alone.study, {PLAIN: ran.seasons[PLAIN]})
    one = answer(verdict(single, plain=0.0), show=US)
    assert "No option ends the complaint" in one.do and "only one option" in one.sure
    assert all(map(are_sentences, (*said, *one)))


@pytest.mark.parametrize(
    ("saved", "error", "words"),
    [
        # One standard deviation to either side holds 68 % of a normal distribution: 84 % below it.
        (100.0, 100.0, f"about 85 % that “{DRY}” costs less"),
        (30.0, 50.0, f"about 75 % that “{DRY}” costs less"),
        (10.0, 50.0, f"Too close to call: “{DRY}” costs"),
        (-100.0, 100.0, f"about 85 % that “{REHEAT}” costs less"),
        # At 1.45 standard deviations the chance is 92.6 %: no more than 95 %.
        (145.0, 100.0, f"about 95 % that “{DRY}” costs less"),
        (900.0, 100.0, f"more than 95 % that “{DRY}” costs less"),
    ],
)
def test_how_sure_is_a_chance(
    of: Callable[..., Advice], saved: float, error: float, words: str
) -> None:
    it = of(0.0, plain=0.0, reheat=300.0, dry=320.0)
    said = answer(it, budget(DRY, REHEAT, saved, error), show=US).sure
    assert words in said and f"{abs(saved):,.0f} ± {error:,.0f} USD" in said
    assert said.endswith("Most of the doubt: prices.") and are_sentences(said)
    # What costs less without drying is no rival.
    wet = answer(it, budget(DRY, PLAIN, -abs(saved) - 1.0, error), show=US).sure
    assert f"“{DRY}” costs {abs(saved) + 1:,.0f} ± {error:,.0f} USD more over 10 years" in wet
    assert "misses the goal" in wet and "chance" not in wet and are_sentences(wet)


def test_cases_come_before_the_error_budget(of: Callable[..., Advice], weighed: Weighed) -> None:
    found, errors, text = weighed
    said = answer(of(0.0, plain=0.0, reheat=300.0, dry=320.0), errors, found, show=US).sure
    assert "of 16 cases" in said and "chance" not in said and are_sentences(said)
    assert said in words_of(text)


def test_it_comes_before_all_else_on_the_page(report: Report, us: str) -> None:
    text = words_of(us)
    places = [text.index(line) for _, line in report.answer.lines]
    assert places == sorted(places) and [label for label, _ in report.answer.lines] == [
        "What to do", "What it costs", "How sure"
    ]  # fmt: skip
    assert places[-1] < text.index(report.reasons[0]) < text.index(report.as_set.caption)
