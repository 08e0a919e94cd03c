"""The season: humidity next to energy, one row for each option."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import dates
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, money, number, units_or_default
from moistsim.engine import END_USES, column_catalog
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, HUMID, LIMIT, Context, Drawn
from moistsim.season import Season
from moistsim.study import Comparison

VISIBLE = 0.025
"""Minimum share of an option's electricity for a place in the legend of a slide."""


def season_figure(
    comparison: Comparison, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw humidity through the season next to energy and cost, one row for each option.

    The left panel shows indoor RH: the mean of each day, and a band from the 5th to the 95th
    percentile of the day's hours. The right panel shows electricity by end use, with its total and
    cost. Each label gives mean RH and hours above 60 % RH, because bills of houses that are not equally
    dry are not comparable. Lines have the color of the option's main machine.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    units : {"us", "si"}, optional
        Units of floor area and gas; default: those of `set_units`. Electricity is in kWh and RH in
        percent in both.
    ax : list of Axes, optional
        Two for each option, row by row, in place of a page.
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
    >>> figure = ms.figures.season_figure(study.run()).savefig("season.svg")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    seasons = comparison.seasons
    n = len(seasons)
    days = {name: daily_rh(season) for name, season in seasons.items()}
    low = min(float(frame["low"].min()) for frame in days.values())
    high = max(float(frame["high"].max()) for frame in days.values())
    limits = (min(30.0, 10.0 * np.floor(low / 10.0)), max(70.0, 10.0 * np.ceil(high / 10.0)))
    longest = max(season.meter.total_kwh for season in seasons.values())
    looks = style.option_looks(comparison)
    with style.sheet("season_figure", context, ax) as page:
        axes = page.panels(
            n, 2, height=1.35 * n + 1.4, link_x="col", width_ratios=[1.25, 1.0]
        )  # fmt: skip
        inches = page.width(2)
        for (humidity, energy), (name, season) in zip(axes, seasons.items(), strict=True):
            _season_rh(humidity, days[name], limits, looks[name][0])
            # A slide has room for one line above a panel; its title and the other panel say the rest.
            label = "" if page.slide else style.dryness(season)
            style.name_panel(humidity, name, label, 1.05 * inches - 0.3)
            # Four bars on a slide are thinner than their numbers.
            _bar(energy, season, longest, numbers=not (page.slide and n > 3))
            gas = season.meter.gas_kwh
            cost = comparison.study.bill(season).unrounded
            whole = "whole house " if comparison.study.tariff.is_of_whole_house else ""
            burnt = f" and {show(gas, 'gas')} of gas" if gas > 0.0 else ""
            said = f"{number(season.meter.total_kwh)} kWh{burnt}, {whole}{money(cost)}"
            energy.set_title(
                style.wrapped(said, 0.85 * inches - 0.3, "medium", "bold"), loc="left",
                fontweight="bold",
            )  # fmt: skip
        date_axis(axes[-1, 0], len(next(iter(days.values()))), 2 if page.slide else 1)
        axes[n // 2, 0].set_ylabel("Indoor RH, %")
        axes[-1, 1].set_xlabel("Electricity by end use, kWh")
        least = VISIBLE if page.slide else 0.0
        totals = [season.meter.kwh for season in seasons.values()]
        used = [
            use
            for use in style.end_uses_of(totals)
            if any(float(one[use]) > least * float(one.sum()) for one in totals)
        ]
        hourly = next(iter(seasons.values())).hourly
        humid = {
            name: season.meter.of(column_catalog.HOURS_OVER_60) for name, season in seasons.items()
        }

        def words(name: str) -> str:
            return f"{number(humid[name])}\xa0h for {number(seasons[name].meter.total_kwh)}\xa0kWh"

        driest = min(humid, key=lambda name: (humid[name], seasons[name].meter.total_kwh))
        told = dict.fromkeys((comparison.base, driest))
        return page.done(
            f"Above {HUMID:g}\xa0% RH: "
            + ", ".join(f"{words(name)} with {style.quoted(name)}" for name in told),
            f"{style.place(comparison.study, show)}. "
            f"{show.days(hourly.index[0], hourly.index[-1])}, humidity and energy of each option",
            alt="; ".join(f"{name}: {words(name)}" for name in seasons),
            key=[
                # Each row has the color of its machine: the legend has none.
                Line2D([], [], color=LIMIT, lw=2.0, label="Daily mean RH"),
                Patch(
                    facecolor=(LIMIT, 0.25),
                    edgecolor=LIMIT,
                    lw=0.5,
                    label="5 to 95 % of the day’s hours",
                ),
                Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=f"{HUMID:g} % RH"),
                *(
                    Patch(color=END_USE_COLORS[use], label=column_catalog.USES[use].label)
                    for use in used
                ),
            ],
        )


def daily_rh(season: Season) -> pd.DataFrame:
    """Mean, 5th and 95th percentile of each day's hours, at the day's noon."""
    rh = season.hourly["indoor_rh_pct"]
    by_day = rh.groupby(rh.index.normalize())  # type: ignore[attr-defined]
    frame = pd.DataFrame(
        {"mean": by_day.mean(), "low": by_day.quantile(0.05), "high": by_day.quantile(0.95)}
    )
    frame.index = frame.index + pd.Timedelta(hours=12)
    return frame


def _season_rh(ax: Axes, days: pd.DataFrame, limits: tuple[float, float], color: str) -> None:
    x = days.index.to_numpy()
    style.band(ax, x, days["low"].to_numpy(float), days["high"].to_numpy(float), color)
    ax.plot(x, days["mean"].to_numpy(float), color=color, lw=2.0, marker="" if len(x) > 3 else "o")
    ax.axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
    ax.set_ylim(*limits)
    ax.set_yticks(np.arange(20.0 * np.ceil(limits[0] / 20.0), limits[1] + 1.0, 20.0))
    ax.grid(axis="y")
    ax.margins(x=0.01)
    style.plain(ax)


def _bar(ax: Axes, season: Season, longest: float, *, numbers: bool) -> None:
    left = 0.0
    for use in END_USES:
        kwh = float(season.meter.kwh[use])
        if kwh <= 0.0:
            continue
        color = END_USE_COLORS[use]
        ax.barh(0.0, kwh, left=left, height=0.55, color=color, edgecolor="white", lw=0.8)
        if numbers and kwh > 0.14 * longest:
            ax.text(
                left + 0.5 * kwh, 0.0, f"{kwh:,.0f}", ha="center", va="center",
                fontsize="small", color=style.ink_on(color),
            )  # fmt: skip
        left += kwh
    ax.set_xlim(0.0, 1.02 * longest if longest > 0.0 else 1.0)
    ax.set_ylim(-0.5, 0.5)
    ax.set_yticks([])
    ax.grid(axis="x")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    style.plain(ax)
    ax.spines["left"].set_visible(True)


def date_axis(ax: Axes, days: int, every: int = 1) -> None:
    """Months along a season of so many days, or every second one; dates along a short season."""
    months = days > 75
    ax.xaxis.set_major_locator(
        dates.MonthLocator(interval=every)  # type: ignore[no-untyped-call]
        if months
        else dates.AutoDateLocator(minticks=2, maxticks=7)  # type: ignore[no-untyped-call]
    )

    def label(value: float, _: object) -> str:
        stamp = dates.num2date(value)  # type: ignore[no-untyped-call]
        return f"{stamp:%b}" if months else f"{stamp:%b} {stamp.day}"

    ax.xaxis.set_major_formatter(label)
