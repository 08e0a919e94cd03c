"""Words and units for the tables that answer a question about a sweep."""

import textwrap
from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.controls import strategies
from moistsim.core.display import Show
from moistsim.core.errors import InputError
from moistsim.engine import column_catalog
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Tariff
from moistsim.uncertainty import in_words


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


_ROOTS: dict[str, type] = {"house": House, "equipment": Equipment, "tariff": Tariff}


def label_of(name: Any, labels: Mapping[str, str] | None) -> str:
    """A parameter in words, or the reader's own label for it."""
    words = (labels or {}).get(str(name)) or in_words(str(name))
    return words[0].upper() + words[1:]


def axis_of(name: Any, labels: Mapping[str, str] | None, show: Show) -> str:
    """The label of an axis of a parameter, with the reader's unit.

    A label of the reader's own has its unit already, if it has one.
    """
    sign = scale_of(name, show)[2]
    own = str(name) in (labels or {})
    return label_of(name, labels) + (f", {sign}" if sign and not own else "")


def scale_of(name: Any, show: Show) -> tuple[float, float, str]:
    """Slope, intercept and sign of the unit in which a reader writes a parameter."""
    return show.scale(field_unit(str(name)), str(name).rpartition(".")[2])


def value_of(name: Any, value: Any, show: Show, width: int = 18) -> str:
    """A parameter's value with its unit, as a reader of these units writes it."""
    if isinstance(value, (bool, str)) or not isinstance(value, (int, float, np.number)):
        return short(str(value), width)
    return show.field(float(value), field_unit(str(name)), str(name).rpartition(".")[2])


def field_unit(name: str) -> str | None:
    """The SI unit of a parameter by its dotted name, or None where the name does not tell."""
    if name.startswith("options."):
        for root in (*_ROOTS, "strategy"):
            if f".{root}." in name:
                name = f"{root}.{name.partition(f'.{root}.')[2]}"
                break
    root, *keys = name.split(".")
    if root == "strategy" and len(keys) == 1:
        units = {s.units[keys[0]] for s in strategies.BUILT_IN.values() if keys[0] in s.units}
        return units.pop() if len(units) == 1 else None
    kind: Any = _ROOTS.get(root)
    for key in keys:
        if kind is None or (key.isdigit() and isinstance(kind, type)):
            continue
        field = attrs.fields_dict(kind).get(key)
        if field is None:
            return None
        if "part" not in field.metadata:
            return field.metadata.get("unit") if key == keys[-1] else None
        kind = field.metadata["part"]
    return None


def short(words: str, width: int = 44) -> str:
    """The beginning of a long text."""
    return textwrap.shorten(words, width, placeholder=" …")


def measure_words(measure: str) -> str:
    """A result's name in words, without its unit."""
    known = column_catalog.measure(measure)
    # A column of the reader's own is known by its name alone.
    return measure.replace("_", " ") if known is None else known.label


def unit_of(measure: str, show: Show) -> str:
    """The unit of a result as a reader writes it, or an empty text."""
    known = column_catalog.measure(measure)
    return "" if known is None else known.sign(show.units)


def in_units(values: Any, about: Mapping[Any, Any], show: Show) -> Any:
    """Values of a result, or differences between them, in the reader's units."""
    known = column_catalog.measure(about["measure"])
    if known is None:
        return values
    return (known.difference if about["difference"] else known.shown)(values, show.units)


def axis_words(about: Mapping[Any, Any], show: Show) -> str:
    """The label of an axis of results."""
    unit = unit_of(about["measure"], show)
    name = measure_words(about["measure"])
    words = f"{name}: {about['of']}" if about["difference"] else name
    return words + (f", {unit}" if unit else "")


def result(value: float, about: Mapping[Any, Any], show: Show) -> str:
    """A result with its unit, from its value in SI."""
    number = f"{float(in_units(value, about, show)):,.4g}"
    unit = unit_of(about["measure"], show)
    return f"{number.replace('-', chr(0x2212))} {unit}".rstrip()


def what_words(about: Mapping[Any, Any]) -> str:
    """Name of the result, and the options that it compares."""
    name = measure_words(about["measure"])
    return f"{name}, {about['of']}" if about["of"] else name
