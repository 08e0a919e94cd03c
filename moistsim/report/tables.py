"""The page's tables: options as columns, each number read from a table of the library."""

from collections.abc import Callable, Iterator
from typing import Any

import pandas as pd

from moistsim.controls import thresholds
from moistsim.core.units import from_si
from moistsim.economics import Bridge, Economics
from moistsim.engine import END_USES
from moistsim.report.records import Row, Table
from moistsim.sheet import Show
from moistsim.study import Comparison, Matched, Units

NOTHING = "–"

_USES = {
    "compressor": "of it, compressor and outdoor fan",
    "indoor_fan": "of it, indoor fan",
    "reheat": "of it, electric strips that reheat the room",
    "backup_heat": "of it, electric strips for heating",
    "heat_pump": "of it, heat pump",
    "dehumidifier": "of it, dehumidifier",
    "ventilation_fan": "of it, fans for fresh air",
    "standby": "of it, standing by",
}


def text_of(value: Any, spec: str) -> str:
    """A number, or a dash for what is not known."""
    if pd.isna(value):
        return NOTHING
    if isinstance(value, bool) or str(getattr(value, "dtype", "")) == "bool":
        return "yes" if value else "no"
    text = format(float(value), spec)
    # What rounds to nothing has no sign.
    text = text.lstrip("+-") if not any(c in "123456789" for c in text) else text
    return Show.minus(text)


def row(
    label: str,
    values: "pd.Series[Any]",
    spec: str = ",.0f",
    change: Callable[[float], float] | None = None,
) -> Row:
    """A measure of all options."""
    cells = (value if change is None or pd.isna(value) else change(value) for value in values)
    return Row(label, tuple(text_of(value, spec) for value in cells))


def as_set(comparison: Comparison, units: Units) -> Table:
    """What each option uses, costs and reaches as it is set; `Comparison.table`."""
    table, us = comparison.table(units), units == "us"
    days = len(next(iter(comparison.seasons.values())).hourly) / 24.0
    degree, water, mass = ("F", "pint", "lb") if us else ("C", "kg", "kg")

    def rows() -> Iterator[Row]:
        yield row("hours above 60 % relative humidity", table["hours_over_60"])
        yield row("average relative humidity, %", table["mean_rh_pct"], ".1f")
        yield row(
            f"average dew point, °{degree} (how much water is in the air)",
            table[f"mean_dew_point_{degree}"], ".1f",
        )  # fmt: skip
        removed = (table[f"coil_water_{water}"] + table[f"dehumidifier_water_{water}"]) / days
        yield row(
            f"water taken from the air, {'pints' if us else 'liters'} a day",
            removed, ".0f" if us else ".1f",
        )  # fmt: skip
        whole = "of the whole house " if comparison.study.tariff.is_of_whole_house else ""
        yield row(f"cost {whole}for the season, USD", table["cost_USD"])
        yield row("electricity of the machines, kWh", table["total_kWh"])
        for use in END_USES:
            if (table[f"{use}_kWh"].abs() >= 0.5).any():
                yield row(_USES[use], table[f"{use}_kWh"])
        if (table["gas_kWh"] >= 0.5).any():
            yield row("gas, kWh", table["gas_kWh"])
        if "emissions_kgCO2e" in table:
            change = (lambda kg: from_si(kg, "kg", "lb")) if us else None
            yield row(f"greenhouse gas, {mass} CO2e", table["emissions_kgCO2e"], ",.0f", change)
        yield row("highest draw over a quarter of an hour, kW", table["peak_15_min_kW"], ".1f")

    return Table("As set", tuple(comparison.seasons), tuple(rows()))


def as_matched(matched: Matched, units: Units) -> Table:
    """The options once they keep the house equally dry; `Matched.table`."""
    table, show = matched.table(units), Show(units)
    frame = matched.comparison.table(units)
    degree = "F" if units == "us" else "C"
    settings = []
    for option in matched.options.values():
        points = thresholds(option.machines, option.strategy)
        texts = [
            f"{x.value:.1f} %" if x.unit == "percent" else show.temperature(x.value) for x in points
        ]
        settings.append(", ".join(texts) or "has none")

    return Table(
        "Equally dry",
        tuple(matched.options),
        (
            Row("keeps the common humidity", tuple("yes" if it.matched else "no" for it in matched.options.values())),
            Row("humidity setting now", tuple(settings)),
            row("moved by, % relative humidity", table["moved_pct_RH"], "+.1f"),
            row("average relative humidity, %", frame["mean_rh_pct"], ".1f"),
            row(f"average dew point, °{degree}", frame[f"mean_dew_point_{degree}"], ".1f"),
            row("hours above 60 % relative humidity", frame["hours_over_60"]),
            row("electricity of the machines, kWh", table["total_matched_kWh"]),
            row("cost for the season, USD", table["cost_matched_USD"]),
            row("the same as set before, USD", table["cost_as_set_USD"]),
        ),
    )  # fmt: skip


