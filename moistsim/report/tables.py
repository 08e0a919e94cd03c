"""The page's tables: options as columns, each number read from a table of the library."""

from collections.abc import Callable, Iterator
from typing import Any

import pandas as pd

from moistsim.controls import thresholds
from moistsim.core.display import NOTHING, Show, count, number
from moistsim.economics import Bridge, Economics
from moistsim.engine import END_USES
from moistsim.figures import style
from moistsim.report.records import Row, Table
from moistsim.study import Comparison, Matched


def row(
    label: str,
    values: "pd.Series[Any]",
    digits: int = 0,
    change: Callable[[float], float] | None = None,
    *,
    sign: bool = False,
) -> Row:
    """One measure of all options."""
    cells = (value if change is None or pd.isna(value) else change(value) for value in values)
    return Row(label, tuple(number(value, digits, sign=sign) for value in cells))


def as_set(comparison: Comparison, show: Show) -> Table:
    """What each option uses, costs and achieves as it is set; `Comparison.table`."""
    table = comparison.table()
    days = len(next(iter(comparison.seasons.values())).hourly) / 24.0

    def of(quantity: str) -> Callable[[float], float]:
        return lambda value: float(show.value(value, quantity))

    def rows() -> Iterator[Row]:
        yield row("Hours above 60 % relative humidity", table["hours_over_60"])
        yield row("Average relative humidity, %", table["mean_rh_pct"], 1)
        yield row(
            f"Average dew point, {show.unit('temperature')}",
            table["mean_dew_point_C"], 1, of("temperature"),
        )  # fmt: skip
        removed = (table["coil_water_kg"] + table["dehumidifier_water_kg"]) / (86400.0 * days)
        yield row(
            f"Water removed, {show.unit('removal')}", removed, show.digits("removal"), of("removal")
        )
        whole = "Whole-house season" if comparison.study.tariff.is_of_whole_house else "Season"
        yield row(f"{whole} cost, USD", table["cost_USD"])
        yield row("Electricity of all machines, kWh", table["total_kWh"])
        for use in END_USES:
            if (table[f"{use}_kWh"].abs() >= 0.5).any():
                yield row(style.end_use_label(use), table[f"{use}_kWh"])
        if (table["gas_kWh"] >= 0.5).any():
            yield row(f"Gas, {show.unit('gas')}", table["gas_kWh"], 0, of("gas"))
        if "emissions_kgCO2e" in table:
            label = f"Greenhouse gas, {show.unit('mass')} CO2e"
            yield row(label, table["emissions_kgCO2e"], 0, of("mass"))
        yield row("Peak power over 15 minutes, kW", table["peak_15_min_kW"], 1)

    return Table("As set", tuple(comparison.seasons), tuple(rows()))


def as_matched(matched: Matched, show: Show) -> Table:
    """The options at equal humidity; `Matched.table`."""
    table, frame = matched.table(), matched.comparison.table()
    settings = []
    for option in matched.options.values():
        points = thresholds(option.machines, option.strategy)
        texts = [
            f"{x.value:.1f} %" if x.unit == "percent" else show(x.value, "temperature", 1)
            for x in points
        ]
        settings.append(", ".join(texts) or "none")

    def degrees(celsius: float) -> float:
        return float(show.value(celsius, "temperature"))

    return Table(
        "Equally dry",
        tuple(matched.options),
        (
            Row(
                "Holds the common humidity",
                tuple("yes" if it.matched else "no" for it in matched.options.values()),
            ),
            Row("Humidity setting", tuple(settings)),
            row("Setting moved by, % relative humidity", table["moved_pct_RH"], 1, sign=True),
            row("Average relative humidity, %", frame["mean_rh_pct"], 1),
            row(
                f"Average dew point, {show.unit('temperature')}",
                frame["mean_dew_point_C"], 1, degrees,
            ),
            row("Hours above 60 % relative humidity", frame["hours_over_60"]),
            row("Electricity of all machines, kWh", table["total_matched_kWh"]),
            row("Season cost, USD", table["cost_matched_USD"]),
            row("Season cost as set, USD", table["cost_as_set_USD"]),
        ),
    )  # fmt: skip


def months(comparison: Comparison) -> Table:
    """The bills by month; `Comparison.bills`."""
    bills = comparison.bills()
    totals = pd.DataFrame({name: bill.months["total"] for name, bill in bills.items()})
    rows = [row(f"{month.to_timestamp():%B}", totals.loc[month], 2) for month in totals.index]
    season = pd.Series({name: bill.total for name, bill in bills.items()})
    return Table("USD", tuple(bills), (*rows, row("Season", season, 2)))


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
    if table["simple_payback_years"].notna().any():
        for column, label in (
            ("simple", f"Payback compared with “{bought.base}”, years"),
            ("discounted", "Discounted payback, years"),
        ):
            rows.append(row(label, table[f"{column}_payback_years"], 1))
    return Table(f"Over {bought.terms.years:.0f} years", bought.options, tuple(rows))


def bridge(found: Bridge, most: int = 5) -> Table:
    """Cost of a later purchase; `Bridge.table`."""
    table = found.table.iloc[: most + 1]
    names = ["now" if n == 0 else f"after {count(n, 'season')}" for n in table.index]
    return Table(
        "Bought",
        tuple(names),
        (
            row("First-day payment, USD", table["first_day_USD"]),
            row("Life-cycle cost in today’s money, USD", table["life_cycle_cost_USD"]),
        ),
    )


_RISKS = (
    ("hours_over_60", "Hours above 60 % relative humidity", 0),
    ("hours_over_65", "Hours above 65 % relative humidity", 0),
    ("longest_over_60_h", "Longest spell above 60 %, hours", 0),
    (
        "mold_index_corner",
        "Mold index at the coldest corner (0 none, 1 starting, 3 visible, 6 covered)",
        1,
    ),
    ("mold_index_register", "Mold index next to a supply register", 1),
    ("ashrae_160_met", "Mold index below 3 at both places (ASHRAE Standard 160)", 0),
    ("mite_days", "Days humid enough for dust mites to multiply", 0),
    ("cupping_days", "Days on which a wood floor may cup", 0),
    ("grille_wet_h", "Hours of condensation on supply registers", 0),
    ("window_wet_h", "Hours of condensation on the inside of windows", 0),
    ("comfortable_pct", "Comfortable share of the time at home (ASHRAE Standard 55), %", 0),
    ("too_cool_h", "Hours at home too cool", 0),
    ("too_warm_h", "Hours at home too warm", 0),
    ("compressor_starts_per_day", "Compressor starts a day", 1),
    ("compressor_runs_under_10_min_pct", "Compressor runs under 10 min, %", 0),
    ("contactor_years", "Compressor contactor life, years", 0),
    ("strips_h", "Electric strip runtime, hours", 0),
    ("dehumidifier_starts", "Dehumidifier starts", 0),
)  # fmt: skip


def risks(table: pd.DataFrame) -> Table:
    """Risk and comfort as set, in plain words; `risk`."""
    rows = []
    for column, label, digits in _RISKS:
        values = table[column]
        if column.endswith("_met"):
            cells = [NOTHING if pd.isna(x) else "yes" if x else "no" for x in values]
            rows.append(Row(label, tuple(cells)))
        elif column not in ("strips_h", "dehumidifier_starts") or (values > 0).any():
            rows.append(row(label, values, digits))
    return Table("As set", tuple(map(str, table.index)), tuple(rows))
