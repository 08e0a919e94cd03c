"""One day by the minute, for each option."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import Show, Units, check_units, number
from moistsim.core.units import Role
from moistsim.engine import END_USES, column_catalog
from moistsim.figures import style
from moistsim.figures.style import (
    END_USE_COLORS,
    HUMID,
    LIMIT,
    OUTDOORS,
    ROOM,
    STYLE_SIZE,
    Page,
)
from moistsim.season import Season
from moistsim.study import Comparison


def day_figure(comparison: Comparison, day: str | None = None, units: Units = "us") -> Figure:
    """Draw one day by the minute, one column for each option.

    Rows from the top: temperatures and dew points indoors and outdoors; indoor RH; the machines
    that run, one lane each, with a step for each stage; electric power by end use.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; by default `Comparison.mild_humid_day`.
    units : {"us", "si"}
        Units of temperatures, water and floor area.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.day_figure(study.run(), "06-15").savefig("day.png")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    chosen = comparison.mild_humid_day() if day is None else day
    minutes = {name: season.minutes(chosen) for name, season in comparison.seasons.items()}
    n = len(minutes)
    # A screen scales down a wider figure and its letters.
    width = min(3.6 * n + 2.6, 17.0)
    figure = Page(figsize=(width, 10.5), layout="constrained")
    axes: Any = figure.subplots(
        4,
        n,
        sharex=True,
        sharey="row",
        squeeze=False,
        gridspec_kw={"height_ratios": [1.25, 0.9, 0.8, 1.1]},
    )
    lanes = _lanes(comparison, minutes)
    for column, (name, frame) in zip(axes.T, minutes.items(), strict=True):
        season = comparison.seasons[name]
        hours = np.arange(len(frame), dtype=np.float64) * (season.step / 3600.0)
        style.title(
            column[0], name, _day_label(frame, season, show), round(9.0 * (width - 1.5) / n)
        )
        _temperatures(column[0], hours, frame, season, show)
        column[1].plot(hours, frame["indoor_rh_pct"], color=ROOM, lw=1.8)
        column[1].axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
        _lane_steps(column[2], hours, frame, lanes)
        _power(column[3], hours, frame)
        column[3].set_xticks([0, 6, 12, 18, 24])
        column[3].set_xlim(0.0, 24.0)
        column[3].set_xlabel("Hour of the day (standard time)", fontsize=STYLE_SIZE)
        for ax in column:
            ax.grid(axis="x", color="#dddddd", lw=0.7)
            style.plain(ax)
    low, high = axes[1, 0].get_ylim()
    axes[1, 0].set_ylim(min(low, 40.0), max(high, 65.0))
    axes[3, 0].set_ylim(0.0, None)
    labels = {
        0: f"Temperature, {show.unit('temperature')}",
        1: "Indoor RH, %",
        3: "Electric power, kW",
    }
    for row, text in labels.items():
        axes[row, 0].set_ylabel(text, fontsize=STYLE_SIZE)
    figure.align_ylabels([axes[row, 0] for row in labels])
    used = style.end_uses_of(
        pd.Series(
            {use: column_catalog.in_both_systems(frame, f"{use}_kWh").sum() for use in END_USES}
        )
        for frame in minutes.values()
    )
    style.legend(
        figure,
        [
            Line2D([], [], color=ROOM, lw=1.8, label="Indoor temperature"),
            Line2D([], [], color=ROOM, lw=1.8, ls=":", label="Indoor dew point"),
            Line2D([], [], color=OUTDOORS, lw=1.8, label="Outdoor temperature"),
            Line2D([], [], color=OUTDOORS, lw=1.8, ls=":", label="Outdoor dew point"),
            Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=f"Cooling setpoint; {HUMID:g} % RH"),
            *(
                Patch(color=END_USE_COLORS[use], label=column_catalog.USES[use].label)
                for use in used
            ),
        ],
    )
    first = next(iter(minutes.values())).index[0]
    figure.suptitle(
        f"{style.place(comparison.study, show)}\n{show.day(first)}, minute by minute",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _temperatures(
    ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame, season: Season, show: Show
) -> None:
    pressure = season.weather.frame["pressure"].reindex(frame.index, method="ffill")
    vapor = air.over(
        air.vapor_pressure, frame["outdoor_humidity_ratio"].to_numpy(float), pressure.to_numpy()
    )
    outdoor_dew_point = air.over(air.dew_point, vapor)
    for values, color, dash in (
        (frame["outdoor_temperature_C"].to_numpy(float), OUTDOORS, "-"),
        (outdoor_dew_point, OUTDOORS, ":"),
        (frame["indoor_temperature_C"].to_numpy(float), ROOM, "-"),
        (frame["indoor_dew_point_C"].to_numpy(float), ROOM, ":"),
    ):
        ax.plot(hours, show.value(values, "temperature"), color=color, lw=1.8, ls=dash)
    setpoint = season.strategy.setpoint(Role.COOLING)
    if setpoint is not None:
        ax.axhline(float(show.value(setpoint, "temperature")), color=LIMIT, lw=1.0, ls="--")


def _day_label(frame: pd.DataFrame, season: Season, show: Show) -> str:
    removed = (column_catalog.COIL_WATER, column_catalog.DEHUMIDIFIER_WATER)
    columns = (column for measure in removed for column in measure.columns)
    water = -sum(float(column_catalog.in_both_systems(frame, name).sum()) for name in columns)
    kwh = float(frame["power_kW"].sum()) * season.step / 3600.0
    return f"{number(kwh, 1)} kWh\n{show(water, 'water', 1)} of water removed"


class _Lane(NamedTuple):
    label: str
    column: str
    color: str
    stages: float
    """Number of installed stages; the lane is this many steps high."""


def _lanes(comparison: Comparison, minutes: dict[str, pd.DataFrame]) -> list[_Lane]:
    """Lanes that any option uses on the day, from the bottom. Cooling always has one."""
    machines = [season.equipment for season in comparison.seasons.values()]
    cooling = max((len(m.cooling.stages) for m in machines if m.cooling), default=1)
    strips = max((len(m.strips.stages) for m in machines if m.strips), default=1)
    seconds = [m.second_system for m in machines if m.second_system]
    own = f"{column_catalog.SECOND_SYSTEM}_cooling_stage"
    second = max((len(m.cooling.stages) for m in seconds if m.cooling), default=0)
    every = (
        *([_Lane("Second system", own, END_USE_COLORS["compressor"], second)] if second else []),
        _Lane("Cooling", "cooling_stage", END_USE_COLORS["compressor"], cooling),
        _Lane("Strips", "reheat_stage", END_USE_COLORS["reheat"], strips),
        _Lane("Heating", "heating_stage", END_USE_COLORS["heat_pump"], 2),
        # A machine without stages is on or off, and its column holds hours of the step.
        _Lane("Dehumidifier", "dehumidifier_on", END_USE_COLORS["dehumidifier"], 1),
    )
    for frame in minutes.values():
        frame["dehumidifier_on"] = (frame["dehumidifier_h"] > 0.0) * 1.0
        if own not in frame:
            frame[own] = 0.0
    return [
        lane
        for lane in every
        if lane.column == "cooling_stage"
        or any(bool((frame[lane.column] > 0.0).any()) for frame in minutes.values())
    ]


def _lane_steps(
    ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame, lanes: list[_Lane]
) -> None:
    for row, lane in enumerate(lanes):
        top = row + 0.8 * frame[lane.column].to_numpy(float) / lane.stages
        ax.fill_between(hours, row, top, step="post", color=lane.color, lw=0)
        ax.axhline(row, color="#bbbbbb", lw=0.7)
    ax.set_ylim(-0.1, len(lanes))
    labels = [
        lane.label + (f"\n({lane.stages:g} stages)" if lane.stages > 1 else "") for lane in lanes
    ]
    ax.set_yticks([k + 0.4 for k in range(len(lanes))], labels)
    ax.tick_params(axis="y", length=0)


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
