"""A space next to the house through the season: humidity, wood, and dew points of the air around it."""

import textwrap
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, check_units, number
from moistsim.core.errors import InputError, one_of
from moistsim.engine import DEW_POINT
from moistsim.figures import style
from moistsim.figures.season import date_axis
from moistsim.figures.style import LIMIT, OUTDOORS, ROOM, STYLE_SIZE, Page
from moistsim.risk import RiskBasis, mold, space_hours
from moistsim.risk import spaces as of_spaces
from moistsim.season import Season
from moistsim.study import Comparison

WOOD, WOOD_LIMIT, RH_LIMIT = of_spaces.WOOD, of_spaces.WOOD_LIMIT, mold.THIRTY_DAY_RH
SPACE, WET = "#7a5c2e", style.TOO_HUMID
"""Colors of a space, and of its wood above the limit."""
SMALL = STYLE_SIZE - 2.0


def space_figure(
    comparison: Comparison,
    space: str | None = None,
    basis: RiskBasis | None = None,
    units: Units = "us",
    *,
    narrow: bool = False,
) -> Figure:
    """Draw a space next to the house through the season, one row for each option that has it.

    The left panel shows the space's RH: the mean of each day, and a band from the 5th to the 95th
    percentile of the day's hours. The middle panel shows the moisture content of its wood with the
    limit of 20 %. The right panel shows daily mean dew points outdoors, in the space and in the house:
    air from the side with the higher dew point brings water.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    space : str, optional
        One of `Season.spaces`, such as "crawl_space"; default: the first.
    basis : RiskBasis, optional
        As for `space_risk`.
    units : {"us", "si"}
        Units of dew point and floor area.
    narrow : bool
        Draw one panel for each option, wood (or else RH), as wide as a column of text.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or no option's house has the space.

    Examples
    --------
    >>> figure = ms.figures.space_figure(study.run(), "crawl_space")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    known = [*dict.fromkeys(name for s in comparison.seasons.values() for name in s.spaces)]
    if not known or (space is not None and space not in known):
        accepted = one_of(str(space), known) if known else "a study of houses with a space"
        raise InputError("space_figure space", space, accepted)
    space = space or known[0]
    seasons = {name: s for name, s in comparison.seasons.items() if space in s.spaces}
    hours = {name: space_hours(season, space, basis) for name, season in seasons.items()}
    draw = _narrow if narrow else _wide
    figure, bottom = draw(space, seasons, hours, show)
    for ax in bottom:
        # Twelve names of months do not fit three charts side by side.
        days = len(next(iter(hours.values()))) // 24
        date_axis(ax, days, every=2 if days > 240 else 1)
    if narrow:
        return figure
    index = next(iter(hours.values())).index
    figure.suptitle(
        f"{style.place(comparison.study, show)}\n{show.days(index[0], index[-1])}: "
        f"{space.replace('_', ' ')} with each option",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _wide(
    space: str, seasons: dict[str, Season], hours: dict[str, pd.DataFrame], show: Show
) -> tuple[Figure, Any]:
    """Rows of RH, wood and dew points with one legend."""
    n, wooden, named = len(seasons), space in WOOD, space.replace("_", " ")
    figure = Page(
        figsize=(14.0, (2.0 if n < 5 else 1.7) * n + 2.2),
        layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.12),
    )
    axes: Any = figure.subplots(n, 3 if wooden else 2, sharex=True, sharey="col", squeeze=False)
    for row, (name, season) in zip(axes, seasons.items(), strict=True):
        frame = hours[name]
        _rh(row[0], frame["rh_pct"])
        style.title(row[0], name, f"RH of the {named}, mean {frame['rh_pct'].mean():.0f} %", 40)
        if wooden:
            _wood(row[1], frame)
            _head(row[1], _wood_words(frame).capitalize())
        _dew_points(row[-1], season, frame, show)
        mean = show(frame["dew_point_C"].mean(), "temperature", 1)
        _head(row[-1], f"Dew point, mean of the {named} {mean}")
    handles: list[Any] = [
        Line2D([], [], color=SPACE, lw=2.0, label=f"{named.capitalize()}, daily mean"),
        Patch(
            facecolor=(SPACE, 0.25), edgecolor=SPACE, lw=0.5, label="5 to 95 % of the day’s hours"
        ),
        Line2D([], [], color=OUTDOORS, lw=1.6, label="Outdoor dew point"),
        Line2D([], [], color=ROOM, lw=1.6, ls="--", label="Indoor dew point"),
        Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=_limits(wooden)),
    ]
    if wooden:
        handles.insert(
            1, Patch(color=WET, lw=0, label=f"{WOOD[space].capitalize()} above {WOOD_LIMIT:g} %")
        )
    style.legend(figure, handles, 3)
    _range(axes[0, 0], 40.0, 90.0)
    if wooden:
        _range(axes[0, 1], 5.0, 25.0)
    axes[0, -1].yaxis.set_major_formatter(f"{{x:.0f}} {show.unit('temperature')}")
    return figure, axes[-1]


def _narrow(
    space: str, seasons: dict[str, Season], hours: dict[str, pd.DataFrame], show: Show
) -> tuple[Figure, Any]:
    """Rows of one panel: wood, or RH without wood."""
    n, wooden = len(seasons), space in WOOD
    figure = Page(figsize=(5.4, 1.35 * n + 0.7), layout=ConstrainedLayoutEngine(h_pad=0.06))
    axes: Any = figure.subplots(n, 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    for ax, name in zip(axes, seasons, strict=True):
        frame = hours[name]
        (_wood(ax, frame) if wooden else _rh(ax, frame["rh_pct"]))
        said = _wood_words(frame) if wooden else f"RH, mean {frame['rh_pct'].mean():.0f} %"
        ax.set_title(
            "\n".join(textwrap.wrap(f"{name}: {said}", 54)),
            loc="left", fontsize=SMALL, fontweight="bold",
        )  # fmt: skip
        ax.tick_params(labelsize=SMALL)
    _range(axes[0], *((5.0, 25.0) if wooden else (40.0, 90.0)))
    return figure, axes[-1:]


def _limits(wooden: bool) -> str:
    rh = f"Limits: {RH_LIMIT:g} % RH"
    return f"{rh}, {WOOD_LIMIT:g} % wood moisture" if wooden else rh


def _wood_words(frame: pd.DataFrame) -> str:
    highest = frame["wood_moisture_pct"].resample("D").mean().max()
    index = number(frame["mold_index"].max(), 1)
    return (
        f"wood moisture up to {highest:.1f}\N{NO-BREAK SPACE}%, mold index\N{NO-BREAK SPACE}{index}"
    )


def _head(ax: Axes, label: str) -> None:
    ax.set_title(label, loc="left", fontsize=STYLE_SIZE - 1.0, pad=5.0)


def _line(ax: Axes, hourly: "pd.Series[float]", **look: Any) -> tuple[Any, Any]:
    """Daily means at noon as a line; a season of few days has points."""
    daily = hourly.resample("D").mean()
    x = daily.index.to_numpy() + np.timedelta64(12, "h")
    y = daily.to_numpy(float)
    ax.plot(x, y, marker="" if len(x) > 3 else "o", **look)
    return x, y


def _range(ax: Axes, low: float, high: float) -> None:
    """Show at least these values, and not RH above 100 percent by much."""
    bottom, top = ax.get_ylim()
    ax.set_ylim(min(bottom, low), max(min(top, 102.0), high))


def _ruled(ax: Axes) -> None:
    ax.grid(axis="y", color="#e3e3e3", lw=0.7)
    ax.margins(x=0.01)
    style.plain(ax)


def _rh(ax: Axes, rh: "pd.Series[float]") -> None:
    daily = rh.resample("D")
    x, _ = _line(ax, rh, color=SPACE, lw=2.0)
    low, high = (daily.quantile(q).to_numpy(float) for q in (0.05, 0.95))
    style.band(ax, x, low, high, SPACE)
    ax.axhline(RH_LIMIT, color=LIMIT, lw=1.0, ls="--")
    ax.yaxis.set_major_formatter("{x:.0f} %")
    _ruled(ax)


def _wood(ax: Axes, frame: pd.DataFrame) -> None:
    x, y = _line(ax, frame["wood_moisture_pct"], color=SPACE, lw=2.0)
    ax.fill_between(x, WOOD_LIMIT, np.maximum(y, WOOD_LIMIT), color=WET, lw=0)
    ax.axhline(WOOD_LIMIT, color=LIMIT, lw=1.0, ls="--")
    ax.yaxis.set_major_formatter("{x:.0f} %")
    _ruled(ax)


def _dew_points(ax: Axes, season: Season, frame: pd.DataFrame, show: Show) -> None:
    outdoor = season.weather.frame["temp_dew"].loc[frame.index]
    for values, look in (
        (outdoor, {"color": OUTDOORS, "lw": 1.6}),
        (season.hourly[DEW_POINT], {"color": ROOM, "lw": 1.6, "ls": "--"}),
        (frame["dew_point_C"], {"color": SPACE, "lw": 2.0}),
    ):
        _line(ax, show.value(values, "temperature"), **look)
    _ruled(ax)
