"""A page that shows a sweep's answers: its rows, its heading, its caption."""

import textwrap
from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE

LOW, HIGH, OTHER = "#17456e", "#efb94b", "#9a9a9a"
"""Told apart by lightness as well as by hue."""


def new_page(height: float) -> tuple[Figure, Axes]:
    """Of a height in inches, up to what a sheet of paper may have."""
    figure = Figure(
        figsize=(11.0, min(height, 30.0)), layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1)
    )
    return figure, figure.add_subplot()


def name_rows(ax: Axes, names: list[str]) -> None:
    """One row a name, the first on top."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 0.5, -0.5)
    style.plain(ax)
    ax.tick_params(axis="y", length=0)


def heading(figure: Figure, words: str) -> None:
    """Above all, in as many lines as it takes."""
    figure.suptitle(
        "\n".join(textwrap.wrap(words[0].upper() + words[1:], 88)), fontsize=STYLE_SIZE + 2.0
    )


def caption(ax: Axes, about: Mapping[Any, Any], note: str) -> None:
    """How many cases are shown, how many are not, and what else must be known."""
    left_out = about["left_out"]
    words = f"{about['cases']:,} cases"
    words += f", {left_out:,} left out for want of a result" if left_out else ", none left out"
    lines = textwrap.wrap(f"{words}; {note}" if note else words, 105)
    ax.set_title("\n".join(lines), loc="left", fontsize=STYLE_SIZE - 2.0, color="#4b4b4b")
