"""Cost of each month, one row for each option."""

import textwrap
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.display import money, number
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE, Page
from moistsim.study import Comparison

SMALL = STYLE_SIZE - 2.0
MARK = "#111111"
"""Base option's bills: a dark line with a white edge shows on every bar color and on white."""


def months_figure(comparison: Comparison) -> Figure:
    """Draw each option's monthly bills as bars in its color, with the base option's bills as marks.

    The figure is as wide as a column of text, so it can be read on a phone.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    matplotlib.figure.Figure

    Examples
    --------
    >>> figure = ms.figures.months_figure(study.run())  # doctest: +SKIP
    """
    costs = {name: bill.months["total"] for name, bill in comparison.bills().items()}
    base = costs[comparison.base]
    n = len(costs)
    figure = Page(figsize=(5.4, 1.3 * n + 0.6), layout=ConstrainedLayoutEngine(h_pad=0.06))
    axes: Any = figure.subplots(n, 1, sharex=True, sharey=True, squeeze=False)
    values = pd.concat(costs)
    room = max(float(values.max()) - min(0.0, float(values.min())), 1.0)
    looks = style.option_looks(comparison)
    labels = [f"{month.to_timestamp():%b}" for month in base.index]
    for ax, (name, cost) in zip(axes[:, 0], costs.items(), strict=True):
        x = range(len(cost))
        ax.bar(x, cost, width=0.7, color=looks[name][0])
        if name != comparison.base:
            for width, color in ((4.5, "white"), (2.0, MARK)):
                ends = np.arange(len(base)) - 0.27, np.arange(len(base)) + 0.27
                ax.hlines(base, *ends, color=color, lw=width)
        for k, value in enumerate(cost):
            ax.text(
                k, max(value, float(base.iloc[k]), 0.0) + 0.05 * room, number(value),
                ha="center", va="bottom", fontsize=SMALL - 1.0,
            )  # fmt: skip
        ax.set_title(
            "\n".join(textwrap.wrap(f"{name}: {money(cost.sum())}", 60)),
            loc="left", fontsize=SMALL, fontweight="bold",
        )  # fmt: skip
        style.plain(ax)
        ax.set_yticks([])
        ax.spines["left"].set_visible(False)
        ax.set_xticks(list(x), labels, fontsize=SMALL)
    axes[0, 0].set_ylim(min(0.0, 1.1 * float(values.min())), float(values.max()) + 0.35 * room)
    return figure
