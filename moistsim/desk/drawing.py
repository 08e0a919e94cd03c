"""The two pictures that move with the knobs: the season, and one day by the step.

They are drawn ten times a second, so each has one set of axes, fixed margins and no search for a
layout. The figures of `moistsim.figures`, with more in them, take ten times as long.
"""

import threading
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib import dates, rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moistsim.core.display import Show, duration, number
from moistsim.figures import style
from moistsim.report import address
from moistsim.study import Comparison

_ONE_AT_A_TIME = threading.Lock()
"""Settings of matplotlib belong to the whole process, in which each browser has a thread."""

_SETTINGS: Any = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 11.0,
    "text.parse_math": False,
}


class Drawing(NamedTuple):
    """A picture as an address, with its content in words."""

    source: str
    alternative: str


def season_drawing(comparison: Comparison, *, narrow: bool = False) -> Drawing:
    """Daily mean of indoor relative humidity through the season, a line for each option.

    Parameters
    ----------
    comparison : Comparison
    narrow : bool
        Whether to draw for a phone.
    """
    mark = comparison.study.goal.above_rh
    said = []
    with _ONE_AT_A_TIME, rc_context(_SETTINGS):
        figure, (ax,) = _panels(1, 2.1, narrow=narrow)
        looks = style.option_looks(comparison)
        for name, season in comparison.seasons.items():
            hourly = season.hourly["indoor_rh_pct"]
            rh = hourly.to_numpy(float)
            days = rh[: len(rh) // 24 * 24].reshape(-1, 24).mean(axis=1)
            index = pd.DatetimeIndex(hourly.index)[: 24 * len(days) : 24]
            color, dash = looks[name]
            ax.plot(index.to_numpy(), days, color=color, ls=dash, lw=1.5)
            said.append(f"{name}: daily means from {days.min():.0f} to {days.max():.0f} %")
        _limit(ax, mark)
        low, high = ax.get_ylim()
        ax.set_ylim(min(low, 35.0), max(high, 70.0))
        months: Any = dates
        ax.xaxis.set_major_locator(months.MonthLocator(interval=2 if narrow else 1))
        ax.xaxis.set_major_formatter(months.DateFormatter("%b"))
        ax.margins(x=0.01)
        _heading(ax, "Indoor relative humidity, mean of each day, %")
        source = address(figure)
    return Drawing(source, f"Indoor relative humidity through the season. {'; '.join(said)}.")


def day_drawing(comparison: Comparison, day: str, show: Show, *, narrow: bool = False) -> Drawing:
    """Indoor relative humidity, temperature and electric power of one day, step by step.

    Parameters
    ----------
    comparison : Comparison
    day : str
        "YYYY-MM-DD".
    show : Show
    narrow : bool
        Whether to draw for a phone.
    """
    mark = comparison.study.goal.above_rh
    minutes = {name: season.minutes(day) for name, season in comparison.seasons.items()}
    step = next(iter(comparison.seasons.values())).step
    said = []
    with _ONE_AT_A_TIME, rc_context(_SETTINGS):
        figure, axes = _panels(3, 1.25, narrow=narrow)
        looks = style.option_looks(comparison)
        first = next(iter(minutes.values()))
        hours = np.arange(len(first)) * step / 3600.0
        outdoor = first["outdoor_temperature_C"].to_numpy(float)
        axes[1].plot(hours, show.value(outdoor, "temperature"), color=style.OUTDOORS, lw=1.2)
        for name, frame in minutes.items():
            color, dash = looks[name]
            line: dict[str, Any] = {"color": color, "ls": dash, "lw": 1.4}
            rh, power = frame["indoor_rh_pct"].to_numpy(float), frame["power_kW"].to_numpy(float)
            room = frame["indoor_temperature_C"].to_numpy(float)
            axes[0].plot(hours, rh, **line)
            axes[1].plot(hours, show.value(room, "temperature"), **line)
            axes[2].plot(hours, power, drawstyle="steps-post", **line)
            kwh = power.sum() * step / 3600.0
            said.append(
                f"{name}: {rh.min():.0f} to {rh.max():.0f} % relative humidity, "
                f"{number(kwh, 1)} kWh"
            )
        _limit(axes[0], mark)
        for ax, words in zip(
            axes,
            (
                "Indoor relative humidity, %",
                f"Temperature indoors, and outdoors in gray, {show.unit('temperature')}",
                "Electric power of all machines, kW",
            ),
            strict=True,
        ):
            _heading(ax, words)
            ax.set_xlim(0.0, 24.0)
            ax.set_xticks(range(0, 25, 3))
        axes[2].set_ylim(0.0, None)
        axes[2].set_xlabel("Hour of the day, standard time")
        source = address(figure)
    words = f"{show.day(first.index[0])} by steps of {duration(step)}"
    return Drawing(source, f"{words}. {'; '.join(said)}.")


_TITLE, _TICKS, _LABEL, _LEFT, _RIGHT = 0.32, 0.3, 0.25, 0.48, 0.12
"""Room around a panel, inches."""


def _panels(n: int, height: float, *, narrow: bool) -> tuple[Figure, list[Axes]]:
    """A figure with panels of one height, inches, one above the other; the first is on top."""
    width, each = 4.4 if narrow else 8.0, _TITLE + height + _TICKS
    below = _LABEL if n > 1 else 0.0
    whole = n * each + below
    figure = Figure(figsize=(width, whole))
    left, right = _LEFT / width, 1.0 - _RIGHT / width
    axes = [
        figure.add_axes((left, (below + k * each + _TICKS) / whole, right - left, height / whole))
        for k in reversed(range(n))
    ]
    return figure, axes


def _limit(ax: Axes, mark: float) -> None:
    ax.axhline(mark, color=style.LIMIT, lw=1.0, ls="--")


def _heading(ax: Axes, words: str) -> None:
    ax.set_title(words, loc="left", fontsize=11.0)
    ax.grid(axis="both", color="#dddddd", lw=0.7)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.set_axisbelow(True)


def sample(color: str, dash: Any) -> str:
    """A short line in an option's color and dashes, as SVG."""
    gaps = "" if dash == "-" else ",".join(str(3.0 * part) for part in dash[1])
    return (
        '<svg width="34" height="10" aria-hidden="true"><line x1="0" y1="5" x2="34" y2="5" '
        f'stroke="{color}" stroke-width="4"'
        + (f' stroke-dasharray="{gaps}"' if gaps else "")
        + "/></svg>"
    )


def line_samples(comparison: Comparison) -> dict[str, str]:
    """The sample of each option's line."""
    return {name: sample(*look) for name, look in style.option_looks(comparison).items()}
