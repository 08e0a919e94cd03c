"""The page for the customer: that its numbers are the library's, its sentences true, and that it
opens anywhere."""

import html
import os
import re
import subprocess
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import attrs
import numpy as np
import pandas as pd
import pytest
from scenarios_for_tests import write_ten_days

import moistsim as ms
from moistsim.__main__ import main
from moistsim.figures import certainty_figure, cost_figure
from moistsim.report import MEASURE, Report, gather, page, sureness
from moistsim.report.glossary import GLOSSARY
from moistsim.report.paper import browser, printed
from moistsim.report.verdict import Verdict
from moistsim.report.words import answer, trades
from moistsim.scenario import (
    Scenario,
    ScenarioError,
    checksum,
    inputs,
    read_scenario,
    write_scenario,
)
from moistsim.study import Comparison
from moistsim.uncertain import in_words

SCENARIO = """\
name = "House of the tests"
note = "Invented."
measured = ["house.ach50", "equipment.ventilation"]
[weather]
file = "october.csv"
[season]
start = "10-22"
end = "10-25"
[house]
floor_area = "1500 ft2"
ach50 = 3
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.strips]
stages = ["5 kW"]
[equipment.ventilation]
airflow = "70 cfm"
[options.Plain]
strategy = "temperature_only"
purchase = { first_cost = 0 }
[options.Reheat]
strategy = "staged_reheat"
set_points = { target_rh = "50 %" }
purchase = { first_cost = 300 }
[options."A <b>dry</b> house"]
strategy = "with_dehumidifier"
purchase = { first_cost = 320 }
[options."A <b>dry</b> house".equipment.dehumidifier]
capacity = "70 pint/day"
"""
PLAIN, REHEAT, DRY = "Plain", "Reheat", "A <b>dry</b> house"


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Scenario:
    here = tmp_path_factory.mktemp("report")
    write_ten_days(here / "october.csv", "10-17")
    (here / "house.toml").write_text(SCENARIO, encoding="utf-8")
    return read_scenario(here / "house.toml")


@pytest.fixture(scope="module")
def ran(scenario: Scenario) -> Comparison:
    return scenario.study.run(progress=False)


@pytest.fixture(scope="module")
def report(scenario: Scenario, ran: Comparison) -> Report:
    return gather(scenario, ran, deeper=[("table.csv", "every column")])


@pytest.fixture(scope="module")
def us(report: Report) -> str:
    return page(report)


@pytest.fixture(scope="module")
def si(scenario: Scenario, ran: Comparison) -> str:
    return page(gather(scenario, ran, units="si"))


class Parts(HTMLParser):
    """Tags with what they hold, and tables as rows of texts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.tables: list[list[list[str]]] = []
        self.open: list[str] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag: str, given: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(given)))
        if tag not in ("meta", "img", "br", "link"):
            self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, text: str) -> None:
        if {"td", "th"} & {*self.open}:
            self.tables[-1][-1][-1] += text


def table(text: str, corner: str, nth: int = 0) -> dict[str, list[str]]:
    """Rows of the page's table with this word in its corner."""
    found = [rows for rows in Parts(text).tables if rows[0][0] == corner][nth]
    assert len({len(cells) for cells in found}) == 1
    return {cells[0]: cells[1:] for cells in found}


def numbers(cells: list[str]) -> list[float]:
    return [float(c.replace(",", "").replace("\N{MINUS SIGN}", "-").rstrip("% ")) for c in cells]


def words_of(text: str, *, values: bool = True) -> str:
    """What a reader reads, without what stands as code; `values` and what explains them too."""
    body = text.split("</style>")[1]
    if not values:
        body = re.sub(r'<(ul|dl) class="(values|glossary)">.*?</\1>', " ", body, flags=re.S)
    body = re.sub(r"<code>.*?</code>", " ", body, flags=re.S)
    alternatives = " ".join(re.findall(r' alt="(.*?)"', body))
    return html.unescape(re.sub(r"<[^>]+>", " ", body) + alternatives).replace("Miami FL", "Miami")


# ---------------------------------------------------------------------- numbers


