"""Rows, conditions, readings and quantities in words, in both systems of units."""

import calendar
from collections.abc import Iterable, Sequence

import numpy as np

from moistsim.controls.review.readings import OWN_TIMES, POSSIBLE, USUAL
from moistsim.controls.review.table import Points, Table, Truth
from moistsim.controls.rules.rows import READING_UNITS, Condition, in_words
from moistsim.core.units import fahrenheit


def title(table: Table, k: int) -> str:
    """A row at the beginning of a sentence."""
    row = table.rows[k]
    name = f"{row.name!r}, " if row.name else ""
    return f"Row {k + 1} ({name}{call(table, k)})"


def call(table: Table, k: int) -> str:
    """Call of a row in words, in both systems of units."""
    return table.rows[k].call(table.settings, number)


def said(table: Table, condition: Condition, by: float = 0.0, *, turned: bool = False) -> str:
    """A condition in words, in both systems of units; its threshold moved and its direction turned."""
    above = condition.above != turned
    words = f"{in_words(condition.left)} {'above' if above else 'below'} "
    offset = table.settings[condition.key] + by
    if not condition.right:
        return words + number(offset, condition.unit)
    words += in_words(condition.right)
    if offset == 0.0:
        return words
    return f"{words} {'+' if offset > 0.0 else '-'} {number(abs(offset), condition.unit)}"


def example(
    table: Table, rows: Iterable[int], points: Points, truth: Truth, more: Sequence[str] = ()
) -> str:
    """Example in words: the most usual point at which `truth` holds, by the rows' readings."""
    unusual = np.zeros(len(truth))
    for name, usual in USUAL.items():
        low, high = POSSIBLE[name]
        unusual += np.abs(points[name] - usual) / (high - low)
    at = int(np.argmin(np.where(truth, unusual, np.inf)))
    named: dict[str, None] = {}
    for k in table.concerned(rows):
        row = table.rows[k]
        for it in (row.when, *row.also, *row.releases):
            named |= dict.fromkeys(name for name in table.compared(it) if name)
        named |= dict.fromkeys(window.of for window in row.windows)
    named |= dict.fromkeys(more)
    shown = [name for name in named if name not in OWN_TIMES]
    texts = (f"{in_words(name)} {_shown(name, float(points[name][at]))}" for name in shown)
    return ", ".join(texts) or "any readings"


def unit_of(name: str) -> str:
    """The SI unit of a reading."""
    return READING_UNITS.get(name, "count")


def _shown(name: str, value: float) -> str:
    """A reading in words."""
    if name == "month":
        return calendar.month_name[int(value)]
    if name == "hour":
        return f"{int(value):02d}:{int(60.0 * value) % 60:02d}"
    return number(value, unit_of(name))


def number(value: float, unit: str) -> str:
    """A quantity in words, in both systems where they differ."""
    if unit == "degC":
        return f"{value:.4g} °C ({fahrenheit(value):.4g} °F)"
    if unit == "delta_degC":
        return f"{value:.3g} K ({1.8 * value:.3g} °F)"
    if unit == "s":
        return f"{value / 60.0:.6g} min"
    if unit == "fraction":
        return f"{100.0 * value:.4g} %"
    return f"{value:.4g} %" if unit == "percent" else f"{value:.4g}"
