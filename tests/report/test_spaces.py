"""The page about a house over a crawl space: numbers of the library, sentences, and a verdict that looks below."""

from pathlib import Path
from typing import Any

import attrs
import pytest
from support.report_pages import Parts, advice, are_sentences, numbers, table, words_of
from support.scenario_files import read, write_ten_days

import moistsim as ms
from moistsim.core.display import Show
from moistsim.report import Report, gather, page
from moistsim.report.sentences import reasons
from moistsim.risk import WET_WEEK, Damp, damp_wood
from moistsim.risk import spaces as of_spaces
from moistsim.scenario import Scenario
from moistsim.sizing import loads
from moistsim.study import Comparison

AS_IS, COVER, SLAB = "As it is", "Ground cover", "On a slab"
HOUSE = """\
name = "House over a crawl space"
[weather]
file = "october.csv"
[season]
start = "10-19"
end = "10-25"
[house]
floor_area = "1500 ft2"
ach50 = 6
[house.ducts]
location = "crawl space"
supply_leakage = "6 %"
return_leakage = "6 %"
[house.crawl_space]
kind = "vented"
[house.garage]
floor_area = "400 ft2"
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[options."As it is"]
strategy = "temperature_only"
purchase = { first_cost = 0 }
[options."Ground cover"]
strategy = "temperature_only"
purchase = { first_cost = 900 }
[options."Ground cover".house.crawl_space]
ground_cover = "100 %"
"""


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    folder: Path = tmp_path_factory.mktemp("crawl")
    write_ten_days(folder / "october.csv", "10-17")
    found = read(folder, HOUSE)
    house, options = found.study.house, dict(found.study.options)
    bare = attrs.evolve(house, crawl_space=None, garage=None, ducts=ms.Ducts())
    machines, strategy, *_ = options[AS_IS]
    options[SLAB] = (machines, strategy, bare)
    return attrs.evolve(found, study=attrs.evolve(found.study, options=options), purchases={})


@pytest.fixture(scope="module")
def ran(scenario: Scenario) -> Comparison:
    return scenario.study.run(progress=False)


@pytest.fixture(scope="module")
def report(scenario: Scenario, ran: Comparison) -> Report:
    return gather(scenario, ran)


def test_each_space_has_a_part_with_the_numbers_of_the_library(
    report: Report, ran: Comparison
) -> None:
    assert [space.title for space in report.spaces] == ["Crawl space", "Garage"]
    text = page(report)
    rows = table(text, "As set", 2)
    found = ms.space_risk(ran).xs("crawl space", level="space")
    assert len(rows[""] if "" in rows else next(iter(rows.values()))) == 3
    for label, name in (
        ("Mean relative humidity, %", "mean_space_rh_pct"),
        ("Highest wood moisture content, %", "highest_wood_moisture_pct"),
        (
            "Time above 80 % relative humidity at the surface of wood or board, h",
            "surface_above_80_h",
        ),
    ):
        cells = rows[label]
        assert cells[2] == "–", "a house on a slab has no crawl space"
        digits = of_spaces.MEASURE[name].digits
        expected = [round(float(found.loc[option, name]), digits) for option in (AS_IS, COVER)]
        assert numbers(cells[:2]) == pytest.approx(expected, abs=0.51 * 10.0**-digits)
    # By hand: the mean of the hourly loads, in pints a day of 0.473 kg.
    hourly = loads(ran.seasons[AS_IS]).water
    for source, label in (("crawl space", "the crawl space"), ("ducts", "ducts")):
        pints = 86400.0 * hourly[source].mean() / 0.4723
        cell = rows[f"Moisture to the house from {label}, pints/day"][0]
        assert numbers([cell])[0] == pytest.approx(pints, abs=0.06)
    garage = table(text, "As set", 3)
    assert not any("wood moisture content" in label for label in garage)
    assert not any("ducts" in label for label in garage)


def test_the_words_are_sentences_in_both_units(
    scenario: Scenario, ran: Comparison, report: Report
) -> None:
    si = gather(scenario, ran, units="si")
    for it in (report, si):
        for space in it.spaces:
            for text in space.sentences:
                assert are_sentences(text), text
    text, metric = words_of(page(report)), words_of(page(si))
    assert "Spaces next to the house" in text and "°F" in text
    assert "On average, ducts in the crawl space" in text
    assert "the crawl space averages" in metric and "pints" not in metric
    for caution in of_spaces.CAUTIONS:
        assert caution in report.cautions
    assert Parts(page(report)).open == []
    (picture,) = [space.picture for space in report.spaces if space.picture]
    assert "joists and subfloor" in picture.alternative and AS_IS in picture.alternative


def test_a_house_without_spaces_has_no_such_part(scenario: Scenario, ran: Comparison) -> None:
    alone = attrs.evolve(
        scenario.study, house=ran.seasons[SLAB].house, options={SLAB: scenario.study.options[SLAB]}
    )
    it = gather(attrs.evolve(scenario, study=alone), Comparison(alone, {SLAB: ran.seasons[SLAB]}))
    assert it.spaces == () and "Spaces next to the house" not in page(it)
    assert not set(of_spaces.CAUTIONS) & set(it.cautions)


WET = Damp("crawl space", 2.0, 40, 22.34)
MOLDY = Damp("crawl space", 3.4, 0, 18.0)
BOARD = Damp("garage", 4.0, 0, None)


def verdict(ran: Comparison, damp: dict[str, Any]) -> ms.Advice:
    return advice(ran, damp=damp)


@pytest.mark.parametrize("found", [WET, MOLDY, BOARD], ids=lambda it: f"{it.space} {it.wood}")
def test_the_answer_looks_below(ran: Comparison, found: Damp) -> None:
    """The best option leaves damp wood, cures it, or no option cures it: the answer says each."""
    show = Show("us")
    best = verdict(ran, {}).best
    dry = verdict(ran, {})
    assert "wood" not in " ".join(reasons(dry, 0.0, show))
    others = [name for name in ran.seasons if name != best]
    material = "board" if found.wood is None else "wood"

    left = verdict(ran, {best: (found,), others[0]: (found,)})
    _, advice, _ = reasons(left, 0.0, show)
    assert f"It leaves {material} in the {found.space} too damp." in advice
    assert f"“{others[1]}” " in advice.split("too damp.")[1]

    none = verdict(ran, dict.fromkeys(ran.seasons, (found,)))
    assert "No option of this study keeps it dry." in reasons(none, 0.0, show)[1]
    assert none.best_for_wood is None
    first, *_ = reasons(none, 0.0, show)
    if found is WET:
        assert "Wood in the crawl space reaches 22.3 % moisture content" in first
        assert "above 20 %, too wet, on 40 days" in first
    else:
        assert "isible mold could grow on" in first
    for text in (first, advice):
        assert are_sentences(text), text


def test_wood_is_damp_by_its_days_or_its_mold(ran: Comparison) -> None:
    table = ms.space_risk(ran)
    key = (COVER, "crawl space")
    for name, value, damp in (
        ("wet_wood_days", WET_WEEK, False),
        ("wet_wood_days", WET_WEEK + 1, True),
        ("mold_index_wood", 2.99, False),
        ("mold_index_wood", 3.0, True),
    ):
        one = table.copy()
        one.loc[key, ["wet_wood_days", "mold_index_wood"]] = [0, 0.0]
        one.loc[key, name] = value
        assert (COVER in damp_wood(one)) is damp
