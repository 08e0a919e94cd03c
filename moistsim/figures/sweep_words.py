"""Words and units for the tables that answer a question about a sweep."""

import textwrap
from collections.abc import Mapping
from typing import Any

import pandas as pd

from moistsim.core.display import Show
from moistsim.core.errors import InputError
from moistsim.engine import column_catalog


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
    return "\n".join(textwrap.wrap(words + (f", {unit}" if unit else ""), 88))


def what_words(about: Mapping[Any, Any]) -> str:
    """Name of the result, and the options that it compares."""
    name = measure_words(about["measure"])
    return f"{name}, {about['of']}" if about["of"] else name
