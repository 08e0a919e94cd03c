"""What `moistsim study` says on the screen: the table, the years, how sure, and what looks wrong."""

import re
import textwrap
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.commands.screen import WIDTH, columns, item, number
from moistsim.controls import RuleTable, review
from moistsim.core.units import from_si
from moistsim.economics import Economics
from moistsim.engine import END_USES
from moistsim.scenario import Scenario
from moistsim.study import Comparison, Units

if TYPE_CHECKING:
    from moistsim.uncertainty import Certainty


def table(comparison: Comparison, units: Units) -> Iterator[str]:
    """Options as columns, a few abreast, and in words how each compares with the base."""
    yield from columns(list(comparison.seasons), list(_rows(comparison, units)))
    yield "Humidity reached:"
    for name, words in comparison.table(units)["humidity_against_base"].items():
        yield from item(f"{name}: {words}")


def _rows(comparison: Comparison, units: Units) -> Iterator[tuple[str, list[str]]]:
    """The table's rows: a label with its unit, and a text for each option."""
    table = comparison.table()
    season = next(iter(comparison.seasons.values()))
    days = len(season.hourly) / 24.0
    us = units == "us"

    def row(
        label: str, values: "pd.Series[Any]", spec: str, change: Callable[[float], float] = float
    ) -> tuple[str, list[str]]:
        return label, [number(change(value), spec) for value in values]

    def to(unit: str, other: str) -> Callable[[float], float]:
        return lambda value: from_si(value, unit, other)

    for use in END_USES:
        if (table[f"{use}_kWh"].abs() >= 0.5).any():
            yield row(f"{use.replace('_', ' ')}, kWh", table[f"{use}_kWh"], ",.0f")
    yield row("total electricity, kWh", table["total_kWh"], ",.0f")
    if (table["gas_kWh"] >= 0.5).any():
        change = to("kWh", "therm") if us else float
        yield row(f"gas, {'therm' if us else 'kWh'}", table["gas_kWh"], ",.0f", change)
    if (table["strip_trips"] > 0).any():
        yield row("strips stopped by their limit", table["strip_trips"], ",.0f")
    whole = comparison.study.tariff.is_of_whole_house
    yield row(f"{'whole house, cost' if whole else 'cost'}, USD", table["cost_USD"], ",.0f")
    if not comparison.study.tariff.is_flat:
        bills = comparison.bills()
        average = [bill.average_price for bill in bills.values()]
        yield (
            "average price, cent/kWh",
            ["" if price is None else number(100.0 * price, ".1f") for price in average],
        )
        yield (
            "one kWh more would cost, cent",
            [number(100.0 * bill.marginal_price(), ".1f") for bill in bills.values()],
        )
    if "emissions_kgCO2e" in table:
        change = to("kg", "lb") if us else float
        yield row(
            f"emissions, {'lb' if us else 'kg'} CO2e", table["emissions_kgCO2e"], ",.0f", change
        )
    yield row("difference from base, kWh", table["difference_kWh"], "+,.0f")
    yield row("difference from base, USD", table["difference_USD"], "+,.0f")
    yield row("peak over 15 min, kW", table["peak_15_min_kW"], ".1f")
    # Options may differ in their number of stages; hours are of each stage alone.
    stages = [c for c in table if re.fullmatch(r"cooling_stage_\d+_h", str(c))]
    yield row("cooling, h", table[stages].sum(axis=1), ",.0f")
    if "cooling_stage_1_starts" in table:
        yield row("compressor starts, cooling", table["cooling_stage_1_starts"].fillna(0), ",.0f")
    water = (table["coil_water_kg"] + table["dehumidifier_water_kg"]) / days
    yield row(
        f"water removed, {'pints' if us else 'L'} a day",
        water, ".0f" if us else ".1f", to("kg", "pint" if us else "L"),
    )  # fmt: skip
    degree = "degF" if us else "degC"
    yield row(
        f"mean indoor dew point, {degree}", table["mean_dew_point_C"], ".1f", to("degC", degree)
    )
    yield row("mean indoor RH, %", table["mean_rh_pct"], ".1f")
    yield row("time above 60 % RH, h", table["hours_over_60"], ",.0f")
    yield row("RH-hours above 55 %, % h", table["rh_hours_over_55"], ",.0f")


