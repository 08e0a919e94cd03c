"""Text of `moistsim study`: the table, the years, the uncertainty, and likely mistakes."""

import re
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.commands.screen import WIDTH, columns, item
from moistsim.controls import RuleTable, review
from moistsim.core.display import NOTHING, Show, Units, count, number
from moistsim.core.measures import Measure
from moistsim.economics import Economics
from moistsim.engine import column_catalog
from moistsim.scenario import Scenario
from moistsim.study import ALIKE, Comparison

if TYPE_CHECKING:
    from moistsim.advice import Advice, OverYears
    from moistsim.report import Answer
    from moistsim.uncertainty import Certainty


def three_lines(found: "Answer") -> Iterator[str]:
    """The answer with its labels."""
    for label, text in found.lines:
        yield from textwrap.wrap(
            text, WIDTH, initial_indent=f"{label:15}", subsequent_indent=" " * 15
        )


def table(comparison: Comparison, units: Units) -> Iterator[str]:
    """Table with options as columns, and the options whose bills are not comparable."""
    yield from columns(list(comparison.seasons), list(_rows(comparison, Show(units))))
    gaps = comparison.table("si")[column_catalog.DEW_POINT_GAP.name]
    unlike = [str(name) for name, gap in gaps.items() if abs(gap) > ALIKE]
    if unlike:
        # No side: relative humidity and dew point may disagree where one room is cooler.
        yield from textwrap.wrap(
            f"Bills are comparable only between equally dry houses. By mean dew point, these are not as "
            f"dry or as humid as with {comparison.base!r}: {', '.join(unlike)}.",
            WIDTH,
        )


def at_goal(advice: "Advice", units: Units) -> Iterator[str]:
    """What to do first, and the options at the owner's goal: the page's tables, on the screen."""
    from moistsim.report import tables

    show = Show(units)
    first, goal = tables.cures(advice, show), tables.at_goal(advice, show)
    if first is not None:
        yield f"{first.corner}:"
        for tried in first.rows:
            hours, cost, paid, advised = tried.cells
            words = f"{tried.label.removesuffix('.')}: {hours} hours above, {cost} USD a year"
            if paid != NOTHING:
                words += f", {paid} USD once, {'advised' if advised == 'yes' else 'not advised'}"
            yield from item(words)
        yield ""
    yield f"{goal.corner}:"
    yield from columns(list(goal.columns), [(row.label, list(row.cells)) for row in goal.rows])
    for name, option in advice.at_goal.options.items():
        if not option.comfort.holds:
            yield from item(f"{name} is not advised: {option.comfort.words(Show(units))}.")
    for proposal in advice.proposals:
        yield from item(f"{proposal.name}: {proposal.why(units)} {proposal.price_words}")


def in_other_years(over: "OverYears") -> Iterator[str]:
    """The advice in the other weather years: the page's sentences and table, on the screen."""
    from moistsim.report import across_years

    found = across_years(over)
    yield f"{found.table.caption}:"
    cells = found.table
    yield from columns(list(cells.columns), [(row.label, list(row.cells)) for row in cells.rows])
    for text in (*found.sentences, found.note):
        yield from item(text)


