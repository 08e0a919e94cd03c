"""The two pictures that move with the knobs: the season, and one day by the step.

They are drawn several times a second. So each has fixed margins, and its axes and lines stay from one
picture to the next. The figures of `moistsim.figures`, with more in them, take ten times as long.
"""

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib import dates, rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

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
_TITLE, _TICKS, _LABEL, _LEFT, _RIGHT = 0.32, 0.3, 0.25, 0.48, 0.12
"""Room around a panel, inches."""
_OUTDOORS = ""
"""Name of the line of the outdoor temperature: no option can have it."""


class Drawing(NamedTuple):
    """A picture as an address, with its content in words."""

    source: str
    alternative: str


class _Sheet:
    """A figure of panels one above the other, whose lines move."""

    def __init__(self, titles: tuple[str, ...], height: float, *, narrow: bool) -> None:
        n = len(titles)
        width, each = 4.4 if narrow else 8.0, _TITLE + height + _TICKS
        below = _LABEL if n > 1 else 0.0
        whole = n * each + below
        self.figure = Figure(figsize=(width, whole))
        left, right = _LEFT / width, 1.0 - _RIGHT / width
        self.axes = [
            self.figure.add_axes(
                (left, (below + k * each + _TICKS) / whole, right - left, height / whole)
            )
            for k in reversed(range(n))
        ]
        self._lines: dict[tuple[int, str], Any] = {}
        for ax, words in zip(self.axes, titles, strict=True):
            ax.set_title(words, loc="left", fontsize=11.0)
            ax.grid(axis="both", color="#dddddd", lw=0.7)
            ax.set_axisbelow(True)
            for side in ("top", "right"):
                ax.spines[side].set_visible(False)

    def line(self, panel: int, name: str, x: Any, y: NDArray[np.float64], **look: Any) -> None:
        """Draw a line, or move it."""
        key = panel, name
        if key in self._lines:
            self._lines[key].set_data(x, y)
        else:
            (self._lines[key],) = self.axes[panel].plot(x, y, **look)

    def heights(self, panel: int) -> tuple[float, float]:
        """Lowest and highest value of a panel's lines."""
        values = [line.get_ydata() for (place, _), line in self._lines.items() if place == panel]
        return min(float(y.min()) for y in values), max(float(y.max()) for y in values)


