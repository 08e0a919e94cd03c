"""Picture of the worth of measurements next to their costs."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.display import money, number
from moistsim.figures import style

if TYPE_CHECKING:
    from moistsim.measuring.next_measurement import NextMeasurement

WORTH, COST, CEILING = "#17456e", "#e66015", "#8e8d8d"
"""Colors of the worth, the cost, and the worth of knowing everything."""


def measuring_figure(of: "NextMeasurement", *, narrow: bool = False) -> Figure:
    """Draw the worth of each measurement with its standard error, next to its cost.

    Parameters
    ----------
    of : NextMeasurement
    narrow : bool
        Draw for a phone.
    """
    size = style.STYLE_SIZE - 2.0 if narrow else style.STYLE_SIZE
    names, rows = [*of.priced], [*of.priced.values()]
    height = 0.62 * (len(rows) + 1) + 1.9
    figure = style.Page(
        figsize=(5.4, height) if narrow else (10.0, height),
        layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12),
    )
    ax = figure.subplots()
    at = np.arange(len(rows), dtype=float)
    ax.barh(
        at - 0.19, [row.worth.value for row in rows], 0.36, color=WORTH, label="worth",
        xerr=[
            [min(row.worth.error, row.worth.value) for row in rows],
            [row.worth.error for row in rows],
        ], error_kw={"ecolor": style.LIMIT, "capsize": 3},
    )  # fmt: skip
    ax.barh(at + 0.19, [row.cost for row in rows], 0.36, color=COST, label="cost")
    ceiling = of.perfect.value
    ax.axvline(
        ceiling,
        color=CEILING,
        lw=2.0,
        ls=(0, (6, 2)),
        zorder=0,
        label="worth of knowing everything",
    )
    ax.set_yticks(at, [textwrap.fill(name, 14) for name in names], fontsize=size)
    ax.invert_yaxis()
    style.plain(ax)
    ax.tick_params(labelsize=size - 1.0)
    ax.xaxis.set_major_formatter(lambda value, _: number(value))
    ax.set_xlabel(
        f"USD, over {of.years:.0f} years in today’s money", fontsize=size
    )  # fmt: skip
    low, high = ax.get_xlim()
    ax.set_xlim(min(low, 0.0), 1.12 * max(high, ceiling))
    for y, row in zip(at, rows, strict=True):
        worth = row.worth.value + row.worth.error
        for place, value, shown in (
            (y - 0.19, worth, row.worth.value),
            (y + 0.19, row.cost, row.cost),
        ):
            ax.annotate(
                money(shown), (max(value, 0.0), place), xytext=(4.0, 0.0),
                textcoords="offset points", va="center", fontsize=size - 2.0,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )  # fmt: skip
    handles, labels = ax.get_legend_handles_labels()
    order = [labels.index(name) for name in ("worth", "cost", "worth of knowing everything")]
    style.legend(figure, [handles[k] for k in order], 1 if narrow else 3)
    return figure
