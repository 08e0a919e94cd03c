"""Spread of net savings, the inputs that cause it, and the error budget."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Patch

from moistsim.core.display import Units, count, number, units_or_default
from moistsim.figures import style
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.uncertainty import Certainty, in_words, per_cent

GAIN, LOSS, PLAIN, UNSURE = "#17456e", "#bd4312", "#5b8fbf", "#a9c3dc"
"""Colors of a gain, a loss, other bars and shares that may be chance; gain and loss differ in lightness and side too."""

BAND = "#767676"
"""Color of a band: it shows on bars and on paper."""

MOST_BARS = 8


def certainty_figure(
    certainty: Certainty, *, units: Units | None = None, ax: Any = None,
    context: Context = "paper", narrow: bool = False,
) -> Drawn:  # fmt: skip
    """Draw net savings over all cases, and the inputs that cause most of their spread.

    Each input's share has its 95 % band. A pale bar is an input whose share may be chance: its band
    reaches zero. Shares are estimated one by one from the cases, so they need not add up to 100 %.

    Parameters
    ----------
    certainty : Certainty
        What `how_sure` gave.
    units : {"us", "si"}, optional
        Sums of money are in USD, so the units change nothing.
    ax : list of two Axes, optional
        In place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    narrow : bool
        Draw for a phone or a column of text: one panel below the other, no title, no note.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.certainty_figure(ms.how_sure(study, purchases, terms, ranges))  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    table = certainty.decides
    shown = table[table["share"] > 0.0].head(4 if context == "slide" else MOST_BARS)
    with style.sheet("certainty_figure", context, ax, narrow=narrow) as page:
        bars = (0.34 if narrow else 0.28) * max(len(shown), 1) + 1.0
        spread, decides = (
            page.panels(1, 2, height=0.0, width_ratios=[1.2, 1.0])
            if page.slide
            else page.panels(2, 1, height=2.9 + bars + 0.9, height_ratios=[2.9, bars])
        ).ravel()
        _spread(spread, certainty)
        if page.slide or narrow:
            spread.locator_params(axis="x", nbins=4)
        names = [
            style.wrapped(in_words(str(name)), 0.28 * page.width(), "small") for name in shown.index
        ]
        values = {c: 100.0 * shown[c].to_numpy(float) for c in ("share", "share_low", "share_high")}
        chance = values["share_low"] <= 0.0
        _bars(
            decides, names, values["share"], "%",
            [UNSURE if c else GAIN for c in chance], (values["share_low"], values["share_high"]),
        )  # fmt: skip
        if shown.empty:
            decides.text(0.5, 0.5, "no single input", ha="center", transform=decides.transAxes)
        decides.set_xlabel(
            "Share of the spread, %" if narrow or page.slide
            else "Share of the spread that one input explains, %, with its 95 % band"
        )  # fmt: skip
        low, high = certainty.band
        n, lost = len(certainty.counted), len(certainty.cases) - len(certainty.counted)
        sum_ = 100.0 * float(table["share"].sum())
        note = (
            f"{n:,} cases. Each draws all uncertain inputs at the same time. 95 % confidence interval "
            f"of the share that pays back: {100.0 * low:.0f} to {100.0 * high:.0f} %. Shares are "
            f"estimated one by one and add up to {sum_:.0f} %"
            + (
                ", over 100 % because each is estimated alone from few cases."
                if sum_ > 100.0
                else "."
            )
        )
        if lost:
            note += f" Not counted: {count(lost, 'case')} without a result."
        sure = [in_words(str(name)) for name, c in zip(shown.index, chance, strict=True) if not c]
        decided = f"; {sure[0]} decides most" if sure else ""
        return page.done(
            f"{style.quoted(certainty.option)} instead of {style.quoted(certainty.against)} pays back in "
            f"{per_cent(certainty.probability)} of cases{decided}",
            "Top: net savings over its life. Bottom: inputs that cause their spread"
            if not page.slide
            else "Net savings over its life, and inputs that cause their spread",
            alt="; ".join(
                f"{in_words(str(name))}: {share:.0f} % ({a:.0f} to {b:.0f} %)"
                for name, share, a, b in zip(shown.index, *values.values(), strict=True)
            ),
            key=[Patch(color=GAIN, label="Share"), Patch(color=UNSURE, label="Share that may be chance")]
            if chance.any() and not chance.all() else (),
            note=note,
        )  # fmt: skip


