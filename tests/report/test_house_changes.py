"""The page with options that change the house: what they change, and how they are weighed."""

from pathlib import Path

import attrs
import pytest
from support.report_pages import PLAIN, SCENARIO, Parts, advice, are_sentences, table, words_of
from support.scenario_files import read, write_ten_days

import moistsim as ms
from moistsim.core.display import Show
from moistsim.report import Conclusion, Report, conclude, gather, page
from moistsim.report.sentences import cannot, helps
from moistsim.scenario import Scenario
from moistsim.study import Comparison

DRIER, SEALED, BOTH = "Range hood", "Air sealing", "Both"
HOUSES = (
    SCENARIO.replace('target_rh = "50 %"', 'target_rh = "57 %"')
    .split('[options."A <b>')[0]
    .replace("[tariff]", "[goal]\nhours = 900\n[house.gains]\nmoisture = '22 pint/day'\n[tariff]")
    + """
[options."Range hood"]
strategy = "temperature_only"
purchase = { first_cost = 200, life = 15 }
[options."Range hood".house.gains]
moisture = "4 pint/day"
[options."Air sealing"]
strategy = "temperature_only"
purchase = { first_cost = 800, life = 20 }
house = { ach50 = 1.5 }
[options."Both"]
strategy = "staged_reheat"
setpoints = { target_rh = "57 %" }
purchase = { first_cost = 1100, life = 20 }
house = { ach50 = 1.5 }
"""
)
"""An invented house with much moisture, and options that change it."""


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    folder: Path = tmp_path_factory.mktemp("houses")
    write_ten_days(folder / "october.csv", "10-17")
    return read(folder, HOUSES)


@pytest.fixture(scope="module")
def ran(scenario: Scenario) -> Comparison:
    return scenario.study.run(progress=False)


@pytest.fixture(scope="module")
def found(scenario: Scenario, ran: Comparison) -> Conclusion:
    """Conclusion on the options alone, without cures and proposals."""
    it = advice(ran)
    bought = ms.economics(it.comparison, scenario.purchases)
    whole = conclude(scenario, ran)
    return whole._replace(advice=attrs.evolve(it, bought=bought))


@pytest.fixture(scope="module")
def report(scenario: Scenario, ran: Comparison, found: Conclusion) -> Report:
    return gather(scenario, ran, found)


def test_the_page_says_what_each_option_changes(report: Report) -> None:
    assert report.changes == (
        (DRIER, ("Gains: moisture 22 pints/day → 4 pints/day",)),
        (SEALED, ("House: air leakage 3 ACH50 → 1.5 ACH50",)),
        (BOTH, ("House: air leakage 3 ACH50 → 1.5 ACH50",)),
    )
    text = words_of(page(report))
    assert "Changes to the house" in text and "air leakage 3 ACH50 → 1.5 ACH50" in text
    assert Parts(page(report)).open == []


def test_work_on_the_house_brings_its_cautions(report: Report) -> None:
    said = [text for text in report.cautions if "mechanical ventilation" in text]
    assert len(said) == 1 and said[0] in words_of(page(report))
    assert not any("crawl space" in text for text in report.cautions)
    assert all(map(are_sentences, report.cautions))


def test_a_page_without_changes_has_no_such_section(scenario: Scenario, ran: Comparison) -> None:
    few = attrs.evolve(
        scenario,
        study=attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]}),
        purchases={}, terms=None,
    )  # fmt: skip
    one = gather(few, Comparison(few.study, {PLAIN: ran.seasons[PLAIN]}))
    assert not any("mechanical ventilation" in text for text in one.cautions)
    assert one.changes == () and "Changes to the house" not in page(one)


def test_work_on_the_house_can_win(found: Conclusion, report: Report) -> None:
    """Less moisture keeps the goal without a machine."""
    it = found.advice
    assert it.is_humid
    assert DRIER in it.fit and SEALED not in it.fit and PLAIN not in it.fit
    cheapest = min(it.fit, key=it.cost)
    assert it.best == cheapest == DRIER
    assert f"“{DRIER}” is the cheapest" in report.reasons[1]
    said = [*cannot(it, Show("us"))]
    assert not any(text.startswith(f"“{DRIER}”") for text in said)
    assert any(text.startswith(f"“{SEALED}”") for text in said)
    rows = table(page(report), "At the goal")
    cells = dict(zip(it.at_goal.options, rows["Keeps the goal"], strict=True))
    assert cells[DRIER] == "yes" and cells[SEALED] == cells[PLAIN] == "no"


def test_what_helps_for_less_money_is_said(scenario: Scenario, ran: Comparison) -> None:
    """Without the winner: of the others, who has fewer humid hours and costs less than the best."""
    names = [name for name in ran.seasons if name != DRIER]
    options = {name: scenario.study.options[name] for name in names}
    few = Comparison(
        attrs.evolve(scenario.study, options=options), {name: ran.seasons[name] for name in names}
    )
    it = advice(few)
    bought = {name: scenario.purchases[name] for name in names}
    it = attrs.evolve(it, bought=ms.economics(it.comparison, bought))
    said = [*helps(it, Show("us"))]
    before = it.hours_as_set(PLAIN)
    expected = [
        name for name in names
        if name not in it.fit and it.at_goal.options[name].comparable
        and before - it.hours(name) >= 0.1 * before and it.cost(name) < it.cost(it.best)
    ]  # fmt: skip
    assert [text.split("”")[0].removeprefix("“") for text in said] == sorted(expected, key=it.cost)
    assert all(map(are_sentences, said))
    assert it.ends_complaint


def test_notes_say_that_a_house_acts_all_year(report: Report) -> None:
    assert report.years is not None
    (note,) = [text for text in report.years.notes if "every month" in text]
    assert note.startswith(f"“{DRIER}”, “{SEALED}” and “{BOTH}” change the house")
    assert are_sentences(note)


def test_values_of_the_house_stand_with_their_option(report: Report) -> None:
    found = {(value.group, value.key): value.text for value in report.stated}
    assert found[SEALED, "house.ach50"] == "1.5 ACH"
    assert found["", "house.gains.moisture"] == "22 pints/day"


def test_work_on_the_house_is_not_undone_by_a_later_purchase(
    scenario: Scenario, ran: Comparison, found: Conclusion
) -> None:
    """No plan in which sealing comes first, and then a house that is not sealed."""
    bought = {
        **dict.fromkeys(scenario.purchases, ms.Purchase(first_cost=5000)),
        DRIER: ms.Purchase(first_cost=0, maintenance=500),
        "Reheat": ms.Purchase(first_cost=300),
    }
    it = attrs.evolve(found.advice, bought=ms.economics(found.advice.comparison, bought))
    assert it.repaid is not None
    assert (it.repaid.option, it.repaid.against) == ("Reheat", DRIER)
    years = gather(scenario, ran, found._replace(advice=it)).years
    assert years is not None and years.bridge is None
