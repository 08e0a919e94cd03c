"""What a notebook shows for a value: escaped, accessible, short, and in the chosen units."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.core.display import Show
from moistsim.core.summary import Grid, Summary, html
from moistsim.house import house_facts

EVIL = '<b>Reheat</b> & "dry"'
LONGEST = 500
"""Characters of a plain repr, with the names of three options."""
VOID = {"br", "meta"}


class Page(HTMLParser):
    """Tags, cells and texts of a summary; it fails on a tag that is not closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(text)
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"] and data.strip():
            self.texts.append(data.strip())


@pytest.fixture(autouse=True)
def _as_before() -> Iterator[None]:
    yield
    ms.set_units("us")


@pytest.fixture(scope="module")
def study() -> ms.Study:
    dry = ms.strategies.with_dehumidifier(target_rh=52)
    options = {
        "Thermostat": (machines(dehumidifier=None), ms.strategies.temperature_only),
        EVIL: (machines(), dry),
        "Sealed": (machines(), dry, house(ach50=2.0)),
    }
    return ms.Study(house(ach50=6.0), options, stretch("miami", 190, 3), step="5 min")


@pytest.fixture(scope="module")
def values(study: ms.Study) -> dict[str, Any]:
    comparison = study.run(progress=False)
    varied = {
        "house.ach50": ms.normal(4, 1),
        "tariff.price": ms.uniform("10 cent/kWh", "20 cent/kWh"),
        "strategy.target_rh": [45, 50, 55],
        "equipment.dehumidifier": {
            "none": None,
            "<i>big</i>": ms.Dehumidifier(capacity="90 pint/day"),
        },
    }
    rules = ms.rule_table([{"do": "dehumidifier", "when": "humidity > 54 %",
                            "release_when": ["humidity < 50 %", "message age > 15 min"]}])  # fmt: skip
    return {
        "weather": study.weather,
        "house": house(crawl_space=ms.CrawlSpace(), ducts=ms.Ducts(location="crawl space")),
        "equipment": machines(cooling=two_stage()),
        "strategy": ms.strategies.staged_reheat,
        "combination": ms.strategies.staged_reheat + ms.strategies.set_back(),
        "rules": rules,
        "study": study,
        "comparison": comparison,
        "season": comparison.seasons[EVIL],
        "sweep": ms.Sweep(study, varied, sample="sobol", n=64),
        "grid": ms.Sweep(study, {"house.ach50": [2, 3], "house.bedrooms": [2, 3, 4]}),
    }


KINDS = ("weather", "house", "equipment", "strategy", "combination", "rules", "study", "comparison",
         "season", "sweep", "grid")  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_summary_is_well_formed_and_can_be_read_aloud(kind: str, values: dict[str, Any]) -> None:
    text = values[kind]._repr_html_()
    page = Page(text)
    tables = sum(tag == "table" for tag, _ in page.tags)
    captions = sum(tag in ("caption", "summary") for tag, _ in page.tags)
    assert tables == captions > 0
    assert all(of.get("scope") in ("row", "col") for tag, of in page.tags if tag == "th")
    # No color of its own: it takes those of a light or a dark page.
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert style and set(re.findall(r"color:\s*([a-z]+)", style[1])) == {"inherit"}
    assert "background" not in style[1] and "style=" not in text
    assert not re.search(r"\b(nan|None|Role\.|attrs)\b", " ".join(page.texts))


@pytest.mark.parametrize("kind", KINDS)
def test_a_plain_repr_is_one_short_line(kind: str, values: dict[str, Any]) -> None:
    text = repr(values[kind])
    assert "\n" not in text and 10 < len(text) < LONGEST


def test_names_are_escaped(values: dict[str, Any]) -> None:
    for kind in ("study", "comparison", "sweep"):
        text = values[kind]._repr_html_()
        assert "<b>" not in text and "<i>" not in text
        assert EVIL in " ".join(Page(text).texts)
    cells = html(
        Summary("<u>", "<u>", (("<u>", "<u>"),), (Grid("<u>", ("<u>",), (("<u>",),)),), ("<u>",))
    )
    assert "<u>" not in cells and cells.count("&lt;u&gt;") == 8


def test_a_summary_is_in_the_chosen_units(values: dict[str, Any]) -> None:
    for kind, us, si in (
        ("weather", "°F", "°C"), ("house", "ft²", "m²"), ("equipment", "cfm", "L/s"),
        ("strategy", "°F", "°C"), ("comparison", "point, °F", "point, °C"), ("season", "pints", "kg"),
    ):  # fmt: skip
        for units, there, absent in (("us", us, si), ("si", si, us)):
            ms.set_units(units)  # type: ignore[arg-type]
            text = " ".join(Page(values[kind]._repr_html_()).texts)
            if kind in ("house", "equipment"):
                text = text.partition("All ")[0]
            assert there in text and absent not in text, (kind, units)


