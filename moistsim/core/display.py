"""One way to show a number, a quantity, a date, a duration and a sum of money.

Results are kept in SI. `Show` writes them in the units of a reader, US or SI. A quantity is named
by its kind (see `QUANTITIES`), because one SI unit has several trade units: a cooling capacity
is in Btu/h, the electric power of the same machine is in kW.
"""

import math
import re
from functools import lru_cache
from typing import Any, Literal, NamedTuple

import pandas as pd

from moistsim.core.errors import InputError
from moistsim.core.units import from_si, si_unit, trade_unit

Units = Literal["si", "us"]
"""The two systems of units that results can be shown in."""

NOTHING = "–"
"""Shown in the place of a value that does not exist or is not known."""


class _Unit(NamedTuple):
    unit: str
    """Unit in the spelling of the unit registry."""
    sign: str
    """Unit as a reader writes it."""
    digits: int
    """Digits after the decimal point; negative digits round to tens, hundreds and so on."""


class Quantity(NamedTuple):
    """Units of a kind of value: the unit inside, and the unit for each reader."""

    kept: str
    us: _Unit
    si: _Unit


_KW, _KWH = _Unit("kW", "kW", 1), _Unit("kWh", "kWh", 0)
QUANTITIES = {
    "temperature": Quantity("degC", _Unit("degF", "°F", 0), _Unit("degC", "°C", 1)),
    "difference": Quantity("delta_degC", _Unit("delta_degF", "°F", 1), _Unit("delta_degC", "°C", 1)),
    "area": Quantity("m2", _Unit("ft2", "ft²", 0), _Unit("m2", "m²", 0)),
    "length": Quantity("m", _Unit("ft", "ft", 0), _Unit("m", "m", 0)),
    "airflow": Quantity("m3/s", _Unit("cfm", "cfm", 0), _Unit("L/s", "L/s", 0)),
    "capacity": Quantity("W", _Unit("Btu/hour", "Btu/h", -2), _Unit("kW", "kW", 2)),
    "load": Quantity("W", _Unit("Btu/hour", "Btu/h", 0), _Unit("W", "W", 0)),
    "power": Quantity("W", _KW, _KW),
    "removal": Quantity("kg/s", _Unit("pint/day", "pints/day", 0), _Unit("L/day", "L/day", 1)),
    "water": Quantity("kg", _Unit("pint", "pints", 0), _Unit("L", "L", 1)),
    "humidity_ratio": Quantity("kg/kg", _Unit("grain/lb", "grains/lb", 0), _Unit("g/kg", "g/kg", 1)),
    "mass": Quantity("kg", _Unit("lb", "lb", 0), _Unit("kg", "kg", 0)),
    "gas": Quantity("kWh", _Unit("therm", "therms", 0), _KWH),
    "heat": Quantity("kWh", _Unit("kBtu", "kBtu", 0), _KWH),
}  # fmt: skip
"""Units of each kind of result, by its name."""

_SIGNS = (
    (r"delta_deg([CF])", r"°\1"), (r"deg([CF])", r"°\1"), (r"(m|ft)2", r"\1²"), (r"(m|ft)3", r"\1³"),
    (r"^1/hour", "per hour"), (r"pint\b", "pints"), (r"kg/day$", "L/day"), (r"^year$", "years"),
    (r"^deg$", "°"), (r"^W/W$", ""),
)  # fmt: skip


# A plain value of the process, not a context variable: a new thread starts without its caller's
# context, and some notebook servers run each cell in a context of its own, so a choice made in one
# cell would be lost in the next. Whatever serves two readers at a time passes `units` itself.
_default: Units = "us"


def set_units(units: Units) -> None:
    """Set the units of all tables, figures and sentences of this process.

    It is the default wherever a call has a `units` of its own, which goes before it. Results are
    in SI whatever is set: hourly tables, meters, balances, sweeps, and columns that an answer is calculated from.
    The command line has an option of its own.

    Parameters
    ----------
    units : {"us", "si"}
        Trade units or SI. Until it is called, trade units.

    Raises
    ------
    InputError
        If `units` is neither.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.set_units("si")
    >>> ms.Weather.sample("miami").describe().index[1]
    'mean dry bulb [degC]'
    >>> ms.set_units("us")
    >>> ms.Weather.sample("miami").describe().index[1]
    'mean dry bulb [degF]'
    """
    global _default
    check_units(units, "set_units")
    _default = units