class Drawings:
    """The pictures of one browser."""

    def __init__(self) -> None:
        self._sheets: dict[str, tuple[Any, _Sheet]] = {}

    @contextmanager
    def _sheet(
        self,
        name: str,
        titles: tuple[str, ...],
        height: float,
        looks: Mapping[str, Any],
        mark: float,
        *,
        narrow: bool,
    ) -> Iterator[tuple[_Sheet, bool]]:
        """The sheet of that name, and whether it is new. Another set of options has a new one."""
        key = (titles, tuple(looks.items()), mark, narrow)
        with _ONE_AT_A_TIME, rc_context(_SETTINGS):
            is_new = name not in self._sheets or self._sheets[name][0] != key
            if is_new:
                self._sheets[name] = key, _Sheet(titles, height, narrow=narrow)
                sheet = self._sheets[name][1]
                sheet.axes[0].axhline(mark, color=style.LIMIT, lw=1.0, ls="--")
            yield self._sheets[name][1], is_new

    def season(self, comparison: Comparison, *, narrow: bool = False) -> Drawing:
        """Daily mean of indoor relative humidity through the season, a line for each option.

        Parameters
        ----------
        comparison : Comparison
        narrow : bool
            Whether to draw for a phone.
        """
        mark, looks, said = comparison.study.goal.above_rh, style.option_looks(comparison), []
        titles = ("Indoor relative humidity, mean of each day, %",)
        with self._sheet("season", titles, 2.1, looks, mark, narrow=narrow) as (sheet, is_new):
            ax = sheet.axes[0]
            for name, season in comparison.seasons.items():
                hourly = season.hourly["indoor_rh_pct"]
                rh = hourly.to_numpy(float)
                means = rh[: len(rh) // 24 * 24].reshape(-1, 24).mean(axis=1)
                index = pd.DatetimeIndex(hourly.index)[: 24 * len(means) : 24].to_numpy()
                color, dash = looks[name]
                sheet.line(0, name, index, means, color=color, ls=dash, lw=1.5)
                said.append(f"{name}: daily means from {means.min():.0f} to {means.max():.0f} %")
            low, high = sheet.heights(0)
            ax.set_ylim(min(low - 2.0, 35.0), max(high + 2.0, 70.0))
            ax.set_xlim(index[0], index[-1])
            if is_new:
                _month_axis(ax, len(means), narrow=narrow)
            source = address(sheet.figure)
        return Drawing(source, f"Indoor relative humidity through the season. {'; '.join(said)}.")

    def day(self, comparison: Comparison, day: str, show: Show, *, narrow: bool = False) -> Drawing:
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
        mark, looks, said = comparison.study.goal.above_rh, style.option_looks(comparison), []
        minutes = {name: season.minutes(day) for name, season in comparison.seasons.items()}
        step = next(iter(comparison.seasons.values())).step
        first = next(iter(minutes.values()))
        hours = np.arange(len(first)) * step / 3600.0
        titles = (
            "Indoor relative humidity, %",
            f"Temperature indoors, and outdoors in gray, {show.unit('temperature')}",
            "Electric power of all machines, kW",
        )
        with self._sheet("day", titles, 1.25, looks, mark, narrow=narrow) as (sheet, is_new):
            outdoor = show.value(first["outdoor_temperature_C"].to_numpy(float), "temperature")
            sheet.line(1, _OUTDOORS, hours, outdoor, color=style.OUTDOORS, lw=1.2)
            for name, frame in minutes.items():
                color, dash = looks[name]
                look: dict[str, Any] = {"color": color, "ls": dash, "lw": 1.4}
                rh, power = (
                    frame["indoor_rh_pct"].to_numpy(float),
                    frame["power_kW"].to_numpy(float),
                )
                room = show.value(frame["indoor_temperature_C"].to_numpy(float), "temperature")
                sheet.line(0, name, hours, rh, **look)
                sheet.line(1, name, hours, room, **look)
                sheet.line(2, name, hours, power, drawstyle="steps-post", **look)
                kwh = power.sum() * step / 3600.0
                said.append(
                    f"{name}: {rh.min():.0f} to {rh.max():.0f} % relative humidity, "
                    f"{number(kwh, 1)} kWh"
                )
            for panel, ax in enumerate(sheet.axes):
                low, high = sheet.heights(panel)
                least = (min(low, mark), low, 0.0)[panel]
                most = (max(high, mark), high, max(high, 1.0))[panel]
                room_above = 0.06 * (most - least) + 0.1
                ax.set_ylim(least - (room_above if panel < 2 else 0.0), most + room_above)
                if is_new:
                    ax.set_xlim(0.0, 24.0)
                    ax.set_xticks(range(0, 25, 3))
            if is_new:
                sheet.axes[2].set_xlabel("Hour of the day, standard time")
            source = address(sheet.figure)
        words = f"{show.day(first.index[0])} by steps of {duration(step)}"
        return Drawing(source, f"{words}. {'; '.join(said)}.")


def _month_axis(ax: Axes, days: int, *, narrow: bool) -> None:
    found: Any = dates
    if days > 70:
        ax.xaxis.set_major_locator(found.MonthLocator(interval=2 if narrow and days > 200 else 1))
        ax.xaxis.set_major_formatter(found.DateFormatter("%b"))
    else:
        ax.xaxis.set_major_locator(found.AutoDateLocator(maxticks=5 if narrow else 9))
        ax.xaxis.set_major_formatter(found.DateFormatter("%b %d"))


def line_samples(comparison: Comparison) -> dict[str, str]:
    """A short line in each option's color and dashes, as SVG."""
    return {name: _sample(*look) for name, look in style.option_looks(comparison).items()}


def _sample(color: str, dash: Any) -> str:
    gaps = "" if dash == "-" else ",".join(str(3.0 * part) for part in dash[1])
    return (
        '<svg width="34" height="10" aria-hidden="true"><line x1="0" y1="5" x2="34" y2="5" '
        f'stroke="{color}" stroke-width="4"'
        + (f' stroke-dasharray="{gaps}"' if gaps else "")
        + "/></svg>"
    )