def test_each_number_of_the_tables_is_that_of_the_library(
    scenario: Scenario, ran: Comparison, us: str, si: str
) -> None:
    for text, units, degree in ((us, "us", "F"), (si, "si", "C")):
        shown, frame = table(text, "As set"), ran.table(units)  # type: ignore[arg-type]
        assert shown["As set"] == [PLAIN, REHEAT, DRY]
        for label, column, within in (
            ("hours above 60 % relative humidity", "hours_over_60", 0.51),
            ("average relative humidity, %", "mean_rh_pct", 0.051),
            (
                f"average dew point, °{degree} (how much water is in the air)",
                f"mean_dew_point_{degree}", 0.051,
            ),
            ("cost for the season, USD", "cost_USD", 0.51),
            ("electricity of the machines, kWh", "total_kWh", 0.51),
            ("highest draw over a quarter of an hour, kW", "peak_15_min_kW", 0.051),
        ):  # fmt: skip
            assert numbers(shown[label]) == pytest.approx(frame[column].tolist(), abs=within)
    uses = [numbers(cells) for label, cells in table(us, "As set").items() if "of it, " in label]
    assert np.sum(uses, axis=0) == pytest.approx(ran.table()["total_kWh"].tolist(), abs=4.0)

    months = table(us, "USD")
    bills = ran.bills()
    assert numbers(months["October"]) == [bill.months["total"].iloc[0] for bill in bills.values()]
    assert numbers(months["season"]) == [bill.total for bill in bills.values()]


def test_equally_dry_and_over_the_years(scenario: Scenario, ran: Comparison, us: str) -> None:
    matched = scenario.study.matched(MEASURE, as_set=ran, progress=False)
    shown, frame = table(us, "Equally dry"), matched.table("us")
    assert shown["keeps the common humidity"] == [
        "yes" if it.matched else "no" for it in matched.options.values()
    ]
    assert shown["humidity setting now"][0] == "has none"
    assert numbers(shown["cost for the season, USD"]) == pytest.approx(
        frame["cost_matched_USD"].tolist(), abs=0.51
    )
    assert numbers(shown["the same as set before, USD"]) == pytest.approx(
        ran.table()["cost_USD"].tolist(), abs=0.51
    )
    held = [x for x, yes in zip(shown["average relative humidity, %"],
                                shown["keeps the common humidity"], strict=True) if yes == "yes"]  # fmt: skip
    assert max(numbers(held)) - min(numbers(held)) <= 1.1
    for text in matched.cannot.values():
        assert html.escape(text.split(":")[0]) in us

    bought = ms.economics(matched.comparison, scenario.purchases, scenario.terms)
    years, money = table(us, "Over 10 years"), bought.table()
    for label, column in (
        ("to buy, less rebate, USD", "first_cost_USD"),
        ("energy a year, USD", "yearly_energy_USD"),
        ("upkeep a year, USD", "maintenance_USD"),
        ("all of it in today’s money, USD", "life_cycle_cost_USD"),
    ):
        assert numbers(years[label]) == pytest.approx(money[column].tolist(), abs=0.51)


def test_the_bridge_is_that_of_the_economics(scenario: Scenario, ran: Comparison, us: str) -> None:
    """Reheat, cheaper to buy and dearer to run, before the dehumidifier."""
    matched = scenario.study.matched(MEASURE, as_set=ran, progress=False)
    bought = ms.economics(matched.comparison, scenario.purchases, scenario.terms)
    assert bought.pair(DRY, REHEAT).simple_payback is not None
    found, shown = bought.bridge(REHEAT, DRY), table(us, "Bought")
    assert shown["Bought"][:3] == ["at once", "after 1 season", "after 2 seasons"]
    cost = found.table["life_cycle_cost_USD"].iloc[:6]
    assert numbers(shown["all of it in today’s money, USD"]) == pytest.approx(
        cost.tolist(), abs=0.51
    )


def test_the_band_is_a_share_of_the_energy(of: Callable[..., Verdict]) -> None:
    bought = of(0.0, plain=0.0, reheat=300.0, dry=900.0).bought
    assert bought is not None
    ax = cost_figure(bought, energy_within={DRY: 0.2}, narrow=True).axes[0]
    assert len(ax.lines) == 3 and len(ax.collections) == 1
    flow = bought.flow(DRY)
    ends = ax.collections[0].get_paths()[0].vertices
    at_the_end = ends[ends[:, 0] == ends[:, 0].max()][:, 1]
    energy = float((flow.electricity + flow.gas).sum())
    assert at_the_end.max() == pytest.approx(flow.spent[-1] + 0.2 * energy)
    assert at_the_end.min() == pytest.approx(flow.spent[-1] - 0.2 * energy)
    assert ax.get_ylim()[1] > at_the_end.max()


