"""A measure: a column of a table of results, with its unit, its words and its trade unit.

Every folder that makes a table declares its columns as `Measure`. Columns of a season are in
`engine.column_catalog`, and those of risk in `risk.table`. The declared unit of a column decides
its trade unit; the ending of its name does not.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from moistsim.core.units import Role, from_si

if TYPE_CHECKING:
    import pandas as pd


class ColumnUnit(NamedTuple):
    """A unit of results: the ending of a column's name, and the sign that a reader sees."""

    ending: str
    """End of the name of a column in this unit."""
    sign: str
    """The unit as a reader writes it; empty for a bare number."""
    trade: str = ""
    """The trade's unit, as the unit registry reads it; empty where the trade uses this one."""
    trade_ending: str = ""
    trade_sign: str = ""


UNITS = {
    "degC": ColumnUnit("_C", "°C", "degF", "_F", "°F"),
    "delta_degC": ColumnUnit("_K", "K", "delta_degF", "_degF", "°F"),
    "kg": ColumnUnit("_kg", "kg", "pint", "_pint", "pints"),
    "kg/day": ColumnUnit("_kg_day", "kg a day", "pint/day", "_pint_day", "pints a day"),
    "W": ColumnUnit("_W", "W", "Btu/hour", "_Btu_h", "Btu/h"),
    "W electric": ColumnUnit("_W", "W"),
    "percent": ColumnUnit("_pct", "%"),
    "percent hour": ColumnUnit("", "% h"),
    "hour": ColumnUnit("_h", "h"),
    "hour/day": ColumnUnit("_h_day", "h a day"),
    "minute": ColumnUnit("_min", "min"),
    "day": ColumnUnit("_days", "days"),
    "year": ColumnUnit("_years", "years"),
    "kWh": ColumnUnit("_kWh", "kWh"),
    "kWh gas": ColumnUnit("_kWh", "kWh", "therm", "_therm", "therms"),
    "kWh/L": ColumnUnit("_kWh_per_liter", "kWh/L", "kWh/pint", "_kWh_per_pint", "kWh/pint"),
    "kW": ColumnUnit("_kW", "kW"),
    "A": ColumnUnit("_A", "A"),
    "USD": ColumnUnit("_USD", "USD"),
    "kg CO2e": ColumnUnit("_kgCO2e", "kg CO2e"),
    "count": ColumnUnit("", ""),
    "fraction": ColumnUnit("", ""),
    "yes or no": ColumnUnit("", ""),
    "text": ColumnUnit("", ""),
}
"""Units that a column of results may declare, by name."""


@lru_cache(maxsize=64)
def line(unit: str) -> tuple[float, float]:
    """Slope and intercept of the trade's unit in a unit of `UNITS`.

    >>> line("degC"), line("kWh")
    ((1.8, 32.0), (1.0, 0.0))
    """
    trade = UNITS[unit].trade
    if not trade:
        return 1.0, 0.0
    # By definition, and without the last bits that a conversion through kelvins leaves.
    if unit in ("degC", "delta_degC"):
        return 1.8, 32.0 if unit == "degC" else 0.0
    return from_si(1.0, unit.removesuffix(" gas"), trade), 0.0


