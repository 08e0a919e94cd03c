"""Cost against humid hours: which options are worth a look."""

from typing import Any

from moistsim.core.display import Show, Units, money, number, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.economics import Economics
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.page import wrapped
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.study import Comparison, main_machine

HUMID_HOURS = {
    55: column_catalog.HOURS_OVER_55,
    60: column_catalog.HOURS_OVER_60,
    65: column_catalog.HOURS_OVER_65,
}
"""Measures of humid hours by their limit, percent RH."""
MARKS = "osD^vPX*"
"""Marks of the options, in their order: they differ without their colors too."""


def tradeoff_figure(
    comparison: Comparison,
    economics: Economics | None = None,
    *,
    above: int = 60,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw each option's cost against its humid hours, with the options that no other one beats.

    An option is beaten if another one costs no more and leaves no more humid hours, and is better in
    one of the two. The line joins the options that nothing beats (the Pareto front). Beaten options
    have hollow marks.

    Parameters
    ----------
    comparison : Comparison
    economics : Economics, optional
        With it the cost is the life-cycle cost, purchases included; default: the season's energy
        cost.
    above : {55, 60, 65}
        Limit of humid hours, percent RH.
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If a choice is unknown, or `economics` lacks an option.

    Examples
    --------
    >>> figure = ms.figures.tradeoff_figure(study.run(), above=55)  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    if above not in HUMID_HOURS:
        raise InputError("tradeoff_figure above", above, one_of(str(above), map(str, HUMID_HOURS)))
    seasons = comparison.seasons
    hours = {name: season.meter.of(HUMID_HOURS[above]) for name, season in seasons.items()}
    if economics is None:
        cost = {name: comparison.study.bill(season).unrounded for name, season in seasons.items()}
        label = "Energy cost of the season, USD"
    else:
        cost = {name: economics.life_cycle_cost(name) for name in seasons}
        label = f"Life-cycle cost over {economics.terms.years:g} years, USD in today’s money"
    best = unbeaten(cost, hours)
    with style.sheet("tradeoff_figure", context, ax) as page:
        panel = page.panel(height=4.0 + 0.2 * len(seasons))
        panel.plot(
            [hours[name] for name in best], [cost[name] for name in best], color=LIMIT, lw=1.0,
            ls=(0, (4, 2)), zorder=1,
        )  # fmt: skip
        marks = []
        for place, (name, season) in enumerate(seasons.items()):
            color = style.MACHINE_COLORS[main_machine(season)]
            marks += panel.plot(
                hours[name], cost[name], ls="", marker=MARKS[place % len(MARKS)], ms=9.0, mew=2.0,
                mec=color, mfc=color if name in best else "white", zorder=2,
                label=wrapped(
                    f"{name}: {number(hours[name])} h, {money(cost[name])}", page.width() - 1.0, "small"
                ),
            )  # fmt: skip
        style.plain(panel)
        panel.grid()
        panel.margins(x=0.08, y=0.12)
        panel.set_xlim(left=min(0.0, panel.get_xlim()[0]))
        panel.set_xlabel(f"Hours above {above} % RH")
        panel.set_ylabel(wrapped(label, 3.0 if page.slide else 2.4))
        panel.yaxis.set_major_formatter(lambda value, _: f"{value:,g}")
        panel.xaxis.set_major_formatter(lambda value, _: f"{value:,g}")
        beaten = [name for name in seasons if name not in best]
        dry = best[0]
        title = (
            f"{style.quoted(dry)} has the fewest hours above {above}\xa0% RH, {number(hours[dry])}, "
            f"and costs {money(cost[dry])}"
        )
        if beaten:
            few = " and ".join(map(style.quoted, beaten))
            names = few if len(beaten) < 3 else f"any of {len(beaten)} others"
            title += f"; another option is at least as dry as {names} and no more expensive"
        hourly = seasons[comparison.base].hourly
        return page.done(
            title,
            f"{style.place(comparison.study, show)}. {show.days(hourly.index[0], hourly.index[-1])}",
            note="The line joins the options that no other one beats; the others are hollow. Rooms may "
            "differ in temperature.",
            alt="; ".join(
                f"{name}: {number(hours[name])} h, {money(cost[name])}" for name in seasons
            ),
            key=marks,
            columns=1,
        )


def unbeaten(cost: dict[str, float], hours: dict[str, float]) -> list[str]:
    """Options that no other one beats in cost and humid hours, the driest first.

    Examples
    --------
    >>> unbeaten({"a": 3.0, "b": 1.0, "c": 4.0}, {"a": 0.0, "b": 90.0, "c": 10.0})
    ['a', 'b']
    """
    # In whole hours and dollars, as the figure shows them: a difference of rounding beats nothing.
    found = {name: (round(hours[name]), round(cost[name])) for name in cost}

    def beaten(name: str) -> bool:
        return any(
            one[0] <= found[name][0] and one[1] <= found[name][1] and one != found[name]
            for one in found.values()
        )

    return sorted((name for name in cost if not beaten(name)), key=lambda name: found[name])
