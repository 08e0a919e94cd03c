"""Psychrometric chart: the room's states, and the paths of air through the machines."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Calls
from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.units import from_si
from moistsim.figures import style
from moistsim.figures.style import (
    END_USE_COLORS,
    LIMIT,
    MACHINE_COLORS,
    OUTDOORS,
    ROOM,
    Context,
    Drawn,
)
from moistsim.machine_checks import (
    BLOWER,
    COIL,
    HOT_GAS,
    INLET,
    MIXED,
    OUTLET,
    STRIPS,
    AirPath,
    AirState,
    Rig,
    Today,
    air_handler_path,
    dehumidifier_path,
)
from moistsim.season import Season
from moistsim.study import Comparison

STEPS = {
    MIXED: (OUTDOORS, "outdoor air mixed in"),
    INLET: (OUTDOORS, "outdoor air mixed in"),
    COIL: (END_USE_COLORS["compressor"], "cooling coil"),
    HOT_GAS: (MACHINE_COLORS["hot gas"], "hot gas"),
    BLOWER: (END_USE_COLORS["indoor_fan"], "blower’s heat"),
    STRIPS: (MACHINE_COLORS["strips"], "strips"),
    OUTLET: (MACHINE_COLORS["dehumidifier"], "dehumidifier"),
}
"""Color and name of the step that ends at a place of a path."""
RH_LINES = tuple(range(10, 100, 10))
"""RH of the chart's lines, percent."""
DENSITY = LinearSegmentedColormap.from_list("room", ["#dbe6f0", "#7fa6c9", ROOM])
"""Colors of the room's states, from few hours to many."""
NAMED = 0.15
"""Share of the chart's width, from which a step has its name next to it."""
RARE = 0.01
"""Share of the compressor's time, up to which reheat is too rare to be shown."""
FIELDS = (
    "indoor_temperature", "indoor_humidity_ratio", "outdoor_temperature", "outdoor_humidity_ratio",
    "cooling_stage", "reheat_stage", "hot_gas_on", "heat_hot_gas", "dehumidifier_on", "airflow",
)  # fmt: skip


class Chart(NamedTuple):
    """What a chart of a season shows, in SI."""

    pressure: float
    """Mean air pressure of the season, Pa."""
    room: pd.DataFrame
    """Room of each hour: `temperature`, degC, and `humidity_ratio`, kg/kg."""
    outdoors: AirState
    """Mean outdoor air while the machines of the first path run, or of the season."""
    paths: tuple[AirPath, ...]
    """Path through the air handler, and through the dehumidifier, of machines that ran to dry."""