def test_risks_are_those_of_the_library(ran: Comparison, us: str) -> None:
    shown, frame = table(us, "As set", 1), ms.risk(ran)
    for label, column, within in (
        ("longest spell above 60 %, hours", "longest_over_60_h", 0.51),
        ("mould on the coldest corner: 0 none, 1 begins, 3 seen, 6 covered", "mould_index_corner", 0.051),
        ("days humid enough for dust mites to spread", "mite_days", 0.51),
        ("comfortable share of the time at home, % (ASHRAE standard 55)", "comfortable_pct", 0.51),
        ("compressor starts a day", "compressor_starts_per_day", 0.051),
    ):  # fmt: skip
        assert numbers(shown[label]) == pytest.approx(frame[column].tolist(), abs=within)
    # Of four days there is no 30-day mean of a floor.
    assert shown["days on which a wooden floor may cup"] == ["–", "–", "–"]
    assert "it is no survey" in us and "find and stop the water first" in us


def test_risks_are_judged_by_what_the_scenario_says(scenario: Scenario) -> None:
    alone = attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]})
    ran = alone.run(progress=False)
    basis = ms.RiskBasis(metabolic_rate=1.0, contactor_operations=500_000)
    given = attrs.evolve(scenario, study=alone, purchases={}, terms=None, risk_basis=basis)
    shown = {row.label: row.cells for row in gather(given, ran).risks.rows}
    judged, usual = ms.risk(ran, basis), ms.risk(ran)
    for label, column in (
        ("hours at home that are too cool", "too_cool_h"),
        ("years until its switch has worn", "contactor_years"),
    ):
        assert numbers(shown[label]) == pytest.approx(judged[column].tolist(), abs=0.51)
        assert judged.loc[PLAIN, column] > usual.loc[PLAIN, column] + 1.0


# ---------------------------------------------------------------------- sentences


def is_one_sentence(text: str) -> bool:
    """A capital, one full stop at its end, no more."""
    return bool(re.fullmatch(r"[A-Z](?:[^.!?]|(?<=\d)\.(?=\d))*\.", text))


def verdict(
    scenario: Scenario, ran: Comparison, mould: float = 0.0, **first_cost: float
) -> Verdict:
    """Of the options with other prices, without a run."""
    matched = scenario.study.matched(MEASURE, as_set=ran, progress=False)
    names = {"plain": PLAIN, "reheat": REHEAT, "dry": DRY}
    bought = None
    if first_cost:
        purchases = {names[key]: ms.Purchase(first_cost=cost) for key, cost in first_cost.items()}
        bought = ms.economics(matched.comparison, purchases)
    return Verdict(
        as_set=ran, matched=matched, bought=bought, mould=dict.fromkeys(ran.seasons, mould)
    )


@pytest.fixture(scope="module")
def of(scenario: Scenario, ran: Comparison) -> Callable[..., Verdict]:
    return lambda *given, **costs: verdict(scenario, ran, *given, **costs)


def test_what_happens_if_nothing_is_done(of: Callable[..., Verdict], ran: Comparison) -> None:
    hours = ran.seasons[PLAIN].meter.humidity["hours_over_60"]
    assert hours > 1.0
    said = answer(of(), 7.0)[0]
    assert f"for {hours:,.0f} hours of the 96 from 22 October to 25 October" in said
    assert "up to 7 hours in a row" in said and said.startswith("If nothing changes (“Plain”)")
    assert "mould is not expected" in said
    assert "mould too fine to be seen could begin" in answer(of(1.5), 7.0)[0]
    assert "mould that can be seen could grow" in answer(of(3.0), 7.0)[0]
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


# ---------------------------------------------------------------------- how sure


def with_ranges(folder: Path) -> Scenario:
    text = SCENARIO.replace("ach50 = 3", 'ach50 = "3 ± 0.6"').replace(
        "first_cost = 320", 'first_cost = "320 ± 60 USD", life = 8'
    )
    (folder / "ranged.toml").write_text(text, encoding="utf-8")
    return read_scenario(folder / "ranged.toml")


