"""A space next to the house through the season: humidity, wood, and dew points of the air around it."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.engine import DEW_POINT
from moistsim.figures import style
from moistsim.figures.season import date_axis
from moistsim.figures.style import LIMIT, OUTDOORS, ROOM, Context, Drawn
from moistsim.risk import RiskBasis, mold, space_hours
from moistsim.risk import spaces as of_spaces
from moistsim.season import Season
from moistsim.study import Comparison

WOOD, WOOD_LIMIT, RH_LIMIT = of_spaces.WOOD, of_spaces.WOOD_LIMIT, mold.THIRTY_DAY_RH
SPACE, WET = "#7a5c2e", style.TOO_HUMID
"""Colors of a space, and of its wood above the limit."""


def space_figure(
    comparison: Comparison,
    space: str | None = None,
    basis: RiskBasis | None = None,
    units: Units | None = None,
    *,
    ax: Any = None,
    context: Context = "paper",
    narrow: bool = False,
) -> Drawn:
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
    units : {"us", "si"}, optional
        Units of dew point and floor area; default: those of `set_units`.
    ax : list of Axes, optional
        In place of a page: all panels, row by row.
    context : {"paper", "slide"}
        A page, or a slide of up to four options with one panel each, as for `narrow`.
    narrow : bool
        Draw one panel for each option, wood (or else RH), for a phone or a column of text.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or no option's house has the space.

    Examples
    --------
    >>> figure = ms.figures.space_figure(study.run(), "crawl_space")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    known = [*dict.fromkeys(name for s in comparison.seasons.values() for name in s.spaces)]
    if not known or (space is not None and space not in known):
        accepted = one_of(str(space), known) if known else "a study of houses with a space"
        raise InputError("space_figure space", space, accepted)
    space = space or known[0]
    seasons = {name: s for name, s in comparison.seasons.items() if space in s.spaces}
    hours = {name: space_hours(season, space, basis) for name, season in seasons.items()}
    wooden, named = space in WOOD, space.replace("_", " ")
    index = next(iter(hours.values())).index
    days = len(index) // 24
    with style.sheet("space_figure", context, ax, narrow=narrow) as page:
        single = page.slide or narrow
        key = _single(page, space, hours) if single else _rows(page, space, seasons, hours, show)
        for panel in page.axes[-1:] if single else page.axes[-(3 if wooden else 2) :]:
            # Twelve names of months do not fit three charts side by side.
            date_axis(panel, days, every=1 if single or days < 75 else 4 if days > 240 else 2)
        measured = {
            name: float(frame["wood_moisture_pct"].resample("D").mean().max())
            if wooden
            else float(frame["rh_pct"].mean())
            for name, frame in hours.items()
        }
        what = f"{WOOD[space]} of the {named}: highest moisture" if wooden else f"{named}: mean RH"
        said = style.each(measured, lambda value: f"{value:.{1 if wooden else 0}f}\xa0%")
        limit = f"; the limit is {WOOD_LIMIT:g}\xa0%" if wooden else ""
        return page.done(
            f"{what[0].upper()}{what[1:]} {said}{limit}",
            f"{style.place(comparison.study, show)}. {show.days(index[0], index[-1])}, {named} with each "
            "option",
            alt="; ".join(
                f"{name}: {_wood_words(frame) if wooden else _rh_words(frame)}"
                for name, frame in hours.items()
            ),
            key=() if narrow else key,
        )


def _rows(
    page: style.Sheet, space: str, seasons: dict[str, Season], hours: dict[str, pd.DataFrame],
    show: Show,
) -> list[Any]:  # fmt: skip
    """Rows of RH, wood and dew points; the entries of their legend."""
    n, wooden, named = len(seasons), space in WOOD, space.replace("_", " ")
    columns = 3 if wooden else 2
    axes = page.panels(n, columns, height=1.5 * n + 1.6, link_x=True, link_y="col")
    inches = page.width(columns) - 0.6
    for row, (name, season) in zip(axes, seasons.items(), strict=True):
        frame = hours[name]
        _rh(row[0], frame["rh_pct"])
        style.name_panel(row[0], name, _rh_words(frame), inches)
        if wooden:
            _wood(row[1], frame)
            _head(row[1], _wood_words(frame).capitalize(), inches)
        _dew_points(row[-1], season, frame, show)
        mean = show(frame["dew_point_C"].mean(), "temperature", 1)
        _head(row[-1], f"Dew point, mean {mean}", inches)
    _range(axes[0, 0], 40.0, 90.0)
    if wooden:
        _range(axes[0, 1], 5.0, 25.0)
    for ax in axes[:, -1]:
        ax.yaxis.set_major_formatter(f"{{x:.0f}} {show.unit('temperature')}")
    handles: list[Any] = [
        Line2D([], [], color=SPACE, lw=2.0, label=f"{named.capitalize()}, daily mean"),
        Patch(
            facecolor=(SPACE, 0.25), edgecolor=SPACE, lw=0.5, label="5 to 95 % of the day’s hours"
        ),
        Line2D([], [], color=OUTDOORS, lw=1.6, label="Outdoor dew point"),
        Line2D([], [], color=ROOM, lw=1.6, ls=(0, (3, 1.5)), label="Indoor dew point"),
        Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=_limits(wooden)),
    ]
    if wooden:
        handles.insert(1, _wet(space))
    return handles


def _single(page: style.Sheet, space: str, hours: dict[str, pd.DataFrame]) -> list[Any]:
    """Rows of one panel: wood, or RH without wood; the entries of their legend."""
    n, wooden, named = len(hours), space in WOOD, space.replace("_", " ")
    axes = page.panels(n, height=1.35 * n + 0.7, link_x=True, link_y=True)[:, 0]
    for ax, (name, frame) in zip(axes, hours.items(), strict=True):
        (_wood(ax, frame) if wooden else _rh(ax, frame["rh_pct"]))
        said = _wood_words(frame) if wooden else f"RH, mean {frame['rh_pct'].mean():.0f}\xa0%"
        style.name_panel(ax, f"{name}: {said}", "", page.width() - 0.7)
    _range(axes[0], *((5.0, 25.0) if wooden else (40.0, 90.0)))
    key: list[Any] = [
        Line2D([], [], color=SPACE, lw=2.0, label=f"{named.capitalize()}, daily mean")
    ]
    if wooden:
        key.append(_wet(space))
    limit = f"Limit: {WOOD_LIMIT:g} %" if wooden else _limits(wooden)
    return [*key, Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=limit)]


def _wet(space: str) -> Patch:
    return Patch(color=WET, lw=0, label=f"{WOOD[space].capitalize()} above {WOOD_LIMIT:g} %")


def _rh_words(frame: pd.DataFrame) -> str:
    return f"RH, mean {frame['rh_pct'].mean():.0f} %"


def _limits(wooden: bool) -> str:
    rh = f"Limits: {RH_LIMIT:g} % RH"
    return f"{rh}, {WOOD_LIMIT:g} % wood moisture" if wooden else rh


def _wood_words(frame: pd.DataFrame) -> str:
    highest = frame["wood_moisture_pct"].resample("D").mean().max()
    index = number(frame["mold_index"].max(), 1)
    return (
        f"wood moisture up to {highest:.1f}\N{NO-BREAK SPACE}%, mold index\N{NO-BREAK SPACE}{index}"
    )


def _head(ax: Axes, label: str, inches: float) -> None:
    ax.set_title(style.wrapped(label, inches, "small"), loc="left", fontsize="small")


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
    ax.grid(axis="y")
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
        (season.hourly[DEW_POINT], {"color": ROOM, "lw": 1.6, "ls": (0, (3, 1.5))}),
        (frame["dew_point_C"], {"color": SPACE, "lw": 2.0}),
    ):
        _line(ax, show.value(values, "temperature"), **look)
    _ruled(ax)