def units_or_default(units: Units | None, where: str = "units") -> Units:
    """The units that a caller chose, or the default that `set_units` sets.

    Every public function with ``units=None`` calls it once, first, and passes its result on: work
    in other threads and processes then keeps the choice of the caller.

    Raises
    ------
    InputError
        If `units` is neither "us" nor "si" nor None.
    """
    if units is None:
        return _default
    check_units(units, where)
    return units


def check_units(units: str, where: str) -> None:
    """Refuse a system of units other than "si" and "us".

    Raises
    ------
    InputError
        If `units` is neither "si" nor "us".
    """
    if units not in ("si", "us"):
        raise InputError(where, units, "'si' or 'us'")


def number(value: Any, digits: int = 0, *, sign: bool = False) -> str:
    """A number with commas between thousands and a fixed count of digits.

    A value that rounds to zero has no sign, and a missing value is a dash.

    Parameters
    ----------
    value : float
    digits : int
        After the decimal point; negative digits round to tens, hundreds and so on.
    sign : bool
        Write a plus as well.

    Examples
    --------
    >>> number(1234.56), number(-0.04, 1), number(24018.0, -2), number(5.0, sign=True)
    ('1,235', '0.0', '24,000', '+5')
    """
    if value is None or pd.isna(value):
        return NOTHING
    text = f"{round(float(value), digits):{'+' if sign else ''},.{max(digits, 0)}f}"
    if not re.search(r"[1-9]", text):
        text = text.lstrip("+-")
    return text.replace("-", "\N{MINUS SIGN}")


def significant(value: float, digits: int = 3) -> str:
    """A number with so many significant digits; from 1,000 up, a whole number.

    Examples
    --------
    >>> significant(0.12345), significant(1234.5), significant(math.inf)
    ('0.123', '1,234', 'no limit')
    """
    if not math.isfinite(value):
        return "no limit"
    text = f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.{digits}g}"
    return text.replace("-", "\N{MINUS SIGN}")


def money(amount: float) -> str:
    """A sum of money, in whole USD.

    Examples
    --------
    >>> money(1879.6), money(-0.2)
    ('1,880 USD', '0 USD')
    """
    return f"{number(amount)} USD"


def duration(seconds: float) -> str:
    """A span of time, in the units in which a person counts it.

    Examples
    --------
    >>> duration(90), duration(300), duration(22800), duration(0), duration(10 * 86400)
    ('90 s', '5 min', '6 h 20 min', 'none', '10 days')
    """
    if seconds <= 0.0:
        return "none"
    if seconds < 120.0:
        return f"{significant(seconds)} s"
    if seconds < 7200.0:
        return f"{significant(seconds / 60.0)} min"
    if seconds >= 172800.0:
        return f"{significant(seconds / 86400.0)} days"
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{hours} h" + (f" {minutes} min" if minutes else "")


def count(amount: float, noun: str, plural: str = "") -> str:
    """A whole number with its noun in the right number.

    Examples
    --------
    >>> count(1, "hour"), count(1200, "hour"), count(0, "story", "stories")
    ('1 hour', '1,200 hours', '0 stories')
    """
    return f"{number(amount)} {noun if round(amount) == 1 else plural or f'{noun}s'}"


@lru_cache(maxsize=256)
def _line(unit: str, to: str) -> tuple[float, float]:
    """Slope and intercept of a conversion: units are straight lines in each other."""
    zero = from_si(0.0, unit, to)
    return (from_si(1000.0, unit, to) - zero) / 1000.0, zero


