"""How sure a verdict is: the spread of net savings, what decides, and the error budget."""

import textwrap

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.certainty import Certainty
from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE
from moistsim.uncertain import in_words

GAIN, LOSS, PLAIN = "#17456e", "#cf4f1f", "#8ec1e6"
"""Told apart by lightness as well, and by the side of the line."""

MOST_BARS = 8


def certainty_figure(certainty: Certainty) -> Figure:
    """Net savings over the cases, on either side of nothing, and the inputs that move them.

    Parameters
    ----------
    certainty : Certainty
        What `how_sure` gave.

    Returns
    -------
    matplotlib.figure.Figure
    """
    figure = Figure(figsize=(13.0, 6.4), layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12))
    left, right = figure.subplots(1, 2, width_ratios=[1.35, 1.0])
    saved = certainty.counted["net_savings_USD"].to_numpy(float)
    # An edge at nothing, so that no bar is on both sides.
    edges = np.histogram_bin_edges(saved, bins=min(40, max(8, int(np.sqrt(len(saved))) * 2)))
    width = max(float(edges[1] - edges[0]), 1.0e-9)
    edges = width * np.arange(np.floor(saved.min() / width), np.ceil(saved.max() / width) + 1.5)
    counts, edges = np.histogram(saved, edges)
    colours = [GAIN if edge > -0.5 * width else LOSS for edge in edges[:-1]]
    left.bar(
        edges[:-1], 100.0 * counts / len(saved), width=width, align="edge", color=colours,
        edgecolor="white", linewidth=0.5,
    )  # fmt: skip
    left.axvline(0.0, color=LIMIT, lw=1.6)
    style.plain(left)
    left.margins(x=0.12)
    low, high = left.get_xlim()
    # Room for the words on either side of the line.
    left.set_xlim(min(low, -0.6 * high), max(high, -0.6 * low))
    left.set_ylim(0.0, 1.3 * left.get_ylim()[1])
    pays = certainty.probability
    for share, side, colour, words in (
        (1.0 - pays, -1.0, LOSS, "does not pay back"),
        (pays, 1.0, GAIN, "pays back"),
    ):
        left.annotate(
            f"{_share(share)}\n{words}", (0.0, 0.97), xycoords=("data", "axes fraction"),
            xytext=(8.0 * side, 0.0), textcoords="offset points", va="top",
            ha="right" if side < 0.0 else "left", color=colour, fontsize=STYLE_SIZE + 1.0,
            fontweight="bold",
        )  # fmt: skip
    left.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    left.set_xlabel("net savings over its life, USD of today", fontsize=STYLE_SIZE)
    left.set_ylabel("share of cases, %", fontsize=STYLE_SIZE)

    shown = certainty.decides[certainty.decides["share"] > 0.0].head(MOST_BARS)
    names = [_wrapped(in_words(str(name))) for name in shown.index]
    _bars(right, names, 100.0 * shown["share"].to_numpy(float), "%")
    if shown.empty:
        right.text(0.5, 0.5, "no input by itself", ha="center", transform=right.transAxes)
    right.set_title("what decides", loc="left", fontsize=STYLE_SIZE + 1.0)
    right.set_xlabel("share of the spread that goes if it is known, %", fontsize=STYLE_SIZE)
    n, lost = len(saved), len(certainty.cases) - len(saved)
    figure.suptitle(
        "\n".join(textwrap.wrap(f"{certainty.option} instead of {certainty.against}", 90)),
        fontsize=STYLE_SIZE + 3.0,
    )
    low, high = certainty.band
    note = (
        f"{n:,} cases, all uncertain inputs drawn at once; the true share lies, with 95 % confidence, "
        f"from {100.0 * low:.0f} to {100.0 * high:.0f} %."
    )
    if lost:
        note += f" {lost:,} cases without a result are not counted."
    figure.supxlabel(
        "\n".join(textwrap.wrap(note, 150)), fontsize=STYLE_SIZE - 2.0, x=0.01, ha="left",
        color=LIMIT,
    )  # fmt: skip
    return figure


def error_budget_figure(budget: pd.DataFrame) -> Figure:
    """What each source of error moves a verdict by, in kWh and in money.

    Parameters
    ----------
    budget : DataFrame
        What `error_budget` gave.

    Returns
    -------
    matplotlib.figure.Figure
    """
    figure = Figure(figsize=(13.0, 5.4), layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12))
    for k, (ax, (measure, words)) in enumerate(
        zip(
            figure.subplots(1, 3, sharey=True),
            {
                "kWh": "electricity, kWh a year",
                "USD": "cost to run, USD a year",
                "net_savings_USD": "net savings over the\nstudy period, USD of today",
            }.items(),
            strict=True,
        )
    ):
        names = [_wrapped(name) for name in map(str, budget.index)]
        colours = [GAIN if name == "together" else PLAIN for name in budget.index]
        _bars(ax, names, budget[measure].to_numpy(float), "", colours)
        most = float(budget[measure].to_numpy(float)[-1])
        verdict = f"{budget.attrs[measure]:+,.0f} ± {most:,.0f}"
        ax.set_title(f"{words}\n{verdict}", loc="left", fontsize=STYLE_SIZE)
        ax.set_xlabel("± one standard deviation", fontsize=STYLE_SIZE - 1.0)
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
    colours: list[str] | None = None,
) -> None:  # fmt: skip
    """Bars from above to below, each with its number."""
    at = np.arange(len(names))
    ax.barh(at, values, color=colours or GAIN, height=0.68)
    ax.set_yticks(at, names, fontsize=STYLE_SIZE - 1.0)
    ax.set_ylim(max(len(names), 1) - 0.4, -0.6)
    ax.set_xlim(0.0, 1.25 * max(values, default=1.0) or 1.0)
    for y, value in enumerate(values.tolist()):
        spec = ",.1f" if 0.0 < value < 9.95 else ",.0f"
        text = f" {value:{spec}}{f' {unit}' if unit else ''}"
        ax.text(value, y, text, va="center", fontsize=STYLE_SIZE - 1.0)
    style.plain(ax)
    ax.spines["left"].set_visible(False)
    ax.tick_params(axis="y", length=0.0)
    ax.locator_params(axis="x", nbins=4)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.4g}")


def _wrapped(name: str) -> str:
    return "\n".join(textwrap.wrap(name, 26) or [name])


def _share(share: float) -> str:
    """Per cent that never says certain of what is not."""
    if 0.0 < share < 0.005:
        return "< 0.5 %"
    if 0.995 < share < 1.0:
        return "> 99.5 %"
    return f"{100.0 * share:.0f} %"
