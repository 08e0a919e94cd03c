"""Change of a sweep's result by each input alone."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, units_or_default
from moistsim.figures import style
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.figures.sweep_page import HIGH, LOW, OTHER, cases_words, name_rows, rows_height
from moistsim.figures.sweep_words import (
    about_of,
    axis_words,
    in_units,
    label_of,
    result,
    value_of,
    what_words,
)

ON_A_SLIDE = 6
"""Maximum number of parameters on a slide, those with the largest swings."""


def tornado_figure(
    table: pd.DataFrame, units: Units | None = None, *, labels: Mapping[str, str] | None = None,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw how far each parameter alone moves the result, the largest swing on top.

    Parameters
    ----------
    table : DataFrame
        What `tornado` returned.
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
    >>> figure = ms.figures.tornado_figure(ms.tornado(frame, "cost_USD"))  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    about = about_of(table, "tornado_figure", ("base", "base_values"))
    if context == "slide":
        table = table.head(ON_A_SLIDE)
    base = float(in_units(about["base"], about, show))
    ends = {
        k: np.asarray(in_units(table[k].to_numpy(float), about, show))
        for k in ("at_low", "at_high")
    }
    reach = np.concatenate([*ends.values(), [base]])
    span = float(np.ptp(reach))
    # Rounding leaves a trace where nothing moves the result.
    span = span if span > 1e-9 * np.abs(reach).max() else abs(base) or 1.0
    numbers = [isinstance(value, (int, float, np.number)) for value in table["low"]]
    with style.sheet("tornado_figure", context, ax) as page:
        panel = page.panel(height=rows_height(len(table), 0.42, 2.0))
        for row, name in enumerate(table.index):
            low, high = float(ends["at_low"][row]), float(ends["at_high"][row])
            # Where both ends move the result to one side, each has half the row.
            both = (low - base) * (high - base) > 0.0
            for value, end, color, shift, right in (
                (low, "low", LOW, -0.16, low > base or (low == base and high < base)),
                (high, "high", HIGH, 0.16, high > base or (high == base and low <= base)),
            ):
                at, height = (row + shift, 0.3) if both else (row, 0.6)
                fill = color if numbers[row] else OTHER
                panel.barh(at, value - base, left=base, height=height, color=fill, zorder=2)
                words = value_of(name, table.at[name, end], show)
                # The row's name shows the base's own value already.
                if value != base or words != value_of(name, about["base_values"][name], show):
                    _beside(panel, words, value, at, right=right)
        panel.axvline(base, color=LIMIT, lw=1.0, zorder=3)
        room = (0.42 if page.slide else 0.3) * span
        panel.set_xlim(reach.min() - room, reach.max() + room)
        names = [
            f"{label_of(name, labels)}\n(base: {value_of(name, about['base_values'][name], show, 26)})"
            for name in table.index
        ]
        name_rows(panel, names, 0.28 * page.width())
        panel.set_xlabel(style.wrapped(axis_words(about, show), 0.65 * page.width()))
        panel.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
        panel.locator_params(axis="x", nbins=6)
        keys: list[Patch | Line2D] = [
            Patch(color=LOW, label="Lowest value of the parameter"),
            Patch(color=HIGH, label="Highest value of the parameter"),
        ]
        if not all(numbers):
            keys.append(Patch(color=OTHER, label="Not a number: lowest and highest result"))
        keys.append(
            Line2D(
                [],
                [],
                color=LIMIT,
                lw=1.0,
                label=f"Base case: {result(about['base'], about, show)}",
            )
        )
        first = table.index[0]
        least, most = sorted((float(table["at_low"].iloc[0]), float(table["at_high"].iloc[0])))
        return page.done(
            f"{label_of(first, labels)} alone moves {what_words(about)} most: from "
            f"{result(least, about, show)} to {result(most, about, show)}",
            f"One parameter at a time. {cases_words(about)}",
            alt="; ".join(
                f"{label_of(name, labels)}: {result(low, about, show)} to {result(high, about, show)}"
                for name, low, high in zip(
                    table.index, table["at_low"], table["at_high"], strict=True
                )
            ),
            key=keys,
        )


def _beside(ax: Axes, words: str, x: float, row: float, *, right: bool) -> None:
    ax.annotate(
        words, (x, row), xytext=(5 if right else -5, 0), textcoords="offset points",
        ha="left" if right else "right", va="center", fontsize="small",
    )  # fmt: skip