class Show:
    """Values in the units of a reader.

    Parameters
    ----------
    units : {"us", "si"}

    Examples
    --------
    >>> us, si = Show("us"), Show("si")
    >>> us(23.9, "temperature"), si(24.0, "temperature", 0)
    ('75 °F', '24 °C')
    >>> us(0.4, "difference"), us(111.5, "area"), us(7034.0, "capacity")
    ('0.7 °F', '1,200 ft²', '24,000 Btu/h')
    """

    def __init__(self, units: Units) -> None:
        self.units: Units = units
        self.us = units == "us"

    def _unit(self, quantity: str) -> _Unit:
        of = QUANTITIES[quantity]
        return of.us if self.us else of.si

    def unit(self, quantity: str) -> str:
        """The reader's unit of a quantity, by its name in `QUANTITIES`."""
        return self._unit(quantity).sign

    def digits(self, quantity: str) -> int:
        """Default number of digits after the decimal point for a quantity."""
        return self._unit(quantity).digits

    def value(self, value: Any, quantity: str) -> Any:
        """A number, an array or a Series in the reader's unit."""
        slope, zero = _line(QUANTITIES[quantity].kept, self._unit(quantity).unit)
        return value * slope + zero

    def number(self, value: Any, quantity: str, digits: int | None = None) -> str:
        """A value in the reader's unit, without the unit."""
        unit = self._unit(quantity)
        missing = value is None or pd.isna(value)
        return number(
            None if missing else self.value(float(value), quantity),
            unit.digits if digits is None else digits,
        )

    def __call__(self, value: Any, quantity: str, digits: int | None = None) -> str:
        """A value with the reader's unit."""
        return f"{self.number(value, quantity, digits)} {self.unit(quantity)}"

    def field(self, value: Any, unit: str | None, key: str = "") -> str:
        """A value of a description, as a reader of these units writes it.

        Parameters
        ----------
        value
            The value that the description keeps.
        unit : str or None
            A key of `units.KINDS`.
        key : str
            Name of the field: capacities are in Btu/h, the power of machines is in W.
        """
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, tuple):
            if len(value) > 6:
                return f"a list of {len(value)} numbers"
            return ", ".join(self.field(item, unit, key) for item in value) or "none"
        if not isinstance(value, int | float):
            return str(value)
        if unit in (None, "count"):
            return significant(value)
        if unit in ("fraction", "1/year"):
            return f"{significant(100.0 * value)} %" + (" a year" if unit == "1/year" else "")
        if unit == "percent":
            return f"{significant(value)} %"
        if unit == "s":
            return duration(value) if value else "0 s"
        if unit == "delta_degC":
            return f"{significant(self.value(value, 'difference'))} {self.unit('difference')}"
        to = self._unit_of_field(str(unit), key)
        slope, zero = _line(str(unit), to)
        text = significant(value * slope + zero)
        for pattern, sign in _SIGNS:
            to = re.sub(pattern, sign, to)
        return f"{text}{'' if to == '°' else ' '}{to}".rstrip()

    def _unit_of_field(self, unit: str, key: str) -> str:
        # Prices stay in USD, and the power of machines stays in W.
        to = unit
        if not to.startswith("USD") and (to != "W" or "capacity" in key):
            to = trade_unit(to) if self.us else si_unit(to)
            return "L/s" if to == "m3/s" else to
        if self.us and to == "USD/kWh" and key.endswith("gas_price"):
            return "USD/therm"
        return to

    def scale(self, unit: str | None, key: str = "") -> tuple[float, float, str]:
        """Slope, intercept and sign of the reader's unit of a field, for an axis.

        Parameters
        ----------
        unit : str or None
            A key of `units.KINDS`.
        key : str
            Name of the field, as for `field`.

        Examples
        --------
        >>> Show("si").scale("delta_degC"), Show("si").scale("fraction")
        ((1.0, 0.0, '°C'), (100.0, 0.0, '%'))
        """
        if unit in (None, "", "count"):
            return 1.0, 0.0, ""
        if unit in ("fraction", "1/year"):
            return 100.0, 0.0, "%" if unit == "fraction" else "% a year"
        if unit in ("percent", "s"):
            return 1.0, 0.0, "%" if unit == "percent" else "s"
        if unit == "delta_degC":
            return *_line(QUANTITIES["difference"].kept, self._unit("difference").unit), self.unit(
                "difference"
            )
        to = self._unit_of_field(str(unit), key)
        slope, zero = _line(str(unit), to)
        for pattern, sign in _SIGNS:
            to = re.sub(pattern, sign, to)
        return slope, zero, to

    def day(self, stamp: pd.Timestamp) -> str:
        """A day without its year, which a typical year does not have.

        Examples
        --------
        >>> Show("us").day(pd.Timestamp("1990-03-07")), Show("si").day(pd.Timestamp("1990-03-07"))
        ('March 7', '7 March')
        """
        return f"{stamp:%B} {stamp.day}" if self.us else f"{stamp.day} {stamp:%B}"

    def days(self, first: pd.Timestamp, last: pd.Timestamp) -> str:
        """The first and the last day of a span.

        Examples
        --------
        >>> Show("us").days(pd.Timestamp("1990-03-01"), pd.Timestamp("1990-10-31"))
        'March 1 to October 31'
        """
        return f"{self.day(first)} to {self.day(last)}"

    def period(self, first: pd.Timestamp, last: pd.Timestamp) -> str:
        """The span from the first to the last hour, for a sentence: its days, or "a whole year".

        Examples
        --------
        >>> Show("us").period(pd.Timestamp("1990-01-01 00:00"), pd.Timestamp("1990-12-31 23:00"))
        'a whole year'
        """
        return "a whole year" if (last - first).days >= 364 else self.days(first, last)
