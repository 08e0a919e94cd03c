"""The page's sentences are true, and each is one."""

import html
from collections.abc import Callable

import attrs
from support.report_pages import (
    DRY,
    PLAIN,
    REHEAT,
    Parts,
    is_one_sentence,
    verdict,
    words_of,
)

import moistsim as ms
from moistsim.report import Report, gather, page
from moistsim.report.verdict import Verdict
from moistsim.report.words import answer, trades
from moistsim.scenario import Scenario, checksum
from moistsim.study.study import Comparison


def test_what_happens_if_nothing_is_done(of: Callable[..., Verdict], ran: Comparison) -> None:
    hours = ran.seasons[PLAIN].meter.humidity["hours_over_60"]
    assert hours > 1.0
    said = answer(of(), 7.0)[0]
    assert f"for {hours:,.0f} hours of the 96 from 22 October to 25 October" in said
    assert "up to 7 hours in a row" in said and said.startswith("If nothing changes (“Plain”)")
    assert "mold is not expected" in said
    assert "mold too fine to be seen could begin" in answer(of(1.5), 7.0)[0]
    assert "mold that can be seen could grow" in answer(of(3.0), 7.0)[0]
    # What has to be bought is no change of nothing.
    bought = answer(of(0.0, plain=50.0, reheat=300.0, dry=900.0), 7.0)[0]
    assert bought.startswith("With “Plain”")


def test_the_cheapest_of_those_that_are_as_dry(of: Callable[..., Verdict]) -> None:
    for costs in (
        {"plain": 0.0, "reheat": 10.0, "dry": 320.0},
        {"plain": 0.0, "reheat": 300.0, "dry": 20.0},
        {"plain": 0.0, "reheat": 1.0, "dry": 9000.0},
    ):
        it = of(0.0, **costs)
        assert it.bought is not None and it.matched is not None
        holding = {name for name, x in it.matched.options.items() if x.matched}
        assert PLAIN not in holding
        best = min(holding, key=it.bought.life_cycle_cost)
        said = answer(it, 7.0)
        assert f"“{best}”" in said[1]
        assert f"{it.bought.life_cycle_cost(best):,.0f} USD over 10 years" in said[1]
        assert all(map(is_one_sentence, said))
        extra = it.bought.pair(best, PLAIN).extra_first_cost
        assert f"{extra:,.0f} USD more to buy" in said[2]
        assert "does not pay for itself in money" in said[2]  # Drying costs energy.


def test_its_price_comes_back_against_what_does_as_well(of: Callable[..., Verdict]) -> None:
    it = of(0.0, plain=0.0, reheat=300.0, dry=301.0)
    assert it.bought is not None
    pair = it.bought.pair(DRY, REHEAT)
    assert pair.simple_payback is not None and it.best == DRY
    said = answer(it, 7.0)[2]
    assert f"against “{REHEAT}”, which does as well, its higher price comes back in" in said
    assert f"{pair.simple_payback:.1f} years" in said
    # Longer than is looked at is said to be so.
    slow = of(0.0, plain=0.0, reheat=0.0, dry=9000.0)
    assert slow.best == REHEAT and slow.repaid is None
    assert any("longer than the 10 looked at" in text for text in trades(slow))


def test_without_prices_one_option_and_a_dry_base(
    scenario: Scenario, ran: Comparison, of: Callable[..., Verdict]
) -> None:
    said = answer(of(), 7.0)
    assert "What the options cost to buy was not given" in said[2]
    assert all(map(is_one_sentence, said))
    # The base keeps it dry: what leaves it humid is no advice, however cheap.
    study = attrs.evolve(scenario.study, base=REHEAT)
    dry = Comparison(study, ran.seasons)
    it = verdict(attrs.evolve(scenario, study=study), dry, plain=0.0, reheat=1.0, dry=5000.0)
    assert ran.seasons[REHEAT].meter.humidity["hours_over_60"] < 0.5
    said = answer(it, 0.0)
    assert "hardly ever rises above 60 %" in said[0] and "keep it so" in said[1]
    assert it.cost(PLAIN) < it.cost(it.best) and PLAIN not in it.fit
    alone = attrs.evolve(
        scenario,
        study=attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]}),
        purchases={},
        terms=None,
    )
    one = gather(alone, Comparison(alone.study, {PLAIN: ran.seasons[PLAIN]}))
    assert all(map(is_one_sentence, one.answer)) and "only option that was studied" in one.answer[1]
    text = page(one)
    assert "Over 10 years" not in text and "equally dry</h2>" not in text
    assert len(Parts(text).tables) == 3


def test_the_page_holds_the_answer_and_what_it_was_made_of(
    scenario: Scenario, ran: Comparison, report: Report, us: str
) -> None:
    assert len(report.answer) == 3 and all(map(is_one_sentence, report.answer))
    text = words_of(us)
    for sentence in report.answer:
        assert sentence in text
    for said in ("Invented.", "local codes and licensed trades", "fire hazard", "table.csv"):
        assert said in html.unescape(us)
    assert ms.Weather.read(scenario.path.parent / "october.csv").checksum in us
    assert checksum(scenario) in us and "moistsim" in us
    assert "<b>dry" not in us