def months(comparison: Comparison) -> Table:
    """The bill of each month; `Comparison.bills`."""
    bills = comparison.bills()
    totals = pd.DataFrame({name: bill.months["total"] for name, bill in bills.items()})
    rows = [row(f"{month.to_timestamp():%B}", totals.loc[month], ",.2f") for month in totals.index]
    season = pd.Series({name: bill.total for name, bill in bills.items()})
    return Table("USD", tuple(bills), (*rows, row("season", season, ",.2f")))


def years(bought: Economics) -> Table:
    """What is paid over the years; `Economics.table`."""
    table = bought.table()
    rows = [
        row("to buy, less rebate, USD", table["first_cost_USD"]),
        row("energy a year, USD", table["yearly_energy_USD"]),
        row("upkeep a year, USD", table["maintenance_USD"]),
    ]
    if "loan_payment_USD" in table:
        rows.append(row("loan, to pay a month, USD", table["loan_payment_USD"], ",.2f"))
    rows.append(row("all of it in today’s money, USD", table["life_cycle_cost_USD"]))
    if table["simple_payback_years"].notna().any():
        for column, label in (
            ("simple", f"years until its price comes back, against “{bought.base}”"),
            ("discounted", "the same, counting interest"),
        ):
            rows.append(row(label, table[f"{column}_payback_years"], ".1f"))
    return Table(f"Over {bought.terms.years:.0f} years", bought.options, tuple(rows))


def bridge(found: Bridge, most: int = 5) -> Table:
    """What it costs to wait; `Bridge.table`."""
    table = found.table.iloc[: most + 1]
    names = [
        "at once" if n == 0 else "after 1 season" if n == 1 else f"after {n} seasons"
        for n in table.index
    ]
    return Table(
        "Bought",
        tuple(names),
        (
            row("to pay on the first day, USD", table["first_day_USD"]),
            row("all of it in today’s money, USD", table["life_cycle_cost_USD"]),
        ),
    )


_RISKS = (
    ("hours_over_60", "hours above 60 % relative humidity", ",.0f"),
    ("hours_over_65", "hours above 65 %", ",.0f"),
    ("longest_over_60_h", "longest spell above 60 %, hours", ",.0f"),
    ("mold_index_corner", "mold on the coldest corner: 0 none, 1 begins, 3 seen, 6 covered", ".1f"),
    ("mold_index_register", "the same beside a supply grille", ".1f"),
    ("ashrae_160_met", "stays below 3 at both, as ASHRAE standard 160 asks", ""),
    ("mite_days", "days humid enough for dust mites to spread", ",.0f"),
    ("cupping_days", "days on which a wooden floor may cup", ",.0f"),
    ("grille_wet_h", "hours with water on supply grilles", ",.0f"),
    ("window_wet_h", "hours with water on the inside of windows", ",.0f"),
    ("comfortable_pct", "comfortable share of the time at home, % (ASHRAE standard 55)", ".0f"),
    ("too_cool_h", "hours at home that are too cool", ",.0f"),
    ("too_warm_h", "hours at home that are too warm", ",.0f"),
    ("compressor_starts_per_day", "compressor starts a day", ".1f"),
    ("compressor_runs_under_10_min_pct", "its runs shorter than 10 minutes, %", ".0f"),
    ("contactor_years", "years until its switch has worn", ".0f"),
    ("strips_h", "hours with electric strips on", ",.0f"),
    ("dehumidifier_starts", "dehumidifier starts", ",.0f"),
)  # fmt: skip


def risks(table: pd.DataFrame) -> Table:
    """Risk and comfort as set, in plain words; `risk`."""
    rows = []
    for column, label, spec in _RISKS:
        values = table[column]
        if column.endswith("_met"):
            cells = [NOTHING if pd.isna(x) else "yes" if x else "no" for x in values]
            rows.append(Row(label, tuple(cells)))
        elif column not in ("strips_h", "dehumidifier_starts") or (values > 0).any():
            rows.append(row(label, values, spec))
    return Table("As set", tuple(map(str, table.index)), tuple(rows))
