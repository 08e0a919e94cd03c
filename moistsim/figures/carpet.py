"""Indoor humidity of every hour: days across, hours of the day upward."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.colors import BoundaryNorm, LinearSegmentedColormap
from matplotlib.dates import date2num

from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.season import date_axis
from moistsim.figures.style import HUMID, Context, Drawn
from moistsim.study import Comparison

EDGES = np.arange(30.0, 85.1, 5.0)
"""Edges of the classes of RH, percent. The scale has arrows for what lies beyond."""

_AT_HUMID = (HUMID - EDGES[0]) / (EDGES[-1] - EDGES[0])
DRY_TO_HUMID = LinearSegmentedColormap.from_list(
    "dry to humid",
    [
        (0.0, "#f4f6f8"), (_AT_HUMID - 0.001, "#6f9dc4"), (_AT_HUMID + 0.001, "#b5532a"),
        (1.0, "#3a0703"),
    ],
)  # fmt: skip
"""Blue up to 60 % RH and brown above; darker with every step, so it reads without hue."""


def carpet_figure(
    comparison: Comparison, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw indoor RH of every hour as a carpet, one for each option.

    Each column is a day and each row an hour of the day, so the picture shows at which time of the
    year and of the day the house is humid.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`. RH is in percent.
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
    >>> figure = ms.figures.carpet_figure(study.run())  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    seasons = comparison.seasons
    n = len(seasons)
    with style.sheet("carpet_figure", context, ax) as page:
        axes = page.panels(n, height=1.35 * n + 1.0, link_x=True)[:, 0]
        for panel, (name, season) in zip(axes, seasons.items(), strict=True):
            cells = _cells(panel, season.hourly["indoor_rh_pct"])
            if page.slide:
                panel.set_yticks([0.0, 12.0, 24.0])
            hours = season.meter.of(column_catalog.HOURS_OVER_60)
            style.name_panel(
                panel,
                f"{name}: {count(hours, 'hour')} above {HUMID:g}\xa0%",
                "",
                page.width() - 1.6,
            )
        axes[n // 2].set_ylabel("Hour of the day")
        hourly = next(iter(seasons.values())).hourly
        date_axis(axes[-1], len(hourly) // 24, 2 if page.slide else 1)
        bar = page.figure.colorbar(
            cells, ax=list(axes), extend="both", ticks=EDGES[::2], aspect=30.0, pad=0.02
        )
        bar.set_label("Indoor RH, %")
        bar.ax.tick_params(labelsize=style.points("small"))
        base = seasons[comparison.base].hourly["indoor_rh_pct"]
        humid = {
            name: season.meter.of(column_catalog.HOURS_OVER_60) for name, season in seasons.items()
        }
        return page.done(
            f"{_when(base)}: hours above {HUMID:g}\xa0% RH are {style.each(humid, number)}",
            f"{style.place(comparison.study, show)}. "
            f"{show.days(hourly.index[0], hourly.index[-1])}, indoor relative humidity by day and "
            "hour (standard time)",
            alt="One carpet for each option",
        )


def _when(rh: "pd.Series[float]") -> str:
    """The month and the part of the day in which most hours are humid."""
    index = pd.DatetimeIndex(rh.index)[rh.to_numpy(float) > HUMID]
    if not len(index):
        return f"No hour is humid with the base option (highest RH {rh.max():.0f}\xa0%)"
    month = index.month_name().value_counts().idxmax()
    hours = np.bincount(index.hour.to_numpy() // 6, minlength=4)
    part = ("night", "morning", "afternoon", "evening")[int(hours.argmax())]
    return f"Most humid in {month} and in the {part}"


def _cells(ax: Any, rh: "pd.Series[float]") -> Any:
    """Draw one cell for each hour. Hours outside the season stay white."""
    index = pd.DatetimeIndex(rh.index)
    table = pd.Series(rh.to_numpy(float), index=[index.normalize(), index.hour]).unstack()
    days = date2num(pd.DatetimeIndex(table.index).to_pydatetime())  # type: ignore[no-untyped-call]
    cells = ax.pcolormesh(
        np.append(days, days[-1] + 1.0),
        np.append(table.columns.to_numpy(float), 24.0),
        np.ma.masked_invalid(table.to_numpy(float).T),
        cmap=DRY_TO_HUMID,
        norm=BoundaryNorm(EDGES, DRY_TO_HUMID.N, extend="both"),
        rasterized=True,
    )
    ax.xaxis_date()
    ax.set_yticks([0.0, 6.0, 12.0, 18.0, 24.0])
    ax.set_ylim(0.0, 24.0)
    style.plain(ax)
    return cells
