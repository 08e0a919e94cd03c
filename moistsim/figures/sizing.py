"""Loads by source, and results by size of dehumidifier and air conditioner."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.display import Show, Units, check_units
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE, Page
from moistsim.sizing import HOT, HUMID, MILD, Sizing

CONDITION_COLORS = {HUMID: "#3897f2", HOT: "#b3261e", MILD: "#515251"}
LEVELS = {55: ("#5b8fbf", "o"), 60: ("#17456e", "s"), 65: (style.TOO_HUMID, "^")}
"""Color and mark by percent RH: marks tell the lines apart on a gray printer."""
SMALL = 0.02
"""Share of the longest bar below which a source is not shown."""
GRID = "#e3e3e3"


def sizing_figure(sizing: Sizing, units: Units = "us") -> Figure:
    """Draw the loads at three design conditions, and the season's results by machine size.

    The upper row shows sensible and latent load by source. The lower row shows humid hours and
    starts by rated size of a dehumidifier, and humid hours by the air conditioner's capacity. Two
    dehumidifier sizes are marked: one above which a larger one adds little, and one that meets the
    largest need.

    Parameters
    ----------
    sizing : Sizing
    units : {"us", "si"}

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither.

    Examples
    --------
    >>> figure = ms.figures.sizing_figure(ms.size(study))  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    figure = Page(figsize=(14.0, 10.0), layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12))
    halves: Any = figure.subfigures(2, 1, height_ratios=[1.15, 1.0])
    above, below = halves
    for ax, kind in zip(above.subplots(1, 2), ("sensible", "latent"), strict=True):
        _loads(ax, show.value(sizing.loads[f"{kind}_W"].unstack("condition"), "load"), sizing, show)
        ax.set_title(
            f"{kind.capitalize()} load, {show.unit('load')}", loc="left", fontsize=STYLE_SIZE
        )
    hours, starts, cooling = below.subplots(1, 3)
    per_kg = show.value(1.0, "water")
    table = sizing.dehumidifier_sizes
    x = per_kg * table.index.to_numpy(float)
    _levels(hours, x, table)
    hours.set_title("Humid hours, by dehumidifier size", loc="left", fontsize=STYLE_SIZE)
    starts.plot(
        x[1:], table["dehumidifier_starts"].iloc[1:], marker="D", lw=2.0,
        color=style.MACHINE_COLORS["dehumidifier"],
    )  # fmt: skip
    starts.set_title("Dehumidifier starts in the season", loc="left", fontsize=STYLE_SIZE)
    for ax in (hours, starts):
        at = float(sizing.rating.split()[0])
        ax.set_xlabel(
            f"Rated size, {show.unit('removal')} at {show(at, 'temperature')}, 60 %",
            fontsize=STYLE_SIZE - 1.0,
        )
        _marks(ax, sizing, per_kg, named=ax is starts)
    sizes = sizing.cooling_sizes
    if np.isfinite(sizes["over_load"]).all():
        _levels(cooling, sizes["over_load"].to_numpy(float), sizes)
        here = float(sizes["over_load"].to_numpy()[sizes.index.get_loc(1.0)])
        cooling.axvline(here, color="#333333", lw=1.2, ls="--", label="size described")
        cooling.legend(
            handles=cooling.get_lines()[-1:], frameon=False, fontsize=STYLE_SIZE - 1.0, loc="best"
        )
    cooling.set_title("Humid hours, by air conditioner size", loc="left", fontsize=STYLE_SIZE)
    cooling.set_xlabel(
        f"Capacity over load at {sizing.conditions[HOT].words}", fontsize=STYLE_SIZE - 1.0
    )
    for ax in (hours, starts, cooling):
        ax.set_ylim(bottom=0.0)
        ax.set_xlim(left=0.0)
        ax.grid(color=GRID, lw=0.7)
        ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
        style.plain(ax)
    below.legend(
        handles=hours.get_lines()[: len(LEVELS)],
        loc="outside lower center", ncols=3, frameon=False, fontsize=STYLE_SIZE - 1.0,
    )  # fmt: skip
    figure.suptitle(
        f"{style.place(sizing.study, show)}\nLoads and machine sizes for "
        f"{show(sizing.room.temperature, 'temperature')} and {sizing.room.rh:.0f} % RH",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _loads(ax: Axes, table: pd.DataFrame, sizing: Sizing, show: Show) -> None:
    """One bar for each source and condition, the total last."""
    chosen = sizing.conditions
    sources = [s for s in sizing.loads.loc[next(iter(chosen))].index if s != "total"]
    longest = float(table.abs().to_numpy().max())
    shown = [s for s in sources if (table.loc[s].abs() >= SMALL * longest).any()] + ["total"]
    place = np.arange(len(shown))[::-1].astype(float)
    height = 0.8 / len(chosen)
    for k, (name, condition) in enumerate(chosen.items()):
        ax.barh(
            place + 0.4 - height * (k + 0.5), table.loc[shown, name].to_numpy(float), height=height,
            color=CONDITION_COLORS[name], label=condition.label(show),
        )  # fmt: skip
    ax.set_yticks(place, shown)
    ax.axvline(0.0, color="#333333", lw=0.8)
    ax.axhline(0.5, color="#8a8a8a", lw=0.8)
    ax.grid(axis="x", color=GRID, lw=0.7)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.xaxis.set_major_locator(_ticks())
    style.plain(ax)
    ax.legend(frameon=False, fontsize=STYLE_SIZE - 1.0, loc="best")


def _ticks() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=6)


def _levels(ax: Axes, x: Any, table: pd.DataFrame) -> None:
    for level, (color, mark) in LEVELS.items():
        ax.plot(
            x, table[f"hours_over_{level}"], color=color, marker=mark, lw=2.0,
            label=f"Above {level} % RH", clip_on=False,
        )  # fmt: skip


def _marks(ax: Axes, sizing: Sizing, per_kg: float, *, named: bool) -> None:
    """The two recommended sizes as vertical lines."""
    for size, words, dashes in (
        (sizing.enough, "largest useful size", "--"),
        (sizing.rated, "size for the largest need", ":"),
    ):
        if size is None or not np.isfinite(size):
            continue
        ax.axvline(per_kg * size, color="#333333", lw=1.2, ls=dashes)
        if named:
            ax.plot([], [], color="#333333", lw=1.2, ls=dashes, label=words)
    if named:
        ax.legend(frameon=False, fontsize=STYLE_SIZE - 1.0, loc="lower right")