Weighed = tuple[ms.Certainty, pd.DataFrame, str]


@pytest.fixture(scope="module")
def weighed(scenario: Scenario) -> Weighed:
    """Cases, error budget and the page with them."""
    ranged = with_ranges(scenario.path.parent)
    ran = ranged.study.run(progress=False)
    what = (ranged.study, ranged.purchases, ranged.terms, ranged.ranges)
    found = ms.how_sure(*what, n=16, as_set=ran, progress=False)
    pair = (found.option, found.against)
    budget = ms.error_budget(*what, options=pair, as_set=ran, progress=False)
    return found, budget, page(gather(ranged, ran, sure=sureness(budget, ranged, found)))


def section(text: str) -> str:
    return text.split("<h2>How sure this is</h2>")[1].split("</section>")[0]


def test_the_errors_on_the_page_are_those_of_the_budget(weighed: Weighed) -> None:
    _, budget, text = weighed
    shown = table(text, "Source of error")
    assert shown.pop("Source of error") == [
        "± kWh a year", "± USD a year to run", "± USD saved over 10 years",
    ]  # fmt: skip
    assert len(shown) == len(budget) and [*shown][-1] == "all of these together"
    for cells, source in zip(shown.values(), budget.index, strict=True):
        errors = budget.loc[source, ["kWh", "USD", "net_savings_USD"]].tolist()
        assert numbers(cells) == pytest.approx(errors, abs=0.51)
    said = section(text)
    for name, words in (("kWh", "kWh of electricity a year"), ("USD", "USD a year")):
        number = f"{abs(budget.attrs[name]):,.0f} ± {budget.loc['together', name]:,.0f} {words}"
        assert f"{number} {'more' if budget.attrs[name] >= 0.0 else 'less'}" in said
    saved = budget.attrs["net_savings_USD"]
    verb, error = "saves" if saved >= 0.0 else "loses", budget.loc["together", "net_savings_USD"]
    assert f"{verb} {abs(saved):,.0f} ± {error:,.0f} USD in all over the 10 years" in said
    # The option lives eight years, not ten.
    assert "and not over its life" in said
    assert "a round figure of our own" in said


def test_how_sure_says_the_share_what_decides_and_of_what(weighed: Weighed) -> None:
    found, _, text = weighed
    said = html.unescape(section(text))
    many = int(found.counted["pays_back"].astype(bool).sum())
    assert f"In {many} of 16 cases ({100.0 * found.probability:.0f} %)" in said
    assert f"“{found.option}” instead of “{found.against}”" in said
    assert "within its life (8 years)" in said
    low, high = found.band
    assert f"between {100.0 * low:.0f} % and {100.0 * high:.0f} %" in said
    first = found.decides.iloc[0]
    assert f"What decides most is {in_words(str(found.decides.index[0]))}" in said
    assert f"({100.0 * first['share']:.0f} % of the spread" in said
    for end, where in (("low", "on average where it is low"), ("high", "where it is high")):
        amount = float(first[f"{end}_USD"])
        assert f"{abs(amount):,.0f} USD {'saved' if amount >= 0.0 else 'lost'} {where}" in said
    assert "From so few cases" in said and "Taken as known: weather year" in said
    assert "options as they are set" in said and "brought to equal humidity" in said
    alternative = re.findall(r'alt="(.*?)"', section(text))[0]
    saved = found.counted["net_savings_USD"].astype(float)
    for amount in (saved.min(), saved.max(), saved.median()):
        assert f"{amount:,.0f} USD".replace("-", "\N{MINUS SIGN}") in alternative


def test_cases_without_a_result_and_without_a_lone_decider_are_said(
    weighed: Weighed, scenario: Scenario
) -> None:
    found, budget, _ = weighed
    cases = found.cases.copy()
    cases.loc[cases.index[:3], "status"] = "a reason"
    lost = sureness(budget, scenario, attrs.evolve(found, cases=cases)).sentences
    assert (
        "of 13 cases" in lost[0]
        and "Not counted: 3 without a result, such as: a reason." in lost[0]
    )
    same = attrs.evolve(found, cases=found.cases.assign(net_savings_USD=5.0))
    assert sureness(budget, scenario, same).sentences[1].startswith("No input by itself")


