"""The edge between people's units and SI: the only file that knows trade units.

A quantity is given as a number in SI or as a text (or pint quantity) with its unit: ``"2000 ft2"``,
``"75 degF"``, ``"90 pint/day"``. Everything behind this file is a float in SI.
"""

import logging
import math
import re
from collections.abc import Callable
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from moistsim.core.errors import Fix, InputError
from moistsim.core.private_folders import open_to_others

if TYPE_CHECKING:
    import pint


class Kind(NamedTuple):
    """A kind of quantity: its name in a sentence, examples, and the range in a house."""

    name: str
    si: str
    """Example of the quantity in SI."""
    trade: str
    """Example of the quantity as people in the US trade type it."""
    usual: tuple[float, float] = (-math.inf, math.inf)
    """Range that a house can have, SI; a bare number beyond it was probably in another unit."""
    meant: tuple[str, ...] = ()
    """Texts with the units that such a bare number was probably meant in; ``{hundred}`` is a hundred
    times the number."""


KINDS = {
    "m": Kind("a length", "2.4 m", "8 ft", meant=("{} ft",)),
    "m2": Kind("an area", "186 m2", "2000 ft2", (0.0, 700.0), ("{} ft2",)),
    "m3/s": Kind("an airflow", "0.05 m3/s", "110 cfm", (0.0, 5.0), ("{} cfm", "{} L/s")),
    "m3/s/W": Kind(
        "an airflow per power", "0.03 m3/s/kW", "60 cfm/kW", (0.0, 1.0e-3), ("{} cfm/kW",)
    ),
    "W": Kind(
        "a power", "7000 W", "24000 Btu/h", meant=("{} Btu/h", "{} ton", "{} kW", "{} kBtu/h")
    ),
    "W/(m3/s)": Kind(
        "a fan power per airflow",
        "900 W/(m3/s)",
        "0.45 W/cfm",
        (30.0, 6.0e3),
        ("{} W/cfm", "{} W/(L/s)"),
    ),
    "W/(m2 K)": Kind(
        "a U-value", "0.5 W/(m2 K)", "0.09 Btu/(h ft2 F)", meant=("{} Btu/(h ft2 F)", "R-{}")
    ),
    "m2 K/W": Kind("a thermal resistance", "1.06 m2 K/W", "R-6", (0.0, 12.0), ("R-{}",)),
    "J/(m2 K)": Kind(
        "a heat capacity per floor area",
        "50 kJ/(m2 K)",
        "2.4 Btu/(ft2 F)",
        (1.0e3, 1.0e7),
        ("{} kJ/(m2 K)", "{} Btu/(ft2 F)"),
    ),
    "degC": Kind("a temperature", "24 C", "75 F", (-60.0, 49.0), ("{} F",)),
    "delta_degC": Kind("a temperature difference", "1 K", "2 F"),
    "s": Kind("a time", "300 s", "5 min", meant=("{} min", "{} h", "{} day")),
    "deg": Kind("an angle", "90 deg", "90 deg"),
    "kg/s": Kind(
        "a rate of water", "10 kg/day", "90 pints/day", (0.0, 0.02), ("{} pints/day", "{} kg/day")
    ),
    "kg": Kind("a mass of water", "0.5 kg", "1.1 lb", meant=("{} lb", "{} g")),
    "kg/m2": Kind("a mass of water per area", "2.5 kg/m2", "0.5 lb/ft2"),
    "kg/(s m2)": Kind(
        "a rate of water per area",
        "0.05 kg/(day m2)",
        "0.01 lb/(day ft2)",
        (0.0, 1.0e-4),
        ("{} kg/(day m2)", "{} lb/(day ft2)"),
    ),
    "kg/J": Kind(
        "an energy factor",
        "2.8 L/kWh",
        "5.9 pints/kWh",
        (0.0, 1.0e-5),
        ("{} L/kWh", "{} pints/kWh"),
    ),
    "kg/m3": Kind("a density", "650 kg/m3", "40 lb/ft3", meant=("{} lb/ft3",)),
    "kg/(m s Pa)": Kind(
        "a vapor permeability", "3e-12 kg/(m s Pa)", "2 perm inch", (0.0, 1.0e-9), ("{} perm inch",)
    ),
    "m2/s": Kind(
        "a thermal diffusivity",
        "6e-7 m2/s",
        "0.023 ft2/hour",
        (0.0, 1.0e-5),
        ("{} mm2/s", "{} ft2/hour"),
    ),
    "m/s": Kind("a speed", "3 m/s", "7 mph", meant=("{} ft/min",)),
    "Pa m2 s/kg": Kind("a vapor resistance", "3e8 Pa m2 s/kg", "0.06 1/perm"),
    "1/hour": Kind("a rate of air changes", "1.5", "1.5 ACH"),
    "W/W": Kind("an efficiency", "3.6 W/W", "12.3 Btu/h/W", (0.0, 8.0), ("{} Btu/h/W",)),
    "percent": Kind("a relative humidity", "55 %", "55 %", meant=("{hundred} %",)),
    "fraction": Kind("a fraction", "0.75", "75 %", meant=("{} %",)),
    "USD/kWh": Kind("a price of energy", "0.15 USD/kWh", "$0.15/kWh", (0.0, 2.0), ("{} cent/kWh",)),
    "USD": Kind("a sum of money", "1800 USD", "$1,800"),
    "USD/year": Kind("a sum of money a year", "40 USD/year", "$40/year"),
    "year": Kind("a span of years", "12 year", "12 years"),
    "1/year": Kind("a rate a year", "0.03", "3 %", meant=("{} %",)),
    "USD/kW": Kind("a demand charge", "12 USD/kW", "$12/kW"),
    "USD/month": Kind("a charge a month", "9.50 USD/month", "$9.50/month"),
    "USD/day": Kind("a charge a day", "0.35 USD/day", "$0.35/day"),
    "kWh": Kind("an amount of energy", "1000 kWh", "1000 kWh"),
    "kWh/year": Kind(
        "a use a year", "6000 kWh/year", "500 kWh/month", meant=("{} kWh/month", "{} kWh/day")
    ),
    "kg/kWh": Kind(
        "an emission factor", "0.4 kg/kWh", "880 lb/MWh", (0.0, 3.0), ("{} lb/MWh", "{} g/kWh")
    ),
    "count": Kind("a number", "4", "4"),
    "met": Kind("a metabolic rate", "1.2 met", "1.2 met"),
    "clo": Kind("an insulation by clothes", "0.5 clo", "0.5 clo"),
    "V": Kind("a voltage", "240 V", "240 V"),
}
"""Kinds of quantity by SI unit; fields and settings name these units."""

