"""The trade-off behind tuned set-points: what each dryness costs, and where the options stand."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D

from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE
from moistsim.study import Units
from moistsim.tuning import Tuned, shown_unit

# Told apart by shape and lightness as well as by hue.
CLOUD, ENVELOPE, OWN, TUNED, OTHER = "#b9b9b9", "#17456e", "#efb94b", "#cf4f1f", "#169a86"
FAR = 0.6
"""How far beyond the tried points, as a share of their spread, an option may stand and widen the
axes; one farther away is named at the edge."""

_NAMES = {
    "rh_hours_over_55": "RH-hours above 55 %, % h",
    "rh_hours_over_60": "RH-hours above 60 %, % h",
    "mean_rh_pct": "mean room relative humidity, %",
    "below_cooling_setpoint_h": "hours more than 1 K below the cooling set-point",
    "above_cooling_setpoint_h": "hours more than 1 K above the cooling set-point",
    "below_heating_setpoint_h": "hours more than 1 K below the heating set-point",
    **{f"hours_over_{x}": f"hours above {x} % RH" for x in (50, 55, 60, 65)},
}


def tuning_figure(tuned: Tuned, units: Units = "us") -> Figure:
    """Cost against humidity, a point a season.

    Every point that was tried, the lower envelope of them, the option's own set-points and the
    tuned ones, the limit that was held, and where the study's other options stand. An option that
    lies far from all of this is named at the edge, with its numbers.

    Parameters
    ----------
    tuned : Tuned
        What `tune` returned; of several things held, the first is shown.
    units : {"us", "si"}
        Of a mean dew point and of floor area.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither.
    """
    style.check(units)
    hold, cost = tuned.holds[0], tuned.objective

    def shown(values: Any) -> Any:
        values = np.asarray(values, dtype=float)
        return style.temperature(values, units) if hold.measure.endswith("_C") else values

    figure = Figure(figsize=(11.0, 7.4), layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1))
    ax = figure.add_subplot()
    runs = tuned.runs[tuned.runs["refused"] == ""]
    kept = runs["holds"].to_numpy(bool)
    x, y = shown(runs[hold.measure]), runs[cost].to_numpy(float)
    limit = float(shown(hold.limit))
    ax.scatter(x[kept], y[kept], s=26, color=CLOUD, lw=0, zorder=2)
    ax.scatter(x[~kept], y[~kept], s=26, facecolors="none", edgecolors=CLOUD, lw=1.0, zorder=2)
    envelope = tuned.envelope
    front = (shown(envelope[hold.measure]), envelope[cost].to_numpy(float))
    ax.plot(*front, color=ENVELOPE, lw=2.0, drawstyle="steps-post", zorder=3)

    marks = [
        ("as set", tuned.default, OWN, "s", 110),
        ("tuned", tuned.tuned, TUNED, "D", 90),
        *((name, row, OTHER, "^", 120) for name, row in tuned.others.iterrows()),
    ]
    points = [
        (str(name), float(shown(row[hold.measure])), float(row[cost]), colour, marker, size)
        for name, row, colour, marker, size in marks
    ]
    near = _limits(ax, [*x, limit], [*y], points)
    for name, px, py, colour, marker, size in points:
        if not near(px, py):
            continue
        ax.scatter([px], [py], s=size, color=colour, marker=marker, edgecolors="black", zorder=5)
        label = name if name not in ("as set", "tuned") else f"{name}: {_words(tuned, name)}"
        _label(ax, label, px, py)
    ax.axvline(limit, color=LIMIT, lw=1.0, ls="--", zorder=1)
    far = [p for p in points if not near(p[1], p[2])]
    money = cost == "cost_USD"
    unit = "USD" if money else "kWh"
    if far:
        ax.annotate(
            "beyond this picture:\n"
            + "\n".join(f"{name}: {px:,.0f} and {py:,.0f} {unit}" for name, px, py, *_ in far),
            (0.99, 0.98), xycoords="axes fraction", ha="right", va="top",
            fontsize=STYLE_SIZE - 2.0, color="#0b5a4f",
        )  # fmt: skip
    name = (
        f"mean dew point of the room, {'°F' if units == 'us' else '°C'}"
        if hold.measure.endswith("_C")
        else _NAMES[hold.measure]
    )
    ax.set_xlabel(f"{name}   (drier to the left)", fontsize=STYLE_SIZE)
    words = "cost of the season, USD" if money else "electricity of the season, kWh"
    ax.set_ylabel(words, fontsize=STYLE_SIZE)
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
    ax.grid(color="#e9e9e9", lw=0.7)
    style.plain(ax)

    def dot(label: str, **kwargs: Any) -> Line2D:
        return Line2D([], [], ls="", label=label, **kwargs)

    held = "what was held" if len(tuned.holds) == 1 else f"all {len(tuned.holds)} limits held"
    style.legend(
        figure,
        [
            dot(f"tried, {held}", marker="o", color=CLOUD),
            dot("tried, not so", marker="o", markerfacecolor="none", color=CLOUD),
            Line2D([], [], color=ENVELOPE, lw=2.0, label="the cheapest for its dryness"),
            Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=f"limit: {hold.text}"),
            dot("other options", marker="^", color=OTHER, markersize=9, markeredgecolor="black"),
        ][: 5 if len(tuned.others) else 4],
    )
    figure.suptitle(
        f"{style.place(tuned.study, units)}\n{tuned.option}: what dryness costs, "
        f"{len(runs)} seasons",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _limits(ax: Axes, xs: list[float], ys: list[float], points: list[Any]) -> Any:
    """Axes that hold the cloud and the options that stand near it; which points they hold."""
    sides = []
    for values, place in ((xs, 1), (ys, 2)):
        low, high = min(values), max(values)
        reach = FAR * ((high - low) or max(abs(high), 1.0))
        sides.append((low - reach, high + reach, low, high, place))

    def near(px: float, py: float) -> bool:
        return all(a <= value <= b for (a, b, *_), value in zip(sides, (px, py), strict=True))

    setters: tuple[Any, Any] = (ax.set_xlim, ax.set_ylim)
    for (_, _, low, high, place), setter in zip(sides, setters, strict=True):
        inside = [p[place] for p in points if near(p[1], p[2])]
        low, high = min([low, *inside]), max([high, *inside])
        pad = 0.08 * ((high - low) or max(abs(high), 1.0))
        setter(low - pad, high + pad)
    return near


def _words(tuned: Tuned, which: str) -> str:
    """The varied set-points of a point."""
    row = tuned.default if which == "as set" else tuned.tuned
    return ", ".join(
        f"{name} {bounds.written(float(row[name])):.6g} {shown_unit(bounds)}".rstrip()
        for name, bounds in tuned.vary.items()
    )


def _label(ax: Axes, text: str, x: float, y: float) -> None:
    """Beside its mark, on the side that has room."""
    low, high = ax.get_xlim()
    left = (x - low) / (high - low) > 0.5
    ax.annotate(
        text, (x, y), xytext=(-10 if left else 10, 9), textcoords="offset points",
        ha="right" if left else "left", va="bottom", fontsize=STYLE_SIZE - 1.0, zorder=6,
        bbox={"facecolor": "white", "alpha": 0.75, "edgecolor": "none", "pad": 1.5},
    )  # fmt: skip
