"""Picture of the worth of measurements next to their costs."""

from typing import TYPE_CHECKING, Any

import numpy as np

from moistsim.core.display import money, number
from moistsim.figures import style

if TYPE_CHECKING:
    from moistsim.measuring.next_measurement import NextMeasurement

WORTH, COST, CEILING = "#17456e", style.PLACE_COLORS[1], "#8e8d8d"
"""Colors of the worth, the cost, and the worth of knowing everything."""


def measuring_figure(
    of: "NextMeasurement", *, ax: Any = None, context: style.Context = "paper", narrow: bool = False
) -> style.Drawn:
    """Draw the worth of each measurement with its standard error, next to its cost.

    Parameters
    ----------
    of : NextMeasurement
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    narrow : bool
        Draw for a phone.
    """
    names, rows = [*of.priced], [*of.priced.values()]
    at = np.arange(len(rows), dtype=float)
    with style.sheet("measuring_figure", context, ax, narrow=narrow) as page:
        panel = page.panel(height=0.56 * (len(rows) + 1) + 1.5)
        worth = panel.barh(
            at - 0.19, [row.worth.value for row in rows], 0.36, color=WORTH, label="worth",
            xerr=[
                [min(row.worth.error, row.worth.value) for row in rows],
                [row.worth.error for row in rows],
            ], error_kw={"ecolor": style.LIMIT, "capsize": 3},
        )  # fmt: skip
        cost = panel.barh(at + 0.19, [row.cost for row in rows], 0.36, color=COST, label="cost")
        ceiling = of.perfect.value
        everything = panel.axvline(
            ceiling, color=CEILING, lw=2.0, ls=(0, (6, 2)), zorder=0,
            label="worth of knowing everything",
        )  # fmt: skip
        panel.set_yticks(at, [style.wrapped(name, 0.17 * page.width(), "small") for name in names])
        panel.invert_yaxis()
        style.plain(panel)
        panel.xaxis.set_major_formatter(lambda value, _: number(value))
        panel.locator_params(axis="x", nbins=6)
        panel.set_xlabel(f"USD, over {of.years:.0f} years in today’s money")
        low, high = panel.get_xlim()
        panel.set_xlim(min(low, 0.0), 1.16 * max(high, ceiling))
        for y, row in zip(at, rows, strict=True):
            end = row.worth.value + row.worth.error
            for place, value, shown in (
                (y - 0.19, end, row.worth.value),
                (y + 0.19, row.cost, row.cost),
            ):
                panel.annotate(
                    money(shown), (max(value, 0.0), place), xytext=(4.0, 0.0),
                    textcoords="offset points", va="center", fontsize="small",
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
                )  # fmt: skip
        best = of.best
        title = (
            "No measurement is worth its cost"
            if best is None
            else f"Measure {best} next: worth {money(of.priced[best].worth.value)}, cost "
            f"{money(of.priced[best].cost)}"
        )
        return page.done(
            title,
            f"Worth and cost of each measurement; knowing everything is worth {money(ceiling)}",
            alt="; ".join(
                f"{name}: worth {money(row.worth.value)}, cost {money(row.cost)}"
                for name, row in zip(names, rows, strict=True)
            ),
            key=[worth, cost, everything],
        )