def psychrometric_figure(
    of: Season | Comparison,
    *,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw a psychrometric chart: the room's hours as density, and the machines' paths of air.

    A path begins at the mean room of the time in which the machine ran, with the mean outdoor air of
    that time, and follows the machine in steady state. The air handler's is that with strips if they
    reheat in more than a hundredth of the compressor's time, else with hot gas, else cooling alone;
    stage and airflow are the season's usual ones.
    A broken line continues the coil's path to its apparatus dew point. Outdoor air is mixed in where
    a central duct or the dehumidifier's inlet brings it.

    Saturation, RH and wet bulb lines are those of the season's mean pressure, from the relations of
    moist air that the season itself was calculated with (ASHRAE Fundamentals ch. 1). Tests compare
    lines and states with PsychroLib.

    Parameters
    ----------
    of : Season or Comparison
        One option; or all of them, with the room of the base option and one path for each machine.
    units : {"us", "si"}, optional
        °F and grains/lb, or °C and g/kg; default: those of `set_units`.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.psychrometric_figure(study.run(), units="si")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    chart = chart_of(of)
    season = of.seasons[of.base] if isinstance(of, Comparison) else of
    states = [state for path in chart.paths for state in path.states]
    points = [*states, chart.outdoors]
    coldest = [path.apparatus_dew_point for path in chart.paths if path.apparatus_dew_point]
    t = np.append(chart.room["temperature"], [*coldest, *(state.temperature for state in points)])
    w = np.append(chart.room["humidity_ratio"], [state.humidity_ratio for state in points])
    limits = (float(t.min()) - 2.0, float(t.max()) + 2.0, 0.0, 1.15 * float(w.max()))
    with style.sheet("psychrometric_figure", context, ax) as page:
        panel = page.panel(height=5.4)
        _lines(panel, show, chart.pressure, limits)
        x, y = _xy(show, chart.room["temperature"], chart.room["humidity_ratio"])
        left, right = show.value(np.array(limits[:2]), "temperature")
        low, high = show.value(np.array(limits[2:]), "humidity_ratio")
        panel.hexbin(
            x, y, gridsize=(60, 45), extent=(left, right, low, high), mincnt=1, cmap=DENSITY,
            bins="log", lw=0.0, zorder=2,
        )  # fmt: skip
        # Drawing cells moves the limits.
        panel.set_xlim(left, right)
        panel.set_ylim(low, high)
        used: dict[str, str] = {}
        for path in chart.paths:
            _path(panel, show, path, chart.pressure, used)
        _mark(panel, show, chart.outdoors, "outdoors, mean")
        for path in chart.paths:
            _mark(panel, show, path.states[-1], "supply air" if path.at(COIL) else "")
        panel.xaxis.set_major_formatter("{x:g}")
        panel.yaxis.tick_right()
        panel.yaxis.set_label_position("right")
        style.plain(panel)
        panel.spines["left"].set_visible(False)
        panel.spines["right"].set_visible(True)
        panel.set_xlabel(f"Dry bulb, {show.unit('temperature')}")
        panel.set_ylabel(f"Humidity ratio, {show.unit('humidity_ratio')} of dry air")
        index = season.hourly.index
        named = (
            f"room of {style.quoted(of.base)}"
            if isinstance(of, Comparison)
            else season.strategy.name.replace("_", " ")
        )
        return page.done(
            _finding(chart, show),
            f"{style.place(season, show)}. {show.days(index[0], index[-1])}, "
            f"{named}, at {_pressure(chart.pressure, show)}",
            alt="; ".join(
                f"{state.place} {show(state.temperature, 'temperature')}, "
                f"{show(state.humidity_ratio, 'humidity_ratio')}"
                for state in points
            ),
            key=[
                Patch(color=ROOM, label="room, darker: more hours"),
                *(Line2D([], [], color=color, lw=2.4, label=name) for name, color in used.items()),
                Line2D([], [], color="#9db4c6", lw=0.8, ls=(0, (4, 2)), label=f"wet bulb, {show.unit('temperature')}"),
            ],
        )  # fmt: skip


def chart_of(of: Season | Comparison) -> Chart:
    """States and paths that a chart shows. Each season is simulated once more."""
    if isinstance(of, Season):
        return _chart(of)
    charts = {name: _chart(season) for name, season in of.seasons.items()}
    every: dict[str, AirPath] = {}
    for name in (of.base, *charts):
        for path in charts[name].paths:
            machine = next(p for p in (STRIPS, HOT_GAS, OUTLET, COIL) if path.at(p))
            every.setdefault(machine, path)
    # A path with reheat has the coil too.
    if {STRIPS, HOT_GAS} & set(every):
        every.pop(COIL, None)
    return charts[of.base]._replace(paths=tuple(every.values()))


def _chart(season: Season) -> Chart:
    pressure = float(season.weather.frame["pressure"].mean())
    hourly = season.hourly
    room = pd.DataFrame(
        {
            "temperature": hourly["indoor_temperature_C"],
            "humidity_ratio": hourly["indoor_humidity_ratio"],
        }
    )
    steps = season.steps(*FIELDS)
    rig = Rig(season.house, season.equipment, season.strategy, pressure)
    paths: list[AirPath] = []
    outdoors: pd.DataFrame | None = None
    cools = steps["cooling_stage"] > 0.0
    for mode in (cools & (steps["reheat_stage"] > 0.0), cools & (steps["hot_gas_on"] > 0.0), cools):
        rows = steps[mode]
        if len(rows) <= RARE * cools.sum():
            continue
        now = _air_of(rows, pressure)
        found = air_handler_path(rig, _calls(rig, rows, now), now)
        if isinstance(found, AirPath):
            paths.append(found)
            outdoors = rows
            break
    rows = steps[steps["dehumidifier_on"] > 0.0]
    if len(rows):
        paths.append(dehumidifier_path(rig, _air_of(rows, pressure)))
        outdoors = rows if outdoors is None else outdoors
    mean = (steps if outdoors is None else outdoors).mean()
    return Chart(
        pressure, room,
        AirState("outdoor air", float(mean["outdoor_temperature"]), float(mean["outdoor_humidity_ratio"])),
        tuple(paths),
    )  # fmt: skip


def _air_of(rows: pd.DataFrame, pressure: float) -> Today:
    """Mean indoor and outdoor air of some steps."""
    mean = rows.mean()
    indoor, outdoor = float(mean["indoor_temperature"]), float(mean["outdoor_temperature"])
    rh = [
        100.0 * min(float(air.relative_humidity(t, w, pressure)), 1.0)
        for t, w in (
            (indoor, float(mean["indoor_humidity_ratio"])),
            (outdoor, float(mean["outdoor_humidity_ratio"])),
        )
    ]
    return Today(outdoor=outdoor, outdoor_rh=rh[1], indoor=indoor, indoor_rh=rh[0])


def _calls(rig: Rig, rows: pd.DataFrame, now: Today) -> Any:
    """Calls of the usual stages and airflow of some steps, and of hot gas that gives its mean heat."""
    usual = rows[["cooling_stage", "reheat_stage", "airflow"]].quantile(interpolation="nearest")
    calls = Calls(
        cooling=float(usual["cooling_stage"]),
        reheat=float(usual["reheat_stage"]),
        airflow=float(usual["airflow"]),
    )
    heat = float(rows["heat_hot_gas"].mean())
    if heat > 0.0:
        full = calls._replace(hot_gas=1.0)
        steady = rig.steady(full, now, rig.at_air_handler(full, now))
        if not isinstance(steady, str):
            return calls._replace(hot_gas=min(heat / steady[1].hot_gas, 1.0))
    return calls


def _xy(show: Show, t: Any, w: Any) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Coordinates on the chart of temperatures and humidity ratios."""
    return (
        np.asarray(show.value(np.asarray(t, float), "temperature")),
        np.asarray(show.value(np.asarray(w, float), "humidity_ratio")),
    )


def _lines(
    panel: Axes, show: Show, pressure: float, limits: tuple[float, float, float, float]
) -> None:
    """Saturation, lines of RH, and lines of wet bulb, with their numbers."""
    first, last, _, top = limits
    t = np.linspace(first, last, 200)
    saturated = air.over(air.saturation_humidity_ratio, t, pressure)
    panel.plot(*_xy(show, t, saturated), color=LIMIT, lw=1.6, zorder=3, gid="saturation")
    for rh in RH_LINES:
        w = air.over(air.humidity_ratio_at, t, 0.01 * rh, pressure)
        panel.plot(*_xy(show, t, w), color="#b9b9b9", lw=0.7, zorder=1, gid=f"rh {rh}")
        # The number stands where the line leaves the chart.
        k = int(np.flatnonzero(w <= 0.97 * top)[-1])
        if rh % 20 == 0 or show.us and rh == 50:
            panel.annotate(
                f"{rh} %", [float(v) for v in np.ravel(_xy(show, t[k], w[k]))], ha="right",  # type: ignore[arg-type]
                va="center", fontsize="small", color="#5a5a5a", zorder=3,
                bbox={"fc": "white", "ec": "none", "pad": 0.6}, xytext=(-3.0, 0.0),
                textcoords="offset points", annotation_clip=True,
            )  # fmt: skip
    every = 5.0 if not show.us else 10.0
    start, end = (float(show.value(x, "temperature")) for x in (first, last))
    for mark in np.arange(every * np.ceil(start / every), end, every):
        wet = float((mark - 32.0) / 1.8) if show.us else float(mark)
        line = wet_bulb_line(wet, t, pressure)
        seen = (line >= 0.0) & (t >= wet)
        if not seen.any() or line[seen].max() > top:
            continue
        x, y = _xy(show, t[seen], line[seen])
        panel.plot(x, y, color="#9db4c6", lw=0.7, ls=(0, (4, 2)), zorder=1, gid=f"wet {wet:.4f}")
        panel.annotate(
            f"{mark:g}", (x[0], y[0]), xytext=(-2.0, 2.0), textcoords="offset points", ha="right",
            va="bottom", fontsize="small", color="#5b7c96", annotation_clip=True,
        )  # fmt: skip


def wet_bulb_line(wet: float, t: NDArray[np.float64], pressure: float) -> NDArray[np.float64]:
    """Humidity ratio of air of these dry bulbs with one wet bulb, kg/kg.

    Adiabatic saturation is linear in the humidity ratio, so two states of a dry bulb give the third.
    """
    saturated = float(air.saturation_humidity_ratio(wet, pressure))
    none, some = (air.over(air.saturated_at_wet_bulb, t, w, wet) for w in (0.0, 1.0))
    return np.asarray((saturated - none) / (some - none))


def _path(panel: Axes, show: Show, path: AirPath, pressure: float, used: dict[str, str]) -> None:
    """One path, each of its steps in the color of its machine."""
    for before, after in zip(path.states, path.states[1:], strict=False):
        color, name = STEPS[after.place]
        known = name in used
        used[name] = color
        x, y = _xy(
            show, [before.temperature, after.temperature],
            [before.humidity_ratio, after.humidity_ratio],
        )  # fmt: skip
        panel.plot(x, y, color="white", lw=4.2, zorder=4, solid_capstyle="butt")
        panel.plot(
            x, y, color=color, lw=2.4, zorder=5, marker="o", ms=4.5, mec="white", mew=0.6,
            gid=after.place,
        )  # fmt: skip
        left, right = panel.get_xlim()
        if not known and abs(x[1] - x[0]) > NAMED * (right - left):
            panel.annotate(
                name, (float(x.mean()), float(y.mean())), xytext=(0.0, 4.0), ha="center",
                va="bottom", textcoords="offset points", fontsize="small", color=color,
                fontweight="bold", zorder=7,
                bbox={"fc": "white", "ec": "none", "alpha": 0.75, "pad": 0.3},
            )  # fmt: skip
    coil = path.at(COIL)
    if coil is not None and path.apparatus_dew_point is not None:
        cold = path.apparatus_dew_point
        end = float(air.saturation_humidity_ratio(cold, pressure))
        x, y = _xy(show, [coil.temperature, cold], [coil.humidity_ratio, end])
        panel.plot(x, y, color=STEPS[COIL][0], lw=1.2, ls=(0, (2, 1.5)), zorder=4, gid="apparatus")


def _mark(panel: Axes, show: Show, state: AirState, label: str) -> None:
    x, y = (float(v) for v in np.ravel(_xy(show, state.temperature, state.humidity_ratio)))
    panel.plot([x], [y], ls="", marker="o", ms=6.0, color=LIMIT, mec="white", zorder=6)
    if label:
        left, right = panel.get_xlim()
        # Words stay within the chart.
        side = "left" if x < left + 0.15 * (right - left) else "center"
        side = "right" if x > right - 0.15 * (right - left) else side
        panel.annotate(
            label, (x, y), xytext=(0.0, -7.0), textcoords="offset points", ha=side, va="top",
            fontsize="small", fontweight="bold", zorder=7,
            bbox={"fc": "white", "ec": "none", "alpha": 0.75, "pad": 0.5},
        )  # fmt: skip


def _pressure(pascal: float, show: Show) -> str:
    return f"{from_si(pascal, 'Pa', 'psi'):.1f} psi" if show.us else f"{pascal / 1000.0:.1f} kPa"


def _finding(chart: Chart, show: Show) -> str:
    """What the machines do to the air that passes them."""

    def step(before: AirState, after: AirState) -> tuple[str, str]:
        return (
            show(abs(after.temperature - before.temperature), "difference", 0),
            show(abs(after.humidity_ratio - before.humidity_ratio), "humidity_ratio"),
        )

    said = []
    for path in chart.paths:
        coil, last = path.at(COIL), path.states[-1]
        if coil is None:
            warmer, drier = step(path.states[-2], last)
            said.append(f"the dehumidifier takes out {drier} and warms it by {warmer}")
            continue
        cooler, drier = step(path.states[path.states.index(coil) - 1], coil)
        if not any("coil" in words for words in said):
            said.append(f"the coil cools the air by {cooler} and takes out {drier}")
        heated = path.at(STRIPS) or path.at(HOT_GAS)
        if heated is not None:
            which = "the strips give" if heated.place == STRIPS else "hot gas gives"
            before = path.states[path.states.index(heated) - 1]
            said.append(f"{which} {step(before, heated)[0]} back")
    if not said:
        t, w = chart.room.median()
        rh = 100.0 * float(air.relative_humidity(t, w, chart.pressure))
        return f"The room’s median hour is at {show(t, 'temperature')} and {number(rh)}\xa0% RH"
    text = "; ".join(said)
    return text[0].upper() + text[1:]
