"""The page's numbers are the library's."""

import html
from collections.abc import Callable

import attrs
import numpy as np
import pytest
from support.report_pages import (
    DRY,
    PLAIN,
    REHEAT,
    Parts,
    numbers,
    table,
)

import moistsim as ms
from moistsim.advice import Advice
from moistsim.core.units import to_si
from moistsim.engine import column_catalog
from moistsim.figures import cost_figure
from moistsim.report import Conclusion, gather, page
from moistsim.scenario import Scenario
from moistsim.study.study import Comparison


def test_each_number_of_the_tables_is_that_of_the_library(
    scenario: Scenario, ran: Comparison, us: str, si: str
) -> None:
    for text, units, degree in ((us, "us", "F"), (si, "si", "C")):
        shown, frame = table(text, "As set"), ran.table(units)  # type: ignore[arg-type]
        assert shown["As set"] == [PLAIN, REHEAT, DRY]
        for label, column, within in (
            ("Time above 60 % relative humidity, h", "hours_over_60", 0.51),
            ("Mean indoor relative humidity, %", "mean_rh_pct", 0.051),
            (f"Mean indoor dew point, °{degree}", f"mean_dew_point_{degree}", 0.051),
            ("Energy cost, USD", "cost_USD", 0.51),
            ("Total electricity, kWh", "total_kWh", 0.51),
            ("Peak power over 15 min, kW", "peak_15_min_kW", 0.051),
        ):  # fmt: skip
            assert numbers(shown[label]) == pytest.approx(frame[column].tolist(), abs=within)
    labels = {use.heading("us") for use in column_catalog.USES.values()}
    uses = [numbers(cells) for label, cells in table(us, "As set").items() if label in labels]
    assert np.sum(uses, axis=0) == pytest.approx(ran.table()["total_kWh"].tolist(), abs=4.0)

    months = table(us, "USD")
    bills = ran.bills()
    assert numbers(months["October"]) == [bill.months["total"].iloc[0] for bill in bills.values()]
    assert numbers(months["Total"]) == [bill.total for bill in bills.values()]


def test_a_page_in_chosen_units_is_the_same_under_each_default(
    scenario: Scenario, ran: Comparison, si: str
) -> None:
    """What a page is calculated from is in SI, whatever `set_units` says, and so is its advice."""
    try:
        ms.set_units("si")
        assert page(gather(scenario, ran, units="si")) == page(gather(scenario, ran)) == si
    finally:
        ms.set_units("us")


def test_natural_infiltration_stands_next_to_the_blower_door(
    ran: Comparison, us: str, si: str
) -> None:
    """The page's airflows are those of the season, which has one month of a short weather file."""
    leakage = ran.seasons[PLAIN].air_leakage
    flow = ran.seasons[PLAIN].hourly["natural_infiltration_m3"].mean() / 3600.0
    for text, unit, name in ((us, "cfm", "CFM50"), (si, "L/s", "L/s")):
        per = to_si(f"1 {unit}", "m3/s", "airflow")
        shown = table(text, f"Air leakage, {unit}")
        assert numbers(shown[f"Leakage at 50 Pa, {name}"]) == pytest.approx(
            [leakage.at_50_pa / per], abs=0.51
        )
        assert numbers(shown["Natural infiltration, mean of the season"]) == pytest.approx(
            [flow / per], abs=0.51
        )
        assert numbers(shown["October"]) == pytest.approx([leakage.months[10] / per], abs=0.51)
        assert not any("mean of the year" in label for label in shown)


def test_at_the_goal_and_over_the_years(found: Conclusion, us: str) -> None:
    it = found.advice
    shown, frame = table(us, "At the goal"), it.at_goal.table("us")
    assert shown["Keeps the goal"] == ["yes" if yes else "no" for yes in frame["keeps_goal"]]
    assert shown["Humidity setting"][0] == "none"
    assert numbers(shown["Energy cost, USD"]) == pytest.approx(
        frame["cost_at_goal_USD"].tolist(), abs=0.51
    )
    assert numbers(shown["Hours above 60 % relative humidity"]) == pytest.approx(
        frame["humid_h"].tolist(), abs=0.51
    )
    for name in it.at_goal.cannot:
        assert html.escape(f"“{name}” misses the goal") in us

    assert it.bought is not None
    years, money = table(us, "Over 10 years"), it.bought.table()
    for label, column in (
        ("Purchase less rebate, USD", "first_cost_USD"),
        ("Energy a year, USD", "yearly_energy_USD"),
        ("Life-cycle cost in today’s money, USD", "life_cycle_cost_USD"),
    ):
        if label in years:
            assert numbers(years[label]) == pytest.approx(money[column].tolist(), abs=0.51)