def _rows(comparison: Comparison, show: Show) -> Iterator[tuple[str, list[str]]]:
    """The table's rows: a label with its unit, and a text for each option."""
    from moistsim.report import tables

    table = comparison.table("si")
    season = next(iter(comparison.seasons.values()))
    days = len(season.hourly) / 24.0

    def row(
        label: str, values: "pd.Series[Any]", digits: int = 0, *, sign: bool = False
    ) -> tuple[str, list[str]]:
        return label, [number(value, digits, sign=sign) for value in values]

    def of(
        quantity: str, label: str, values: "pd.Series[Any]", digits: int | None = None
    ) -> tuple[str, list[str]]:
        return f"{label}, {show.unit(quantity)}", [
            show.number(value, quantity, digits) for value in values
        ]

    def measured(measure: Measure, *, sign: bool = False) -> tuple[str, list[str]]:
        values = measure.shown(table[measure.name], show.units)
        return row(measure.heading(show.units), values, measure.digits, sign=sign)

    for use in column_catalog.USES.values():
        if (table[use.name].abs() >= 0.5).any():
            yield measured(use)
    yield measured(column_catalog.TOTAL)
    if (table[column_catalog.GAS.name] >= 0.5).any():
        yield measured(column_catalog.GAS)
    if (table[column_catalog.STRIP_TRIPS.name] > 0).any():
        yield measured(column_catalog.STRIP_TRIPS)
    whole = comparison.study.tariff.is_of_whole_house
    label = column_catalog.COST.heading(show.units, "whole-house energy cost" if whole else "")
    yield row(label, table[column_catalog.COST.name])
    if not comparison.study.tariff.is_flat:
        bills = comparison.bills()
        average = [bill.average_price for bill in bills.values()]
        yield (
            "Average price, cents/kWh",
            ["" if price is None else number(100.0 * price, 1) for price in average],
        )
        yield (
            "Price of one more kWh, cents/kWh",
            [number(100.0 * bill.marginal_price(), 1) for bill in bills.values()],
        )
    if column_catalog.EMISSIONS.name in table:
        label, values = of("mass", "Emissions", table[column_catalog.EMISSIONS.name])
        yield f"{label} CO2e", values
    for difference in (column_catalog.MORE_KWH, column_catalog.MORE_USD):
        label = difference.heading(show.units, difference.short)
        yield row(label, table[difference.name], sign=True)
    yield measured(column_catalog.PEAK)
    # Options may differ in their number of stages; hours are of each stage alone.
    stages = [c for c in table if re.fullmatch(r"cooling_stage_\d+_h", str(c))]
    two_systems = column_catalog.SECOND_KWH.name in table
    whose = ", first system" if two_systems else ""
    yield row(f"Cooling runtime{whose}, h", table[stages].sum(axis=1))
    if column_catalog.COMPRESSOR_STARTS.name in table:
        starts = table[column_catalog.COMPRESSOR_STARTS.name].fillna(0)
        label = column_catalog.COMPRESSOR_STARTS.heading(show.units)
        yield row(f"Compressor starts{whose}" if two_systems else label, starts)
    if two_systems:
        for label, values in column_catalog.second_rows(table):
            yield row(label, values)
    water = table[column_catalog.COIL_WATER.name] + table[column_catalog.DEHUMIDIFIER_WATER.name]
    yield of("removal", "Water removed", water / (86400.0 * days))
    for measure in (
        column_catalog.MEAN_DEW_POINT, column_catalog.MEAN_RH, column_catalog.HOURS_OVER_60, column_catalog.RH_HOURS_OVER_55
    ):  # fmt: skip
        yield measured(measure)
    for label, measure in tables.comfort_measures(show):
        yield row(label, table[measure.name])
    for main, second in column_catalog.IN_BOTH_ZONES:
        if second.name in table:
            for measure, label in ((main, f"{main.short}, main zone"), (second, second.short)):
                yield row(measure.heading(show.units, label), table[measure.name])


def air_leakage(comparison: Comparison, units: Units) -> Iterator[str]:
    """Natural infiltration by month next to the blower-door result, for each different house."""
    show, found = Show(units), comparison.air_leakage()
    yield f"Natural infiltration (wind and temperature difference), {show.unit('airflow')}:"
    first = next(iter(found.values()))
    head = "".join(
        f"{pd.Timestamp(2001, int(month), 1):%b}".rjust(5) for month in first.months.index
    )
    # In a run of a whole year, the mean of the season is that of the year.
    part = first.year is None or len(first.run) < 12
    yield f"{'':22}{head}{' season' if part else ''}  year"
    for name, it in found.items():
        label = "All options" if len(found) == 1 else textwrap.shorten(name, 20, placeholder="…")
        cells = "".join(show.number(flow, "airflow").rjust(5) for flow in it.months)
        year = show.number(it.year, "airflow")
        season = f"{show.number(it.season, 'airflow'):>7}" if part else ""
        yield f"  {label:20}{cells}{season}{year:>6}"
    for name, it in found.items():
        house = comparison.seasons[name].house
        at_50_pa = show.number(it.at_50_pa, "airflow")
        unit = "CFM50" if show.us else f"{show.unit('airflow')} at 50 Pa"
        whose = "" if len(found) == 1 else f"{name}: "
        text = f"{whose}leakage {at_50_pa} {unit} ({house.changes_at_50_pa:.3g} ACH50)"
        if it.year:
            text += f", {number(it.at_50_pa / it.year)} times the mean of the year; "
            text += f"in open country without shelter the mean is {show(it.in_the_open, 'airflow')}"
        yield from item(text)
    if len(first.run) < len(first.months):
        yield from item(
            "months outside the season are calculated from the weather at the setpoints"
        )


def spaces(as_set: pd.DataFrame, advised: pd.DataFrame) -> Iterator[str]:
    """Air, wood and mold of each space next to the house, a line for each option and space.

    Parameters
    ----------
    as_set, advised : DataFrame
        Results of `space_risk`: of all options as set, and of the advised one with its cures.
    """
    zone = column_catalog.SECOND_ZONE.replace("_", " ")
    names = advised.index.get_level_values("option").unique()
    advised = advised.rename(index=dict.fromkeys(names, "As advised"), level="option")
    risks = pd.concat([as_set, advised]) if len(advised) else as_set
    risks = risks.drop(index=zone, level="space", errors="ignore")
    if risks.empty:
        return
    yield "Spaces next to the house (wood above 20 % moisture content is too wet; mold is visible from 3):"
    for key, one in risks.iterrows():
        option, space = str(key[0]), str(key[1])  # type: ignore[index]
        text = f"{option}: {space} {one['mean_space_rh_pct']:.0f} % RH"
        if not pd.isna(one["highest_wood_moisture_pct"]):
            text += f", wood up to {one['highest_wood_moisture_pct']:.1f} %"
            if one["wet_wood_days"] > 0:
                text += f" ({count(int(one['wet_wood_days']), 'day')} above 20 %)"
        text += f", mold index {number(one['mold_index_wood'], 1)}"
        if one["sweating_h"] > 0:
            text += f", ducts sweat {count(int(one['sweating_h']), 'hour')}"
        yield from item(text)


