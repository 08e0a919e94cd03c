"""The page's sentences are true, whole and short."""

import html
import re
from collections.abc import Callable

import attrs
from support.report_pages import (
    DRY,
    PLAIN,
    REHEAT,
    Weighed,
    are_sentences,
    verdict,
    words_of,
)

import moistsim as ms
from moistsim.advice import Advice
from moistsim.core.display import Show
from moistsim.report import Report, gather, page
from moistsim.report.sentences import air_leakage, bridge, reasons, trades
from moistsim.scenario import Scenario, checksum
from moistsim.study.study import Comparison

US = Show("us")


def test_what_happens_if_nothing_is_done(of: Callable[..., Advice], ran: Comparison) -> None:
    hours = ran.seasons[PLAIN].meter.humidity["hours_over_60"]
    assert hours > 1.0
    said = reasons(of(), 7.0, US)[0]
    assert f"above 60 % for {hours:,.0f} of 96 hours (October 22 to October 25)." in said
    assert "longest spell lasts 7 hours" in said and said.startswith("If nothing changes (“Plain”)")
    assert "(22 October to 25 October)" in reasons(of(), 7.0, Show("si"))[0]
    assert "mold is not expected" in said
    assert (
        "mold could start on the coldest indoor surfaces, too fine to see"
        in reasons(of(1.5), 7.0, US)[0]
    )
    assert "visible mold could grow" in reasons(of(3.0), 7.0, US)[0]
    # An option with a purchase is not "nothing changes".
    bought = reasons(of(0.0, plain=50.0, reheat=300.0, dry=900.0), 7.0, US)[0]
    assert bought.startswith("With “Plain”")


def test_the_cheapest_of_those_that_are_as_dry(of: Callable[..., Advice]) -> None:
    for costs in (
        {"plain": 0.0, "reheat": 10.0, "dry": 320.0},
        {"plain": 0.0, "reheat": 300.0, "dry": 20.0},
        {"plain": 0.0, "reheat": 1.0, "dry": 9000.0},
    ):
        it = of(0.0, **costs)
        assert it.bought is not None
        holding = {name for name, x in it.at_goal.options.items() if x.meets}
        assert PLAIN not in holding
        best = min(holding, key=it.bought.life_cycle_cost)
        said = reasons(it, 7.0, US)
        assert f"“{best}”" in said[1]
        assert f"{it.bought.life_cycle_cost(best):,.0f} USD over 10 years" in said[1]
        assert all(map(are_sentences, said))
        extra = it.bought.pair(best, PLAIN).extra_first_cost
        assert f"{extra:,.0f} USD more to buy" in said[2]
        assert "does not pay for itself in money" in said[2]  # Drying costs energy.


def test_its_price_comes_back_against_what_does_as_well(of: Callable[..., Advice]) -> None:
    it = of(0.0, plain=0.0, reheat=300.0, dry=301.0)
    assert it.bought is not None
    pair = it.bought.pair(DRY, REHEAT)
    assert pair.simple_payback is not None and it.best == DRY
    said = reasons(it, 7.0, US)[2]
    assert f"Compared with “{REHEAT}”, which does as well, it pays back in" in said
    assert f"pays back in {pair.simple_payback:.1f} years (" in said and "discounted" in said
    # Longer than is looked at is said to be so.
    slow = of(0.0, plain=0.0, reheat=0.0, dry=9000.0)
    assert slow.best == REHEAT and slow.repaid is None
    said = list(trades(slow))
    assert said == ["No option that costs more to buy pays back by costing less to run."]
    assert slow.bought is not None
    pair = slow.bought.pair(DRY, REHEAT)
    assert pair.simple_payback is not None and pair.simple_payback > 100.0
    assert not pair.pays_back and pair.payback_words == (
        "does not pay back within the 10 years studied"
    )
    assert f"{pair.simple_payback:,.0f}" not in pair.verdict and pair.payback_words in pair.verdict
    brief = attrs.evolve(pair, life=8.0)
    assert brief.payback_words == "does not pay back within its life of 8 years"


