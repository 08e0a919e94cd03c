"""Break-even line between two options, over two inputs of a sweep."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.colors import LinearSegmentedColormap, TwoSlopeNorm
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation
from scipy.spatial import Delaunay

from moistsim.core.display import Show, Units, money, units_or_default
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.style import Context, Drawn
from moistsim.figures.sweep_page import cases_words
from moistsim.figures.sweep_words import (
    about_of,
    axis_of,
    in_units,
    label_of,
    scale_of,
    short,
    unit_of,
)

# The ends are blue and orange, which no common color-blindness confuses, and equally dark.
DIVERGING = LinearSegmentedColormap.from_list(
    "blue to orange", ["#17456e", "#7fb0d6", "#f5f5f2", "#efa661", "#a8480f"]
)
MOST_DOTS = 4000
"""Cases shown as dots; of more, evenly spaced ones are shown, and the caption says so."""


def break_even_figure(
    table: pd.DataFrame, units: Units | None = None, *, labels: Mapping[str, str] | None = None,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw which of two options is cheaper, over two parameters of a sweep.

    Parameters
    ----------
    table : DataFrame
        What `break_even` returned.
    units : {"us", "si"}, optional
        Units of parameters and results; default: those of `set_units`.
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
    >>> figure = ms.figures.break_even_figure(ms.break_even(frame, ...))  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    about = about_of(table, "break_even_figure", ("options", "degree", "error"))
    x, y = (str(c) for c in table.columns[2:4])
    first, second = about["options"]
    # All in the reader's units; the result is a difference between the options.
    table = table.copy()
    for name in (x, y):
        slope, zero, _ = scale_of(name, show)
        table[name] = table[name].astype(float) * slope + zero
    differences = {**about, "difference": True}
    table["difference"] = in_units(table["difference"].to_numpy(float), differences, show)
    parts = {kind: table[table["kind"] == kind] for kind in ("grid", "line", "case")}
    measure = column_catalog.measure(about["measure"])
    unit = unit_of(about["measure"], show)
    years = about["years"]
    over = f" over {years:g} years" if years != 1.0 else ", one season"
    money_saved = measure is not None and measure.unit == column_catalog.COST.unit
    verb = "cheaper" if money_saved else "lower"
    grid, cases = parts["grid"], parts["case"]
    # The scale is the surface's own: a few cases far from it would wash it out.
    widest = float(grid["difference"].abs().max()) or 1.0
    levels = MaxNLocator(20, symmetric=True).tick_values(-widest, widest)
    norm = TwoSlopeNorm(0.0, levels[0], levels[-1])
    # Triangles, because cases seldom fill a rectangle. Axes are scaled alike to avoid slivers.
    at = grid[[x, y]].to_numpy(float)
    triangles = Delaunay((at - at.min(axis=0)) / np.ptp(at, axis=0)).simplices
    shown = cases.iloc[:: -(-len(cases) // MOST_DOTS)]
    with style.sheet("break_even_figure", context, ax) as page:
        panel = page.panel(height=5.9)
        filled = panel.tricontourf(
            Triangulation(at[:, 0], at[:, 1], triangles), grid["difference"].to_numpy(float),
            levels=levels, cmap=DIVERGING, norm=norm,
        )  # fmt: skip
        for _, piece in parts["line"].groupby("piece"):
            panel.plot(piece[x], piece[y], color="black", lw=2.4, zorder=4)
        for better, marker in ((False, "o"), (True, "^")):
            of = shown[(shown["difference"] > 0.0) == better]
            panel.scatter(
                of[x], of[y], c=np.clip(of["difference"], levels[0], levels[-1]), cmap=DIVERGING,
                norm=norm, s=22 * page.medium.lines**2, marker=marker, edgecolors="#333333",
                linewidths=0.6, zorder=3,
            )  # fmt: skip
        bar = page.figure.colorbar(filled, ax=panel, format=_signed, ticks=MaxNLocator(9))
        words = f"{short(first)} minus {short(second)}{over}, {unit}"
        bar.set_label(style.wrapped(words, 0.6 * page.height()))
        bar.ax.tick_params(labelsize=style.points("small"))
        room = 0.02 * np.ptp(cases[[x, y]].to_numpy(float), axis=0)
        panel.set_xlim(cases[x].min() - room[0], cases[x].max() + room[0])
        panel.set_ylim(cases[y].min() - room[1], cases[y].max() + room[1])
        panel.set_xlabel(style.wrapped(axis_of(x, labels, show), 0.6 * page.width()))
        panel.set_ylabel(style.wrapped(axis_of(y, labels, show), 0.5 * page.height()))
        style.plain(panel)
        extra = about["extra_first_cost"]
        empty = "" if len(parts["line"]) else f" (none: one option is {verb} everywhere)"

        def dot(marker: str, color: Any, name: str) -> Line2D:
            return Line2D(
                [], [], ls="", marker=marker, color=color, markeredgecolor="#333333", label=name
            )

        # Rounding leaves a trace where the fit is exact.
        error = float(in_units(about["error"], differences, show))
        error = error if error > 1e-9 * widest else 0.0
        side = "more expensive" if extra > 0.0 else "cheaper"
        bought = f"{short(second)} is {money(abs(extra))} {side} to buy. " if extra else ""
        note = (
            f"{bought}{cases_words(about)}. Fitted surface of degree {about['degree']}: "
            f"root-mean-square error {error:,.3g} {unit}, {100.0 * about['wrong_side']:.0f} % of "
            "cases on the wrong side"
        )
        if len(shown) < len(cases):
            note += f". Shown: {len(shown):,} cases"
        over_years = f" over {years:g} years" if years != 1.0 else ""
        return page.done(
            f"{style.quoted(second)} is {verb} than {style.quoted(first)}{over_years} in "
            f"{100.0 * about['second_better']:.0f}\xa0% of cases",
            f"By {label_of(x, labels)} and {label_of(y, labels)}",
            key=[
                dot("o", DIVERGING(0.1), f"Case with {short(first)} {verb}"),
                dot("^", DIVERGING(0.9), f"Case with {short(second)} {verb}"),
                Line2D(
                    [],
                    [],
                    color="black",
                    lw=2.4,
                    label=f"Break-even line of the fitted surface{empty}",
                ),
            ],
            columns=1,
            note=note,
        )


def _signed(value: float, _: Any) -> str:
    return f"{value:+,.5g}" if value else "0"
