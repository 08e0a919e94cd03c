"""Values of a scenario in the units of the page's reader."""

import math
from typing import Any

from moistsim.core.units import from_si, si_unit, trade_unit
from moistsim.study import Units

_SIGNS = (
    ("delta_deg", "°"), ("degC", "°C"), ("degF", "°F"), ("m2", "m²"), ("m3", "m³"), ("ft2", "ft²"),
    ("ft3", "ft³"), ("1/hour", "an hour"), (" W/W", ""),
)  # fmt: skip


def number(value: float) -> str:
    """A number in three digits or, if it is large, without decimals."""
    if not math.isfinite(value):
        return "no limit"
    return f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.3g}"


def shown(value: Any, unit: str | None, units: Units, key: str = "") -> str:
    """A value that went in, as a reader of these units writes it.

    Parameters
    ----------
    value
        As a description keeps it.
    unit : str or None
        A key of `KINDS`.
    units : {"us", "si"}
    key : str
        Its name: capacities are in Btu/h to the trade, what machines draw is in W.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        if len(value) > 6:
            return f"a list of {len(value)} numbers"
        return ", ".join(shown(item, unit, units, key) for item in value) or "none"
    if not isinstance(value, int | float):
        return str(value)
    if unit in (None, "count"):
        return number(value)
    if unit in ("fraction", "1/year"):
        return f"{number(100.0 * value)} %" + (" a year" if unit == "1/year" else "")
    if unit == "percent":
        return f"{number(value)} %"
    if unit == "s":
        for name, length in (("days", 86400.0), ("h", 3600.0), ("min", 60.0)):
            if value >= 2.0 * length:
                return f"{number(value / length)} {name}"
        return f"{number(value)} s"
    if unit == "USD/kWh" or (unit == "W" and "capacity" not in key):
        to = {"USD/kWh": "cent/kWh"}.get(unit, unit)
    else:
        to = trade_unit(str(unit)) if units == "us" else si_unit(str(unit))
    text = f"{number(from_si(value, str(unit), to))} {to}"
    for word, sign in _SIGNS:
        text = text.replace(word, sign)
    return text
