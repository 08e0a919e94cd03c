"""Rows and notes of a figure about a sweep."""

from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes

from moistsim.figures import style

LOW, HIGH, OTHER = "#17456e", style.PLACE_COLORS[1], "#8e8d8d"
"""Low and high values differ in lightness as well as in hue, and are no machine's color."""


def rows_height(rows: int, each: float, rest: float) -> float:
    """Height of a page with so many rows, inches, up to 30."""
    return min(rest + each * rows, 30.0)


def name_rows(ax: Axes, names: list[str], inches: float) -> None:
    """Label one row for each name, the first on top."""
    ax.set_yticks(range(len(names)), [style.wrapped(name, inches, "small") for name in names])
    ax.set_ylim(len(names) - 0.5, -0.5)
    style.plain(ax)
    ax.tick_params(axis="y", length=0)


def cases_words(about: Mapping[Any, Any]) -> str:
    """The number of cases shown, and the number not shown."""
    left_out = about["left_out"]
    words = f"{about['cases']:,} cases"
    return words + (f", {left_out:,} not shown because they have no result" if left_out else "")