def over_the_years(found: Economics) -> Iterator[str]:
    """Cost of each option over the years, and whether the more expensive ones pay back."""
    table, terms = found.table(), found.terms
    yield f"Over {terms.years:.0f} years:"
    shown = {
        "First cost less rebate, USD": "first_cost_USD",
        "Energy a year, USD": "yearly_energy_USD",
        "Maintenance a year, USD": "maintenance_USD",
        "Loan payment a month, USD": "loan_payment_USD",
        "Life-cycle cost in today’s money, USD": "life_cycle_cost_USD",
    }
    rows = [
        (label, [number(float(value)) for value in table[column]])
        for label, column in shown.items()
        if column in table and (table[column] != 0.0).any()
    ]
    yield from columns(list(found.options), rows)
    pairs = [pair for pair in found.trade_offs() if pair.pays_back]
    yield "More expensive to buy, and pays back by costing less to run:"
    for pair in pairs:
        yield from item(f"{pair.option} instead of {pair.against}: {pair.verdict}")
    if not pairs:
        yield from item("no option")
    for note in found.notes:
        yield from textwrap.wrap(note, WIDTH)


def verdict(budget: pd.DataFrame, certainty: "Certainty | None") -> Iterator[str]:
    """The verdict with its error and, if cases were run, the inputs that decide and the error budget."""
    from moistsim.uncertainty import budget_words, in_words

    yield "Uncertainty:"
    if certainty is None:
        yield from item(budget_words(budget))
        return
    yield from item(certainty.verdict)
    yield from item(budget_words(budget))
    yield ""
    head = f"{'Input that decides, net savings in USD':{WIDTH - 48}}{'share, %':>12}"
    yield f"{head}{'low third':>18}{'high third':>18}"
    yield "-" * WIDTH
    for name, row in certainty.decides.iterrows():
        label = textwrap.shorten(in_words(str(name)), WIDTH - 52)
        yield (
            f"  {label:{WIDTH - 50}}{number(100.0 * row['share']):>12}"
            f"{number(row['low_USD']):>18}{number(row['high_USD']):>18}"
        )
    yield ""
    head = f"{'Error budget, ± one standard deviation':{WIDTH - 48}}{'kWh a year':>12}"
    yield f"{head}{'USD a year':>18}{'net savings, USD':>18}"
    yield "-" * WIDTH
    for source, row in budget.iterrows():
        yield (
            f"  {source!s:{WIDTH - 50}}{number(row['kWh']):>12}{number(row['USD'], 1):>18}"
            f"{number(row['net_savings_USD']):>18}"
        )
    yield ""
    yield from item(
        f"Runs: {number(len(certainty.results))} for the cases, {number(2 * budget.attrs['cases'])} "
        "for the error budget"
    )
    for source, basis in budget["basis"].drop("together").items():
        yield from item(f"{source}: {basis}")


def reviews(scenario: Scenario) -> Iterator[str]:
    """Findings of the review of each option's rule table, and changes that change nothing."""
    study = scenario.study
    for name, option in study.options.items():
        if len(option) == 3 and not study.changes(name):
            yield from textwrap.wrap(
                f"Check {name!r}: its table house has the values of [house], so it changes nothing.",
                WIDTH,
            )
            yield ""
    for name, (machines, strategy, _) in study.resolved.items():
        if isinstance(strategy.base, RuleTable):
            for finding in review(strategy, machines):
                yield from textwrap.wrap(f"Check the rules of {name!r}: {finding}", WIDTH)
                yield ""


def refusals(comparison: Comparison) -> Iterator[str]:
    """Options whose strategy calls for a machine that is not installed: a likely mistake."""
    for name, season in comparison.seasons.items():
        # The count means nothing: a call that stays on is refused once.
        if season.meter.refused["not_installed"] > 0:
            yield from textwrap.wrap(
                f"Check {name!r}: its strategy {season.strategy.name} calls for a machine that is not "
                "installed in this option. The result is without that machine.",
                WIDTH,
            )
            yield ""


def reheat_heat(comparison: Comparison) -> Iterator[str]:
    """Compressor electricity for heat that the option itself added to dry the house."""
    two = any(season.equipment.second_system for season in comparison.seasons.values())
    whose = ", main zone and its system" if two else ""
    yield f"Compressor electricity for heat from reheat or the dehumidifier{whose}:"
    for name, season in comparison.seasons.items():
        found = season.attribution()
        by = found.compressor_kwh
        added = found.drying_heat_kwh
        words = f"{name}: {number(added)} of {number(by.sum())} kWh"
        if found.reheat_kwh > 0.0:
            words += f"; {found.compressor_per_reheat:.2f} kWh for each kWh of electric reheat"
        yield from item(words)
