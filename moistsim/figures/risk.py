"""Humid hours of the season, and the risk of mold on the coldest surfaces."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, check_units, number
from moistsim.figures import style
from moistsim.figures.season import date_axis
from moistsim.figures.style import LIMIT, STYLE_SIZE, Page
from moistsim.risk import RiskBasis, risk_hours, spells
from moistsim.risk import mold as mold
from moistsim.season import Season
from moistsim.study import Comparison

MARKS = (60.0, 65.0)
"""Limits between dry, humid and very humid hours, percent RH."""

DRY_TO_HUMID = ("#eef1f4", "#6aa5d8", "#7a1f0c")
"""Colors below, between and above `MARKS`, from light to dark so they read without hue."""

LIMIT_DASHES: Any = (0, (1, 2))


def spells_figure(comparison: Comparison, units: Units = "us") -> Figure:
    """Draw the hours above 60 % and above 65 % RH: days across, hours of the day upward.

    Each label gives the hours above both levels and the longest spell: consecutive hours with a
    mean above 60 %.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    units : {"us", "si"}
        Units of the floor area in the title.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither.

    Examples
    --------
    >>> figure = ms.figures.spells_figure(study.run(), units="si")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    seasons = comparison.seasons
    n = len(seasons)
    figure = Page(
        figsize=(13.0, (1.9 if n < 5 else 1.6) * n + 1.9),
        layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.08),
    )
    axes: Any = figure.subplots(n, 1, sharex=True, squeeze=False)[:, 0]
    for ax, (name, season) in zip(axes, seasons.items(), strict=True):
        _clock(ax, season)
        style.title(ax, name, _spells_words(season, show), 90)
    hourly = next(iter(seasons.values())).hourly
    date_axis(axes[-1], len(hourly) // 24)
    figure.supylabel("Hour of the day (standard time)", fontsize=STYLE_SIZE)
    low, between, high = DRY_TO_HUMID
    style.legend(
        figure,
        [
            Patch(facecolor=low, edgecolor="#b5b5b5", label=f"Up to {MARKS[0]:g} % RH"),
            Patch(color=between, label=f"{MARKS[0]:g} to {MARKS[1]:g} %"),
            Patch(color=high, label=f"Above {MARKS[1]:g} %"),
        ],
    )
    figure.suptitle(
        f"{style.place(comparison.study, show)}\n"
        f"{show.days(hourly.index[0], hourly.index[-1])}: humid hours of each option",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _spells_words(season: Season, show: Show) -> str:
    humidity, rh = season.meter.humidity, season.hourly["indoor_rh_pct"]
    low, high = (f"{mark:g}" for mark in MARKS)
    words = (
        f"{number(humidity[f'hours_over_{low}'])} h above {low} %, "
        f"{number(humidity[f'hours_over_{high}'])} h above {high} %"
    )
    found = spells(rh > MARKS[0])
    if not len(found):
        return words
    first, end = found[np.argmax(found[:, 1] - found[:, 0])]
    return f"{words}; longest spell {end - first:,} h, from {show.day(rh.index[first])}"


def _clock(ax: Axes, season: Season) -> None:
    """Draw one cell for each hour. Hours outside the season stay white."""
    rh = season.hourly["indoor_rh_pct"]
    index = pd.DatetimeIndex(rh.index)
    table = pd.Series(rh.to_numpy(float), index=[index.normalize(), index.hour]).unstack()
    days = date2num(pd.DatetimeIndex(table.index).to_pydatetime())  # type: ignore[no-untyped-call]
    ax.pcolormesh(
        np.append(days, days[-1] + 1.0),
        np.append(table.columns.to_numpy(float), 24.0),
        np.ma.masked_invalid(table.to_numpy(float).T),
        cmap=ListedColormap(DRY_TO_HUMID),
        # The marks themselves are not above the marks.
        norm=BoundaryNorm([0.0, *np.nextafter(MARKS, 100.0), 200.0], len(DRY_TO_HUMID)),
        rasterized=True,
    )
    ax.xaxis_date()
    ax.set_yticks([0.0, 6.0, 12.0, 18.0, 24.0])
    ax.set_ylim(0.0, 24.0)
    style.plain(ax)


def mold_figure(
    comparison: Comparison, basis: RiskBasis | None = None, units: Units = "us"
) -> Figure:
    """Draw surface RH and mold index at the coldest corner and next to a supply register.

    The upper row shows the daily mean RH at the surface, with the lowest RH at which mold grows.
    The lower row shows the mold index, with the limit of ASHRAE Standard 160.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    basis : RiskBasis, optional
        As for `risk`.
    units : {"us", "si"}
        Units of the floor area and the temperature in the text.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither.

    Examples
    --------
    >>> figure = ms.figures.mold_figure(study.run(), ms.RiskBasis())  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    basis = basis or RiskBasis()
    hours = {name: risk_hours(season, basis) for name, season in comparison.seasons.items()}
    wordy = max(len(name) for name in hours) > 30
    figure = Page(
        # Long names need a row each.
        figsize=(13.0, 7.6 + (0.25 * len(hours) if wordy else 0.0)),
        layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.08),
    )
    axes: Any = figure.subplots(2, 2, sharex="col", sharey="row")
    handles = []
    option_look = style.option_looks(comparison)
    for column, (place, title, material) in enumerate(
        (
            ("corner", "Coldest corner", basis.corner_material),
            ("register", "Board next to a supply register", basis.register_material),
        )
    ):
        humid, index = axes[:, column]
        least = mold.SENSITIVITIES[material].least_rh
        for name, frame in hours.items():
            color, dashes = option_look[name]
            look: Any = {"color": color, "ls": dashes, "lw": 1.8}
            daily = frame[f"{place}_rh_pct"].resample("D").mean()
            humid.plot(daily.index.to_numpy() + np.timedelta64(12, "h"), daily, **look)
            index.plot(frame.index, frame[f"mold_index_{place}"], **look)
            if column == 0:
                handles.append(Line2D([], [], label=name, **look))
        for ax, limit in ((humid, least), (index, mold.CRITERION)):
            ax.axhline(limit, color=LIMIT, lw=1.0, ls=LIMIT_DASHES)
        humid.set_title(title, loc="left", fontsize=STYLE_SIZE, fontweight="bold")
        index.set_title(f"Material: {material}", loc="left", fontsize=STYLE_SIZE - 1.0)
        for ax in (humid, index):
            ax.grid(axis="y", color="#e3e3e3", lw=0.7)
            ax.margins(x=0.01)
            style.plain(ax)
        date_axis(index, len(next(iter(hours.values()))) // 24)
    lowest = min(float(f[["corner_rh_pct", "register_rh_pct"]].min().min()) for f in hours.values())
    worst = max(
        float(f[["mold_index_corner", "mold_index_register"]].max().max()) for f in hours.values()
    )
    axes[0, 0].set_ylim(10.0 * np.floor(min(lowest, 40.0) / 10.0), 102.0)
    axes[1, 0].set_ylim(-0.1, max(4.0, np.ceil(worst)) + 0.1)
    axes[0, 0].set_ylabel("Surface RH,\ndaily mean, %", fontsize=STYLE_SIZE)
    axes[1, 0].set_ylabel("Mold index,\n0 to 6", fontsize=STYLE_SIZE)
    warm = show(20.0, "temperature", 0)
    growth = f"Limits: lowest RH of growth above {warm} (top), ASHRAE 160 (bottom)"
    handles.append(Line2D([], [], color=LIMIT, lw=1.0, ls=LIMIT_DASHES, label=growth))
    style.legend(figure, handles, 1 if wordy else 3)
    figure.suptitle(
        f"{style.place(comparison.study, show)}\nMold risk on the coldest inside surfaces. "
        "The model ranks options; it is not an inspection.",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure
