"""The page of a figure about a sweep: rows, heading, caption."""

import textwrap
from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE, Page

LOW, HIGH, OTHER = "#17456e", "#e66015", "#8e8d8d"
"""Low and high values differ in lightness as well as in hue."""


def new_page(height: float) -> tuple[Figure, Axes]:
    """A figure of a height in inches, up to 30."""
    figure = Page(
        figsize=(11.0, min(height, 30.0)), layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1)
    )
    return figure, figure.add_subplot()


def name_rows(ax: Axes, names: list[str]) -> None:
    """Label one row for each name, the first on top."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 0.5, -0.5)
    style.plain(ax)
    ax.tick_params(axis="y", length=0)


def heading(figure: Figure, words: str) -> None:
    """Write the title above the figure, wrapped."""
    figure.suptitle(
        "\n".join(textwrap.wrap(words[0].upper() + words[1:], 88)), fontsize=STYLE_SIZE + 2.0
    )


def caption(ax: Axes, about: Mapping[Any, Any], note: str) -> None:
    """Write the number of cases shown, the number not shown, and a note."""
    left_out = about["left_out"]
    words = f"{about['cases']:,} cases"
    words += f", {left_out:,} not shown because they have no result" if left_out else ""
    lines = textwrap.wrap(f"{words}. {note}" if note else words, 105)
    ax.set_title("\n".join(lines), loc="left", fontsize=STYLE_SIZE - 2.0, color="#4b4b4b")
