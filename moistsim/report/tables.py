"""The page's tables: options as columns, each number read from a table of the library."""

import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pandas as pd

from moistsim.advice import Advice
from moistsim.core.display import NOTHING, Show, count, number
from moistsim.core.measures import Measure
from moistsim.cures import Outcome
from moistsim.economics import Bridge, Economics
from moistsim.engine import COMFORT_BAND, column_catalog
from moistsim.report.records import Row, Table
from moistsim.report.sentences import setpoints, span
from moistsim.risk import MEASURES
from moistsim.study import WAYS, Comparison, ThreeWays


def row(
    label: str,
    values: "pd.Series[Any]",
    digits: int = 0,
    change: Callable[[float], float] | None = None,
    *,
    sign: bool = False,
) -> Row:
    """Row of one measure for all options."""
    cells = (value if change is None or pd.isna(value) else change(value) for value in values)
    return Row(label, tuple(number(value, digits, sign=sign) for value in cells))


def without_zeros(table: Table) -> Table:
    """A table without the rows that are zero in every column; it keeps their labels."""

    def is_zero(row: Row) -> bool:
        cells = {*row.cells} - {NOTHING}
        return bool(cells) and all(re.fullmatch(r"0(\.0*)?", cell) for cell in cells)

    zeros = tuple(row.label for row in table.rows if is_zero(row))
    return table._replace(rows=tuple(row for row in table.rows if not is_zero(row)), zeros=zeros)


def measured(measure: Measure, table: pd.DataFrame, show: Show) -> Row:
    """Row of one measure of the catalog for all options, under its own label."""
    values = measure.shown(table[measure.name], show.units)
    return row(_label(measure, show), values, measure.digits)


def _label(measure: Measure, show: Show) -> str:
    """A measure's label for a customer, who may not know the short form."""
    return measure.heading(show.units).replace("RH", "relative humidity")


def as_set(comparison: Comparison, show: Show) -> Table:
    """Energy use, cost and performance of each option as set; `Comparison.table`."""
    table = comparison.table("si")
    days = len(next(iter(comparison.seasons.values())).hourly) / 24.0

    def of(measure: Measure) -> Row:
        return measured(measure, table, show)

    def in_unit(quantity: str) -> Callable[[float], float]:
        return lambda value: float(show.value(value, quantity))

    def rows() -> Iterator[Row]:
        yield of(column_catalog.HOURS_OVER_60)
        yield from comfort(table, show)
        yield from (of(measure) for measure in two_zones(table))
        yield of(column_catalog.MEAN_RH)
        yield of(column_catalog.MEAN_DEW_POINT)
        water = (
            table[column_catalog.COIL_WATER.name] + table[column_catalog.DEHUMIDIFIER_WATER.name]
        )
        yield row(
            f"Water removed, {show.unit('removal')}",
            water / (86400.0 * days), show.digits("removal"), in_unit("removal"),
        )  # fmt: skip
        back = pd.Series(
            [s.hourly["water_reevaporated_kg"].sum() for s in comparison.seasons.values()]
        )
        yield row(
            f"Water back from the idle coil, {show.unit('removal')}",
            back / (86400.0 * days), show.digits("removal"), in_unit("removal"),
        )  # fmt: skip
        whole = "whole-house energy cost" if comparison.study.tariff.is_of_whole_house else ""
        yield row(column_catalog.COST.heading(show.units, whole), table[column_catalog.COST.name])
        yield of(column_catalog.TOTAL)
        if column_catalog.SECOND_KWH.name in table:
            for label, values in column_catalog.second_rows(table):
                yield row(label, values)
        # A machine that no option has is not a zero that tells something.
        for use in (*column_catalog.USES.values(), column_catalog.GAS):
            if (table[use.name].abs() >= 0.5).any():
                yield of(use)
        if column_catalog.EMISSIONS.name in table:
            label = f"Greenhouse gas, {show.unit('mass')} CO2e"
            yield row(label, table[column_catalog.EMISSIONS.name], 0, in_unit("mass"))
        yield of(column_catalog.PEAK)

    title = f"Humidity, cost and energy of each option as set, {span(comparison, show)}"
    return without_zeros(Table("As set", tuple(comparison.seasons), tuple(rows()), title))


def comfort(table: pd.DataFrame, show: Show) -> Iterator[Row]:
    """Hours too warm and too cold for the setpoints of each option; those of the main zone."""
    for label, measure in comfort_measures(show):
        yield row(label, table[measure.name])


