"""Sobol indices of a sweep, with their confidence bands."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Units, units_or_default
from moistsim.figures import style
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.figures.sweep_page import HIGH, LOW, cases_words, name_rows, rows_height
from moistsim.figures.sweep_words import about_of, label_of, what_words

BAND = "#767676"
ON_A_SLIDE = 5
"""Maximum number of parameters on a slide, those with the largest shares."""


def sobol_figure(
    table: pd.DataFrame, units: Units | None = None, *, labels: Mapping[str, str] | None = None,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw the share of the variance that each parameter causes, alone and with the others.

    Parameters
    ----------
    table : DataFrame
        What `sobol_indices` or `sobol_from` returned.
    units : {"us", "si"}, optional
        Shares have no unit, so the units change nothing.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    labels : dict, optional
        Words in place of a parameter's own, by its dotted name.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If the table comes from another function, or `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.sobol_figure(ms.sobol_indices(frame, "cost_USD"))  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    about = about_of(table, "sobol_figure", ("n", "confidence"))
    alone = float(table["first"].sum())
    if context == "slide":
        table = table.head(ON_A_SLIDE)
    with style.sheet("sobol_figure", context, ax) as page:
        panel = page.panel(height=rows_height(len(table), 0.44, 2.0))
        rows = np.arange(len(table))
        for kind, shift, color in (("total", -0.19, LOW), ("first", 0.19, HIGH)):
            value = table[kind].to_numpy(float)
            panel.barh(rows + shift, value, height=0.36, color=color, zorder=2)
            for row, (at, low, high) in enumerate(
                zip(value, table[f"{kind}_low"], table[f"{kind}_high"], strict=True)
            ):
                panel.plot([low, high], [row + shift] * 2, color=BAND, lw=2.2, zorder=3)
                panel.annotate(
                    f"{round(at, 2) + 0.0:.2f}", (max(high, at), row + shift), xytext=(5, 0),
                    textcoords="offset points", va="center", fontsize="small",
                )  # fmt: skip
        panel.axvline(0.0, color=LIMIT, lw=0.8, zorder=4)
        most = float(table[["total_high", "first_high", "total"]].max().max())
        least = float(table[["total_low", "first_low"]].min().min())
        panel.set_xlim(min(0.0, least) - (0.02 * most if least < 0.0 else 0.0), 1.15 * most)
        name_rows(panel, [label_of(name, labels) for name in table.index], 0.28 * page.width())
        panel.set_xlabel("Share of the variance")
        totals = table["total"].astype(float)
        first = totals.idxmax()
        return page.done(
            f"{label_of(first, labels)} decides most: {100.0 * totals.max():.0f}\xa0% of "
            f"the variance of {what_words(about)}",
            f"{cases_words(about)}. Design of {about['n']:,} rows. The first-order shares add up to "
            f"{alone:.2f}",
            alt="; ".join(
                f"{label_of(name, labels)}: total {total:.2f}, alone {one:.2f}"
                for name, total, one in zip(
                    table.index, table["total"], table["first"], strict=True
                )
            ),
            key=[
                Patch(color=LOW, label="Total: alone and in combinations"),
                Patch(color=HIGH, label="First order: alone"),
                Line2D([], [], color=BAND, lw=2.2, label=_band(about)),
            ],
        )


def _band(about: Mapping[Any, Any]) -> str:
    return f"{100.0 * about['confidence']:g} % confidence band"
