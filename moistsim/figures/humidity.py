"""Indoor humidity through the season, one row for each option."""

import textwrap
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from moistsim.core.display import count
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.season import daily_rh, date_axis
from moistsim.figures.style import HUMID, LIMIT, STYLE_SIZE, TOO_HUMID, Page
from moistsim.study import Comparison

SMALL = STYLE_SIZE - 2.0


def humidity_figure(comparison: Comparison) -> Figure:
    """Draw indoor relative humidity day by day: the mean, the band of hours, the part above 60 %.

    Lines have the color of the option's main machine. The figure is as wide as a column of text, so it can be read on a phone.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    matplotlib.figure.Figure

    Examples
    --------
    >>> figure = ms.figures.humidity_figure(study.run())  # doctest: +SKIP
    """
    days = {name: daily_rh(season) for name, season in comparison.seasons.items()}
    n, looks = len(days), style.option_looks(comparison)
    low = min(float(frame["low"].min()) for frame in days.values())
    high = max(float(frame["high"].max()) for frame in days.values())
    figure = Page(figsize=(5.4, 1.35 * n + 0.7), layout=ConstrainedLayoutEngine(h_pad=0.06))
    axes: Any = figure.subplots(n, 1, sharex=True, sharey=True, squeeze=False)
    for ax, (name, frame) in zip(axes[:, 0], days.items(), strict=True):
        x = frame.index.to_numpy()
        lower, upper = frame["low"].to_numpy(float), frame["high"].to_numpy(float)
        color = looks[name][0]
        style.band(ax, x, lower, upper, color)
        ax.fill_between(
            x, np.maximum(lower, HUMID), np.maximum(upper, HUMID), color=TOO_HUMID, lw=0
        )
        ax.plot(
            x, frame["mean"].to_numpy(float), color=color, lw=1.6, marker="" if len(x) > 3 else "o"
        )
        ax.axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
        hours = comparison.seasons[name].meter.of(column_catalog.HOURS_OVER_60)
        said = f"{count(hours, 'hour')} above {HUMID:g} %"
        ax.set_title(
            # A number stays with its sign.
            "\n".join(textwrap.wrap(f"{name}: {said}".replace(" %", "\xa0%"), 60)),
            loc="left", fontsize=SMALL, fontweight="bold",
        )  # fmt: skip
        style.plain(ax)
        ax.grid(axis="y", color="#e3e3e3", lw=0.7)
        ax.margins(x=0.01)
        ax.tick_params(labelsize=SMALL)
    axes[0, 0].set_ylim(
        min(30.0, 10.0 * np.floor(low / 10.0)), max(70.0, 10.0 * np.ceil(high / 10.0))
    )
    axes[0, 0].set_yticks(np.arange(40.0 if low < 60.0 else 60.0, high + 1.0, 20.0))
    axes[0, 0].yaxis.set_major_formatter("{x:.0f} %")
    date_axis(axes[-1, 0], len(next(iter(days.values()))))
    return figure
