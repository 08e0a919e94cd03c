"""One option's day by the minute: humidity, temperatures and machines that run."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from moistsim.core.display import Show, Units, units_or_default
from moistsim.equipment import Equipment
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, LIMIT, OUTDOORS, ROOM, Context, Drawn
from moistsim.season import Season


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
    units: Units | None = None,
    *,
    rh_marks: Sequence[tuple[float, str]] = (),
    temperature_marks: Sequence[tuple[float, str]] = (),
    ax: Any = None,
    context: Context = "paper",
    on_wall: bool = False,
) -> Drawn:
    """Draw one day of one season: RH, temperatures and one lane for each machine.

    Lines and lanes have their names next to them, without a legend.

    Parameters
    ----------
    season : Season
    day : str
        "MM-DD" or "YYYY-MM-DD".
    units : {"us", "si"}, optional
        Units of temperatures; default: those of `set_units`.
    rh_marks, temperature_marks : sequence of (float, str)
        Setpoints to draw, percent and degC, with their names.
    ax : list of three Axes, optional
        In place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    on_wall : bool
        Draw for the sheet on the wall, which has the title itself.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.timing_figure(season, "06-15")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    frame = season.minutes(day)
    step_h = season.step / 3600.0
    hours = np.arange(len(frame), dtype=np.float64) * step_h
    every = list(_lanes(frame, season.equipment))
    lanes = [lane for lane in every if lane.hours > 0.0] or every[:1]
    humid = frame["indoor_rh_pct"]
    with style.sheet("timing_figure", context, ax, on_wall=on_wall) as page:
        axes = page.panels(
            3, 1, height=(2.0 if on_wall else 2.9) + 0.19 * len(lanes), link_x=True,
            height_ratios=[1.0, 1.0, 0.2 * len(lanes)],
        )[:, 0]  # fmt: skip
        rh, temperature, machines = axes
        rh.plot(hours, humid, color=ROOM, lw=1.9)
        _named(rh, [(float(humid.iloc[-1]), "indoor RH", ROOM)], rh_marks, "RH, %")
        ends = []
        for column, name, color in (
            ("indoor_temperature_C", "indoors", ROOM),
            ("outdoor_temperature_C", "outdoors", OUTDOORS),
        ):
            values = show.value(frame[column].to_numpy(float), "temperature")
            temperature.plot(hours, values, color=color, lw=1.9)
            ends.append((float(values[-1]), name, color))
        marks = [(float(show.value(at, "temperature")), name) for at, name in temperature_marks]
        _named(temperature, ends, marks, show.unit("temperature"))
        for place, lane in enumerate(reversed(lanes)):
            for start, end, share in _bars(lane.on):
                machines.broken_barh(
                    [(start * step_h, (end - start) * step_h)], (place, 0.8 * share),
                    color=lane.color, lw=0,
                )  # fmt: skip
            machines.axhline(place, color="#bbbbbb", lw=0.6)
            machines.annotate(
                f"{lane.hours:.1f} h", (24.0, place + 0.4), xytext=(5.0, 0.0),
                textcoords="offset points", va="center", fontsize="small", annotation_clip=False,
            )  # fmt: skip
        machines.set_ylim(-0.1, len(lanes))
        machines.set_yticks(
            [k + 0.4 for k in range(len(lanes))], [lane.label for lane in reversed(lanes)]
        )
        machines.set_xlim(0.0, 24.0)
        machines.set_xticks(range(0, 25, 3))
        machines.set_xlabel("Hour of the day (standard time)")
        for panel in axes:
            style.plain(panel)
            panel.grid(axis="x")
        machines.tick_params(axis="y", length=0)
        ran = ", ".join(f"{lane.label.lower()} {lane.hours:.1f} h" for lane in lanes)
        when = show.day(frame.index[0])
        return page.done(
            f"{when}: RH from {humid.min():.0f} to {humid.max():.0f}\xa0%; {ran}",
            f"{style.place(season, show)}. {when}, minute by minute",
        )


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
            name, (24.0, at), xytext=(24.25, y), textcoords="data", va="center", fontsize="small",
            color="#595959" if color == OUTDOORS else color, annotation_clip=False,
        )  # fmt: skip
    ax.set_ylabel(label)


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
