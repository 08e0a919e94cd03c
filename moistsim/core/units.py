"""The edge between people's units and SI: the only file that knows trade units.

A quantity is given as a number in SI or as a text (or pint quantity) with its unit: ``"2000 ft2"``,
``"75 degF"``, ``"90 pint/day"``. Everything behind this file is a float in SI.
"""

import math
import re
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from moistsim.core.errors import InputError
from moistsim.core.loading import uncollected

if TYPE_CHECKING:
    import pint


class Kind(NamedTuple):
    """A kind of quantity: its name in a sentence, and examples in SI and in trade units."""

    name: str
    si: str
    trade: str


KINDS = {
    "m": Kind("a length", "2.4 m", "8 ft"),
    "m2": Kind("an area", "186 m2", "2000 ft2"),
    "m3/s": Kind("an airflow", "0.05 m3/s", "110 cfm"),
    "m3/s/W": Kind("an airflow per power", "0.03 m3/s/kW", "60 cfm/kW"),
    "W": Kind("a power", "7000 W", "24000 Btu/h"),
    "W/(m3/s)": Kind("a fan power per airflow", "900 W/(m3/s)", "0.45 W/cfm"),
    "W/(m2 K)": Kind("a U-value", "0.5 W/(m2 K)", "0.09 Btu/(h ft2 delta_degF)"),
    "m2 K/W": Kind("a thermal resistance", "1.06 m2 K/W", "6 ft2 h delta_degF/Btu"),
    "J/(m2 K)": Kind("a heat capacity per floor area", "50 kJ/(m2 K)", "2.4 Btu/(ft2 delta_degF)"),
    "degC": Kind("a temperature", "24 degC", "75 degF"),
    "delta_degC": Kind("a temperature difference", "1 K", "2 delta_degF"),
    "s": Kind("a time", "300 s", "5 min"),
    "deg": Kind("an angle", "90 deg", "90 deg"),
    "kg/s": Kind("a rate of water", "10 kg/day", "90 pint/day"),
    "kg": Kind("a mass of water", "0.5 kg", "1.1 lb"),
    "kg/m2": Kind("a mass of water per area", "2.5 kg/m2", "0.5 lb/ft2"),
    "kg/(s m2)": Kind("a rate of water per area", "0.05 kg/(day m2)", "0.01 lb/(day ft2)"),
    "kg/J": Kind("an energy factor", "2.8 L/kWh", "5.9 pint/kWh"),
    "kg/m3": Kind("a density", "650 kg/m3", "40 lb/ft3"),
    "kg/(m s Pa)": Kind("a vapor permeability", "3e-12 kg/(m s Pa)", "3e-12 kg/(m s Pa)"),
    "m2/s": Kind("a thermal diffusivity", "6e-7 m2/s", "0.023 ft2/hour"),
    "m/s": Kind("a speed", "3 m/s", "7 mph"),
    "Pa m2 s/kg": Kind("a vapor resistance", "3e8 Pa m2 s/kg", "3e8 Pa m2 s/kg"),
    "1/hour": Kind("a rate of air changes", "1.5 1/hour", "1.5 1/hour"),
    "W/W": Kind("an efficiency", "3.6 W/W", "12.3 Btu/h/W"),
    "percent": Kind("a relative humidity", "55 %", "55 %"),
    "fraction": Kind("a fraction", "0.75", "75 %"),
    "USD/kWh": Kind("a price of energy", "0.15 USD/kWh", "15 cent/kWh"),
    "USD": Kind("a sum of money", "1800 USD", "1,800 USD"),
    "USD/year": Kind("a sum of money a year", "40 USD/year", "40 USD/year"),
    "year": Kind("a span of years", "12 year", "12 year"),
    "1/year": Kind("a rate a year", "0.03", "3 %"),
    "USD/kW": Kind("a demand charge", "12 USD/kW", "12 USD/kW"),
    "USD/month": Kind("a charge a month", "9.50 USD/month", "950 cent/month"),
    "USD/day": Kind("a charge a day", "0.35 USD/day", "35 cent/day"),
    "kWh": Kind("an amount of energy", "1000 kWh", "1000 kWh"),
    "kWh/year": Kind("a use a year", "6000 kWh/year", "500 kWh/month"),
    "kg/kWh": Kind("an emission factor", "0.4 kg/kWh", "880 lb/MWh"),
    "count": Kind("a number", "4", "4"),
    "met": Kind("a metabolic rate", "1.2 met", "1.2 met"),
    "clo": Kind("an insulation by clothes", "0.5 clo", "0.5 clo"),
    "V": Kind("a voltage", "240 V", "240 V"),
}
"""Every unit that a description is kept in. The keys are what fields and settings name."""

