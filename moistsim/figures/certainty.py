"""Spread of net savings, the inputs that cause it, and the error budget."""

import textwrap
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.display import count, number
from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE, Page
from moistsim.uncertainty import Certainty, in_words, per_cent

GAIN, LOSS, PLAIN = "#17456e", "#bd4312", "#5b8fbf"
"""Colors of a gain, a loss and other bars; gain and loss differ in lightness and side too."""

MOST_BARS = 8


def certainty_figure(certainty: Certainty, *, narrow: bool = False) -> Figure:
    """Draw net savings over all cases, and the inputs that cause most of their spread.

    Parameters
    ----------
    certainty : Certainty
        What `how_sure` gave.
    narrow : bool
        Draw for a phone or a column of text: one panel below the other, no title, no note.

    Returns
    -------
    matplotlib.figure.Figure

    Examples
    --------
    >>> figure = ms.figures.certainty_figure(ms.how_sure(study, purchases, terms, ranges))  # doctest: +SKIP
    """
    shown = certainty.decides[certainty.decides["share"] > 0.0].head(MOST_BARS)
    size = STYLE_SIZE - 2.0 if narrow else STYLE_SIZE
    layout = ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12)
    if narrow:
        bars = 0.5 * max(len(shown), 1) + 0.9
        figure = Page(figsize=(5.4, 3.0 + bars), layout=layout)
        # Each panel keeps its width, however long the names next to the bars are.
        parts: Any = figure.subfigures(2, 1, height_ratios=[3.0, bars])
        spread, decides = (part.subplots() for part in parts)
    else:
        figure = Page(figsize=(13.0, 6.4), layout=layout)
        spread, decides = figure.subplots(1, 2, width_ratios=[1.35, 1.0])
    _spread(spread, certainty, size)
    if narrow:
        spread.locator_params(axis="x", nbins=5)

    names = [_wrapped(in_words(str(name))) for name in shown.index]
    _bars(decides, names, 100.0 * shown["share"].to_numpy(float), "%", size=size)
    if shown.empty:
        decides.text(0.5, 0.5, "no single input", ha="center", transform=decides.transAxes)
    decides.set_title("Inputs that decide most", loc="left", fontsize=size + 1.0)
    decides.set_xlabel(
        ("Share of the spread, %" if narrow else "Share of the spread explained by one input, %"),
        fontsize=size,
    )
    if narrow:
        return figure
    n, lost = len(certainty.counted), len(certainty.cases) - len(certainty.counted)
    figure.suptitle(
        "\n".join(textwrap.wrap(f"{certainty.option} instead of {certainty.against}", 90)),
        fontsize=STYLE_SIZE + 3.0,
    )
    low, high = certainty.band
    note = (
        f"{n:,} cases. Each draws all uncertain inputs at the same time. 95 % confidence interval "
        f"of the share that pays back: {100.0 * low:.0f} to {100.0 * high:.0f} %."
    )
    if lost:
        note += f" Not counted: {count(lost, 'case')} without a result."
    figure.supxlabel(
        "\n".join(textwrap.wrap(note, 150)), fontsize=STYLE_SIZE - 2.0, x=0.01, ha="left",
        color=LIMIT,
    )  # fmt: skip
    return figure


def _spread(ax: Axes, certainty: Certainty, size: float) -> None:
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
    ax.tick_params(labelsize=size - 1.0)
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
            ha="right" if side < 0.0 else "left", color=color, fontsize=size + 1.0,
            fontweight="bold",
        )  # fmt: skip
    ax.xaxis.set_major_formatter(lambda value, _: number(value))
    ax.set_xlabel("Net savings over its life, USD in today’s money", fontsize=size)
    ax.set_ylabel("Share of cases, %", fontsize=size)


def error_budget_figure(budget: pd.DataFrame) -> Figure:
    """Draw the error that each source adds to a verdict, in kWh and in money.

    Parameters
    ----------
    budget : DataFrame
        What `error_budget` gave.

    Returns
    -------
    matplotlib.figure.Figure

    Examples
    --------
    >>> figure = ms.figures.error_budget_figure(ms.error_budget(study, purchases, terms, ranges))  # doctest: +SKIP
    """
    figure = Page(figsize=(13.0, 5.4), layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12))
    for k, (ax, (measure, words)) in enumerate(
        zip(
            figure.subplots(1, 3, sharey=True),
            {
                "kWh": "Electricity, kWh a year",
                "USD": "Running cost, USD a year",
                "net_savings_USD": "Net savings over the study\nperiod, USD in today’s money",
            }.items(),
            strict=True,
        )
    ):
        names = [_wrapped(name) for name in map(str, budget.index)]
        colors = [GAIN if name == "together" else PLAIN for name in budget.index]
        _bars(ax, names, budget[measure].to_numpy(float), "", colors)
        most = float(budget[measure].to_numpy(float)[-1])
        verdict = f"{number(budget.attrs[measure], sign=True)} ± {number(most)}"
        ax.set_title(f"{words}\n{verdict}", loc="left", fontsize=STYLE_SIZE)
        ax.set_xlabel("Error, ± one standard deviation", fontsize=STYLE_SIZE - 1.0)
        ax.tick_params(labelleft=k == 0)
    figure.suptitle(
        "\n".join(
            textwrap.wrap(f"{budget.attrs['option']!s} instead of {budget.attrs['against']!s}", 90)
        ),
        fontsize=STYLE_SIZE + 3.0,
    )
    return figure


def _bars(
    ax: Axes, names: list[str], values: "np.ndarray[tuple[int], np.dtype[np.float64]]", unit: str,
    colors: list[str] | None = None, size: float = STYLE_SIZE,
) -> None:  # fmt: skip
    """Draw bars from the top down, each with its number."""
    at = np.arange(len(names))
    ax.barh(at, values, color=colors or GAIN, height=0.68)
    ax.set_yticks(at, names, fontsize=size - 1.0)
    ax.set_ylim(max(len(names), 1) - 0.4, -0.6)
    ax.set_xlim(0.0, 1.25 * max(values, default=1.0) or 1.0)
    for y, value in enumerate(values.tolist()):
        spec = ",.1f" if 0.0 < value < 9.95 else ",.0f"
        text = f" {value:{spec}}{f' {unit}' if unit else ''}"
        ax.text(value, y, text, va="center", fontsize=size - 1.0)
    style.plain(ax)
    ax.tick_params(labelsize=size - 1.0)
    ax.spines["left"].set_visible(False)
    ax.tick_params(axis="y", length=0.0)
    ax.locator_params(axis="x", nbins=4)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.4g}")


def _wrapped(name: str) -> str:
    return "\n".join(textwrap.wrap(name, 26) or [name])