def comfort_measures(show: Show) -> Iterator[tuple[str, Measure]]:
    """The measures of a setpoint that is not held, each with a label that says how far."""
    band = show(COMFORT_BAND, "difference")
    yield f"Above cooling setpoint + {band}, h", column_catalog.TOO_WARM
    yield f"Below heating setpoint \N{MINUS SIGN} {band}, h", column_catalog.TOO_COLD


_SHOWN = (column_catalog.HOURS_OVER_60, column_catalog.TOO_WARM, column_catalog.TOO_COLD)
"""Measures of the main zone that every table has."""


def two_zones(table: pd.DataFrame) -> Iterator[Measure]:
    """Measures that compare the zones of a house beyond those of every table, if a house has two."""
    for main, second in column_catalog.IN_BOTH_ZONES:
        if second.name in table:
            if main not in _SHOWN:
                yield main
            yield second


def at_goal(it: Advice, show: Show) -> Table:
    """The options at the owner's goal; `AtGoal.table`."""
    table, frame = it.at_goal.table("si"), it.comparison.table("si")
    names = tuple(it.at_goal.options)
    found = it.at_goal.options.values()
    settings = [setpoints(option.equipment, option.strategy, show) or "none" for option in found]
    rows = [
        Row("Keeps the goal", tuple(_yes(x.meets and x.comparable) for x in found)),
        Row("Holds its setpoints", tuple(_yes(x.comfort.holds) for x in found)),
        Row("Humidity setting", tuple(settings)),
        row("Setting moved by, % relative humidity", table["moved_pct_RH"], 0, sign=True),
    ]
    if (table["moved_K"] > 0.0).any():
        label = f"Cooling setting moved by, {show.unit('difference')}"
        rows.append(
            row(label, table["moved_K"], 1, lambda x: show.value(x, "difference"), sign=True)
        )
    humid = pd.Series([option.hours for option in found], index=[*names])
    rows += [
        row(f"Hours above {it.as_set.study.goal.above_rh:g} % relative humidity", humid),
        *(
            row(label, table[column])
            for (label, _), column in zip(
                comfort_measures(show), ("too_warm_h", "too_cold_h"), strict=True
            )
        ),
        measured(column_catalog.MEAN_RH, frame, show),
        measured(column_catalog.MEAN_DEW_POINT, frame, show),
        measured(column_catalog.TOTAL, frame, show),
        measured(column_catalog.COST, frame, show),
    ]
    title = f"Humidity and cost of each option at the owner’s goal, {span(it.as_set, show)}"
    return Table("At the goal", names, tuple(rows), title)


def _yes(answer: bool) -> str:
    return "yes" if answer else "no"


def cures(it: Advice, show: Show) -> Table | None:
    """Free and low-cost cures, each tried alone on the base option; `Cures.table`."""
    if not it.cures.tried:
        return None
    mark = it.as_set.study.goal.above_rh
    kept = {tried.name for tried in it.cures.kept}
    heads = (f"Hours above {mark:g} %", "Energy, USD", "First cost, USD", "Advised")

    def line(label: str, of: Outcome, first: float | None, advised: str) -> Row:
        paid = NOTHING if first is None else number(first)
        return Row(label, (number(of.humid_hours), number(of.usd), paid, advised))

    rows = [line("As found", it.cures.found, None, NOTHING)]
    for tried in it.cures.tried:
        advised = "yes" if tried.name in kept else "no"
        rows.append(line(tried.do(show.units), tried.after, tried.first_cost, advised))
    if kept:
        paid = sum(tried.first_cost for tried in it.cures.kept)
        rows.append(line("All that are advised", it.cures.together, paid, "yes"))
    title = f"Free and low-cost cures, each tried alone, {span(it.as_set, show)}"
    return Table("First, at no or little cost", heads, tuple(rows), title)


def three_ways(ways: ThreeWays, show: Show) -> Table:
    """Cost of each option as set, at the goal and at one dew point; `ThreeWays.table`."""
    table = ways.table("si")
    labels = ("As set", "At the owner’s goal", "At one dew point")
    return Table(
        "Energy cost, USD",
        tuple(map(str, table.index)),
        tuple(
            row(label, table[column_catalog.COST.called(way).name])
            for label, way in zip(labels, WAYS, strict=True)
        ),
        f"Cost of each option asked three ways, {span(ways.at_goal.as_set, show)}",
    )


