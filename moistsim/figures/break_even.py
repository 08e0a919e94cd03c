"""Break-even line between two options, over two inputs of a sweep."""

import textwrap
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.colors import LinearSegmentedColormap, TwoSlopeNorm
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation
from scipy.spatial import Delaunay

from moistsim.core.display import Show, money
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE
from moistsim.figures.sweep_page import caption, heading, new_page
from moistsim.figures.sweep_words import about_of, label_of, short, unit_of

# The ends are blue and orange, which no common color-blindness confuses, and equally dark.
DIVERGING = LinearSegmentedColormap.from_list(
    "blue to orange", ["#17456e", "#7fb0d6", "#f5f5f2", "#efa661", "#a8480f"]
)
MOST_DOTS = 4000
"""Cases shown as dots; of more, evenly spaced ones are shown, and the caption says so."""


def break_even_figure(table: pd.DataFrame, *, labels: Mapping[str, str] | None = None) -> Figure:
    """Draw which of two options is cheaper, over two parameters of a sweep.

    Parameters
    ----------
    table : DataFrame
        What `break_even` returned.
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
    >>> figure = ms.figures.break_even_figure(ms.break_even(frame, ...))  # doctest: +SKIP
    """
    about = about_of(table, "break_even_figure", ("options", "degree", "error"))
    x, y = (str(c) for c in table.columns[2:4])
    first, second = about["options"]
    parts = {kind: table[table["kind"] == kind] for kind in ("grid", "line", "case")}
    figure, ax = new_page(7.6)
    grid = parts["grid"]
    # The scale is the surface's own: a few cases far from it would wash it out.
    widest = float(grid["difference"].abs().max()) or 1.0
    levels = MaxNLocator(20, symmetric=True).tick_values(-widest, widest)
    norm = TwoSlopeNorm(0.0, levels[0], levels[-1])
    # Triangles, because cases seldom fill a rectangle. Axes are scaled alike to avoid slivers.
    at = grid[[x, y]].to_numpy(float)
    triangles = Delaunay((at - at.min(axis=0)) / np.ptp(at, axis=0)).simplices
    filled = ax.tricontourf(
        Triangulation(at[:, 0], at[:, 1], triangles), grid["difference"].to_numpy(float),
        levels=levels, cmap=DIVERGING, norm=norm,
    )  # fmt: skip
    for _, piece in parts["line"].groupby("piece"):
        ax.plot(piece[x], piece[y], color="black", lw=2.4, zorder=4)
    cases = parts["case"]
    shown = cases.iloc[:: -(-len(cases) // MOST_DOTS)]
    for better, marker in ((False, "o"), (True, "^")):
        of = shown[(shown["difference"] > 0.0) == better]
        ax.scatter(
            of[x], of[y], c=np.clip(of["difference"], levels[0], levels[-1]), cmap=DIVERGING, norm=norm,
            s=30, marker=marker, edgecolors="#333333", linewidths=0.6, zorder=3,
        )  # fmt: skip
    bar = figure.colorbar(filled, ax=ax, format=_signed, ticks=MaxNLocator(9))
    unit = unit_of(about["measure"], Show("si"))
    years = about["years"]
    over = f" over {years:g} years" if years != 1.0 else ", one season"
    words = f"{short(first)} minus {short(second)}{over}, {unit}"
    bar.set_label("\n".join(textwrap.wrap(words, 52)), fontsize=STYLE_SIZE)
    bar.ax.tick_params(labelsize=STYLE_SIZE - 1.0)
    room = 0.02 * np.ptp(cases[[x, y]].to_numpy(float), axis=0)
    ax.set_xlim(cases[x].min() - room[0], cases[x].max() + room[0])
    ax.set_ylim(cases[y].min() - room[1], cases[y].max() + room[1])
    ax.set_xlabel(label_of(x, labels, 70), fontsize=STYLE_SIZE)
    ax.set_ylabel(label_of(y, labels, 50), fontsize=STYLE_SIZE)
    style.plain(ax)
    measure = column_catalog.measure(about["measure"])
    money_saved = measure is not None and measure.unit == column_catalog.COST.unit
    verb = "cheaper" if money_saved else "lower"
    extra = about["extra_first_cost"]
    when = f" over {years:g} years" if years != 1.0 else ""
    heading(figure, f"Which option is {verb}{when}: {first} or {second}?")
    empty = "" if len(parts["line"]) else f" (none: one option is {verb} everywhere)"

    def dot(marker: str, color: Any, name: str) -> Line2D:
        return Line2D(
            [], [], ls="", marker=marker, color=color, markeredgecolor="#333333", label=name
        )

    style.legend(
        figure,
        [
            dot("o", DIVERGING(0.1), f"Case with {short(first)} {verb}"),
            dot("^", DIVERGING(0.9), f"Case with {short(second)} {verb}"),
            Line2D(
                [], [], color="black", lw=2.4, label=f"Break-even line of the fitted surface{empty}"
            ),
        ],
        columns=1,
    )
    # Rounding leaves a trace where the fit is exact.
    error = about["error"] if about["error"] > 1e-9 * widest else 0.0
    side = "more expensive" if extra > 0.0 else "cheaper"
    bought = f" ({money(abs(extra))} {side} to buy)" if extra else ""
    note = (
        f"{short(second)}{bought} is {verb} in {100.0 * about['second_better']:.0f} % of cases. "
        f"Fitted surface of degree {about['degree']}: root-mean-square error {error:,.3g} {unit}, "
        f"{100.0 * about['wrong_side']:.0f} % of cases on the wrong side"
    )
    if len(shown) < len(cases):
        note += f". Shown: {len(shown):,} cases"
    caption(ax, about, note)
    return figure


def _signed(value: float, _: Any) -> str:
    return f"{value:+,.5g}" if value else "0"