WITHOUT_UNIT = ("count", "fraction", "W/W", "1/year")
"""Units whose numbers are written without one."""


class Role(Enum):
    """What a setting of a control is for, where the rest of the package must know it."""

    COOLING = "cooling setpoint"
    """Room temperature that comfort is measured against in summer; sizing sets it too."""
    HEATING = "heating setpoint"
    """Room temperature that comfort is measured against in winter."""
    HUMIDITY = "humidity setpoint"
    """Room RH that the control dries to; options are moved to one humidity by it."""
    DEW_POINT = "dew-point setpoint"
    """Room dew point that the control dries to; moved together with the humidity setpoints."""
    HUMIDITY_DEADBAND = "humidity deadband"
    """Whole width of the band around a humidity setpoint."""


class Limits(NamedTuple):
    """Lowest and highest value of a setting, in its unit: ``Annotated[Percent, Limits(15, 95)]``."""

    low: float
    high: float


class Meaning(NamedTuple):
    """What a setting does, in one sentence for ``help``: ``Annotated[DegC, Meaning("...")]``."""

    text: str


# Type marks for the settings of a strategy, `hold_below: ms.units.DegC = 24.0`. The last five also
# say what the setting is for, so that its name may be anything.
DegC = Annotated[float, "degC"]
DeltaC = Annotated[float, "delta_degC"]
Percent = Annotated[float, "percent"]
Seconds = Annotated[float, "s"]
Fraction = Annotated[float, "fraction"]
CoolingSetpoint = Annotated[float, "degC", Role.COOLING]
HeatingSetpoint = Annotated[float, "degC", Role.HEATING]
HumiditySetpoint = Annotated[float, "percent", Role.HUMIDITY]
DewPointSetpoint = Annotated[float, "degC", Role.DEW_POINT]
HumidityDeadband = Annotated[float, "percent", Role.HUMIDITY_DEADBAND]


@lru_cache(maxsize=1)
@uncollected()
def registry() -> "pint.UnitRegistry[float]":
    """The unit registry, with the trade's names that pint lacks or reads as something else."""
    import pint

    # Trade and plain-text habits that pint does not read: 'ft2' for 'ft**2', 'm2 K' for 'm2 * K'.
    habits = [
        lambda text: re.sub(r"(?<=[A-Za-z])([23])(?![\d*])", r"**\1", text),
        lambda text: text.replace("%", "percent").replace("°", "deg"),
        lambda text: re.sub(r"\btons?\b", "refrigeration_ton", text),
    ]
    units: pint.UnitRegistry[float]
    try:
        # What pint reads from its own files it keeps in the user's cache folder: half the time.
        units = pint.UnitRegistry(preprocessors=habits, cache_folder=":auto:")
    except Exception:  # No folder, or a half-written file in it: any of pickle's errors.
        units = pint.UnitRegistry(preprocessors=habits)
    for line in (
        "USD = [currency]",
        "cent = 0.01 * USD",
        "cfm = foot ** 3 / minute",
        "kBtu = 1000 * Btu",
        # As ASHRAE 55 and ISO 7730 define them (from memory).
        "met = 58.2 * watt / meter ** 2",
        "clo = 0.155 * kelvin * meter ** 2 / watt",
    ):
        units.define(line)
    # 8.33 lb/gal (0.998 kg/L): the density that rating standards use to turn pints into pounds.
    density = units.Quantity(998.2, "kg/m**3")

    def to_mass(ureg: Any, value: Any, **_: Any) -> Any:
        return value * density

    def to_volume(ureg: Any, value: Any, **_: Any) -> Any:
        return value / density

    water = pint.Context("water")
    for per in ("", "/[time]", "/([mass]*[length]**2/[time]**2)"):
        water.add_transformation(f"[length]**3{per}", f"[mass]{per}", to_mass)
        water.add_transformation(f"[mass]{per}", f"[length]**3{per}", to_volume)
    units.add_context(water)
    units.enable_contexts("water")
    return units


# Commas group thousands in sums of money alone: elsewhere "1,500" may be somebody's 1.5.
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")
_NUMBER_AND_UNIT = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


def _pint_unit(unit: str) -> str:
    return "dimensionless" if unit in WITHOUT_UNIT else unit