def test_ranges_that_nobody_asked_of(
    weighed: Weighed, scenario: Scenario, report: Report, us: str
) -> None:
    assert "How sure this is" not in us and report.sure is None
    _, budget, _ = weighed
    ranged = with_ranges(scenario.path.parent)
    errors, of, asked = sureness(budget, ranged).sentences
    assert is_one_sentence(asked) and "“--sure 256”" in asked
    assert "leakage at 50 Pa and others" in asked
    assert "With every value at its middle" in errors and "as they are set" in of
    made = sureness(budget, ranged)
    assert made.picture is None and made.budget is not None
    assert sureness(budget, scenario).sentences == (errors, of)


def test_the_narrow_picture_stays_within_its_width(weighed: Weighed) -> None:
    figure = certainty_figure(weighed[0], narrow=True)
    figure.draw_without_rendering()
    assert figure.get_figwidth() == pytest.approx(5.4)
    spread, decides = figure.axes
    width, height = figure.canvas.get_width_height()
    for ax in (spread, decides):
        box = ax.get_tightbbox()
        assert box is not None
        assert box.x0 >= 0.0 and box.y0 >= 0.0 and box.x1 <= width and box.y1 <= height
    upper, lower = spread.get_tightbbox(), decides.get_tightbbox()
    assert upper is not None and lower is not None and upper.y0 >= lower.y1
    # Words of either side stand within the axes and over no bar.
    inside = spread.get_window_extent()
    bars = [bar.get_window_extent() for bar in spread.patches if bar.get_height() > 0.0]
    for words in spread.texts:
        box = words.get_window_extent()
        assert inside.x0 <= box.x0 and box.x1 <= inside.x1
        assert not any(box.overlaps(bar) for bar in bars)


# ---------------------------------------------------------------------- what went in


def test_measured_stated_and_assumed(scenario: Scenario, us: str, tmp_path: Path) -> None:
    origin = {item.key: item.origin for item in inputs(scenario)}
    assert origin["house.ach50"] == "measured"
    assert origin["equipment.ventilation.airflow"] == "measured"
    assert origin["house.floor_area"] == "stated"
    assert origin["equipment.cooling.stages[1].capacity"] == "stated"
    assert origin["equipment.cooling.stages[1].shr"] == "assumed"
    assert origin["house.gains.occupants"] == "assumed"
    assert origin["options.Reheat.set_points.target_rh"] == "stated"
    assert origin["options.Reheat.set_points.cooling_setpoint"] == "assumed"
    # What is shared stands once, what is an option's own in its place.
    assert not any(key.startswith("options.Plain.equipment") for key in origin)
    assert origin['options."A <b>dry</b> house".equipment.dehumidifier.capacity'] == "stated"
    counted = {kind: sum(o == kind for o in origin.values()) for kind in ("measured", "stated")}
    assert f"{counted['measured']} were measured, {counted['stated']} were stated" in us
    assert "<strong>1,500 ft²</strong>" in us and "<strong>2 ton" not in us
    assert "<strong>24,000 Btu/h</strong>" in us

    write_scenario(scenario, tmp_path / "run.toml")
    again = read_scenario(tmp_path / "run.toml")
    assert {item.key: item.origin for item in inputs(again)} == origin
    assert checksum(again) == checksum(scenario)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ('measured = ["house.ach5"]', "house.toml measured: found 'house.ach5'; accepted: 'house.ach50'"),
        ('measured = "house.ach50"', "house.toml measured: found 'house.ach50'; accepted: a list of names"),
        ('measured = ["house.storeys"]', "house.toml measured: found 'house.storeys'; accepted:"),
    ],
)  # fmt: skip
def test_what_is_measured_must_be_given(
    scenario: Scenario, tmp_path: Path, line: str, sentence: str
) -> None:
    text = re.sub(r"measured = .*", line, SCENARIO)
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    os.link(scenario.path.parent / "october.csv", tmp_path / "october.csv")
    with pytest.raises(ScenarioError) as refused:
        read_scenario(tmp_path / "house.toml")
    assert str(refused.value).startswith(sentence)


