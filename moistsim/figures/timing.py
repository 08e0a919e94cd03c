"""One option's day by the minute: humidity, temperatures and machines that run."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from moistsim.core.display import Show, Units, check_units
from moistsim.equipment import Equipment
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, LIMIT, OUTDOORS, ROOM, Page
from moistsim.season import Season

SIZE = 7.5
"""Letter size, points: legible at arm's length on a wall, in a picture as wide as the paper."""


class Lane(NamedTuple):
    """A machine's line of bars."""

    label: str
    on: NDArray[np.float64]
    """Level of the machine by the minute, as a fraction of its full level: 0 to 1."""
    color: str
    hours: float
    """Hours that the machine is on."""


def timing_figure(
    season: Season,
    day: str,
    units: Units = "us",
    *,
    rh_marks: Sequence[tuple[float, str]] = (),
    temperature_marks: Sequence[tuple[float, str]] = (),
) -> Figure:
    """Draw one day for a wall sheet: RH, temperatures and one lane for each machine.

    Lines and lanes have their names next to them, without a legend.

    Parameters
    ----------
    season : Season
    day : str
        "MM-DD" or "YYYY-MM-DD".
    units : {"us", "si"}
        Units of temperatures.
    rh_marks, temperature_marks : sequence of (float, str)
        Setpoints to draw, percent and degC, with their names.

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.timing_figure(season, "06-15")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    frame = season.minutes(day)
    step_h = season.step / 3600.0
    hours = np.arange(len(frame), dtype=np.float64) * step_h
    every = list(_lanes(frame, season.equipment))
    lanes = [lane for lane in every if lane.hours > 0.0] or every[:1]
    figure = Page(figsize=(7.5, 2.0 + 0.17 * len(lanes)), layout="constrained")
    axes: Any = figure.subplots(
        3, 1, sharex=True, gridspec_kw={"height_ratios": [1.0, 1.0, 0.2 * len(lanes)]}
    )
    rh, temperature, machines = axes
    rh.plot(hours, frame["indoor_rh_pct"], color=ROOM, lw=1.4)
    last = float(frame["indoor_rh_pct"].iloc[-1])
    _named(rh, [(last, "indoor RH", ROOM)], rh_marks, "RH, %")
    ends = []
    for column, name, color in (
        ("indoor_temperature_C", "indoors", ROOM),
        ("outdoor_temperature_C", "outdoors", OUTDOORS),
    ):
        values = show.value(frame[column].to_numpy(float), "temperature")
        temperature.plot(hours, values, color=color, lw=1.4)
        ends.append((float(values[-1]), name, color))
    marks = [(float(show.value(at, "temperature")), name) for at, name in temperature_marks]
    _named(temperature, ends, marks, show.unit("temperature"))
    for number, lane in enumerate(reversed(lanes)):
        for start, end, share in _bars(lane.on):
            machines.broken_barh(
                [(start * step_h, (end - start) * step_h)], (number, 0.8 * share),
                color=lane.color, lw=0,
            )  # fmt: skip
        machines.axhline(number, color="#bbbbbb", lw=0.6)
        machines.annotate(
            f"{lane.hours:.1f} h", (24.0, number + 0.4), xytext=(5.0, 0.0),
            textcoords="offset points", va="center", fontsize=SIZE, annotation_clip=False,
        )  # fmt: skip
    machines.set_ylim(-0.1, len(lanes))
    machines.set_yticks(
        [k + 0.4 for k in range(len(lanes))], [lane.label for lane in reversed(lanes)]
    )
    machines.set_xlim(0.0, 24.0)
    machines.set_xticks(range(0, 25, 3))
    machines.set_xlabel("Hour of the day (standard time)", fontsize=SIZE)
    for ax in axes:
        style.plain(ax)
        ax.grid(axis="x", color="#dddddd", lw=0.6)
        ax.tick_params(labelsize=SIZE)
    machines.tick_params(axis="y", length=0)
    return figure


def _named(
    ax: Axes, ends: list[tuple[float, str, str]], marks: Sequence[tuple[float, str]], label: str
) -> None:
    """Draw setpoints as dashed lines, and each line's name at its right end without overlaps."""
    for at, _ in marks:
        ax.axhline(at, color=LIMIT, lw=0.8, ls=(0, (4, 3)))
    low, high = ax.get_ylim()
    ax.set_ylim(low, high)
    names = sorted([*ends, *((at, name, LIMIT) for at, name in marks)])
    # In an axis about six lines high, as far apart as letters need, or as the axis allows.
    apart = (high - low) / max(6.0, len(names) - 1.0)
    places = np.array([at for at, _, _ in names])
    for k in range(1, len(places)):
        places[k] = max(places[k], places[k - 1] + apart)
    over = places[-1] - high
    if over > 0.0:
        places[-1] = high
        for k in range(len(places) - 2, -1, -1):
            places[k] = min(places[k], places[k + 1] - apart)
    for (at, name, color), y in zip(names, places, strict=True):
        ax.annotate(
            name, (24.0, at), xytext=(24.25, y), textcoords="data", va="center", fontsize=SIZE,
            color="#595959" if color == OUTDOORS else color, annotation_clip=False,
        )  # fmt: skip
    ax.set_ylabel(label, fontsize=SIZE)


def _bars(on: NDArray[np.float64]) -> Iterator[tuple[int, int, float]]:
    """Runs of minutes with one level of a machine: first, one past the last, level."""
    edges = [0, *(np.flatnonzero(np.diff(on)) + 1).tolist(), len(on)]
    for start, end in zip(edges, edges[1:], strict=False):
        if on[start] > 0.0:
            yield start, end, float(on[start])


def _lanes(frame: pd.DataFrame, machines: Equipment) -> Iterator[Lane]:
    """Every installed machine, from the top. The picture shows those that ran."""
    step_h = 24.0 / len(frame)

    def lane(label: str, column: str, color: str, stages: int = 1) -> Lane:
        values = frame[column].to_numpy(float)
        if column.endswith("_h"):
            values = (values > 0.0) * 1.0
        hours = float((values > 0.0).sum()) * step_h
        name = f"{label} ({stages} stages)" if stages > 1 else label
        return Lane(name, values / stages, color, hours)

    strips = len(machines.strips.stages) if machines.strips else 0
    if machines.cooling:
        count = len(machines.cooling.stages)
        yield lane("cooling", "cooling_stage", END_USE_COLORS["compressor"], count)
    if machines.hot_gas:
        yield lane("hot gas", "hot_gas_h", style.MACHINE_COLORS["hot gas"])
    if strips:
        yield lane("electric reheat", "reheat_stage", END_USE_COLORS["reheat"], strips)
    if machines.furnace:
        yield lane("furnace", "furnace_h", END_USE_COLORS["heat_pump"])
    if machines.heating:
        yield lane("heat pump", "heat_pump_h", END_USE_COLORS["heat_pump"])
    if machines.dehumidifier:
        yield lane("dehumidifier", "dehumidifier_h", END_USE_COLORS["dehumidifier"])
    if machines.cooling:
        yield lane("blower", "airflow_fraction", END_USE_COLORS["standby"])
