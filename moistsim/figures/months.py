"""Cost of each month, one row for each option."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, money, number, units_or_default
from moistsim.figures import style
from moistsim.figures.page import GRAY
from moistsim.figures.style import Context, Drawn
from moistsim.study import Comparison

MARK = "#111111"
"""Base option's bills: a dark line with a white edge shows on every bar color and on white."""


def months_figure(
    comparison: Comparison, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper", narrow: bool = False,
) -> Drawn:  # fmt: skip
    """Draw each option's monthly bills as bars in its color, with the base option's bills as marks.

    Parameters
    ----------
    comparison : Comparison
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`.
    ax : list of Axes, optional
        One for each option, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide of up to four options.
    narrow : bool
        Draw for a phone or a column of text, without title.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or `ax` has another number of axes.

    Examples
    --------
    >>> figure = ms.figures.months_figure(study.run())  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    costs = {name: bill.months["total"] for name, bill in comparison.bills().items()}
    base = costs[comparison.base]
    n = len(costs)
    values = pd.concat(costs)
    room = max(float(values.max()) - min(0.0, float(values.min())), 1.0)
    looks = style.option_looks(comparison)
    labels = [f"{month.to_timestamp():%b}" for month in base.index]
    with style.sheet("months_figure", context, ax, narrow=narrow) as page:
        axes = page.panels(n, height=1.2 * n + (0.5 if narrow else 1.2), link_x=True, link_y=True)
        for panel, (name, cost) in zip(axes[:, 0], costs.items(), strict=True):
            x = range(len(cost))
            panel.bar(x, cost, width=0.7, color=looks[name][0])
            if name != comparison.base:
                for width, color in ((4.5, "white"), (2.0, MARK)):
                    ends = np.arange(len(base)) - 0.27, np.arange(len(base)) + 0.27
                    panel.hlines(base, *ends, color=color, lw=width)
            for k, value in enumerate(cost):
                panel.text(
                    k, max(value, float(base.iloc[k]), 0.0) + 0.05 * room, number(value),
                    ha="center", va="bottom", fontsize="small",
                )  # fmt: skip
            style.name_panel(panel, f"{name}: {money(cost.sum())}", "", page.width() - 0.3)
            style.plain(panel)
            panel.set_yticks([])
            panel.spines["left"].set_visible(False)
            panel.set_xticks(list(x), labels)
            # Room for the numbers above the highest bar.
            panel.set_ylim(
                min(0.0, 1.1 * float(values.min())),
                float(values.max()) + (0.6 if page.slide else 0.35) * room,
            )
        total = {name: float(cost.sum()) for name, cost in costs.items()}
        key: list[Any] = [Patch(color=GRAY, label="This option, USD a month")]
        if n > 1:
            key.append(Line2D([], [], color=MARK, lw=2.0, label=f"{comparison.base}, USD a month"))
        worst = max(costs, key=lambda name: float(costs[name].max()))
        month = costs[worst].index[int(costs[worst].to_numpy().argmax())].to_timestamp()
        return page.done(
            f"Energy costs {style.each(total, money)}",
            f"{style.place(comparison.study, show)}. Cost of each month, USD; the most expensive is "
            f"{month:%B}, {money(float(costs[worst].max()))} with {style.quoted(worst)}",
            alt="One row of bars for each option",
            key=() if narrow else key,
        )
