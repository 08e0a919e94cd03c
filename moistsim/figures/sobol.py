"""Sobol indices of a sweep, with their confidence bands."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE
from moistsim.figures.sweep_page import HIGH, LOW, caption, heading, name_rows, new_page
from moistsim.figures.sweep_words import about_of, label_of, what_words


def sobol_figure(table: pd.DataFrame, *, labels: Mapping[str, str] | None = None) -> Figure:
    """Draw the share of the variance that each parameter causes, alone and with the others.

    Parameters
    ----------
    table : DataFrame
        What `sobol_indices` or `sobol_from` returned.
    labels : dict, optional
        Words in place of a parameter's dotted name.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table comes from another function.

    Examples
    --------
    >>> figure = ms.figures.sobol_figure(ms.sobol_indices(frame, "cost_USD"))  # doctest: +SKIP
    """
    about = about_of(table, "sobol_figure", ("n", "confidence"))
    figure, ax = new_page(2.6 + 0.62 * len(table))
    rows = np.arange(len(table))
    for kind, shift, color in (("total", -0.19, LOW), ("first", 0.19, HIGH)):
        value = table[kind].to_numpy(float)
        ax.barh(rows + shift, value, height=0.36, color=color, zorder=2)
        for row, (at, low, high) in enumerate(
            zip(value, table[f"{kind}_low"], table[f"{kind}_high"], strict=True)
        ):
            ax.plot([low, high], [row + shift] * 2, color="#767676", lw=2.2, zorder=3)
            ax.annotate(
                f"{round(at, 2) + 0.0:.2f}", (max(high, at), row + shift), xytext=(5, 0),
                textcoords="offset points", va="center", fontsize=STYLE_SIZE - 2.0,
            )  # fmt: skip
    ax.axvline(0.0, color=LIMIT, lw=0.8, zorder=4)
    most = float(table[["total_high", "first_high", "total"]].max().max())
    least = float(table[["total_low", "first_low"]].min().min())
    ax.set_xlim(min(0.0, least) - (0.02 * most if least < 0.0 else 0.0), 1.12 * most)
    name_rows(ax, [label_of(name, labels) for name in table.index])
    ax.set_xlabel("Share of the variance", fontsize=STYLE_SIZE)
    alone = float(table["first"].sum())
    heading(figure, f"Inputs that decide most: {what_words(about)}")
    style.legend(
        figure,
        [
            Patch(color=LOW, label="Total: alone and in combinations"),
            Patch(color=HIGH, label="First order: alone"),
            Line2D([], [], color="#767676", lw=2.2, label=_band(about)),
        ],
        columns=3,
    )
    caption(
        ax, about, f"Design of {about['n']:,} rows. The first-order shares add up to {alone:.2f}"
    )
    return figure


def _band(about: Mapping[Any, Any]) -> str:
    return f"{100.0 * about['confidence']:g} % confidence band"
