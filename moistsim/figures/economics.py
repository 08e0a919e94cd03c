"""Cost of the options year by year, and of buying the more expensive one later."""

import textwrap
from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.text import Annotation, Text
from matplotlib.ticker import MaxNLocator

from moistsim.core.display import count, money
from moistsim.economics import Bridge, Economics
from moistsim.figures import style
from moistsim.figures.style import LIMIT, LINES, STYLE_SIZE, Page
from moistsim.prices import Plan


def cost_figure(
    economics: Economics,
    plans: Mapping[str, str | Plan] | None = None,
    *,
    energy_within: Mapping[str, float] | None = None,
    narrow: bool = False,
) -> Figure:
    """Draw the money spent on each option, year by year: purchases, maintenance and energy.

    Replacements are steps. The residual value at the end is not shown, because nobody pays it out.

    Parameters
    ----------
    economics : Economics
    plans : dict of option or plan, optional
        Plans by the name to show; default: every option. ``bridge.plans[2]`` is a plan.
    energy_within : dict of float, optional
        Half-width of a band around a line, by name: the share by which energy costs more or less.
    narrow : bool
        Draw for a phone or a column of text: names below the lines, and no notes.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If an option is unknown.

    Examples
    --------
    >>> figure = ms.figures.cost_figure(ms.economics(study.run(), purchases))  # doctest: +SKIP
    """
    plans = {option: option for option in economics.options} if plans is None else plans
    size = (5.4, 3.7 + 0.24 * len(plans)) if narrow else (11.0, 6.6)
    figure = Page(figsize=size, layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1))
    ax = figure.add_subplot()
    ends, handles, top = [], [], 0.0
    # A plan of several options in turn has no main machine, so its look follows its place.
    machines = {
        name: economics.machines[plan]
        for name, plan in plans.items()
        if isinstance(plan, str) and plan in economics.machines
    }
    look = style.looks(machines, plans)
    for name, plan in plans.items():
        color, dash = look[name]
        flow = economics.cash_flow(plan)
        spent, bought = flow["spent_USD"].to_numpy(), flow["purchase_USD"].to_numpy()
        # A purchase at the end of a year is a step.
        x, line = np.repeat(flow.index.to_numpy(), 2), np.column_stack([spent - bought, spent])
        handles += ax.plot(x, line.ravel(), color=color, ls=dash, lw=2.2)
        ends.append((name, float(spent[-1]), color))
        energy = np.cumsum(flow[["electricity_USD", "gas_USD"]].sum(axis=1).to_numpy())
        share = (energy_within or {}).get(name, 0.0)
        band = share * np.repeat(energy, 2)
        if share:
            style.band(ax, x, line.ravel() - band, line.ravel() + band, color)
        top = max(top, float((line.ravel() + band).max()))
    years = int(economics.terms.years)
    ax.set_xlim(0.0, years)
    ax.set_ylim(0.0, 1.05 * top or 1.0)
    named = [(f"{_wrapped(n)}: {money(end)}", end, c) for n, end, c in ends]
    kind = "dollars of each year" if economics.terms.nominal else "constant dollars"
    ax.set_ylabel(f"Total spent, USD ({kind})", fontsize=STYLE_SIZE)
    ax.set_xlabel("Years after the purchase", fontsize=STYLE_SIZE)
    _money(ax)
    if narrow:
        for axis in (ax.xaxis, ax.yaxis):
            axis.label.set_fontsize(STYLE_SIZE - 2.0)
        ax.tick_params(labelsize=STYLE_SIZE - 2.0)
        words = ["\n".join(textwrap.wrap(f"{n}: {money(end)}", 58)) for n, end, _ in ends]
        figure.legend(
            handles, words, loc="outside lower left", ncols=1, frameon=False, handlelength=3.0,
            fontsize=STYLE_SIZE - 2.0,
        )  # fmt: skip
        return figure
    _label_ends(ax, named)
    ax.set_title(
        "Total spent on each option, year by year",
        loc="left", fontsize=STYLE_SIZE + 2.0, pad=12.0,
    )  # fmt: skip
    _notes(figure, economics.notes)
    _part_labels(figure)
    return figure


