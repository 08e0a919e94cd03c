"""Humid hours and cost of the options as advised, one mark for each weather year."""

from typing import Any

import numpy as np

from moistsim.advice import HUMID, WHOLE_COST, OverYears
from moistsim.core.display import number
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.page import wrapped
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.study import main_machine

_HEIGHT = 0.42
"""Height of an option's row, inches."""


def weather_years_figure(
    over: OverYears, *, ax: Any = None, context: Context = "paper", narrow: bool = False
) -> Drawn:
    """Draw each option's humid hours and cost, one mark for each weather year.

    A mark is full in a year in which the option keeps the goal and its setpoints. The dashed line is
    the goal.

    Parameters
    ----------
    over : OverYears
        The result of `over_years`.
    ax : list of two Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    narrow : bool
        Draw for a phone or a column of text: one panel below the other, no title, no note.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Examples
    --------
    >>> figure = ms.figures.weather_years_figure(ms.over_years(advice, years))  # doctest: +SKIP
    """
    advice = over.advice
    names = [*advice.at_goal.options]
    mark = f"{advice.at_goal.goal.above_rh:g} %"
    cost, label = column_catalog.COST.name, "Energy cost, USD"
    if advice.bought is not None:
        cost = WHOLE_COST
        label = f"Cost over {advice.bought.terms.years:g} years, USD in today’s money"
    with style.sheet("weather_years_figure", context, ax, narrow=narrow) as page:
        rows = len(names)
        shape = (2, 1) if narrow else (1, 2)
        height = 1.1 + _HEIGHT * rows
        panels = page.panels(*shape, height=height * shape[0] + 0.7, link_y=True)
        for panel, column, words in zip(
            panels.ravel(), (HUMID, cost), (f"Hours above {mark} RH", label), strict=True
        ):
            for row, name in enumerate(names):
                values = over.table.xs(name, level="option")
                color = style.MACHINE_COLORS[main_machine(advice.season(name))]
                keeps = (values["keeps_goal"] & values["holds_setpoints"]).to_numpy(bool)
                x = values[column].to_numpy(float)
                # Years side by side, so that equal values stay apart.
                y = row + 0.5 * (np.arange(len(x)) + 0.5) / len(x) - 0.25
                panel.plot(x[keeps], y[keeps], ls="", marker="o", ms=5.0, color=color)
                panel.plot(
                    x[~keeps], y[~keeps], ls="", marker="o", ms=5.0, mec=color, mfc="white", mew=1.2
                )
            style.plain(panel)
            panel.grid(axis="x")
            panel.set_xlabel(wrapped(words, page.width(shape[1]) - 0.8))
            panel.xaxis.set_major_formatter(lambda value, _: f"{value:,g}")
            panel.locator_params(axis="x", nbins=5)
            panel.margins(x=0.06)
            panel.set_yticks(
                range(rows), [wrapped(name, 1.5 * page.medium.letters, "small") for name in names]
            )
            panel.set_ylim(rows - 0.5, -0.5)
        panels.ravel()[0].axvline(over.most_hours, color=LIMIT, lw=1.2, ls=(0, (4, 2)))
        panels.ravel()[0].set_xlim(left=min(0.0, panels.ravel()[0].get_xlim()[0]))
        said = []
        for name in names:
            hours, usd = over.spread(name, HUMID), over.spread(name, cost)
            said.append(
                f"{name}: {number(hours.low)} to {number(hours.high)} h, {number(usd.low)} to "
                f"{number(usd.high)} USD"
            )
        return page.done(
            over.verdict.rstrip("."),
            f"Settings and machines as advised for {advice.as_set.study.weather.name}",
            alt="; ".join(said),
            note=f"One mark a year, the first year on top. Full: keeps the goal and its setpoints. "
            f"Dashed: the goal, {number(over.most_hours)} hours above {mark} RH.",
        )
