"""One cycle of the compressor: the coil gets wet, drips, and dries back into the house."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.patches import Patch
from numpy.typing import NDArray

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.figures import style
from moistsim.figures.style import (
    END_USE_COLORS,
    LIMIT,
    MACHINE_COLORS,
    OUTDOORS,
    TOO_HUMID,
    Context,
    Drawn,
)
from moistsim.season import Season

LONGEST_OFF = 45.0
"""Longest time shown after the compressor stops, minutes."""
CONDENSING, DRIPPING, DRYING = (
    MACHINE_COLORS["cooling alone"],
    END_USE_COLORS["indoor_fan"],
    TOO_HUMID,
)


class Cycle(NamedTuple):
    """A run of the compressor and the time until the next one, step by step."""

    minutes: NDArray[np.float64]
    """Start of each step, counted from the start of the run."""
    on: NDArray[np.bool_]
    """Whether the compressor runs."""
    condensed: NDArray[np.float64]
    """Water that condenses in each step, kg."""
    drained: NDArray[np.float64]
    """Water that drips into the drain in each step, kg."""
    returned: NDArray[np.float64]
    """Water that evaporates from the idle coil in each step, kg."""
    held: NDArray[np.float64]
    """Water on the coil at the end of each step, kg."""
    start: pd.Timestamp
    """Start of the run."""


def cycle_figure(
    season: Season,
    day: str | None = None,
    *,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw one run of the compressor step by step: wetting, dripping, and drying after it stops.

    Of the day's runs with another one after them, the one of median length is shown, until the next
    run starts or for 45 minutes. The upper panel has the water on the coil, the lower one the rates
    at which water condenses, drips into the drain, and evaporates back into the house. A season with
    ``step="10 s"`` shows a cycle by seconds.

    Parameters
    ----------
    season : Season
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; default: the mild humid day (`Season.mild_humid_day`).
    units : {"us", "si"}, optional
        Pints and pints an hour, or liters; default: those of `set_units`.
    ax : list of two Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If the season has no such day, or the compressor does not cycle on it.

    Examples
    --------
    >>> figure = ms.figures.cycle_figure(season, "06-15")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    day = season.mild_humid_day() if day is None else day
    cycle = cycle_of(season, day)
    width = season.step / 60.0
    edges = np.append(cycle.minutes, cycle.minutes[-1] + width)
    stop = float(cycle.minutes[cycle.on].max()) + width
    dripping = cycle.minutes[cycle.drained > 0.0]
    drips = float(dripping.min()) if len(dripping) else stop

    def rate(amount: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(show.value(amount, "water")) * 60.0 / width

    unit = show.unit("water")
    with style.sheet("cycle_figure", context, ax) as page:
        axes = page.panels(2, height=4.9, link_x=True, height_ratios=[1.0, 1.2])
        held, rates = axes[:, 0]
        water = show.value(np.concatenate([[held_before(cycle)], cycle.held]), "water")
        held.fill_between(edges, 0.0, water, color=DRIPPING, lw=0)
        held.set_ylabel(f"{unit.capitalize()} held")
        held.set_ylim(0.0, 1.45 * float(water.max()) or 1.0)
        rates.stairs(rate(cycle.drained), edges, color=DRIPPING, fill=True)
        rates.stairs(-rate(cycle.returned), edges, color=DRYING, fill=True)
        rates.stairs(rate(cycle.condensed), edges, color=CONDENSING, lw=2.0, baseline=None)
        rates.axhline(0.0, color=LIMIT, lw=0.8)
        rates.set_ylabel(f"{unit.capitalize()} an hour")
        rates.set_xlabel("Minutes since the compressor started")
        rates.set_xlim(0.0, edges[-1])
        for panel in (held, rates):
            panel.axvspan(0.0, stop, color=OUTDOORS, alpha=0.2, lw=0, zorder=0)
            style.plain(panel)
            panel.grid(axis="y")
        names = [("wetting", 0.0, drips), ("dripping", drips, stop), ("drying", stop, edges[-1])]
        for name, begin, end in names:
            if end > begin:
                narrow = end - begin < 0.12 * edges[-1]
                held.annotate(
                    name, (0.5 * (begin + end), 0.97), xycoords=("data", "axes fraction"),
                    ha="center", va="top", fontsize="small" if narrow else "medium",
                    fontweight="bold", rotation=90.0 if narrow else 0.0,
                )  # fmt: skip
        made, back, out = (
            float(show.value(each.sum(), "water"))
            for each in (cycle.condensed, cycle.returned, cycle.drained)
        )
        digits = 2
        share = 100.0 * back / made if made else 0.0
        title = (
            f"Of {number(made, digits)} {unit} condensed in {number(stop)} minutes, "
            f"{number(out, digits)} drips into the drain and {number(back, digits)} "
            f"({number(share)}\xa0%) goes back to the house"
        )
        return page.done(
            title if made else "The coil stays dry in this run",
            f"{style.place(season, show)}. {show.day(cycle.start)}, {cycle.start:%H:%M} standard time, "
            f"step {season.step:g} s; gray: the compressor runs",
            alt="Upper panel: water on the coil. Lower panel: rates of condensing, dripping and evaporating",
            key=[
                Patch(color=CONDENSING, label="condenses on the coil"),
                Patch(color=DRIPPING, label="drips into the drain (above: on the coil)"),
                Patch(color=DRYING, label="evaporates back (below zero)"),
            ],
        )  # fmt: skip


def held_before(cycle: Cycle) -> float:
    """Water on the coil as the run starts, kg."""
    first = cycle.condensed[0] - cycle.drained[0] - cycle.returned[0]
    return max(float(cycle.held[0] - first), 0.0)


def cycle_of(season: Season, day: str) -> Cycle:
    """The day's run of median length, with the time until the next run or `LONGEST_OFF`.

    Raises
    ------
    InputError
        If the season has no such day, or the compressor does not cycle on it.
    """
    frame = season.minutes(day)
    on = frame["cooling_stage"].to_numpy(float) > 0.0
    turns = np.flatnonzero(np.diff(on.astype(int))) + 1
    starts = turns[on[turns]]
    # A run that starts and ends on the day, with another one after it.
    runs = [
        (int(first), int(turns[turns > first][0]), int(following))
        for first, following in zip(starts, starts[1:], strict=False)
    ]
    if not runs:
        raise InputError(
            "cycle_figure day",
            Problem(f"no two runs of the compressor on {day}"),
            "a day on which it cycles",
        )
    order = sorted(runs, key=lambda run: (run[1] - run[0], run[0]))
    first, stop, following = order[(len(order) - 1) // 2]
    end = min(following, stop + round(LONGEST_OFF * 60.0 / season.step))
    condensed, drained, returned = (
        np.abs(each.to_numpy(float))
        for each in (
            frame["water_coil_kg"], frame["water_drained_kg"], frame["water_reevaporated_kg"]
        )
    )  # fmt: skip
    hourly = season.hourly["coil_water_kg"]
    gained = np.cumsum(condensed - drained - returned)
    # The state is known at the end of each hour, here of the day's first one.
    steps = round(3600.0 / season.step)
    before = float(hourly.loc[frame.index[0]]) - gained[steps - 1]
    held = before + gained
    rows = slice(first, end)
    minutes = np.arange(end - first, dtype=np.float64) * (season.step / 60.0)
    return Cycle(
        minutes, on[rows], condensed[rows], drained[rows], returned[rows], held[rows],
        frame.index[first],
    )  # fmt: skip
