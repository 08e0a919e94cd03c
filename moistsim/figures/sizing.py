"""Loads by source, and results by size of dehumidifier and air conditioner."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.style import Context, Drawn
from moistsim.sizing import HOT, HUMID, MILD, Sizing

CONDITION_COLORS = {HUMID: "#3897f2", HOT: "#b3261e", MILD: "#515251"}
LEVELS = {55: ("#5b8fbf", "o"), 60: ("#17456e", "s"), 65: (style.TOO_HUMID, "^")}
"""Color and mark by percent RH: marks tell the lines apart on a gray printer."""
SMALL = 0.02
"""Share of the longest bar below which a source is not shown."""


def sizing_figure(
    sizing: Sizing, units: Units | None = None, *, ax: Any = None, context: Context = "paper"
) -> Drawn:
    """Draw the loads at three design conditions, and the season's results by machine size.

    The upper row shows sensible and latent load by source. The lower row shows humid hours and
    starts by rated size of a dehumidifier, and humid hours by the air conditioner's capacity. Two
    dehumidifier sizes are marked: one above which a larger one adds little, and one that meets the
    largest need.

    Parameters
    ----------
    sizing : Sizing
    units : {"us", "si"}, optional
        Units of loads, sizes and temperatures; default: those of `set_units`.
    ax : list of Axes, optional
        Five, or two for a slide, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide with the latent load and the humid hours by dehumidifier size.

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
    >>> figure = ms.figures.sizing_figure(ms.size(study))  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    per_kg = show.value(1.0, "water")
    table, sizes = sizing.dehumidifier_sizes, sizing.cooling_sizes
    x = per_kg * table.index.to_numpy(float)
    rows = [[[["sensible", "latent"]]], [[["hours", "starts", "cooling"]]]]
    with style.sheet("sizing_figure", context, ax) as page:
        panels = (
            page.mosaic([["latent", "hours"]], height=0.0)
            if page.slide
            else page.mosaic(rows, height=7.4, height_ratios=[1.35, 1.0])
        )
        inches = page.width(2) - 0.6
        for kind in ("sensible", "latent"):
            if kind in panels:
                loads = show.value(sizing.loads[f"{kind}_W"].unstack("condition"), "load")
                _loads(panels[kind], loads, sizing, page.width(5))
                panels[kind].set_xlabel(f"{kind.capitalize()} load, {show.unit('load')}")
        at = float(sizing.rating.split()[0])
        rated = f"Rated size, {show.unit('removal')}\nat {show(at, 'temperature')}, 60 % RH"
        key: list[Any] = [
            Patch(color=CONDITION_COLORS[name], label=condition.label(show))
            for name, condition in sizing.conditions.items()
        ]
        hours = panels["hours"]
        key += _levels(hours, x, table)
        _name(hours, "Humid hours in the season", inches if page.slide else page.width(3) - 0.4)
        hours.set_xlabel(rated)
        key += _marks(hours, sizing, per_kg)
        if not page.slide:
            starts, cooling = panels["starts"], panels["cooling"]
            starts.plot(
                x[1:], table["dehumidifier_starts"].iloc[1:], marker="D", lw=2.0,
                color=style.MACHINE_COLORS["dehumidifier"],
            )  # fmt: skip
            _name(starts, "Dehumidifier starts", page.width(3) - 0.4)
            starts.set_xlabel(rated)
            _marks(starts, sizing, per_kg)
            if np.isfinite(sizes["over_load"]).all():
                _levels(cooling, sizes["over_load"].to_numpy(float), sizes)
                here = float(sizes["over_load"].to_numpy()[sizes.index.get_loc(1.0)])
                look: Any = {"color": "#333333", "lw": 1.2, "ls": "-."}
                cooling.axvline(here, **look)
                key.append(Line2D([], [], label="air conditioner as described", **look))
            _name(cooling, "Humid hours in the season", page.width(3) - 0.4)
            hot = sizing.conditions[HOT].words
            cooling.set_xlabel("Air conditioner’s capacity\n" + f"over load at {hot}")
        for name, panel in panels.items():
            if name not in ("sensible", "latent"):
                # A machine that never starts still has an axis.
                panel.set_ylim(0.0, max(1.0, panel.get_ylim()[1]))
                panel.yaxis.set_major_locator(MaxNLocator(nbins=5, integer=True))
                panel.set_xlim(left=0.0)
                panel.grid()
                panel.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
            style.plain(panel)
        return page.done(
            _finding(sizing, show),
            f"{style.place(sizing.study, show)}. Loads and machine sizes for "
            f"{show(sizing.room.temperature, 'temperature')} and {sizing.room.rh:.0f} % RH",
            key=key,
        )


def _finding(sizing: Sizing, show: Show) -> str:
    """The sizes that are marked, in words."""
    sizes = [
        f"{words} is {show.number(size / 86400.0, 'removal', 0)} {show.unit('removal')}"
        for words, size in (
            ("the largest useful dehumidifier", sizing.enough),
            ("the size for the largest need", sizing.rated),
        )
        if size is not None and np.isfinite(size)
    ]
    if sizes:
        text = ", ".join(sizes)
        return text[0].upper() + text[1:]
    hours = float(sizing.dehumidifier_sizes[column_catalog.HOURS_OVER_60.name].iloc[0])
    return f"No dehumidifier size is recommended: without one, {number(hours)} h above 60\xa0% RH"


def _name(ax: Axes, words: str, inches: float) -> None:
    ax.set_title(style.wrapped(words, inches), loc="left")


def _loads(ax: Axes, table: pd.DataFrame, sizing: Sizing, inches: float) -> None:
    """One bar for each source and condition, the total last."""
    chosen = sizing.conditions
    sources = [s for s in sizing.loads.loc[next(iter(chosen))].index if s != "total"]
    longest = float(table.abs().to_numpy().max())
    shown = [s for s in sources if (table.loc[s].abs() >= SMALL * longest).any()] + ["total"]
    place = np.arange(len(shown))[::-1].astype(float)
    height = 0.8 / len(chosen)
    for k, name in enumerate(chosen):
        ax.barh(
            place + 0.4 - height * (k + 0.5), table.loc[shown, name].to_numpy(float), height=height,
            color=CONDITION_COLORS[name],
        )  # fmt: skip
    ax.set_yticks(place, [style.wrapped(str(name), inches, "small") for name in shown])
    ax.axvline(0.0, color="#333333", lw=0.8)
    ax.axhline(0.5, color="#8a8a8a", lw=0.8)
    ax.grid(axis="x")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.xaxis.set_major_locator(MaxNLocator(nbins=4))


def _levels(ax: Axes, x: Any, table: pd.DataFrame) -> list[Line2D]:
    lines = []
    for level, (color, mark) in LEVELS.items():
        lines += ax.plot(
            x, table[f"hours_over_{level}"], color=color, marker=mark, lw=2.0,
            label=f"hours above {level} % RH", clip_on=False,
        )  # fmt: skip
    return lines


def _marks(ax: Axes, sizing: Sizing, per_kg: float) -> list[Line2D]:
    """The two recommended sizes as vertical lines."""
    lines = []
    for size, words, dashes in (
        (sizing.enough, "largest useful size", "--"),
        (sizing.rated, "size for the largest need", ":"),
    ):
        if size is not None and np.isfinite(size):
            lines.append(ax.axvline(per_kg * size, color="#333333", lw=1.2, ls=dashes, label=words))
    return lines
