"""The page says how sure it is, and of what."""

import html
import re

import attrs
import pytest
from support.report_pages import (
    Weighed,
    are_sentences,
    numbers,
    table,
    with_ranges,
)

from moistsim.figures import certainty_figure
from moistsim.report import Report
from moistsim.report.sureness import sureness
from moistsim.scenario import Scenario
from moistsim.uncertainty.ranges import in_words


def section(text: str) -> str:
    return text.split("these results are</h2>")[1].split("</section>")[0]


def test_the_errors_on_the_page_are_those_of_the_budget(weighed: Weighed) -> None:
    _, budget, text = weighed
    shown = table(text, "Source of error")
    assert shown.pop("Source of error") == [
        "Electricity, ± kWh a year", "Running cost, ± USD a year", "Net savings over 10 years, ± USD",
    ]  # fmt: skip
    assert len(shown) == len(budget) and [*shown][-1] == "All sources together"
    for cells, source in zip(shown.values(), budget.index, strict=True):
        errors = budget.loc[source, ["kWh", "USD", "net_savings_USD"]].tolist()
        assert numbers(cells) == pytest.approx(errors, abs=0.51)
    said = section(text)
    for name, words in (("kWh", "kWh a year"), ("USD", "USD a year")):
        number = f"{abs(budget.attrs[name]):,.0f} ± {budget.loc['together', name]:,.0f} {words}"
        assert f"{number} {'more' if budget.attrs[name] >= 0.0 else 'less'}" in said
    saved = budget.attrs["net_savings_USD"]
    verb, error = "saves" if saved >= 0.0 else "loses", budget.loc["together", "net_savings_USD"]
    assert f"{verb} {abs(saved):,.0f} ± {error:,.0f} USD over the 10 years studied" in said
    # The option lives eight years, not ten.
    assert "(not over its life)" in said
    assert "our own round number" in said


def test_how_sure_says_the_share_what_decides_and_of_what(weighed: Weighed) -> None:
    found, _, text = weighed
    said = html.unescape(section(text))
    many = int(found.counted["pays_back"].astype(bool).sum())
    assert f"in {many} of 16 cases ({100.0 * found.probability:.0f} %)" in said
    assert f"“{found.option}” instead of “{found.against}”" in said
    assert "within its life (8 years)" in said
    low, high = found.band
    assert f"between {100.0 * low:.0f} % and {100.0 * high:.0f} %" in said
    first = found.decides.iloc[0]
    assert f"The input that decides most is {in_words(str(found.decides.index[0]))}" in said
    assert f"({100.0 * first['share']:.0f} % of the spread" in said
    words = ("where it is low", "where it is high")
    if str(found.decides.index[0]) not in found.units:
        words = ("in the least favorable", "in the most favorable")
    for end, where in zip(("low", "high"), words, strict=True):
        amount = float(first[f"{end}_USD"])
        assert f"{abs(amount):,.0f} USD {'saved' if amount >= 0.0 else 'lost'} {where}" in said
    assert "With so few cases" in said and "Assumed certain" not in said
    assert "from its range, or from a usual one if the scenario has none" in said
    assert "two options as advised" in said
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
        and "Not counted: 3 cases without a result, such as: a reason." in lost[0]
    )
    same = attrs.evolve(found, cases=found.cases.assign(net_savings_USD=5.0))
    assert sureness(budget, scenario, same).sentences[1].startswith("No single input")


def test_ranges_that_nobody_asked_of(
    weighed: Weighed, scenario: Scenario, report: Report, us: str
) -> None:
    assert "How certain these results are" not in us and report.sure is None
    _, budget, _ = weighed
    ranged = with_ranges(scenario.path.parent)
    errors, of, asked = sureness(budget, ranged).sentences
    assert are_sentences(asked) and "“--sure 256”" in asked
    assert "air leakage and others" in asked
    assert "With every input at its middle value" in errors and "as advised" in of
    made = sureness(budget, ranged)
    assert made.picture is None and made.budget is not None
    *same, asked = sureness(budget, scenario).sentences
    assert same == [errors, of] and "humidity setpoint and others" in asked


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