def bridge_figure(bridge: Bridge, shown: Sequence[int] | None = None) -> Figure:
    """Draw the cost against the season of buying the second option, and the monthly payments.

    Parameters
    ----------
    bridge : Bridge
    shown : sequence of int, optional
        Numbers of seasons whose payments are shown; default: none, one, the middle and the longest.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the bridge was not calculated for one of these numbers of seasons.

    Examples
    --------
    >>> figure = ms.figures.bridge_figure(found.bridge("Reheat", "Dehumidifier"))  # doctest: +SKIP
    """
    years = int(bridge.economics.terms.years)
    longest = max(bridge.plans)
    shown = sorted({0, 1, longest // 2, longest}) if shown is None else list(shown)
    figure = Page(figsize=(13.0, 6.6), layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1))
    left, right = figure.subplots(1, 2, width_ratios=[1.0, 1.25])
    cost = bridge.table["life_cycle_cost_USD"]
    colors = ["#17456e" if n == bridge.best else "#5b8fbf" for n in cost.index]
    left.bar(cost.index, cost, color=colors, width=0.75)
    left.set_title(
        f"Lowest cost, {money(cost[bridge.best])}: buy {_when(bridge.best, years)}", loc="left",
        fontsize=STYLE_SIZE - 1.0,
    )  # fmt: skip
    left.set_ylim(0.0, 1.05 * float(cost.max()) or 1.0)
    left.set_ylabel(
        f"Life-cycle cost over {years} years, USD in today’s money", fontsize=STYLE_SIZE
    )
    never = f" ({years}: never)" if longest == years else ""
    left.set_xlabel(f"Years before the second option is bought{never}", fontsize=STYLE_SIZE)
    left.xaxis.set_major_locator(MaxNLocator(integer=True))
    ends = []
    for k, n in enumerate(shown):
        color, dash = LINES[k % len(LINES)]
        spent = bridge.monthly(n)["spent_USD"]
        right.plot(spent.index / 12.0, spent, color=color, ls=dash, lw=2.0)
        last = float(spent.iloc[-1])
        ends.append((f"Bought {_when(n, years)}: {money(last)}", last, color))
    right.set_xlim(0.0, years)
    right.set_ylim(0.0, 1.05 * max(end for _, end, _ in ends) or 1.0)
    _label_ends(right, ends)
    right.set_ylabel("Total paid, USD (dollars of each month)", fontsize=STYLE_SIZE)
    right.set_xlabel("Years after the first day", fontsize=STYLE_SIZE)
    for ax in (left, right):
        _money(ax)
    figure.suptitle(
        "\n".join(textwrap.wrap(f"{bridge.first} first, {bridge.then} later", 90)),
        fontsize=STYLE_SIZE + 2.0,
    )
    _notes(figure, bridge.notes)
    _part_labels(figure)
    return figure


def _when(n: int, years: int) -> str:
    return "now" if n == 0 else "never" if n == years else f"after {count(n, 'year')}"


def _wrapped(name: str) -> str:
    return "\n".join(textwrap.wrap(name, 26) or [name])


def _money(ax: Axes) -> None:
    style.plain(ax)
    ax.grid(axis="y", color="#e9e9e9", lw=0.7)
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))


def _notes(figure: Figure, notes: Sequence[str]) -> None:
    text = "\n".join(line for note in notes for line in textwrap.wrap(note, 130))
    figure.supxlabel(text, fontsize=STYLE_SIZE - 3.0, x=0.01, ha="left", color=LIMIT)


def _label_ends(ax: Axes, ends: list[tuple[str, float, str]]) -> None:
    """A label to the right of each line's end. `_part_labels` moves labels apart that overlap."""
    for text, value, color in sorted(ends, key=lambda end: end[1]):
        ax.annotate(
            text, (ax.get_xlim()[1], value), xytext=(14.0, 0.0), textcoords="offset points",
            va="center", ha="left", fontsize=STYLE_SIZE - 1.0, color=LIMIT, annotation_clip=False,
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
