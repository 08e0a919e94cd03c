"""Picture of a saving: electricity and humid hours by month."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from scipy import stats

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.figures import style

if TYPE_CHECKING:
    from moistsim.savings.savings import Savings

METERED, WOULD = style.PLACE_COLORS[3], style.PLACE_COLORS[2]
"""Colors of the metered use and of the regression."""
FEW_HOURS = 0.005
"""Share of humid hours up to which the picture has dew points in place of humid hours."""
BEFORE, AFTER = "#8e8d8d", style.PLACE_COLORS[0]
"""Colors of the humid hours with the machines before and after."""


def shows_hours(of: "Savings") -> bool:
    """Whether the house is humid often enough for a picture of its hours; if not, dew points tell more."""
    return max(hours.value for hours in of.humid_hours) > FEW_HOURS * of.hours


def savings_figure(
    of: "Savings", units: Units | None = None, *, ax: Any = None,
    context: style.Context = "paper", narrow: bool = False,
) -> style.Drawn:  # fmt: skip
    """Draw a saving by month: electricity above, humid hours below.

    A house that is hardly ever humid shows its dew points in place of humid hours.

    Parameters
    ----------
    of : Savings
    units : {"us", "si"}, optional
    ax : list of two Axes, optional
        In place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    narrow : bool
        Draw for a phone.
    """
    units = units_or_default(units, "savings_figure")
    with style.sheet("savings_figure", context, ax, narrow=narrow) as page:
        electricity, humid = page.panels(
            2, 1, height=6.6 if narrow else 6.2, link_x=True, height_ratios=[1.4, 1.0]
        ).ravel()
        months = pd.DatetimeIndex(of.simulated.changed[0].humid.index)
        _electricity(electricity, of, months, page)
        if shows_hours(of):
            _humid(humid, of, months, page)
        else:
            _dew_points(humid, of, months, Show(units), page)
        marks = np.arange(len(months))
        every = 1 if len(months) <= 13 else 2
        humid.set_xticks(marks[::every])
        names = [
            f"{stamp:%b}\n{stamp:%Y}" if k == 0 or stamp.month == 1 else f"{stamp:%b}"
            for k, stamp in enumerate(months)
        ]
        humid.set_xticklabels(names[::every])
        for panel in (electricity, humid):
            style.plain(panel)
            panel.yaxis.set_major_formatter(lambda value, _: number(value))
        first, *others = of.sentences(units)
        return page.done(
            first, " ".join(others[:1]), alt=" ".join(others[1:]),
            key=[h for one in (electricity, humid) for h in one.get_legend_handles_labels()[0]],
        )  # fmt: skip


def _electricity(ax: Axes, of: "Savings", months: pd.DatetimeIndex, page: style.Sheet) -> None:
    readings, model = of.readings, of.model
    if readings is None or model is None:
        simulated = of.simulated
        for runs, color, words, side in (
            (simulated.unchanged, BEFORE, "old machines, simulated", -1.0),
            (simulated.changed, AFTER, "new machines, simulated", 1.0),
        ):
            by_month = np.median([run.kwh.resample("MS").sum().to_numpy() for run in runs], axis=0)
            ax.bar(
                np.arange(len(months)) + 0.2 * side, by_month, width=0.4, color=color, label=words
            )
        ax.set_title(
            style.wrapped("Electricity of the machines, kWh a month", page.width() - 0.8),
            loc="left",
        )
        _room(ax)
        return
    # A reading belongs to the month of its middle day.
    middle = readings.start + pd.to_timedelta(0.5 * readings.days, unit="D")
    at = months.searchsorted(middle, side="right") - 1
    places = np.unique(at)
    t = float(stats.t.ppf(0.5 + 0.5 * of.level, model.freedom))
    used, would, reach = [], [], []
    for place in places:
        rows = np.flatnonzero(at == place)
        part = readings[rows[0] : rows[-1] + 1]
        total, error = model.total(part)
        used.append(float(part.kwh.sum()))
        would.append(total)
        reach.append(t * error)
    ax.bar(places, used, width=0.7, color=METERED, label="metered")
    ax.errorbar(
        places, would, reach, fmt="_", color=WOULD, ms=22, mew=2.5, capsize=4, lw=1.4,
        label=f"without the change, {100.0 * of.level:.0f} % band",
    )  # fmt: skip
    ax.set_title(
        style.wrapped("Electricity of the house, kWh a month", page.width() - 0.8), loc="left"
    )
    _room(ax)


def _humid(ax: Axes, of: "Savings", months: pd.DatetimeIndex, page: style.Sheet) -> None:
    simulated = of.simulated
    for runs, color, words, side in (
        (simulated.unchanged, BEFORE, "with the old machines", -1.0),
        (simulated.changed, AFTER, "with the new machines", 1.0),
    ):
        hours = np.median([run.humid.to_numpy() for run in runs], axis=0)
        ax.bar(np.arange(len(months)) + 0.2 * side, hours, width=0.4, color=color, label=words)
    ax.set_title(
        style.wrapped(
            f"Hours above {of.goal.above_rh:g} % RH in the same weather, simulated",
            page.width() - 0.8,
        ),
        loc="left",
    )
    _room(ax)


def _dew_points(
    ax: Axes, of: "Savings", months: pd.DatetimeIndex, show: Show, page: style.Sheet
) -> None:
    simulated = of.simulated
    for runs, color, words, marker in (
        (simulated.unchanged, BEFORE, "with the old machines", "s"),
        (simulated.changed, AFTER, "with the new machines", "o"),
    ):
        by_month = np.median(
            [run.dew_point.resample("MS").mean().to_numpy() for run in runs], axis=0
        )
        ax.plot(
            np.arange(len(months)), show.value(by_month, "temperature"), color=color,
            marker=marker, ms=6, lw=2.0, label=words,
        )  # fmt: skip
    ax.set_title(
        style.wrapped(
            f"Mean indoor dew point in the same weather, simulated, {show.unit('temperature')}",
            page.width() - 0.8,
        ),
        loc="left",
    )
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + 0.08 * (high - low))


def _room(ax: Axes) -> None:
    """Room above the highest bar."""
    low, high = ax.get_ylim()
    ax.set_ylim(min(low, 0.0), max(1.08 * high, 1.0))
