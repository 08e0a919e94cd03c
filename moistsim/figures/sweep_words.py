"""What a table of a sweep's answers is about, in words, and its numbers in a figure's units."""

import textwrap
from collections.abc import Mapping
from typing import Any

import pandas as pd

from moistsim.core.errors import InputError
from moistsim.figures import style
from moistsim.study import Units


def about_of(table: pd.DataFrame, where: str, keys: tuple[str, ...]) -> dict[Any, Any]:
    """What an answer says of itself.

    Raises
    ------
    InputError
        If the table is no answer of that kind.
    """
    if not {"measure", "left_out", "cases", *keys} <= set(table.attrs):
        made = where.removesuffix("_figure")
        raise InputError(f"{where}(table)", list(table.columns), f"a table as {made} returned it")
    return dict(table.attrs)


def label_of(name: Any, labels: Mapping[str, str] | None, width: int = 34) -> str:
    """A parameter's name, or what the reader calls it."""
    return "\n".join(textwrap.wrap((labels or {}).get(str(name), str(name)), width))


def short(words: str, width: int = 44) -> str:
    """The beginning of what is too long."""
    return textwrap.shorten(words, width, placeholder=" …")


def measure_words(measure: str) -> str:
    """A result's name in words, without its unit."""
    known = {
        "cost_USD": "cost of the season",
        "total_kWh": "electricity of the season",
        "mean_dew_point_C": "mean dew point of the room",
        "difference_USD": "cost beyond the base option's",
    }
    if measure in known:
        return known[measure]
    if measure in style.MEASURE_NAMES:
        return style.MEASURE_NAMES[measure].split(",")[0]
    # A function's name has no unit at its end.
    name = measure.rpartition("_")[0] if unit_of(measure) else measure
    return name.replace("_", " ")


def unit_of(measure: str) -> str:
    """What a result's name ends in; nothing if that is no unit."""
    if measure.startswith("rh_hours"):
        return "% h"
    if measure.startswith("hours_over") or measure.endswith("_h"):
        return "h"
    units = {"C": "°C", "pct": "% RH", "degF": "°F"}
    units |= {unit: unit for unit in ("K", "USD", "kWh", "kW", "kg", "pint", "kgCO2e", "starts")}
    return units.get(measure.rpartition("_")[2], "") if "_" in measure else ""


def in_units(values: Any, about: Mapping[Any, Any], units: Units) -> Any:
    """Temperatures in the figure's units; of a difference the scale alone."""
    if not about["measure"].endswith("_C") or units == "si":
        return values
    return values * 1.8 if about["difference"] else style.temperature(values, units)


def axis_words(about: Mapping[Any, Any], units: Units) -> str:
    """What an axis of results shows."""
    unit = unit_of(about["measure"])
    if unit == "°C":
        unit = "°F" if units == "us" else "K" if about["difference"] else unit
    name = measure_words(about["measure"])
    words = f"{name}: {about['of']}" if about["difference"] else name
    return "\n".join(textwrap.wrap(words + (f", {unit}" if unit else ""), 88))


def what_words(about: Mapping[Any, Any]) -> str:
    """The result, and of which options."""
    name = measure_words(about["measure"])
    return f"{name}, {about['of']}" if about["of"] else name