def over_the_years(found: Economics) -> Iterator[str]:
    """What each option costs over the years, and which more expensive one pays for itself."""
    table, terms = found.table(), found.terms
    yield f"Over {terms.years:.0f} years:"
    shown = {
        "first cost less rebate, USD": "first_cost_USD",
        "energy a year, USD": "yearly_energy_USD",
        "maintenance a year, USD": "maintenance_USD",
        "loan payment a month, USD": "loan_payment_USD",
        "life-cycle cost, USD of today": "life_cycle_cost_USD",
    }
    rows = [
        (label, [number(float(value), ",.0f") for value in table[column]])
        for label, column in shown.items()
        if column in table and (table[column] != 0.0).any()
    ]
    yield from columns(list(found.options), rows)
    yield "More expensive to buy and cheaper to run:"
    pairs = found.trade_offs()
    for pair in pairs:
        yield from item(f"{pair.option} instead of {pair.against}: {pair.verdict}")
    if not pairs:
        yield from item("none")
    for note in found.notes:
        yield from textwrap.wrap(note, WIDTH)


def verdict(budget: pd.DataFrame, certainty: "Certainty | None") -> Iterator[str]:
    """What all errors bring; and, if it was asked how sure that is, what decides and what each brings."""
    from moistsim.uncertainty import budget_words, in_words

    yield "How sure:"
    if certainty is None:
        yield from item(budget_words(budget))
        return
    yield from item(certainty.verdict)
    yield from item(budget_words(budget))
    yield ""
    head = f"{'What decides, share of the spread':{WIDTH - 48}}{'share':>12}"
    yield f"{head}{'USD, low third':>18}{'USD, high third':>18}"
    yield "-" * WIDTH
    for name, row in certainty.decides.iterrows():
        label = textwrap.shorten(in_words(str(name)), WIDTH - 52)
        yield (
            f"  {label:{WIDTH - 50}}{row['share']:>12.0%}"
            f"{number(row['low_USD'], ',.0f'):>18}{number(row['high_USD'], ',.0f'):>18}"
        )
    yield ""
    head = f"{'Error budget, ± one standard deviation':{WIDTH - 48}}{'kWh a year':>12}"
    yield f"{head}{'USD a year':>18}{'USD of today':>18}"
    yield "-" * WIDTH
    for source, row in budget.iterrows():
        yield (
            f"  {source!s:{WIDTH - 50}}{row['kWh']:>12,.0f}{row['USD']:>18,.1f}"
            f"{row['net_savings_USD']:>18,.0f}"
        )
    yield ""
    for source, basis in budget["basis"].drop("together").items():
        yield from item(f"{source}: {basis}")


def reviews(scenario: Scenario) -> Iterator[str]:
    """What the review of each option's rule table found."""
    for name, (machines, strategy) in scenario.study.options.items():
        if isinstance(strategy.base, RuleTable):
            for finding in review(strategy, machines):
                yield from textwrap.wrap(f"Check the rules of {name!r}: {finding}", WIDTH)
                yield ""


def refusals(comparison: Comparison) -> Iterator[str]:
    """Options whose strategy called for a machine that is not there: a likely mistake."""
    for name, season in comparison.seasons.items():
        # How often is not said: a call that stays on is refused once.
        if season.meter.refused["not_installed"] > 0:
            yield from textwrap.wrap(
                f"Check {name!r}: its strategy {season.strategy.name} calls for a machine that the "
                "option does not have; the result is without that machine.",
                WIDTH,
            )
            yield ""


def reheat_heat(comparison: Comparison) -> Iterator[str]:
    """What the compressor spent on heat that the option itself had brought in to dry."""
    yield "Compressor's electricity on heat that reheat or the dehumidifier had brought in:"
    for name, season in comparison.seasons.items():
        found = season.attribution()
        by = found.compressor_kwh
        added = by[["reheat", "hot_gas", "dehumidifier", "dehumidifier_condensing"]].sum()
        words = f"{name}: {added:,.0f} of {by.sum():,.0f} kWh"
        if found.reheat_kwh > 0.0:
            words += f"; {found.compressor_per_reheat:.2f} kWh for each kWh of strip reheat"
        yield from item(words)
