"""Cost of the options year by year, and of buying the more expensive one later."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.text import Annotation, Text
from matplotlib.ticker import MaxNLocator

from moistsim.core.display import Units, count, money, units_or_default
from moistsim.economics import Bridge, Economics
from moistsim.figures import style
from moistsim.figures.style import LIMIT, LINES, Context, Drawn
from moistsim.prices import Plan


def cost_figure(
    economics: Economics,
    plans: Mapping[str, str | Plan] | None = None,
    *,
    energy_within: Mapping[str, float] | None = None,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
    narrow: bool = False,
) -> Drawn:
    """Draw the money spent on each option, year by year: purchases, maintenance and energy.

    Replacements are steps. The residual value at the end is not shown, because nobody pays it out.

    Parameters
    ----------
    economics : Economics
    plans : dict of option or plan, optional
        Plans by the name to show; default: every option. ``bridge.plans[2]`` is a plan.
    energy_within : dict of float, optional
        Half-width of a band around a line, by name: the share by which energy costs more or less.
    units : {"us", "si"}, optional
        Sums of money are in USD, so the units change nothing.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    narrow : bool
        Draw for a phone or a column of text: names below the lines, and no notes.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If an option, `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.cost_figure(ms.economics(study.run(), purchases))  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    plans = {option: option for option in economics.options} if plans is None else plans
    # A plan of several options in turn has no main machine, so its look follows its place.
    machines = {
        name: economics.machines[plan]
        for name, plan in plans.items()
        if isinstance(plan, str) and plan in economics.machines
    }
    look = style.looks(machines, plans)
    years = int(economics.terms.years)
    kind = "dollars of each year" if economics.terms.nominal else "constant dollars"
    ends: dict[str, float] = {}
    handles, top = [], 0.0
    with style.sheet("cost_figure", context, ax, narrow=narrow) as page:
        panel = page.panel(height=3.7 + 0.24 * len(plans) if narrow else 4.6)
        for name, plan in plans.items():
            color, dash = look[name]
            flow = economics.cash_flow(plan)
            spent, bought = flow["spent_USD"].to_numpy(), flow["purchase_USD"].to_numpy()
            # A purchase at the end of a year is a step.
            x, line = np.repeat(flow.index.to_numpy(), 2), np.column_stack([spent - bought, spent])
            handles += panel.plot(x, line.ravel(), color=color, ls=dash, lw=2.4)
            ends[name] = float(spent[-1])
            handles[-1].set_label(f"{name}: {money(ends[name])}")
            energy = np.cumsum(flow[["electricity_USD", "gas_USD"]].sum(axis=1).to_numpy())
            share = (energy_within or {}).get(name, 0.0)
            band = share * np.repeat(energy, 2)
            if share:
                style.band(panel, x, line.ravel() - band, line.ravel() + band, color)
            top = max(top, float((line.ravel() + band).max()))
        panel.set_xlim(0.0, years)
        panel.set_ylim(0.0, 1.05 * top or 1.0)
        panel.set_ylabel(f"Total spent, USD\n({kind})")
        panel.set_xlabel("Years after the purchase")
        _money(panel)
        own = ax is None and not narrow
        if own:
            _label_ends(
                panel,
                [
                    (
                        style.wrapped(f"{n}: {money(end)}", 0.25 * page.width(), "small"),
                        end,
                        look[n][0],
                    )
                    for n, end in ends.items()
                ],
            )
        figure = page.done(
            f"Spent in {count(years, 'year')}: {style.each(ends, money)}",
            f"Purchases, maintenance and energy of each option, year by year, in {kind}",
            key=() if own else handles,
            columns=1,
            note=" ".join(economics.notes),
        )
        if own:
            _part_labels(figure)
        return figure


def bridge_figure(
    bridge: Bridge, shown: Sequence[int] | None = None, *, units: Units | None = None,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw the life-cycle cost by the year of buying the second option, and how it adds up.

    Both panels are in today's money: each line ends at the height of its bar. Its fall at the end
    is the residual value. `Bridge.monthly` has the payments in dollars of each month.

    Parameters
    ----------
    bridge : Bridge
    shown : sequence of int, optional
        Numbers of seasons that have a line; default: none, one, the middle and the longest.
    units : {"us", "si"}, optional
        Sums of money are in USD, so the units change nothing.
    ax : list of two Axes, optional
        In place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If the bridge was not calculated for one of these numbers of seasons, or if `units` or
        `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.bridge_figure(found.bridge("Reheat", "Dehumidifier"))  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    years = int(bridge.economics.terms.years)
    longest = max(bridge.plans)
    shown = sorted({0, 1, longest // 2, longest}) if shown is None else list(shown)
    cost = bridge.table["life_cycle_cost_USD"]
    with style.sheet("bridge_figure", context, ax) as page:
        bars, lines = (
            page.panels(1, 2, height=0.0) if page.slide else page.panels(2, 1, height=6.4)
        ).ravel()
        colors = [BEST if n == bridge.best else OTHER for n in cost.index]
        bars.bar(cost.index, cost, color=colors, width=0.75)
        top = 1.08 * float(cost.max()) or 1.0
        bars.set_ylim(0.0, top)
        bars.set_ylabel("Life-cycle cost, USD\n(today’s money)")
        never = f" ({years}: never)" if longest == years else ""
        bars.set_xlabel(f"Years before the second option is bought{never}")
        key: list[Any] = [
            Patch(color=BEST, label="Lowest cost"), Patch(color=OTHER, label="Other years"),
        ]  # fmt: skip
        for k, n in enumerate(shown):
            color, dash = LINES[k % len(LINES)]
            spent = bridge.cash_flow(n)["present_value_USD"].cumsum()
            key += lines.plot(
                spent.index, spent, color=color, ls=dash, lw=2.2,
                label=f"Bought {_when(n, years)}: {money(float(spent.iloc[-1]))}",
            )  # fmt: skip
        lines.set_xlim(0.0, years)
        lines.set_ylim(0.0, None)
        lines.set_ylabel("Total spent, USD\n(today’s money)")
        lines.set_xlabel("Years after the first day")
        for panel in (bars, lines):
            _money(panel)
        when = {0: "now", years: "not at all"}.get(
            bridge.best, f"after {count(bridge.best, 'year')}"
        )
        against = 0 if bridge.best else longest
        return page.done(
            f"Lowest cost, {money(cost[bridge.best])}: buy {style.quoted(bridge.then)} {when}; "
            f"bought {_when(against, years)}, {money(cost[against])}",
            f"{bridge.first} first, {bridge.then} later: life-cycle cost over {count(years, 'year')}, "
            "and how it adds up",
            key=key,
            note=" ".join(bridge.notes),
        )


BEST, OTHER = "#17456e", "#5b8fbf"
"""Colors of the cheapest year of a purchase, and of the other years."""


def _when(n: int, years: int) -> str:
    return "now" if n == 0 else "never" if n == years else f"after {count(n, 'year')}"


def _money(ax: Axes) -> None:
    style.plain(ax)
    ax.grid(axis="y")
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))


def _label_ends(ax: Axes, ends: list[tuple[str, float, str]]) -> None:
    """A label to the right of each line's end. `_part_labels` moves labels apart that overlap."""
    for text, value, color in sorted(ends, key=lambda end: end[1]):
        ax.annotate(
            text, (ax.get_xlim()[1], value), xytext=(14.0, 0.0), textcoords="offset points",
            va="center", ha="left", fontsize="small", color=LIMIT, annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": color, "lw": 1.6, "shrinkA": 1.0, "shrinkB": 0.0},
        )  # fmt: skip


def _part_labels(figure: Figure) -> None:
    """Move labels of line ends apart, from the lowest up."""
    # The length of a dollar on the page is known only after the layout.
    figure.draw_without_rendering()
    dots = figure.dpi / 72.0
    for ax in figure.axes:
        floor = -np.inf
        for text in ax.texts:
            assert isinstance(text, Annotation)
            # Extent of the words without their leader line.
            height = Text.get_window_extent(text).height
            line = float(ax.transData.transform(text.xy)[1])
            middle = max(line, floor + height / 2.0)
            floor = middle + height / 2.0 + 2.0 * dots
            text.set_position((14.0, (middle - line) / dots))