def test_cures_are_those_that_were_tried(found: Conclusion, us: str) -> None:
    """A row as found, one for each cure, and one for all that are advised."""
    it = found.advice
    shown = table(us, "First, at no or little cost")
    assert [tried.do("us") in shown for tried in it.cures.tried] == [True] * len(it.cures.tried)
    hours = [numbers(shown[tried.do("us")][:1]) for tried in it.cures.tried]
    assert hours == [[pytest.approx(tried.after.humid_hours, abs=0.51)] for tried in it.cures.tried]
    kept = [tried.name for tried in it.cures.kept]
    advised = [tried.name for tried in it.cures.tried if shown[tried.do("us")][3] == "yes"]
    assert sorted(advised) == sorted(kept)
    assert ("All that are advised" in shown) == bool(kept)


def test_three_ways_are_three_rows(found: Conclusion, us: str) -> None:
    ways = found.advice.three_ways().table()
    shown = [rows for rows in Parts(us).tables if rows[1][0] == "As set"]
    (rows,) = shown
    assert [row[0] for row in rows[1:]] == ["As set", "At the owner’s goal", "At one dew point"]
    for row, way in zip(rows[1:], ("as_set", "at_goal", "equal_dew_point"), strict=True):
        assert numbers(row[1:]) == pytest.approx(ways[f"cost_{way}_USD"].tolist(), abs=0.51)


def test_the_bridge_is_that_of_the_economics(
    scenario: Scenario, ran: Comparison, found: Conclusion, of: Callable[..., Advice]
) -> None:
    """Reheat, cheaper to buy and more expensive to run, before the dehumidifier."""
    it = of(0.0, plain=0.0, reheat=300.0, dry=301.0)
    assert it.repaid is not None and it.bought is not None
    assert (it.repaid.against, it.repaid.option) == (REHEAT, DRY)
    text = page(gather(scenario, ran, found._replace(advice=it)))
    plan, shown = it.bought.bridge(REHEAT, DRY), table(text, "Bought")
    assert shown["Bought"][:3] == ["now", "after 1 year", "after 2 years"]
    cost = plan.table["life_cycle_cost_USD"].iloc[:6]
    assert numbers(shown["Life-cycle cost in today’s money, USD"]) == pytest.approx(
        cost.tolist(), abs=0.51
    )


def test_the_band_is_a_share_of_the_energy(of: Callable[..., Advice]) -> None:
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
        ("Longest spell above 60 % relative humidity, h", "longest_over_60_h", 0.51),
        ("Days humid enough for dust mites to multiply", "mite_days", 0.51),
        ("Comfortable share of the time at home (ASHRAE Standard 55), %", "comfortable_pct", 0.51),
        ("Compressor starts a day", "compressor_starts_per_day", 0.051),
        ("Strip starts a day", "strip_starts_per_day", 0.051),
    ):  # fmt: skip
        assert numbers(shown[label]) == pytest.approx(frame[column].tolist(), abs=within)
    # Of four days there is no 30-day mean of a floor.
    assert shown["Days on which a wood floor may cup"] == ["–", "–", "–"]
    assert "not an inspection" in us and "find and stop the water first" in us


def test_risks_are_judged_by_what_the_scenario_says(scenario: Scenario) -> None:
    alone = attrs.evolve(scenario.study, options={PLAIN: scenario.study.options[PLAIN]})
    ran = alone.run(progress=False)
    basis = ms.RiskBasis(metabolic_rate=1.0, contactor_operations=500_000)
    given = attrs.evolve(scenario, study=alone, purchases={}, terms=None, risk_basis=basis)
    shown = {row.label: row.cells for row in gather(given, ran).risks.rows}
    judged, usual = ms.risk(ran, basis), ms.risk(ran)
    for label, column in (
        ("Time at home too cool, h", "too_cool_h"),
        ("Compressor contactor life, years", "contactor_years"),
    ):
        assert numbers(shown[label]) == pytest.approx(judged[column].tolist(), abs=0.51)
        assert judged.loc[PLAIN, column] > usual.loc[PLAIN, column] + 1.0
