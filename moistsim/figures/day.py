"""One day by the minute: humidity, temperatures and electric power with each option."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import Fix, InputError, Problem
from moistsim.core.units import Role
from moistsim.engine import END_USES, column_catalog
from moistsim.figures import style
from moistsim.figures.season import VISIBLE
from moistsim.figures.style import END_USE_COLORS, HUMID, LIMIT, OUTDOORS, Context, Drawn
from moistsim.season import Season
from moistsim.study import Comparison

ON_A_SLIDE = 3
"""Maximum number of options on a slide."""


def day_figure(
    comparison: Comparison, day: str | None = None, units: Units | None = None, *,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw one day by the minute: RH and temperatures of all options, then the power of each.

    RH and temperatures of all options have one panel each, in the colors of their main machines.
    Each option has a panel of electric power by end use, which shows when its machines run. A page
    has the panels below one another. A slide leaves the temperatures out, and has letters and
    panels that a class can read.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned. ``comparison.only("today", "dehumidifier")`` is one option
        against one.
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; by default `Comparison.mild_humid_day`, or the most humid day
        indoors if the season has none.
    units : {"us", "si"}, optional
        Units of temperatures, water and floor area; default: those of `set_units`.
    ax : list of Axes, optional
        In place of a page: one for RH, one for temperatures, and one for the power of each option.
        On a slide there is none for temperatures.
    context : {"paper", "slide"}
        A page, or a slide of up to three options.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, if the season has no such day, or if the options are
        too many for a slide.

    Examples
    --------
    >>> figure = ms.figures.day_figure(study.run(), "06-15").savefig("day.png")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    chosen, kind = (day, "") if day is not None else _day(comparison)
    minutes = {name: season.minutes(chosen) for name, season in comparison.seasons.items()}
    seasons, looks, n = comparison.seasons, style.option_looks(comparison), len(minutes)
    if context == "slide" and n > ON_A_SLIDE:
        first, last = list(minutes)[0], list(minutes)[-1]
        raise InputError(
            "day_figure context",
            Problem(f"a slide has room for {ON_A_SLIDE} options, not {n}"),
            Fix(f"Draw comparison.only({first!r}, {last!r}), or use context='paper'."),
        )
    powers = [f"power {k}" for k in range(n)]
    with style.sheet("day_figure", context, ax) as page:
        if page.slide:
            panels = page.mosaic([["rh"] * n, powers], height=0.0, height_ratios=[1.3, 1.0])
        else:
            panels = page.mosaic(
                [["rh"], ["t"], *([name] for name in powers)], height=4.4 + 0.95 * n,
                height_ratios=[1.7, 1.7, *[1.0] * n],
            )  # fmt: skip
        _humidity(panels["rh"], minutes, looks)
        if "t" in panels:
            _temperatures(panels["t"], seasons, minutes, looks, show)
        most = max(float(frame["power_kW"].max()) for frame in minutes.values())
        for name, (option, frame) in zip(powers, minutes.items(), strict=True):
            panel, label = panels[name], _label(frame, seasons[option], show)
            _power(panel, _hours(frame), frame)
            panel.set_ylim(0.0, 1.05 * most or 1.0)
            if page.slide:
                style.name_panel(panel, option, label, page.width(n) - 0.9)
            else:
                style.name_panel(panel, f"{option}: {label}", "", page.width() - 1.0)
        for name, panel in panels.items():
            panel.set_xticks([0, 6, 12, 18, 24])
            panel.set_xlim(0.0, 24.0)
            panel.grid(axis="x")
            style.plain(panel)
            if page.slide or name == powers[-1]:
                panel.set_xlabel("" if name == "rh" else "Hour of the day")
            elif ax is None:
                panel.tick_params(labelbottom=False)
            if not page.slide or name in ("rh", powers[0]):
                panel.set_ylabel(panel.get_ylabel() or ("Power, kW" if n < 5 else "kW"))
        totals = [
            pd.Series(
                {use: column_catalog.in_both_systems(frame, f"{use}_kWh").sum() for use in END_USES}
            )
            for frame in minutes.values()
        ]
        # On a slide, the legend has what a class can see from its seats.
        least = VISIBLE if page.slide else 0.0
        used = [
            use
            for use in style.end_uses_of(totals)
            if any(one[use] > least * one.sum() for one in totals)
        ]
        key: list[Any] = [
            Line2D([], [], color=color, ls=dash, lw=2.0, label=option)
            for option, (color, dash) in looks.items()
        ]
        if "t" in panels:
            key += [
                Line2D([], [], color=OUTDOORS, lw=1.6, label="Outdoor temperature"),
                Line2D([], [], color=OUTDOORS, lw=1.6, ls=(0, (1, 1)), label="Outdoor dew point"),
            ]
        key += [
            Patch(color=END_USE_COLORS[use], label=column_catalog.USES[use].label) for use in used
        ]
        first = next(iter(minutes.values())).index[0]
        return page.done(
            _finding(comparison, minutes, show.day(first)),
            f"{style.place(comparison.study, show)}. {show.day(first)}{kind}, minute by minute "
            "(standard time)",
            alt=_alt(minutes, seasons, show),
            key=key,
        )


def _day(comparison: Comparison) -> tuple[str, str]:
    """A mild, humid day, or the most humid one indoors, with its kind in words."""
    try:
        return comparison.mild_humid_day(), ", a mild, humid day"
    except InputError:
        rh = comparison.seasons[comparison.base].hourly["indoor_rh_pct"]
        worst = rh.groupby(pd.DatetimeIndex(rh.index).date).mean().idxmax()
        return str(worst), ", the most humid day indoors (no day is mild)"


def _hours(frame: pd.DataFrame) -> NDArray[np.float64]:
    return np.arange(len(frame), dtype=np.float64) * (24.0 / len(frame))


def _kwh(frame: pd.DataFrame) -> float:
    return float(frame["power_kW"].sum()) * 24.0 / len(frame)


def _finding(comparison: Comparison, minutes: dict[str, pd.DataFrame], when: str) -> str:
    """Highest RH and electricity of the base option and of the driest one."""

    def words(name: str) -> str:
        frame = minutes[name]
        return (
            f"{style.quoted(name)} reaches {frame['indoor_rh_pct'].max():.0f}\xa0% RH with "
            f"{number(_kwh(frame), 1)}\xa0kWh"
        )

    mean = {name: float(frame["indoor_rh_pct"].mean()) for name, frame in minutes.items()}
    best = min(mean, key=lambda name: mean[name])
    pair = dict.fromkeys((comparison.base, best))
    if len(minutes) == 2:
        pair |= dict.fromkeys(minutes)
    return f"{when}: " + ", ".join(words(name) for name in pair)


def _alt(minutes: dict[str, pd.DataFrame], seasons: dict[str, Season], show: Show) -> str:
    said = []
    for name, frame in minutes.items():
        rh = frame["indoor_rh_pct"]
        label = _label(frame, seasons[name], show)
        said.append(f"{name}: RH {rh.min():.0f} to {rh.max():.0f} %, {label}")
    return "; ".join(said)


def _humidity(
    ax: Axes, minutes: dict[str, pd.DataFrame], looks: dict[str, tuple[str, Any]]
) -> None:
    for name, frame in minutes.items():
        color, dash = looks[name]
        ax.plot(_hours(frame), frame["indoor_rh_pct"], color=color, ls=dash, lw=2.2)
    ax.axhline(HUMID, color=LIMIT, lw=1.0)
    low, high = ax.get_ylim()
    ax.set_ylim(min(low, 40.0), max(high, 65.0))
    _name_line(ax, HUMID, f"{HUMID:g} % RH")
    ax.set_ylabel("Indoor\nRH, %")


def _temperatures(
    ax: Axes, seasons: dict[str, Season], minutes: dict[str, pd.DataFrame],
    looks: dict[str, tuple[str, Any]], show: Show,
) -> None:  # fmt: skip
    name, frame = next(iter(minutes.items()))
    pressure = seasons[name].weather.frame["pressure"].reindex(frame.index, method="ffill")
    vapor = air.over(
        air.vapor_pressure, frame["outdoor_humidity_ratio"].to_numpy(float), pressure.to_numpy()
    )
    for values, dash in (
        (frame["outdoor_temperature_C"].to_numpy(float), "-"),
        (air.over(air.dew_point, vapor), (0, (1, 1))),
    ):
        ax.plot(_hours(frame), show.value(values, "temperature"), color=OUTDOORS, lw=1.6, ls=dash)
    for name, frame in minutes.items():
        color, dash = looks[name]
        indoor = show.value(frame["indoor_temperature_C"].to_numpy(float), "temperature")
        ax.plot(_hours(frame), indoor, color=color, ls=dash, lw=2.2)
    setpoints = {season.strategy.setpoint(Role.COOLING) for season in seasons.values()} - {None}
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + 0.06 * (high - low))
    if len(setpoints) == 1:
        at = float(show.value(setpoints.pop(), "temperature"))
        ax.axhline(at, color=LIMIT, lw=1.0)
        _name_line(ax, at, f"cooling setpoint {at:.0f} {show.unit('temperature')}")
    ax.set_ylabel(f"Temperature,\n{show.unit('temperature')}")


def _name_line(ax: Axes, at: float, words: str) -> None:
    """Write a limit's name on its line, at the left edge, where most days are quiet."""
    ax.annotate(
        words, (0.0, at), xytext=(3.0, 1.5), textcoords="offset points", va="bottom",
        fontsize="small", color=LIMIT,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.7, "pad": 0.5},
    )  # fmt: skip


def _label(frame: pd.DataFrame, season: Season, show: Show) -> str:
    removed = (column_catalog.COIL_WATER, column_catalog.DEHUMIDIFIER_WATER)
    columns = (column for measure in removed for column in measure.columns)
    water = -sum(float(column_catalog.in_both_systems(frame, name).sum()) for name in columns)
    return f"{number(_kwh(frame), 1)} kWh, {show(water, 'water', 1)} of water removed"


def _power(ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame) -> None:
    base = np.zeros(len(frame))
    # Power is energy over the step, and the steps are even.
    per_hour = 1.0 / float(hours[1] - hours[0])
    for use in END_USES:
        power = column_catalog.in_both_systems(frame, f"{use}_kWh").to_numpy(float) * per_hour
        if power.any():
            ax.fill_between(hours, base, base + power, step="post", color=END_USE_COLORS[use], lw=0)
            # A white line parts neighbors.
            parted = np.where((base > 0.0) & (power > 0.0), base, np.nan)
            ax.step(hours, parted, where="post", color="white", lw=0.6)
            base = base + power
