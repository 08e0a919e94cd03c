"""Indoor humidity through the season, one row for each option."""

from typing import Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.season import daily_rh, date_axis
from moistsim.figures.style import HUMID, LIMIT, TOO_HUMID, Context, Drawn
from moistsim.study import Comparison


def humidity_figure(
    comparison: Comparison, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper", narrow: bool = False,
) -> Drawn:  # fmt: skip
    """Draw indoor relative humidity day by day: the mean, the band of hours, the part above 60 %.

    Lines have the color of the option's main machine.

    Parameters
    ----------
    comparison : Comparison
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`. RH is in percent.
    ax : list of Axes, optional
        One for each option, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide of up to four options.
    narrow : bool
        Draw for a phone or a column of text, without title.

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
    >>> figure = ms.figures.humidity_figure(study.run())  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    days = {name: daily_rh(season) for name, season in comparison.seasons.items()}
    n, looks = len(days), style.option_looks(comparison)
    low = min(float(frame["low"].min()) for frame in days.values())
    high = max(float(frame["high"].max()) for frame in days.values())
    limits = min(30.0, 10.0 * np.floor(low / 10.0)), max(70.0, 10.0 * np.ceil(high / 10.0))
    hours = {
        name: season.meter.of(column_catalog.HOURS_OVER_60)
        for name, season in comparison.seasons.items()
    }
    with style.sheet("humidity_figure", context, ax, narrow=narrow) as page:
        axes = page.panels(n, height=1.3 * n + (0.5 if narrow else 1.3), link_x=True, link_y=True)
        for panel, (name, frame) in zip(axes[:, 0], days.items(), strict=True):
            x = frame.index.to_numpy()
            lower, upper = frame["low"].to_numpy(float), frame["high"].to_numpy(float)
            color = looks[name][0]
            style.band(panel, x, lower, upper, color)
            panel.fill_between(
                x, np.maximum(lower, HUMID), np.maximum(upper, HUMID), color=TOO_HUMID, lw=0
            )
            panel.plot(
                x, frame["mean"].to_numpy(float), color=color, lw=1.9,
                marker="" if len(x) > 3 else "o",
            )  # fmt: skip
            panel.axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
            # A number stays with its sign.
            said = f"{count(hours[name], 'hour')} above {HUMID:g}\xa0%"
            style.name_panel(panel, f"{name}: {said}", "", page.width() - 0.8)
            style.plain(panel)
            panel.grid(axis="y")
            panel.margins(x=0.01)
            panel.set_ylim(*limits)
            panel.set_yticks(np.arange(20.0 * np.ceil(limits[0] / 20.0), limits[1] + 1.0, 20.0))
            panel.yaxis.set_major_formatter("{x:.0f} %")
        date_axis(axes[-1, 0], len(next(iter(days.values()))))
        axes[n // 2, 0].set_ylabel("Indoor RH")
        hourly = next(iter(comparison.seasons.values())).hourly
        return page.done(
            f"Hours above {HUMID:g}\xa0% RH: {style.each(hours, number)}",
            f"{style.place(comparison.study, show)}. "
            f"{show.days(hourly.index[0], hourly.index[-1])}, indoor relative humidity",
            alt="One panel for each option",
            key=() if narrow else [
                Line2D([], [], color=LIMIT, lw=1.9, label="Daily mean"),
                Patch(facecolor=(LIMIT, 0.25), edgecolor=LIMIT, lw=0.5, label="5 to 95 % of the day’s hours"),
                Patch(color=TOO_HUMID, label=f"Hours above {HUMID:g} % RH"),
            ],
        )  # fmt: skip