def test_rules_are_stated_by_their_rows(scenario: Scenario, tmp_path: Path) -> None:
    rows = """\
[[options.Relays.rules]]
name = "drying"
do = "cooling stage 1"
when = "humidity > 55 %"
release_when = ["humidity < 50 %"]
[options.Relays.purchase]
first_cost = 1
"""
    path = scenario.path.parent / "rules.toml"
    path.write_text(SCENARIO + rows, encoding="utf-8")
    read = read_scenario(path)
    origin = {item.key: item.origin for item in inputs(read)}
    own = {key: o for key, o in origin.items() if key.startswith("options.Relays.set_points.")}
    assert len(own) == 2 and {*own.values()} == {"stated"}
    write_scenario(read, scenario.path.parent / "rules-run.toml")
    again = read_scenario(scenario.path.parent / "rules-run.toml")
    assert {item.key: item.origin for item in inputs(again)} == origin


def test_certificates_and_typical_houses(tmp_path: Path) -> None:
    """A label states the stages; of a typical house only what was given to it is known."""
    text = SCENARIO.replace('file = "october.csv"', 'sample = "miami"')
    text = text.replace('floor_area = "1500 ft2"\nach50 = 3', "ach50 = 3\n[house.typical]\n"
                        'floor_area = "1500 ft2"\nyear = 1985\nclimate = "hot"')  # fmt: skip
    text = text.replace('stages = [{ capacity = "2 ton" }]',
                        'label = { capacity = "2 ton", seer2 = 15 }')  # fmt: skip
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    origin = {item.key: item.origin for item in inputs(read_scenario(tmp_path / "house.toml"))}
    assert origin["house.floor_area"] == "stated" and origin["house.ach50"] == "measured"
    assert origin["house.envelope.wall_u"] == "assumed"
    assert origin["equipment.cooling.stages[1].cop"] == "stated"
    assert origin["equipment.cooling.minimum_on"] == "assumed"


# ---------------------------------------------------------------------- the page itself


def test_it_fetches_nothing_and_runs_nothing(us: str) -> None:
    tags = Parts(us).tags
    assert not {"script", "link", "iframe", "object"} & {tag for tag, _ in tags}
    for _, given in tags:
        assert not any(name.startswith("on") for name in given)
        for name in ("src", "href", "srcset", "action"):
            assert (given.get(name) or "data:").startswith("data:")
    assert not re.search(r"https?://|//\w|@import|url\(", us.replace("data:image/svg+xml", ""))
    assert len(us) < 1_500_000