def _is_bare(unit: str) -> bool:
    """Whether a sentence says a number alone: an efficiency shows which of two it is."""
    return unit in WITHOUT_UNIT and unit not in KINDS[unit].si


def expected(unit: str) -> str:
    """Half a sentence that says what a quantity kept in `unit` may look like."""
    kind = KINDS[unit]
    texts = [f"'{kind.si}'"] + ([f"'{kind.trade}'"] if kind.trade != kind.si else [])
    if _is_bare(unit):
        return f"{kind.name}, such as {' or '.join(texts)}"
    return f"{kind.name} as a number in {unit}, or a text such as {' or '.join(texts)}"


def to_si(value: Any, unit: str, where: str) -> float:
    """A quantity as a float in `unit`, which is one of `KINDS`.

    Parameters
    ----------
    value : float, str or pint.Quantity
        A number is taken as already in `unit`.
    unit : str
        The SI unit that the field is kept in.
    where : str
        Names the field in the error.

    Raises
    ------
    InputError
        If the value is no number, not finite, or its unit has another dimension.

    Examples
    --------
    >>> round(to_si("2000 ft2", "m2", "floor"), 2)
    185.81
    >>> round(to_si("75 degF", "degC", "setpoint"), 2)
    23.89
    """
    number = _convert(value, unit, where)[0]
    if not math.isfinite(number):
        raise InputError(where, value, expected(unit))
    return number


def _convert(value: Any, unit: str, where: str) -> tuple[float, str]:
    """The number in `unit`, and the unit that the user wrote."""
    # By name, since numpy's own bool is no subclass of Python's.
    if value is None or type(value).__name__ in ("bool", "bool_"):
        raise InputError(where, value, expected(unit))
    if isinstance(value, float):
        return float(value), unit
    if isinstance(value, str):
        text = _THOUSANDS.sub("", value) if unit.startswith("USD") else value
        match = _NUMBER_AND_UNIT.match(text)
        if match is None:
            raise InputError(where, value, expected(unit))
        magnitude, text = float(match[1]), match[2]
        if not text:
            return magnitude, unit
    elif hasattr(value, "magnitude") and hasattr(value, "units"):
        magnitude, text = float(value.magnitude), str(value.units)
    else:
        try:
            return float(value), unit
        except (TypeError, ValueError, OverflowError):
            raise InputError(where, value, expected(unit)) from None
    try:
        # "m2 K" is written with a blank in SI and with a star in code.
        spaced = re.sub(r"(?<=[\w)])\s+(?=[\w(])", " * ", text)
        if unit == "delta_degC":
            # '2 degF' as a difference is what people write, and means two Fahrenheit degrees.
            spaced = re.sub(r"(?<!delta_)(?:deg|°)(C|F)\b", r"delta_deg\1", spaced)
        converted = registry().Quantity(magnitude, spaced).to(_star(_pint_unit(unit)))
    except Exception as error:
        raise InputError(where, value, expected(unit)) from error
    return float(converted.magnitude), text


def as_written(value: Any, unit: str, where: str) -> tuple[float, str]:
    """The number and the unit that a quantity was given with; a bare number is in `unit`.

    Raises
    ------
    InputError
        As `to_si`.

    Examples
    --------
    >>> as_written("75 degF", "degC", "setpoint")
    (75.0, 'degF')
    """
    si, written = to_si(value, unit, where), _convert(value, unit, where)[1]
    if written == unit:
        return si, unit
    if hasattr(value, "magnitude"):
        return float(value.magnitude), written
    match = _NUMBER_AND_UNIT.match(str(value))
    return float(match[1]) if match else si, written


def _star(unit: str) -> str:
    return re.sub(r"(?<=[\w)])\s+(?=[\w(])", " * ", unit)


def from_si(value: float, unit: str, to: str) -> float:
    """A number kept in `unit`, as a number in the unit `to`."""
    quantity = registry().Quantity(value, _star(_pint_unit(unit))).to(_star(to))
    return float(quantity.magnitude)


# ------------------------------------------------------------------ degrees, for arrays and constants


def celsius(fahrenheit: Any) -> Any:
    """Convert a temperature, or an array of them, from °F to °C.

    Examples
    --------
    >>> celsius(68.0)
    20.0
    """
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(celsius: Any) -> Any:
    """Convert a temperature, or an array of them, from °C to °F.

    Examples
    --------
    >>> fahrenheit(20.0)
    68.0
    """
    return 1.8 * celsius + 32.0
