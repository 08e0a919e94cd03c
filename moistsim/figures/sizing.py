"""The sizing as one picture: loads by source, sizes of dehumidifiers, the air conditioner's size."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.units import from_si
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE
from moistsim.sizing import HOT, HUMID, MILD, Sizing
from moistsim.study import Units

CONDITION_COLORS = {HUMID: "#17456e", HOT: "#cf4f1f", MILD: "#efb94b"}
LEVELS = {55: ("#8ec1e6", "o"), 60: ("#17456e", "s"), 65: ("#cf4f1f", "^")}
"""Of RH, percent: a color and a mark, so that lines are told apart on a gray printer."""
SMALL = 0.02
"""Share of the longest bar below which a source is left out."""
GRID = "#e3e3e3"


def sizing_figure(sizing: Sizing, units: Units = "us") -> Figure:
    """What loads the house at three conditions, and what sizes of machines do over the season.

    Above, sensible and latent load by source; below, humid hours and starts by rated size of a
    dehumidifier, with the size at which more stops helping and the greatest need, and humid hours
    by the air conditioner's capacity over the load with the thermostat alone.

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
    """
    style.check(units)
    figure = Figure(figsize=(14.0, 10.0), layout=ConstrainedLayoutEngine(h_pad=0.12, w_pad=0.12))
    halves: Any = figure.subfigures(2, 1, height_ratios=[1.15, 1.0])
    above, below = halves
    power = "Btu/h" if units == "us" else "W"
    factor = from_si(1.0, "W", "Btu/hour") if units == "us" else 1.0
    for ax, kind in zip(above.subplots(1, 2), ("sensible", "latent"), strict=True):
        _loads(ax, factor * sizing.loads[f"{kind}_W"].unstack("condition"), sizing)
        ax.set_title(f"{kind.capitalize()} load, {power}", loc="left", fontsize=STYLE_SIZE)
    hours, starts, cooling = below.subplots(1, 3)
    pints = from_si(1.0, "kg", "pint") if units == "us" else 1.0
    table = sizing.dehumidifier_sizes
    x = pints * table.index.to_numpy(float)
    _levels(hours, x, table)
    hours.set_title("Hours above a humidity, by dehumidifier", loc="left", fontsize=STYLE_SIZE)
    starts.plot(x[1:], table["dehumidifier_starts"].iloc[1:], color="#169a86", marker="D", lw=2.0)
    starts.set_title("Its starts in the season", loc="left", fontsize=STYLE_SIZE)
    for ax in (hours, starts):
        at = float(sizing.rating.split()[0])
        point = f"{style.temperature(at, units):.0f} {'°F' if units == 'us' else '°C'}, 60 %"
        ax.set_xlabel(
            f"rated, {'pints' if units == 'us' else 'kg'} a day at {point}",
            fontsize=STYLE_SIZE - 1.0,
        )
        _marks(ax, sizing, pints, named=ax is starts)
    sizes = sizing.cooling_sizes
    if np.isfinite(sizes["over_load"]).all():
        _levels(cooling, sizes["over_load"].to_numpy(float), sizes)
        here = float(sizes["over_load"].to_numpy()[sizes.index.get_loc(1.0)])
        cooling.axvline(here, color="#333333", lw=1.2, ls="--", label="as described")
        cooling.legend(
            handles=cooling.get_lines()[-1:], frameon=False, fontsize=STYLE_SIZE - 1.0, loc="best"
        )
    cooling.set_title("Hours above a humidity, by cooling", loc="left", fontsize=STYLE_SIZE)
    cooling.set_xlabel(
        f"capacity over load, {sizing.conditions[HOT].words}", fontsize=STYLE_SIZE - 1.0
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
    t = style.temperature(sizing.room.temperature, units)
    room = f"{t:.0f} °F" if units == "us" else f"{t:.1f} °C"
    figure.suptitle(
        f"{style.place(sizing.study, units)}\nheld at {room} "
        f"and {sizing.room.rh:.0f} % RH: loads, and sizes over the season",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _loads(ax: Axes, table: pd.DataFrame, sizing: Sizing) -> None:
    """A bar a source and condition, the total last."""
    chosen = sizing.conditions
    sources = [s for s in sizing.loads.loc[next(iter(chosen))].index if s != "total"]
    longest = float(table.abs().to_numpy().max())
    shown = [s for s in sources if (table.loc[s].abs() >= SMALL * longest).any()] + ["total"]
    place = np.arange(len(shown))[::-1].astype(float)
    height = 0.8 / len(chosen)
    for k, (name, condition) in enumerate(chosen.items()):
        ax.barh(
            place + 0.4 - height * (k + 0.5), table.loc[shown, name].to_numpy(float), height=height,
            color=CONDITION_COLORS[name], label=condition.words,
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
            label=f"above {level} % RH", clip_on=False,
        )  # fmt: skip


def _marks(ax: Axes, sizing: Sizing, pints: float, *, named: bool) -> None:
    """The two answers as upright lines."""
    for size, words, dashes in (
        (sizing.enough, "more stops helping", "--"),
        (sizing.rated, "greatest need", ":"),
    ):
        if size is None or not np.isfinite(size):
            continue
        ax.axvline(pints * size, color="#333333", lw=1.2, ls=dashes)
        if named:
            ax.plot([], [], color="#333333", lw=1.2, ls=dashes, label=words)
    if named:
        ax.legend(frameon=False, fontsize=STYLE_SIZE - 1.0, loc="lower right")