def test_every_picture_says_what_it_shows(us: str) -> None:
    pictures = [given for tag, given in Parts(us).tags if tag == "img"]
    assert len(pictures) == 3
    for given in pictures:
        alternative = given["alt"] or ""
        assert len(alternative) > 100
        for name in (PLAIN, REHEAT, DRY):
            assert f"“{name}”" in alternative
    assert [given.get("lang") for tag, given in Parts(us).tags if tag == "html"] == ["en"]


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.1 (from memory)."""
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return float(linear @ (0.2126, 0.7152, 0.0722))


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_enough_to_read_by(us: str) -> None:
    """WCAG 2.1 AA asks 4.5 of text, 3 of what pictures are made of (from memory)."""
    from moistsim.figures.certainty import GAIN, LOSS
    from moistsim.figures.humidity import DAMP
    from moistsim.figures.months import MARK
    from moistsim.figures.style import ROOM

    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    style = us.split("<style>")[1].split("</style>")[0]
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", style))
    used = set(re.findall(r"[{; ]color: ([^;}]+)", style))
    assert used == {"var(--ink)", "var(--soft)", "var(--deep)", "var(--warn)"}
    backgrounds = set(re.findall(r"background: ([^;}]+)", style))
    assert backgrounds == {"var(--paper)", "var(--tint)"}
    for text in ("ink", "soft", "deep", "warn"):
        for behind in ("paper", "tint"):
            assert contrast(named[text], named[behind]) >= 4.5
    assert min(contrast(MARK, ROOM), contrast(MARK, "#ffffff"), contrast(DAMP, "#ffffff")) >= 3.0
    # These two are of words in a picture as well.
    assert min(contrast(GAIN, "#ffffff"), contrast(LOSS, "#ffffff")) >= 4.5


def test_no_short_form_is_left_unexplained(us: str, si: str, weighed: Weighed) -> None:
    for text in (us, si, weighed[2]):
        explained = re.findall(
            r"<dt>([^<]+)</dt>", text.split('class="glossary"')[1].split("</dl>")[0]
        )
        assert {*explained} <= {*GLOSSARY}
        read = words_of(text)
        found = {*re.findall(r"\b(?:[A-Z][A-Z0-9]+|[A-Z]+2e|kWh|kW|MWh|cfm|mph|Btu/h|Pa)\b", read)}
        assert found, "the page has some"
        assert found <= {*explained}, found - {*explained}
    bare = words_of(us, values=False)
    assert not re.search(r"\b(?:RH|SHR|HVAC|COP|SEER|ACH50|LCC)\b", bare)


def test_units_are_those_asked_for(us: str, si: str) -> None:
    in_si, in_us = words_of(si, values=False), words_of(us, values=False)
    assert not re.search(r"°F|pint|ft²|Btu|cfm|\blb\b", in_si)
    assert "°C" in in_si and "litres" in in_si and "139 m²" in in_si
    assert "°C" not in in_us and "litres" not in in_us and "1,500 ft²" in in_us
    shown = re.findall(r"<strong>(.*?)</strong>", si.split('class="values"', 1)[1])
    assert not any(re.search(r"°F|pint|ft²|Btu|cfm", value) for value in shown)


def chromium() -> str | None:
    try:
        return browser()
    except ms.InputError:
        return None


needs_browser = pytest.mark.skipif(chromium() is None, reason="no Chromium here")


@needs_browser
@pytest.mark.slow
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_is_wider_than_the_screen(us: str, tmp_path: Path, width: int) -> None:
    """A window without a screen is at least 500 px wide: the page stands in a frame."""
    frame = tmp_path / "frame.html"
    frame.write_text(
        f'<!DOCTYPE html><iframe style="border:0;width:{width}px;height:30000px" srcdoc="'
        + html.escape(us) + '"></iframe><script>onload = () => { document.title = "width " + '
        "document.querySelector('iframe').contentDocument.documentElement.scrollWidth; }</script>",
        encoding="utf-8",
    )  # fmt: skip
    command = [str(chromium()), "--headless", "--disable-gpu", f"--user-data-dir={tmp_path / 'it'}"]
    if os.geteuid() == 0:
        command.append("--no-sandbox")
    out = subprocess.run(
        [*command, "--dump-dom", frame.as_uri()], capture_output=True, text=True, timeout=100,
        check=True,
    ).stdout  # fmt: skip
    found = re.search(r"width (\d+)", out)
    assert found is not None and 0 < int(found[1]) <= width


@needs_browser
@pytest.mark.slow
@pytest.mark.parametrize(("paper", "box"), [("letter", (612, 792)), ("A4", (595, 842))])
def test_it_prints(us: str, tmp_path: Path, paper: str, box: tuple[int, int]) -> None:
    printed(us, tmp_path / "page.pdf", paper)
    data = (tmp_path / "page.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert sizes and all(
        abs(float(w) - box[0]) < 1.5 and abs(float(h) - box[1]) < 1.5 for w, h in sizes
    )


def test_a_machine_without_a_browser_is_told_before_anything_runs(
    scenario: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.setenv("PATH", str(tmp_path))
    out = tmp_path / "out"
    assert main(["study", str(scenario.path), "--out", str(out), "--pdf"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "--pdf: found no Chromium" in said
    assert not out.exists()


def test_a_browser_that_prints_nothing_is_said(tmp_path: Path) -> None:
    with pytest.raises(ms.InputError, match="--pdf"):
        printed("<html><head></head></html>", tmp_path / "x.pdf", "A4", program="/nonexistent")


def test_the_folder_names_what_lies_in_it(scenario: Scenario, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["study", str(scenario.path), "--out", str(out), "--quiet", "--units", "si"]) == 0
    text = (out / "report.html").read_text(encoding="utf-8")
    named = {*re.findall(r"<li><code>([^<]+)</code>", text.split("Where to look deeper")[1])}
    assert named == {path.name for path in out.iterdir()} - {"report.html"}
    cost = pd.read_csv(out / "table.csv", index_col="option")["cost_USD"]
    shown = table(text, "As set")["cost for the season, USD"]
    assert numbers(shown) == pytest.approx(cost.tolist(), abs=0.51)