def _spread(ax: Axes, certainty: Certainty) -> None:
    """Net savings over the cases, with the share that pays back and the share that does not."""
    saved = certainty.counted["net_savings_USD"].to_numpy(float)
    # One edge lies at zero, so no bar is on both sides.
    edges = np.histogram_bin_edges(saved, bins=min(40, max(8, int(np.sqrt(len(saved))) * 2)))
    width = max(float(edges[1] - edges[0]), 1.0e-9)
    edges = width * np.arange(np.floor(saved.min() / width), np.ceil(saved.max() / width) + 1.5)
    counts, edges = np.histogram(saved, edges)
    colors = [GAIN if edge > -0.5 * width else LOSS for edge in edges[:-1]]
    ax.bar(
        edges[:-1], 100.0 * counts / len(saved), width=width, align="edge", color=colors,
        edgecolor="white", linewidth=0.5,
    )  # fmt: skip
    ax.axvline(0.0, color=LIMIT, lw=1.6)
    style.plain(ax)
    ax.margins(x=0.12)
    low, high = ax.get_xlim()
    # Room for the words on either side of the line.
    ax.set_xlim(min(low, -0.6 * high), max(high, -0.6 * low))
    ax.set_ylim(0.0, 1.45 * ax.get_ylim()[1])
    pays = certainty.probability
    for share, side, color, words in (
        (1.0 - pays, -1.0, LOSS, "does not\npay back"),
        (pays, 1.0, GAIN, "pays back"),
    ):
        ax.annotate(
            f"{per_cent(share)}\n{words}", (0.0, 0.97), xycoords=("data", "axes fraction"),
            xytext=(8.0 * side, 0.0), textcoords="offset points", va="top",
            ha="right" if side < 0.0 else "left", color=color,
            fontsize="medium", fontweight="bold",
        )  # fmt: skip
    ax.xaxis.set_major_formatter(lambda value, _: number(value))
    ax.set_xlabel("Net savings over its life, USD in today’s money")
    ax.set_ylabel("Share of cases, %")


def error_budget_figure(
    budget: pd.DataFrame, *, units: Units | None = None, ax: Any = None, context: Context = "paper"
) -> Drawn:
    """Draw the error that each source adds to a verdict, in kWh and in money.

    Parameters
    ----------
    budget : DataFrame
        What `error_budget` gave.
    units : {"us", "si"}, optional
        Energy is in kWh and money in USD, so the units change nothing.
    ax : list of Axes, optional
        Three, or two for a slide, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide without the panel of running cost.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.error_budget_figure(ms.error_budget(study, purchases, terms, ranges))  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    measures = {
        "kWh": "Electricity, kWh a year",
        "USD": "Running cost, USD a year",
        "net_savings_USD": "Net savings over the study period, USD in today’s money",
    }
    own = budget.drop(index="together", errors="ignore")["net_savings_USD"].astype(float)
    with style.sheet("error_budget_figure", context, ax) as page:
        if page.slide:
            del measures["USD"]
        panels = page.panels(1, len(measures), height=0.34 * len(budget) + 2.3, link_y=True)[0]
        colors = [GAIN if name == "together" else PLAIN for name in budget.index]
        names = [style.wrapped(str(name), 0.2 * page.width(), "small") for name in budget.index]
        inches = page.width(4 if len(measures) == 3 else 3) - 0.1
        for k, (panel, (measure, words)) in enumerate(zip(panels, measures.items(), strict=True)):
            _bars(panel, names, budget[measure].to_numpy(float), "", colors)
            most = float(budget[measure].to_numpy(float)[-1])
            verdict = f"{number(budget.attrs[measure], sign=True)} ± {number(most)}"
            style.name_panel(panel, verdict, words, inches)
            panel.set_xlabel(style.wrapped("Error, ± one standard deviation", inches))
            if ax is None:
                panel.tick_params(labelleft=k == 0)
        total = float(budget["net_savings_USD"].iloc[-1])
        return page.done(
            f"Net savings are {number(budget.attrs['net_savings_USD'], sign=True)} ± "
            f"{number(total)} USD; the largest error is that of {own.idxmax()}, "
            f"± {number(own.max())} USD",
            f"{budget.attrs['option']!s} instead of {budget.attrs['against']!s}: error by source",
        )


def _bars(
    ax: Axes, names: list[str], values: "np.ndarray[tuple[int], np.dtype[np.float64]]", unit: str,
    colors: list[str], band: tuple[Any, Any] | None = None,
) -> None:  # fmt: skip
    """Draw bars from the top down, each with its number, and the band of each."""
    at = np.arange(len(names))
    ax.barh(at, values, color=colors, height=0.68)
    reach = values
    if band is not None:
        low, high = band
        reach = np.maximum(values, high)
        ax.hlines(at, low, high, color=BAND, lw=2.2)
    ax.set_yticks(at, names)
    ax.set_ylim(max(len(names), 1) - 0.4, -0.6)
    ax.set_xlim(0.0, 1.3 * max(reach, default=1.0) or 1.0)
    for y, (value, end) in enumerate(zip(values.tolist(), reach.tolist(), strict=True)):
        spec = ",.1f" if 0.0 < value < 9.95 else ",.0f"
        text = f" {value:{spec}}{f' {unit}' if unit else ''}"
        ax.text(end, y, text, va="center", fontsize="small")
    style.plain(ax)
    ax.spines["left"].set_visible(False)
    ax.tick_params(axis="y", length=0.0)
    ax.locator_params(axis="x", nbins=4)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.4g}")