def months(comparison: Comparison) -> Table:
    """The bills by month; `Comparison.bills`."""
    bills = comparison.bills()
    totals = pd.DataFrame({name: bill.months["total"] for name, bill in bills.items()})
    rows = [row(f"{month.to_timestamp():%B}", totals.loc[month], 2) for month in totals.index]
    total = pd.Series({name: bill.total for name, bill in bills.items()})
    return Table(
        "USD", tuple(bills), (*rows, row("Total", total, 2)), "Cost of each month by option, USD"
    )


def years(bought: Economics) -> Table:
    """Cost over the years; `Economics.table`."""
    table = bought.table()
    rows = [
        row("Purchase less rebate, USD", table["first_cost_USD"]),
        row("Energy a year, USD", table["yearly_energy_USD"]),
        row("Maintenance a year, USD", table["maintenance_USD"]),
    ]
    if "loan_payment_USD" in table:
        rows.append(row("Loan payment a month, USD", table["loan_payment_USD"], 2))
    rows.append(row("Life-cycle cost in today’s money, USD", table["life_cycle_cost_USD"]))
    pairs = [bought.pair(option, bought.base) for option in bought.options]
    if any(pair.pays_back for pair in pairs):
        # A payback beyond life or study period has no number.
        cells = (f"{pair.simple_payback:.1f}" if pair.pays_back else "none" for pair in pairs)
        rows.append(Row(f"Payback compared with “{bought.base}”, years", tuple(cells)))
    over = f"Over {bought.terms.years:.0f} years"
    title = (
        f"Purchase, running cost and total cost of each option over {bought.terms.years:.0f} years"
    )
    return without_zeros(Table(over, bought.options, tuple(rows), title))


def bridge(found: Bridge, most: int = 5) -> Table:
    """Cost of a later purchase; `Bridge.table`."""
    table = found.table.iloc[: most + 1]
    names = ["now" if n == 0 else f"after {count(n, 'year')}" for n in table.index]
    return Table(
        "Bought",
        tuple(names),
        (
            row("First-day payment, USD", table["first_day_USD"]),
            row("Life-cycle cost in today’s money, USD", table["life_cycle_cost_USD"]),
        ),
        "Cost by the time of the purchase",
    )


def air_leakage(comparison: Comparison, show: Show) -> Table:
    """Leakage at 50 Pa, and natural infiltration by month with its means; `AirLeakage`."""
    found = comparison.air_leakage()
    houses, unit = found.values(), show.unit("airflow")

    def flows(label: str, values: Iterable[float | None]) -> Row:
        return Row(label, tuple(show.number(value, "airflow") for value in values))

    def rows() -> Iterator[Row]:
        at_50_pa = f"Leakage at 50 Pa, {'CFM50' if show.us else unit}"
        yield flows(at_50_pa, (it.at_50_pa for it in houses))
        if all(it.year for it in houses):
            yield flows("Natural infiltration, mean of the year", (it.year for it in houses))
            ratios = (it.at_50_pa / (it.year or 1.0) for it in houses)
            yield Row("Leakage at 50 Pa over mean of the year", tuple(map(number, ratios)))
        if any(len(it.run) < 12 or it.year is None for it in houses):
            yield flows("Natural infiltration, mean of the season", (it.season for it in houses))
        for month in next(iter(houses)).months.index:
            name = f"{pd.Timestamp(2001, int(month), 1):%B}"
            outside = not any(month in it.run for it in houses)
            label = f"{name}, outside the season" if outside else name
            yield flows(label, (it.months[month] for it in houses))

    title = f"Air leakage, {unit}"
    columns = tuple(found) if len(found) > 1 else ("All options",)
    return Table(title, columns, tuple(rows()), f"Air leakage and natural infiltration, {unit}")


_OF_A_MACHINE = {
    "strip_starts_per_day", "strip_contactor_years", "strips_h", "dehumidifier_starts_per_day"
}  # fmt: skip
"""Measures that are shown only where some option has the machine."""


def risks(table: pd.DataFrame, show: Show) -> Table:
    """Risk and comfort as set, in plain words; `risk`."""
    rows = []
    for measure in (measure for measure in MEASURES if measure.headline):
        values = table[measure.name]
        if measure.unit == "yes or no":
            cells = [NOTHING if pd.isna(x) else "yes" if x else "no" for x in values]
            rows.append(Row(_label(measure, show), tuple(cells)))
        elif measure.name not in _OF_A_MACHINE or (values > 0.0).any():
            rows.append(measured(measure, table, show))
    title = "Humidity, mold, condensation, comfort and wear of each option as set"
    return without_zeros(Table("As set", tuple(map(str, table.index)), tuple(rows), title))
