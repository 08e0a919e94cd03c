"""Words and units for the tables that answer a question about a sweep."""

import textwrap
from collections.abc import Mapping
from typing import Any

import pandas as pd

from moistsim.core.display import Show
from moistsim.core.errors import InputError
from moistsim.figures import style


def about_of(table: pd.DataFrame, where: str, keys: tuple[str, ...]) -> dict[Any, Any]:
    """The attributes of an answer's table.

    Raises
    ------
    InputError
        If the table comes from another function.
    """
    if not {"measure", "left_out", "cases", *keys} <= set(table.attrs):
        made = where.removesuffix("_figure")
        raise InputError(f"{where}(table)", list(table.columns), f"the table that {made} returned")
    return dict(table.attrs)


def label_of(name: Any, labels: Mapping[str, str] | None, width: int = 34) -> str:
    """A parameter's name, or the reader's own label for it."""
    return "\n".join(textwrap.wrap((labels or {}).get(str(name), str(name)), width))


def short(words: str, width: int = 44) -> str:
    """The beginning of a long text."""
    return textwrap.shorten(words, width, placeholder=" …")


def measure_words(measure: str) -> str:
    """A result's name in words, without its unit."""
    known = {
        "cost_USD": "season cost",
        "total_kWh": "season electricity",
        "mean_dew_point_C": "mean indoor dew point",
        "difference_USD": "cost difference from the base option",
    }
    if measure in known:
        return known[measure]
    if measure in style.MEASURE_NAMES:
        return style.MEASURE_NAMES[measure].split(",")[0]
    # A function's name has no unit at its end.
    name = measure.rpartition("_")[0] if unit_of(measure) else measure
    return name.replace("_", " ")


def unit_of(measure: str) -> str:
    """The unit at the end of a result's name, or an empty text."""
    if measure.startswith("rh_hours"):
        return "% h"
    if measure.startswith("hours_over") or measure.endswith("_h"):
        return "h"
    units = {"C": "°C", "pct": "% RH", "degF": "°F"}
    units |= {unit: unit for unit in ("K", "USD", "kWh", "kW", "kg", "pint", "kgCO2e", "starts")}
    return units.get(measure.rpartition("_")[2], "") if "_" in measure else ""


def in_units(values: Any, about: Mapping[Any, Any], show: Show) -> Any:
    """Temperatures, or differences of them, in the reader's units; other values as they are."""
    if not about["measure"].endswith("_C"):
        return values
    return show.value(values, "difference" if about["difference"] else "temperature")


def axis_words(about: Mapping[Any, Any], show: Show) -> str:
    """The label of an axis of results."""
    unit = unit_of(about["measure"])
    if unit == "°C":
        unit = show.unit("temperature")
    name = measure_words(about["measure"])
    words = f"{name}: {about['of']}" if about["difference"] else name
    return "\n".join(textwrap.wrap(words + (f", {unit}" if unit else ""), 88))


def what_words(about: Mapping[Any, Any]) -> str:
    """The result, and the options it compares."""
    name = measure_words(about["measure"])
    return f"{name}, {about['of']}" if about["of"] else name