WITHOUT_UNIT = ("count", "fraction", "W/W", "1/year")
"""Units whose numbers are written without one."""


class Role(Enum):
    """Purpose of a control's setting, where the rest of the package must know it."""

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
    TEMPERATURE_DEADBAND = "temperature deadband"
    """Whole width of the band around a point of temperature."""
    HUMIDITY_STAGE = "humidity stage"
    """RH from the humidity setpoint at which a stage of drying starts or stops."""


class Limits(NamedTuple):
    """Lowest and highest value of a setting, in its unit: ``Annotated[Percent, Limits(15, 95)]``."""

    low: float
    high: float


class Meaning(NamedTuple):
    """Meaning of a setting, in one sentence for ``help``: ``Annotated[DegC, Meaning("...")]``."""

    text: str


# Type marks for the settings of a strategy, `hold_below: ms.units.DegC = 24.0`. The last five also
# declare the purpose of the setting, so its name may be anything.
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
TemperatureDeadband = Annotated[float, "delta_degC", Role.TEMPERATURE_DEADBAND]
HumidityStage = Annotated[float, "percent", Role.HUMIDITY_STAGE]


@lru_cache(maxsize=1)
def registry() -> "pint.UnitRegistry[float]":
    """The unit registry, with the trade's names that pint lacks or reads as something else."""
    import pint

    # Trade and plain-text habits that pint does not read: 'ft2' for 'ft**2', 'm2 K' for 'm2 * K'.
    habits = [
        lambda text: re.sub(r"(?<=[A-Za-z])([23])(?!\d|\*\*)", r"**\1", text),
        lambda text: text.replace("%", "percent").replace("°", "deg"),
        lambda text: re.sub(r"\btons?\b", "refrigeration_ton", text),
    ]
    units: pint.UnitRegistry[float]
    try:
        # pint keeps its parsed files in the user's cache folder, which halves the time.
        units = pint.UnitRegistry(preprocessors=habits, cache_folder=_kept_definitions())
    except Exception:  # A half-written file in it: any of pickle's errors.
        units = pint.UnitRegistry(preprocessors=habits)
    for line in (
        "USD = [currency]",
        "cent = 0.01 * USD",
        "cfm = foot ** 3 / minute",
        "perm = grain / hour / foot ** 2 / inch_Hg",
        "kBtu = 1000 * Btu",
        "ACH = 1 / hour = ACH50",
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
    # An R-value of a whole assembly is the reciprocal of its U-value.
    inverse = pint.Context("inverse")
    u_value, r_value = "[mass]/[time]**3/[temperature]", "[temperature]*[time]**3/[mass]"
    for one, other in ((u_value, r_value), (r_value, u_value)):
        inverse.add_transformation(one, other, lambda ureg, value, **_: 1.0 / value)
    units.add_context(water)
    units.add_context(inverse)
    units.enable_contexts("water", "inverse")
    return units


def _kept_definitions() -> str | None:
    """Folder with pint's definitions as pickles; None if another user could change them there."""
    from platformdirs import user_cache_path

    folder = user_cache_path(appname="pint", appauthor=False)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        why = open_to_others(folder)
    except OSError:
        return None
    if why is not None:
        # Without logging set up, Python prints warnings on the screen.
        logging.getLogger("moistsim").warning(
            "Kept unit definitions are not used, because %s. This takes a third of a second.", why
        )
        return None
    return str(folder)


# ------------------------------------------------------------------ as people type them

_NUMBER = r"[+-]?(?:[1-9]\d{0,2}(?:,\d{3})+(?![\d,])|\d+)?(?:\.\d*)?(?:[eE][+-]?\d+)?"
_NUMBER_AND_UNIT = re.compile(rf"^({_NUMBER})(?<=[\d.])\s*((?![\d.,]).*)?$")
_RATIO = re.compile(r"^\s*(\d+)\s*/\s*([1-9]\d*)\s*$")
"""A fraction as codes write vent areas: "1/150"."""
_COMMA = re.compile(r"^[+-]?[\d.]*\d,\d")
_TYPED = [
    # Characters that mean a letter or a sign. A power of ten in superscripts stays unread.
    (r"(?<=[A-Za-z)])²", "2"), (r"(?<=[A-Za-z)])³", "3"), ("[\u2212\u2013]", "-"), ("[·⋅×]", "*"),
    ("℉", "°F"), ("℃", "°C"), ("¢", "cent"), (r"[\u00a0\u2007\u2009\u202f]", " "),
    # "$0.15/kWh" and "-$5": the sign of money stands before the number.
    (r"^\s*([+-]?)\s*\$\s*([+-]?[\d.,]+)", r"\1\2 USD"), (r"\$", "USD"),
    (r"\s+per\s+", "/"), (r"^\s*R-?\s?(?=[\d.])(.*)$", r"\1 ft2 h delta_degF/Btu"),
    (r"(?i)(?<![a-z])(?:ft|feet|foot)(?![a-z])", "ft"),
    (r"(?i)\b(?:sq|square)\.?\s*(ft|in|inch|inches|m|meters?)\b", r"\1**2"),
    (r"(?i)\b(?:cu|cubic)\.?\s*(ft|in|inch|inches|m|meters?)\b", r"\1**3"),
    (r"(?i)(?<![a-z])sqft\b|(?<![a-z])sf\b", "ft**2"),
    (r"(?i)\bair changes?\b", "ACH * hour"),
    (r"(?i)(?<![a-z])btuh\b", "Btu/h"), (r"(?i)(?<![a-z])mbh\b", "kBtu/h"),
    (r"(?i)(?<![a-z])k ?btu(?![a-z])", "kBtu"), (r"(?i)(?<![a-z])btus?(?![a-z])", "Btu"),
    (r"(?i)(?<![a-z])cfm(?![a-z])", "cfm"), (r"(?i)(?<![a-z])kwh(?![a-z])", "kWh"),
    (r"(?i)(?<![a-z])kw(?![a-z])", "kW"), (r"(?i)(?<![a-z])tons?(?![a-z])", "ton"),
    (r"(?i)(?<![a-z])ach(50)?(?![a-z])", r"ACH\1"), (r"(?i)(?<![a-z])mo\b", "month"),
    (r"(?i)%?\s*\bRH\b", "%"),
]  # fmt: skip
"""Patterns of units that people type, each with the spelling of the registry."""

_POWERS = re.compile(r"(?:\*\*|\^)\s*-?(?:\d{2,}|[\d.]+\s*(?:\*\*|\^))|\)\s*(?:\*\*|\^)")
"""Powers of powers, and large ones, which no unit has: to calculate them would take for ever."""
_DEGREES = re.compile(r"(?i)(?<![a-z_])(?:degrees?|degs?\.?|°)\s*([CF])(?:ahrenheit|elsius)?\b")
_LETTER = re.compile(r"(?<![A-Za-z_])([CF]|(?i:fahrenheit|celsius))(?![A-Za-z_])")


def _as_read(unit: str) -> str:
    """A typed unit in the spelling of the registry."""
    for typed, read in _TYPED:
        unit = re.sub(typed, read, unit)
    return unit.strip()


def _in_registry(text: str, unit: str) -> str:
    """Unit from `text` in the registry's words, for a quantity that is kept in `unit`."""
    if "deg" in unit or "K" in unit:
        # F and C are farad and coulomb in other kinds. A difference has units of its own.
        degree = "deg" if unit == "degC" else "delta_deg"
        text = _DEGREES.sub(lambda match: degree + match[1].upper(), text)
        text = _LETTER.sub(lambda match: degree + match[1][0].upper(), text)
        if unit != "degC":
            text = re.sub(r"(?<!delta_)deg(C|F)\b", r"delta_deg\1", text)
    # The blank in "m2 K/W" is a product, which pint reads only with a star.
    return re.sub(r"(?<=[\w)])\s+(?=[\w(])", " * ", text)


def _pint_unit(unit: str) -> str:
    return "dimensionless" if unit in WITHOUT_UNIT else unit


def _is_bare(unit: str) -> bool:
    """Whether an error shows a number of this unit alone; an efficiency shows its unit too."""
    return unit in WITHOUT_UNIT and unit not in KINDS[unit].si


def _examples(unit: str) -> str:
    kind = KINDS[unit]
    return f"'{kind.trade}'" + (f" or '{kind.si}'" if kind.trade != kind.si else "")


def expected(unit: str) -> str:
    """Name and examples of a quantity kept in `unit`, as half a sentence.

    Examples
    --------
    >>> expected("m2")
    "an area, such as '2000 ft2' or '186 m2'"
    """
    return f"{KINDS[unit].name}, such as {_examples(unit)}"


def _unread(where: str, value: Any, unit: str) -> InputError:
    problem = f"cannot read {{}} as {KINDS[unit].name}"
    return InputError(where, value, Fix(f"Write {_examples(unit)}"), problem)


class Stated(float):
    """A number beyond the usual range that was written with its unit, so it is accepted."""


def to_si(
    value: Any, unit: str, where: str, within: tuple[float, float] = (-math.inf, math.inf)
) -> float:
    """A quantity as a float in `unit`, which is one of `KINDS`.

    Parameters
    ----------
    value : float, str or pint.Quantity
        A number is in `unit` already. A text is a number with a unit, as people type it.
        Commas group thousands.
    unit : str
        The SI unit that the field is kept in.
    where : str
        Names the field in the error.
    within : (float, float), optional
        Limits, which the caller checks. A bare number beyond them that lies within them in another
        unit is asked about. A number that misses a limit by rounding is that limit.

    Raises
    ------
    InputError
        If the value is not a number, is not finite, or has a unit of another dimension. Also if it
        is a bare number that no house has and that was probably meant in another unit.

    Examples
    --------
    >>> round(to_si("1,900 sq ft", "m2", "floor"), 2)
    176.52
    >>> round(to_si("75 °F", "degC", "setpoint"), 2)
    23.89
    >>> to_si(75, "degC", "setpoint")
    Traceback (most recent call last):
        ...
    moistsim.core.errors.InputError: setpoint: 75 is 167 °F if it is in °C. Did you mean '75 F'? Write the unit.
    """
    number, written = _convert(value, unit, where)
    if not math.isfinite(number):
        raise _unread(where, value, unit)
    number = at_limit(number, *within)
    if not written:
        ask_about(
            value, number, unit, where, allowed=lambda number: within[0] <= number <= within[1]
        )
    return number


def at_limit(number: float, *limits: float | None) -> float:
    """The number, or a limit that it misses by a rounding of its unit: 104 °F is 40 °C."""
    for limit in limits:
        if limit is not None and number != limit and math.isclose(number, limit, rel_tol=1.0e-9):
            return Stated(limit) if isinstance(number, Stated) else float(limit)
    return number


def ask_about(
    value: Any,
    number: float,
    unit: str,
    where: str,
    usual: tuple[float, float] | None = None,
    allowed: Callable[[float], bool] = math.isfinite,
    meant: tuple[str, ...] | None = None,
) -> None:
    """Refuse a bare number that was probably meant in another unit, and ask.

    Parameters
    ----------
    value : object
        What was given.
    number : float
        The same, in `unit`.
    unit : str
        A key of `KINDS`.
    where : str
        Names the field in the error.
    usual : (float, float), optional
        Range that a house can have, if the field is narrower than its kind.
    allowed : callable
        Whether a number is within the field's limits.
    meant : tuple of str, optional
        As `Kind.meant`, if the field has others.

    Raises
    ------
    InputError
        If the number is beyond this range and would be within it in another unit.
    """
    kind = KINDS[unit]
    low, high = usual or kind.usual

    def plausible(number: float) -> bool:
        return low <= number <= high and allowed(number)

    stated = isinstance(value, Stated) or not math.isfinite(number)
    # Nothing is nothing in any unit but degrees, and less than nothing is no unit's mistake.
    if stated or plausible(number) or (number <= 0.0 and unit != "degC"):
        return
    bare = f"{number:.10g}"
    texts = {
        each: each.format(bare, hundred=f"{100.0 * number:.10g}") for each in meant or kind.meant
    }
    # 1.5 does not mean 1.5 %: it is a fraction that is too large.
    if unit == "fraction" and abs(number) < 2.0:
        return
    read = {each: _convert(text, unit, where)[0] for each, text in texts.items()}
    found = [(each, texts[each]) for each in texts if plausible(read[each])][:2]
    if not found and not allowed(number):
        found = [(each, texts[each]) for each in texts if allowed(read[each])][:1]
    if not found:
        return
    problem = (
        f"{{}} is {_read_as(number, unit, [each for each, _ in found])} if it is {_named(unit)}"
    )
    asked = " or ".join(repr(text) for _, text in found)
    raise InputError(where, value, Fix(f"Did you mean {asked}? Write the unit."), problem)


def _read_as(number: float, unit: str, templates: list[str]) -> str:
    """A number in `unit`, said in the first of the units in which it reads well, or in the trade's."""
    for template in templates:
        to = _split(template.format(1, hundred=1), unit, "")[1]
        read = from_si(number, unit, to)
        if "R-" not in template and (abs(read) >= 1.0e-3 or number == 0.0):
            return _signed(template.format(digits(read), hundred=digits(read)))
    to = trade_unit(unit)
    return shown(from_si(number, unit, to), to)


_SIGNS = (
    (r"\b(?:delta_)?deg([CF])\b", r"°\1"), (r"(?<![A-Za-z°_-])([CF])\b", r"°\1"), (r"(?<=[a-z])2\b", "²"),
    (r"(?<=[a-z])3\b", "³"), (r"^1/hour$", "per hour"),
    (r"^percent$", "%"), (r"^year$", "years"),
)  # fmt: skip


def digits(number: float) -> str:
    """A number for an error: four significant digits, or from 1,000 up a whole number."""
    return f"{number:,.0f}" if abs(number) >= 1000.0 else f"{number:.4g}"


def shown(number: float, unit: str) -> str:
    """A number with its unit, for an error."""
    return f"{digits(number)} {_signed(unit)}".strip()


def _signed(text: str) -> str:
    for plain, sign in _SIGNS:
        text = re.sub(plain, sign, text)
    return text


def _named(unit: str) -> str:
    if unit in WITHOUT_UNIT:
        return KINDS[unit].name
    return "in " + _signed(unit)


def _convert(value: Any, unit: str, where: str) -> tuple[float, str]:
    """The number in `unit`, and the unit that the user wrote: `""` for a bare number."""
    # By name, because numpy's own bool is not a subclass of Python's.
    if value is None or type(value).__name__ in ("bool", "bool_"):
        raise _unread(where, value, unit)
    if isinstance(value, Stated):
        return value, ""
    if isinstance(value, float):
        return float(value), ""
    if isinstance(value, str):
        return _convert_text(str(value), unit, where)
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        return _in_unit(float(value.magnitude), str(value.units), value, unit, where)
    try:
        return float(value), ""
    except (TypeError, ValueError, OverflowError):
        raise _unread(where, value, unit) from None


@lru_cache(maxsize=4096)
def _convert_text(value: str, unit: str, where: str) -> tuple[float, str]:
    """`_convert` for a text, kept because descriptions read the texts of their defaults anew."""
    magnitude, text = _split(value, unit, where)
    if not text:
        return magnitude, ""
    return _in_unit(magnitude, text, value, unit, where)


def _in_unit(magnitude: float, text: str, value: Any, unit: str, where: str) -> tuple[float, str]:
    """The number in `unit` of a magnitude in the unit that a text names, and this text."""
    if len(text) > 80 or _POWERS.search(text):
        raise _unread(where, value, unit)
    try:
        quantity = registry().Quantity(magnitude, _in_registry(text, unit))
        number = float(quantity.to(_star(_pint_unit(unit))).magnitude)
    except Exception as error:
        raise _unread(where, value, unit) from error
    low, high = KINDS[unit].usual
    return (number if low <= number <= high else Stated(number)), text


def _split(value: str, unit: str, where: str) -> tuple[float, str]:
    """The number of a text, and its unit as the registry reads it."""
    if unit == "fraction" and (ratio := _RATIO.match(value)):
        return int(ratio[1]) / int(ratio[2]), ""
    text = _as_read(value)
    match = _NUMBER_AND_UNIT.match(text)
    if match is not None and re.match(r"[+-]?\.?\d", match[1]):
        return float(match[1].replace(",", "")), (match[2] or "").strip()
    if _COMMA.match(text):
        point = re.sub(r"(?<=\d),(?=\d)", ".", value)
        fix = f"Write {point!r} with a decimal point, or group thousands as in '1,500'"
        if value.count(",") > 1:
            fix = "Group thousands as in '1,500'"
        raise InputError(where, value, Fix(fix), "cannot read the comma in {}")
    raise _unread(where, value, unit)


def trade_unit(unit: str) -> str:
    """The unit in which the US trade writes a quantity kept in `unit`.

    Examples
    --------
    >>> [trade_unit(unit) for unit in ("m2", "degC", "delta_degC", "m3/s", "1/hour")]
    ['ft2', 'degF', 'delta_degF', 'cfm', 'ACH']
    """
    return _in_registry(_split(KINDS[unit].trade, unit, "")[1], unit).replace(" * ", " ") or unit


def si_unit(unit: str) -> str:
    """The unit in which a reader of SI writes a quantity kept in `unit`, such as kg/day for kg/s."""
    return _in_registry(_split(KINDS[unit].si, unit, "")[1], unit).replace(" * ", " ") or unit


def as_written(value: Any, unit: str, where: str) -> tuple[float, str]:
    """The number and the unit that a quantity was given with; a bare number is in `unit`.

    Raises
    ------
    InputError
        As `to_si`.

    Examples
    --------
    >>> as_written("75 °F", "degC", "setpoint")
    (75.0, '°F')
    """
    si, written = to_si(value, unit, where), _convert(value, unit, where)[1]
    if not written:
        return si, unit
    if hasattr(value, "magnitude"):
        return float(value.magnitude), written
    return _split(str(value), unit, where)


def unit_for_limits(written: str, unit: str) -> str:
    """The unit in which limits are said to a person who wrote a number in `written`.

    It is `unit` for a bare number, and the U-value's own for an R-value, which runs the other way.
    """
    if unit == "W/(m2 K)" and written:
        per = registry().Unit(_in_registry(written, unit)).dimensionality
        if per != registry().Unit(_star(unit)).dimensionality:
            return trade_unit(unit)
    return written or unit


def _star(unit: str) -> str:
    return re.sub(r"(?<=[\w)])\s+(?=[\w(])", " * ", unit)


def from_si(value: float, unit: str, to: str) -> float:
    """A number kept in `unit`, as a number in the unit `to`.

    Examples
    --------
    >>> round(from_si(185.8, "m2", "ft2"))
    2000
    >>> round(from_si(24.0, "degC", "degF"), 1)
    75.2
    """
    read = _in_registry(_as_read(to), unit) if to not in KINDS else _star(_pint_unit(to))
    quantity = registry().Quantity(value, _star(_pint_unit(unit))).to(read)
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
