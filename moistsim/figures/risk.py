"""Humid hours of the season, and the risk of mold on the coldest surfaces."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.dates import date2num
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.figures import style
from moistsim.figures.season import date_axis
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.risk import RiskBasis, risk_hours, spells
from moistsim.risk import mold as mold
from moistsim.season import Season
from moistsim.study import Comparison

MARKS = (60.0, 65.0)
"""Limits between dry, humid and very humid hours, percent RH."""

DRY_TO_HUMID = ("#eef1f4", "#6aa5d8", "#7a1f0c")
"""Colors below, between and above `MARKS`, from light to dark so they read without hue."""

LIMIT_DASHES: Any = (0, (1, 2))

VISIBLE_INDEX = 0.5
"""Mold index below which its line cannot be told from zero; 1 is the first growth, under a microscope."""


def spells_figure(
    comparison: Comparison, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw the hours above 60 % and above 65 % RH: days across, hours of the day upward.

    Each label gives the hours above both levels and the longest spell: consecutive hours with a
    mean above 60 %.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`.
    ax : list of Axes, optional
        One for each option, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide of up to four options.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or `ax` has another number of axes.

    Examples
    --------
    >>> figure = ms.figures.spells_figure(study.run(), units="si")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    seasons = comparison.seasons
    n = len(seasons)
    with style.sheet("spells_figure", context, ax) as page:
        axes = page.panels(n, height=1.45 * n + 1.3, link_x=True)[:, 0]
        longest = {}
        for panel, (name, season) in zip(axes, seasons.items(), strict=True):
            _clock(panel, season)
            if page.slide:
                panel.set_yticks([0.0, 12.0, 24.0])
            style.name_panel(panel, name, _spells_words(season, show), page.width() - 0.8)
            found = spells(season.hourly["indoor_rh_pct"] > MARKS[0])
            longest[name] = float(np.diff(found, axis=1).max()) if len(found) else 0.0
        hourly = next(iter(seasons.values())).hourly
        date_axis(axes[-1], len(hourly) // 24)
        axes[n // 2].set_ylabel("Hour of the day")
        low, between, high = DRY_TO_HUMID
        return page.done(
            f"Longest spell above {MARKS[0]:g}\xa0% RH: "
            f"{style.each(longest, lambda hours: f'{number(hours)} h')}",
            f"{style.place(comparison.study, show)}. "
            f"{show.days(hourly.index[0], hourly.index[-1])}, humid hours of each option "
            "(standard time)",
            alt="; ".join(
                f"{name}: {_spells_words(season, show)}" for name, season in seasons.items()
            ),
            key=[
                Patch(facecolor=low, edgecolor="#b5b5b5", label=f"Up to {MARKS[0]:g} % RH"),
                Patch(color=between, label=f"{MARKS[0]:g} to {MARKS[1]:g} %"),
                Patch(color=high, label=f"Above {MARKS[1]:g} %"),
            ],
        )


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
    comparison: Comparison, basis: RiskBasis | None = None, units: Units | None = None, *,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw surface RH and mold index at the coldest corner and next to a supply register.

    The upper row shows the daily mean RH at the surface, with the lowest RH at which mold grows.
    The lower row shows the mold index, with the limit of ASHRAE Standard 160. If the index hardly
    leaves zero with any option, the title says so and the lower row is not drawn.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    basis : RiskBasis, optional
        As for `risk`.
    units : {"us", "si"}, optional
        Units of the floor area and the temperature in the text; default: those of `set_units`.
    ax : list of Axes, optional
        In place of a page: RH at the corner and at the register, then the mold index of both
        (without the last two if the index hardly leaves zero).
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or `ax` has another number of axes.

    Examples
    --------
    >>> figure = ms.figures.mold_figure(study.run(), ms.RiskBasis())  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    basis = basis or RiskBasis()
    hours = {name: risk_hours(season, basis) for name, season in comparison.seasons.items()}
    places = {
        "corner": ("Coldest corner", basis.corner_material),
        "register": ("Board next to a supply register", basis.register_material),
    }
    worst = {
        name: max(float(frame[f"mold_index_{place}"].max()) for place in places)
        for name, frame in hours.items()
    }
    lowest = min(float(f[["corner_rh_pct", "register_rh_pct"]].min().min()) for f in hours.values())
    grows = max(worst.values()) >= VISIBLE_INDEX
    look: dict[str, Any] = {
        name: {"color": color, "ls": dashes, "lw": 1.8}
        for name, (color, dashes) in style.option_looks(comparison).items()
    }
    with style.sheet("mold_figure", context, ax) as page:
        axes = page.panels(
            2 if grows else 1, 2, height=5.6 if grows else 3.9, link_x="col", link_y="row"
        )
        for column, (place, (title, material)) in enumerate(places.items()):
            humid = axes[0, column]
            for name, frame in hours.items():
                daily = frame[f"{place}_rh_pct"].resample("D").mean()
                humid.plot(daily.index.to_numpy() + np.timedelta64(12, "h"), daily, **look[name])
            least = mold.SENSITIVITIES[material].least_rh
            humid.axhline(least, color=LIMIT, lw=1.0, ls=LIMIT_DASHES)
            style.name_panel(humid, title, f"Material: {material}", page.width(2) - 0.8)
            humid.set_ylim(10.0 * np.floor(min(lowest, 40.0) / 10.0), 102.0)
            if grows:
                index = axes[1, column]
                for name, frame in hours.items():
                    index.plot(frame.index, frame[f"mold_index_{place}"], **look[name])
                index.axhline(mold.CRITERION, color=LIMIT, lw=1.0, ls=LIMIT_DASHES)
                index.set_ylim(-0.1, max(4.0, np.ceil(max(worst.values()))) + 0.1)
            for panel in axes[:, column]:
                panel.grid(axis="y")
                panel.margins(x=0.01)
                style.plain(panel)
            days = len(next(iter(hours.values()))) // 24
            date_axis(axes[-1, column], days, 2 if days > 240 or page.slide else 1)
        axes[0, 0].set_ylabel("Surface RH,\ndaily mean, %")
        if grows:
            axes[1, 0].set_ylabel("Mold index,\n0 to 6")
        warm = show(20.0, "temperature", 0)
        limit = f"Limits: lowest RH of growth above {warm} (top)"
        limit += ", ASHRAE 160 (bottom)" if grows else ""
        index_words = style.each(worst, lambda value: number(value, 1))
        return page.done(
            f"Mold index reaches {index_words}; the limit is {mold.CRITERION:g}"
            if grows
            else f"Mold hardly starts: the index stays below {VISIBLE_INDEX:g} with every option; the "
            f"limit is {mold.CRITERION:g}",
            f"{style.place(comparison.study, show)}. Coldest inside surfaces. The model ranks options; "
            "it is not an inspection",
            alt="; ".join(
                f"{name}: mold index {number(value, 1)}" for name, value in worst.items()
            ),
            key=[
                *(Line2D([], [], label=name, **look[name]) for name in hours),
                Line2D([], [], color=LIMIT, lw=1.0, ls=LIMIT_DASHES, label=limit),
            ],
        )