def test_without_prices_one_option_and_a_dry_base(
    scenario: Scenario, ran: Comparison, of: Callable[..., Advice]
) -> None:
    said = reasons(of(), 7.0, US)
    assert "gives no purchase prices" in said[2]
    assert all(map(are_sentences, said))
    # The base keeps the goal: no option that costs more is advised.
    study = attrs.evolve(scenario.study, base=REHEAT)
    it = verdict(Comparison(study, ran.seasons), plain=0.0, reheat=1.0, dry=5000.0)
    said = reasons(it, 0.0, US)
    assert "hardly ever rises above 60 %" in said[0] and not it.is_humid
    assert it.cost(PLAIN) < it.cost(it.best) and PLAIN not in it.fit
    alone = attrs.evolve(
        scenario,
        study=attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]}),
        purchases={},
        terms=None,
    )
    single = Comparison(alone.study, {PLAIN: ran.seasons[PLAIN]})
    said = reasons(verdict(single), 0.0, US)
    assert all(map(are_sentences, said)) and "only one option" in said[1]
    text = page(gather(alone, single))
    assert "Over 10 years" not in text


def test_the_page_holds_the_answer_and_what_it_was_made_of(
    scenario: Scenario, ran: Comparison, report: Report, us: str
) -> None:
    assert len(report.answer) == 3 and all(map(are_sentences, report.answer))
    assert len(report.reasons) == 3 and all(map(are_sentences, report.reasons))
    text = words_of(us)
    for sentence in (*report.answer, *report.reasons):
        assert sentence in text
    for said in ("Invented.", "local codes and licensed trades", "fire hazard", "table.csv"):
        assert said in html.unescape(us)
    assert ms.Weather.read(scenario.path.parent / "october.csv").checksum in us
    assert checksum(scenario) in us and "moistsim" in us
    assert "<b>dry" not in us


def test_every_sentence_of_the_page_is_whole_and_short(
    report: Report, of: Callable[..., Advice], weighed: Weighed
) -> None:
    """Answers, trades, notes, cautions and the uncertainty, with any prices."""
    texts = [
        *report.answer,
        *report.reasons,
        *report.cautions,
        *report.cannot,
        *report.helps,
        *report.goal_text,
        *report.cures_notes,
        *report.proposed,
        report.three_ways_text,
    ]
    assert report.years is not None
    texts += [*report.years.sentences, *report.years.notes, report.years.bridge_text]
    for costs in ((0.0, 300.0, 301.0), (0.0, 0.0, 9000.0), (50.0, 300.0, 20.0), (900.0, 1.0, 2.0)):
        for mold in (0.0, 1.5, 3.0):
            it = of(mold, **dict(zip(("plain", "reheat", "dry"), costs, strict=True)))
            texts += [*reasons(it, 7.0, US), *reasons(it, 7.0, Show("si")), *trades(it)]
    for best in (0, 1, 3, 10):
        texts.append(bridge("One", "Other", best, 10, [120.0, 90.0, 60.0]))
    found, budget, _ = weighed
    section = weighed[2].split("certain these results are</h2>")[1].split("</section>")[0]
    texts += [html.unescape(text) for text in re.findall(r"<p>(.*?)</p>", section)]
    assert len(texts) > 40
    assert [text for text in texts if not are_sentences(text)] == []


def test_air_leakage_is_said_of_each_different_house(ran: Comparison) -> None:
    one = list(air_leakage(ran, US))
    assert all(map(are_sentences, one)) and one[0].startswith("The house leaks ")
    assert "CFM50 (3 ACH50)" in one[0] and "over the season" in one[0]
    assert "shelter class 3" in one[1] and "Plain" not in one[1]
    # Another house, sealed, in the place of the last option's.
    sealed = attrs.evolve(ran.seasons[DRY], house=ms.House(floor_area="1500 ft2", ach50=1.0))
    two = list(air_leakage(attrs.evolve(ran, seasons={**ran.seasons, DRY: sealed}), US))
    assert all(map(are_sentences, two))
    assert two[0].startswith(f"With “{PLAIN}”") and two[1].startswith(f"With “{DRY}”")
    assert "(1 ACH50)" in two[1] and f"with “{PLAIN}”" in two[2]
    assert " L/s at 50 Pa (3 ACH50)" in next(air_leakage(ran, Show("si")))