def test_numbers_of_a_comparison_are_those_of_its_table(values: dict[str, Any]) -> None:
    comparison = values["comparison"]
    (grid,) = comparison.summary(Show("us")).tables
    table = comparison.table("us")
    for row, (name, given) in zip(grid.rows, table.iterrows(), strict=True):
        shown = dict(zip(grid.columns, row, strict=True))
        assert shown["Option"] == name
        for head, column, within in (
            ("Electricity, kWh", "total_kWh", 0.5),
            ("Above 60 % RH, h", "hours_over_60", 0.5),
            ("Dew point, °F", "mean_dew_point_F", 0.05),
            ("Mean RH, %", "mean_rh_pct", 0.05),
        ):
            assert float(shown[head].replace(",", "")) == pytest.approx(given[column], abs=within)


def test_numbers_of_a_season_are_those_of_its_meter(values: dict[str, Any]) -> None:
    season = values["season"]
    shown = dict(season.summary(Show("si")).tables[0].rows)
    meter = season.meter
    assert float(shown["Total electricity, kWh"]) == pytest.approx(meter.total_kwh, abs=0.5)
    dehumidifier = float(meter.water_kg["dehumidifier"])
    assert float(shown["Water removed by the dehumidifier, kg"]) == pytest.approx(
        dehumidifier, abs=0.05
    )


def test_every_value_of_a_house_stands_by_the_name_that_evolve_takes(
    values: dict[str, Any],
) -> None:
    (grid,) = values["house"].summary(Show("us")).tables
    assert grid.folded and len(grid.rows) > 80
    names = [row[0] for row in grid.rows]
    assert len({*names}) == len(names)
    assert {"ach50", "envelope.wall_u", "crawl_space.kind"} <= {*names}
    for name in names:
        # Each name is known: its own value is taken, or the field takes nothing but a part.
        try:
            values["house"].evolve({name: object()})
        except ms.InputError as error:
            assert "unknown" not in str(error), name


def test_a_study_says_what_each_option_has_of_its_own(study: ms.Study) -> None:
    (grid,) = study.summary(Show("us")).tables
    rows = {row[0]: row[1:] for row in grid.rows}
    assert rows["Thermostat (base)"] == ("–", "temperature_only", "–")
    assert (
        rows[EVIL][0].startswith("dehumidifier ")
        and rows[EVIL][1] == "with_dehumidifier, target_rh 52 %"
    )
    assert rows["Sealed"][2] == "House: air leakage 6 ACH50 → 2 ACH50"


def test_a_sweep_says_how_many_seasons_and_of_what(values: dict[str, Any]) -> None:
    facts = dict(values["grid"].summary(Show("us")).facts)
    assert facts["Cases"] == "6, 3 options: 18 seasons"
    it = values["sweep"].summary(Show("us"))
    assert dict(it.facts)["Cases"] == "64, 3 options: 192 seasons"
    rows = dict(it.tables[0].rows)
    assert rows["strategy.target_rh"] == "45 %, 50 %, 55 %"
    assert rows["house.ach50"] == "normal, 95 % from 2.04 ACH to 5.96 ACH"
    assert rows["equipment.dehumidifier"] == "none, <i>big</i>"


def test_a_house_is_described_in_the_same_words_everywhere(study: ms.Study) -> None:
    of = house_facts(study.house, Show("us"))
    assert dict(study.summary(Show("us")).facts)["House"].startswith(f"{of.size}, {of.leakage}")
    assert repr(study.house) == f"<House: {of.size}, {of.leakage}, {of.people}>"


@pytest.fixture(scope="module")
def answers(study: ms.Study, values: dict[str, Any]) -> dict[str, Any]:
    comparison, quiet = values["comparison"], {"progress": False}
    return {
        "at_goal": study.at_goal(as_set=comparison, **quiet),
        "matched": study.matched(as_set=comparison, **quiet),
        "economics": ms.economics(
            comparison, {name: ms.Purchase(first_cost=900) for name in study.options}, ms.Terms()
        ),
    }


@pytest.mark.parametrize("kind", ["at_goal", "matched", "economics"])
def test_an_answer_is_its_table_and_one_short_line(kind: str, answers: dict[str, Any]) -> None:
    answer = answers[kind]
    for units in ("us", "si"):
        ms.set_units(units)  # type: ignore[arg-type]
        text = answer._repr_html_()
        assert text == answer.table()._repr_html_()
        assert "&lt;b&gt;" in text and "<b>" not in text
    assert EVIL in repr(answer) and len(repr(answer)) < LONGEST


def test_a_scenario_is_its_study_with_name_and_note() -> None:
    demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    page = Page(demo._repr_html_())
    assert demo.name in page.texts and demo.note in page.texts
    assert repr(demo).startswith(f"<Scenario: {demo.name}, ")
