"""What each option costs month by month, one row an option."""

import textwrap
from typing import Any

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.figures import style
from moistsim.figures.style import ROOM, STYLE_SIZE
from moistsim.study import Comparison

SMALL = STYLE_SIZE - 2.0
MARK = "#e0701a"
"""Of the base: told from white as well as from the bars."""


def months_figure(comparison: Comparison) -> Figure:
    """Each option's bill of each month as bars, with the base's as a mark beside them.

    The figure is as wide as a column of text, so that it can be read on a phone.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    matplotlib.figure.Figure
    """
    costs = {name: bill.months["total"] for name, bill in comparison.bills().items()}
    base = costs[comparison.base]
    n = len(costs)
    figure = Figure(figsize=(5.4, 1.3 * n + 0.6), layout=ConstrainedLayoutEngine(h_pad=0.06))
    axes: Any = figure.subplots(n, 1, sharex=True, sharey=True, squeeze=False)
    values = pd.concat(costs)
    room = max(float(values.max()) - min(0.0, float(values.min())), 1.0)
    labels = [f"{month.to_timestamp():%b}" for month in base.index]
    for ax, (name, cost) in zip(axes[:, 0], costs.items(), strict=True):
        x = range(len(cost))
        ax.bar(x, cost, width=0.7, color="#8ec1e6" if name == comparison.base else ROOM)
        if name != comparison.base:
            ax.plot(x, base, ls="", marker="_", ms=150.0 / len(cost), mew=2.0, color=MARK)
        for k, value in enumerate(cost):
            ax.text(
                k, max(value, float(base.iloc[k]), 0.0) + 0.05 * room, f"{value:,.0f}",
                ha="center", va="bottom", fontsize=SMALL - 1.0,
            )  # fmt: skip
        ax.set_title(
            "\n".join(textwrap.wrap(f"{name}: {cost.sum():,.0f} USD", 60)),
            loc="left", fontsize=SMALL, fontweight="bold",
        )  # fmt: skip
        style.plain(ax)
        ax.set_yticks([])
        ax.spines["left"].set_visible(False)
        ax.set_xticks(list(x), labels, fontsize=SMALL)
    axes[0, 0].set_ylim(min(0.0, 1.1 * float(values.min())), float(values.max()) + 0.35 * room)
    return figure