class Measure(NamedTuple):
    """A column of a table of results.

    Examples
    --------
    >>> from moistsim.engine.column_catalog import MEASURE
    >>> dew_point = MEASURE["mean_dew_point_C"]
    >>> dew_point.titled("us"), dew_point.in_trade(10.0), dew_point.trade_name
    ('mean indoor dew point, °F', 50.0, 'mean_dew_point_F')
    """

    name: str
    """Name of the column in SI. ``{}`` stands for the number of a cooling stage."""
    unit: str
    """Unit of the column, a key of `UNITS`."""
    label: str
    """Label of the measure: a noun phrase that is understood alone, without the unit."""
    short: str = ""
    """The label where there is little room; empty where it is short enough."""
    digits: int = 0
    """Digits after the decimal point, where the measure is shown."""
    phrases: tuple[str, ...] = ()
    """Phrases that people type for the measure; the program writes the first one."""
    part: str = ""
    """The Series of `Meter` that holds it; see `engine.column_catalog.PARTS`."""
    columns: tuple[str, ...] = ()
    """Columns of the hourly table that make the measure; empty for the column of its own name."""
    how: Literal["total", "mean", "count", "removed", "computed"] = "computed"
    """Calculation of the measure from the sums of these columns.

    "total" is the sum, "mean" the sum over the hours, and "count" the sum as a whole number.
    "removed" is the sum with its sign turned. "computed" is a calculation of its own.
    """
    meaning: str = ""
    """Exact meaning with its source, where the label does not say all."""
    headline: bool = True
    """Whether a customer's page shows it."""
    needs: Role | None = None
    """Role of the setpoint that the measure needs; without it the measure is unknown."""
    first_stage: int = 0
    """The first cooling stage that has such a column; 0 if it belongs to no stage."""
    alike: float | None = None
    """Difference that counts as equal, where options may be matched by this measure."""
    per_rh: float | None = None
    """Maximum change of the measure for 1 percent RH of the setpoints, where it is known."""

    @property
    def stem(self) -> str:
        """The name without its unit."""
        return self.name.removesuffix(UNITS[self.unit].ending)

    @property
    def trade_name(self) -> str:
        """Name of the column in trade units."""
        unit = UNITS[self.unit]
        return self.stem + unit.trade_ending if unit.trade else self.name

    def sign(self, units: str) -> str:
        """The unit as a reader of "si" or "us" writes it."""
        unit = UNITS[self.unit]
        return unit.trade_sign if units == "us" and unit.trade else unit.sign

    def titled(self, units: str, label: str = "") -> str:
        """The label, or another one in its place, with the unit."""
        sign = self.sign(units)
        return f"{label or self.label}, {sign}" if sign else label or self.label

    def heading(self, units: str, label: str = "") -> str:
        """Label of a row or an axis: the `titled` label, beginning with a capital."""
        text = self.titled(units, label)
        return text[0].upper() + text[1:]

    def column(self, units: str) -> str:
        """Name of the column in "si" or "us"."""
        return self.trade_name if units == "us" else self.name

    def in_trade(self, values: Any) -> Any:
        """A number, an array or a Series in the trade's unit."""
        slope, zero = line(self.unit)
        return values if (slope, zero) == (1.0, 0.0) else values * slope + zero

    def shown(self, values: Any, units: str) -> Any:
        """Values in the units of a reader of "si" or "us"."""
        return self.in_trade(values) if units == "us" else values

    def difference(self, values: Any, units: str) -> Any:
        """Differences between values, in the units of a reader of "si" or "us"."""
        return values * line(self.unit)[0] if units == "us" else values

    def called(self, word: str) -> "Measure":
        """This measure under another name, such as ``mean_rh_as_set_pct``.

        >>> from moistsim.engine.column_catalog import MEASURE
        >>> MEASURE["mean_rh_pct"].called("as_set").name
        'mean_rh_as_set_pct'
        """
        ending = self.name.removeprefix(self.stem)
        return self._replace(name=f"{self.stem}_{word}{ending}")

    def of_stage(self, number: int) -> "Measure":
        """The measure of one cooling stage."""
        return self._replace(
            name=self.name.format(number),
            label=self.label.format(number),
            short=self.short.format(number),
            columns=tuple(column.format(number) for column in self.columns),
        )


def in_trade(table: "pd.DataFrame", measures: Iterable[Measure]) -> "pd.DataFrame":
    """A table in trade units, each column by the unit that its measure declares.

    Raises
    ------
    KeyError
        If a column is not declared.
    """
    import pandas as pd

    known = {measure.name: measure for measure in measures}
    columns = {known[str(name)].trade_name: known[str(name)].in_trade(column)
               for name, column in table.items()}  # fmt: skip
    return pd.DataFrame(columns, index=table.index)
