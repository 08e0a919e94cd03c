"""Figures of a comparison that a person can present: the season, and one day by the minute.

Each function returns a matplotlib Figure with no state of its own kept anywhere: show it in a
notebook, or save it (``figure.savefig("season.svg")`` keeps it a vector drawing).
"""

import textwrap
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from matplotlib import dates
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from moistsim import air
from moistsim.bench import coil_bench
from moistsim.equipment import Cooling
from moistsim.meter import END_USES
from moistsim.season import Season
from moistsim.study import Comparison, Study, Units
from moistsim.units import InputError, from_si

# Lightness as well as hue differs between neighbours in a stack, so that the colours hold for
# colour-blind eyes and on a grey printer (a test measures this).
END_USE_COLOURS = {
    "compressor": "#17456e",
    "indoor_fan": "#8ec1e6",
    "reheat": "#cf4f1f",
    "backup_heat": "#6e1f10",
    "heat_pump": "#efb94b",
    "dehumidifier": "#169a86",
    "ventilation_fan": "#c9c9c9",
    "standby": "#4b4b4b",
}
"""One colour an end use, the same in every figure."""
END_USE_NAMES = {
    **{use: use.replace("_", " ") for use in END_USES},
    "compressor": "compressor and outdoor fan",
    "reheat": "strips as reheat",
    "backup_heat": "strips as heat",
}
SOURCE_GROUPS = {
    "sun": ("sun",),
    "walls, roof, windows, ground": ("opaque", "windows", "ground"),
    "infiltration and ventilation air": (
        "infiltration",
        "ventilation",
        "window_opening",
        "pressure",
    ),
    "ducts": ("ducts",),
    "damp ground, new materials": ("ground_vapour", "construction"),
    "people and appliances": ("people_and_appliances",),
    "household vapour": ("household_vapour",),
    "fans and controls": ("indoor_fan", "ventilation_fan", "standby"),
    "strips": ("reheat", "backup_heat"),
    "hot gas": ("hot_gas",),
    "heat pump, furnace": ("heat_pump", "furnace"),
    "dehumidifier": ("dehumidifier", "dehumidifier_condensing"),
    "in the house at the start": ("initial",),
}
"""Sources of `Attribution` as `sources_figure` shows them, each in one group."""
SOURCE_COLOURS = dict(
    zip(
        SOURCE_GROUPS,
        ("#efb94b", "#8c7355", "#8ec1e6", "#d8f2b8", "#4a3fd0", "#17456e", "#7fb069", "#c9c9c9",
         "#cf4f1f", "#9060c0", "#6e1f10", "#169a86", "#4b4b4b"),
        strict=True,
    )
)  # fmt: skip
ROOM, OUTDOORS, LIMIT = "#17456e", "#8a8a8a", "#333333"

STYLE_SIZE = 12.0
"""Points: read from the back of a room when the figure fills the screen."""
HUMID = 60.0
"""Per cent RH whose hours are named beside each option."""


def season_figure(comparison: Comparison, units: Units = "us") -> Figure:
    """Humidity through the season beside the energy that it took, one row an option.

    Left, the room's RH: the mean of each day, and a band from the 5th to the 95th percentile of
    the day's hours. Right, electricity by end use, with its total and cost. Each option's mean dew
    point and hours above 60 per cent stand in its label, so that no bill is read without the
    dryness that it bought.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    units : {"us", "si"}
        Of dew point and floor area; electricity is in kWh and RH in per cent in both.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither.
    """
    _check(units)
    seasons = comparison.seasons
    n = len(seasons)
    # Rows of six options are lower, so that the figure still fits a screen.
    figure = Figure(
        figsize=(14.0, (2.0 if n < 5 else 1.7) * n + 1.9),
        layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.08),
    )
    axes: Any = figure.subplots(
        n, 2, sharex="col", squeeze=False, gridspec_kw={"width_ratios": [1.25, 1.0]}
    )
    days = {name: _daily_rh(season) for name, season in seasons.items()}
    low = min(float(frame["low"].min()) for frame in days.values())
    high = max(float(frame["high"].max()) for frame in days.values())
    limits = (min(30.0, 10.0 * np.floor(low / 10.0)), max(70.0, 10.0 * np.ceil(high / 10.0)))
    longest = max(season.meter.total_kwh for season in seasons.values())
    for (humidity, energy), (name, season) in zip(axes, seasons.items(), strict=True):
        _season_rh(humidity, days[name], limits)
        _title(humidity, name, _dryness(season, units), 62)
        _bar(energy, season, longest)
        total = season.meter.total_kwh
        gas = season.meter.gas_kwh
        cost = comparison.study.tariff.cost(total, gas)
        burnt = f" and {gas:,.0f} kWh of gas" if gas > 0.0 else ""
        energy.set_title(
            f"{total:,.0f} kWh{burnt}, {cost:,.0f} USD",
            loc="left",
            fontsize=STYLE_SIZE,
            fontweight="bold",
        )
    _date_axis(axes[-1, 0], next(iter(days.values())))
    figure.supylabel("room relative humidity, %", fontsize=STYLE_SIZE)
    axes[-1, 1].set_xlabel("electricity by end use, kWh", fontsize=STYLE_SIZE)
    used = _end_uses_of(season.meter.kwh for season in seasons.values())
    _legend(
        figure,
        [
            Line2D([], [], color=ROOM, lw=2.0, label="RH, mean of the day"),
            Patch(color=ROOM, alpha=0.25, lw=0, label="5 to 95 % of its hours"),
            Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=f"{HUMID:g} % RH"),
            *(Patch(color=END_USE_COLOURS[use], label=END_USE_NAMES[use]) for use in used),
        ],
    )
    hourly = next(iter(seasons.values())).hourly
    figure.suptitle(
        f"{_place(comparison.study, units)}\n{_date(hourly.index[0])} to {_date(hourly.index[-1])}: "
        "how humid each option leaves the room, and what it uses",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def day_figure(comparison: Comparison, day: str | None = None, units: Units = "us") -> Figure:
    """One day by the minute, one column an option.

    Rows from the top: temperatures and dew points of the room and outdoors; RH of the room; what
    runs, a lane a machine and a step a stage; electric power by end use.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; by default `Comparison.mild_humid_day`.
    units : {"us", "si"}
        Of temperatures, water and floor area.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.
    """
    _check(units)
    chosen = comparison.mild_humid_day() if day is None else day
    minutes = {name: season.minutes(chosen) for name, season in comparison.seasons.items()}
    n = len(minutes)
    # Never wider than a screen is beside its height: the letters would shrink with the picture.
    width = min(3.6 * n + 2.6, 17.0)
    figure = Figure(figsize=(width, 10.5), layout="constrained")
    axes: Any = figure.subplots(
        4,
        n,
        sharex=True,
        sharey="row",
        squeeze=False,
        gridspec_kw={"height_ratios": [1.25, 0.9, 0.8, 1.1]},
    )
    lanes = _lanes(comparison, minutes)
    for column, (name, frame) in zip(axes.T, minutes.items(), strict=True):
        season = comparison.seasons[name]
        hours = np.arange(len(frame), dtype=np.float64) * (season.step / 3600.0)
        _title(column[0], name, _day_label(frame, season, units), round(9.0 * (width - 1.5) / n))
        _temperatures(column[0], hours, frame, season, units)
        column[1].plot(hours, frame["zone_rh_pct"], color=ROOM, lw=1.8)
        column[1].axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
        _lane_steps(column[2], hours, frame, lanes)
        _power(column[3], hours, frame)
        column[3].set_xticks([0, 6, 12, 18, 24])
        column[3].set_xlim(0.0, 24.0)
        column[3].set_xlabel("hour, standard time", fontsize=STYLE_SIZE)
        for ax in column:
            ax.grid(axis="x", color="#dddddd", lw=0.7)
            _plain(ax)
    degree = "°F" if units == "us" else "°C"
    low, high = axes[1, 0].get_ylim()
    axes[1, 0].set_ylim(min(low, 40.0), max(high, 65.0))
    axes[3, 0].set_ylim(0.0, None)
    # The lanes name themselves.
    labels = {0: f"temperature, {degree}", 1: "room RH, %", 3: "power, kW"}
    for row, text in labels.items():
        axes[row, 0].set_ylabel(text, fontsize=STYLE_SIZE)
    figure.align_ylabels([axes[row, 0] for row in labels])
    used = _end_uses_of(
        pd.Series({use: frame[f"{use}_kWh"].sum() for use in END_USES})
        for frame in minutes.values()
    )
    _legend(
        figure,
        [
            Line2D([], [], color=ROOM, lw=1.8, label="room"),
            Line2D([], [], color=ROOM, lw=1.8, ls=":", label="room dew point"),
            Line2D([], [], color=OUTDOORS, lw=1.8, label="outdoors"),
            Line2D([], [], color=OUTDOORS, lw=1.8, ls=":", label="outdoor dew point"),
            Line2D(
                [], [], color=LIMIT, lw=1.0, ls="--", label=f"cooling set-point; {HUMID:g} % RH"
            ),
            *(Patch(color=END_USE_COLOURS[use], label=END_USE_NAMES[use]) for use in used),
        ],
    )
    first = next(iter(minutes.values())).index[0]
    figure.suptitle(
        f"{_place(comparison.study, units)}\n{_date(first)} by the minute",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def sources_figure(comparison: Comparison, day: str | None = None, units: Units = "us") -> Figure:
    """Where the water came from that machines took, and the heat that the compressor worked on.

    One row an option. Left, the water that left by the coil's drain and by the dehumidifier; right,
    the compressor's electricity, shared out by the heat that its coil took (`Attribution`). How
    much of it went into heat that reheat or the dehumidifier had added stands above.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; by default the whole season.
    units : {"us", "si"}
        Of water and floor area.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.
    """
    _check(units)
    found = {name: season.attribution(day) for name, season in comparison.seasons.items()}
    n = len(found)
    figure = Figure(
        figsize=(14.0, 1.75 * n + 2.4), layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.08)
    )
    axes: Any = figure.subplots(n, 2, sharex="col", squeeze=False)
    digits = 0 if day is None else 1
    pint = from_si(1.0, "kg", "pint") if units == "us" else 1.0
    shown: set[str] = set()
    longest = [0.0, 0.0]
    for (water, energy), (name, one) in zip(axes, found.items(), strict=True):
        litres = {str(to): _grouped(parts * pint) for to, parts in one.litres.items()}
        compressor = _grouped(one.compressor_kwh)
        taken = sum(sum(parts.values()) for parts in litres.values())
        unit = "pints" if units == "us" else "litres"
        _title(water, name, f"{taken:,.{digits}f} {unit} removed", 62)
        _stacks(water, litres)
        _stacks(energy, {"compressor": compressor})
        added = sum(compressor[group] for group in ("strips", "hot gas", "dehumidifier"))
        energy.set_title(
            f"{sum(compressor.values()):,.{digits}f} kWh, {added:,.{digits}f} of it on heat that "
            "reheat or the dehumidifier added",
            loc="left",
            fontsize=STYLE_SIZE - 1.0,
        )
        longest[0] = max(longest[0], *(sum(parts.values()) for parts in litres.values()))
        longest[1] = max(longest[1], sum(compressor.values()))
        for parts in (*litres.values(), compressor):
            shown.update(group for group, value in parts.items() if value > 0.0)
    for ax, end in zip(axes[-1], longest, strict=True):
        ax.set_xlim(0.0, 1.03 * end if end > 0.0 else 1.0)
    axes[-1, 0].set_xlabel(
        f"water removed by source, {'pints' if units == 'us' else 'litres'}", fontsize=STYLE_SIZE
    )
    axes[-1, 1].set_xlabel(
        "compressor's electricity by source of the heat that its coil took, kWh",
        fontsize=STYLE_SIZE,
    )
    _legend(
        figure,
        [
            Patch(color=colour, label=group)
            for group, colour in SOURCE_COLOURS.items()
            if group in shown
        ],
    )
    index = next(iter(comparison.seasons.values())).hourly.index
    if day is None:
        when = f"{_date(index[0])} to {_date(index[-1])}"
    else:
        when = _date(next(iter(comparison.seasons.values())).minutes(day).index[0])
    figure.suptitle(
        f"{_place(comparison.study, units)}\n{when}: where the water and the coil's heat came from",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


DESTINATIONS: dict[str, dict[str, tuple[str, ...]]] = {
    "water": {
        "coil's drain": ("coil",),
        "dehumidifier": ("dehumidifier",),
        "air that leaves": ("air_out",),
        "lost from ducts": ("ducts",),
        "wiped off wet surfaces": ("surfaces",),
        "more in stores and air": ("stored",),
    },
    "heat": {
        "coil, as water": ("coil_latent",),
        "coil, sensible": ("coil_sensible",),
        "dehumidifier's evaporator": ("dehumidifier",),
        "air that leaves": (
            "air_out",
            "infiltration",
            "ventilation",
            "window_opening",
            "pressure",
        ),
        "lost from ducts": ("ducts",),
        "walls, roof, windows, ground": ("opaque", "windows", "ground"),
        "wiped off wet surfaces": ("surfaces",),
        "more in masses and air": ("stored",),
    },
}
"""Where water and heat go in `Attribution.loads`, as `loads_figure` shows them."""
DESTINATION_COLOURS = {
    "coil's drain": "#2a6f97", "coil, as water": "#2a6f97", "coil, sensible": "#8ec1e6",
    "dehumidifier": "#169a86", "dehumidifier's evaporator": "#169a86",
    "air that leaves": "#c9c9c9", "walls, roof, windows, ground": "#8c7355",
    "lost from ducts": "#cf4f1f", "wiped off wet surfaces": "#9060c0", "more in stores and air": "#efb94b",
    "more in masses and air": "#efb94b",
}  # fmt: skip


def loads_figure(season: Season, day: str | None = None, units: Units = "us") -> Figure:
    """Latent and sensible balance by source: what comes in, and where it goes.

    A bar a source, as long as what came in under its name, in the parts in which it left: taken by
    the coil or the dehumidifier, gone with the air, or still in the house. What a source of earlier
    days gives back stands to the left of zero where it was stored, and to the right where it went.

    Parameters
    ----------
    season : Season
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; by default the mean day of the season.
    units : {"us", "si"}
        Pints and kBtu, or litres and kWh, a day.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.
    """
    _check(units)
    us = units == "us"
    loads = season.loads(day)
    # Here the two ways in which outdoor air comes are told apart.
    groups: dict[str, tuple[str, ...]] = {}
    for group, sources in SOURCE_GROUPS.items():
        if "ventilation" in sources:
            kinds = {"ventilation": "ventilation air", "window_opening": "open windows"}
            for source in sources:
                name = kinds.get(source, "air that leaks in")
                groups[name] = (*groups.get(name, ()), source)
        else:
            groups[group] = sources
    known = {source: group for group, sources in groups.items() for source in sources}
    loads = loads.groupby([known[str(source)] for source in loads.index]).sum()
    figure = Figure(figsize=(14.0, 7.2), layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.12))
    axes: Any = figure.subplots(1, 2)
    for ax, (kind, unit, factor, label) in zip(
        axes,
        (
            ("water", "kg", from_si(1.0, "kg", "pint" if us else "L"), "pints" if us else "litres"),
            ("heat", "kWh", from_si(1.0, "kWh", "kBtu") if us else 1.0, "kBtu" if us else "kWh"),
        ),
        strict=True,
    ):
        parts = pd.DataFrame(
            {
                name: loads[[f"{kind}_{sink}_{unit}" for sink in sinks]].sum(axis=1) * factor
                for name, sinks in DESTINATIONS[kind].items()
            }
        )
        least = 0.002 * float(parts.abs().to_numpy().sum())
        parts = parts.loc[[g for g in groups if parts.loc[g].abs().sum() > least]]
        came = loads[f"{kind}_in_{unit}"].loc[parts.index] * factor
        _destinations(ax, parts, came)
        ax.set_xlabel(f"{kind}, {label} a day", fontsize=STYLE_SIZE)
        handles = [
            Patch(color=DESTINATION_COLOURS[name], label=name)
            for name in DESTINATIONS[kind]
            if parts[name].abs().sum() > 0.0
        ]
        ax.legend(
            handles=handles, loc="upper left", bbox_to_anchor=(0.0, -0.12), ncols=2,
            frameon=False, fontsize=STYLE_SIZE - 1.0,
        )  # fmt: skip
    index = season.hourly.index
    when = (
        f"{_date(index[0])} to {_date(index[-1])}, mean day"
        if day is None
        else _date(season.minutes(day).index[0])
    )
    figure.suptitle(
        f"{_place(season, units)}\n{when}: where water and heat came from, and where they went",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _destinations(ax: Axes, parts: pd.DataFrame, came: pd.Series) -> None:
    """A stacked bar a source: parts above zero to the right, below it to the left."""
    for y, (_, row) in enumerate(parts.iloc[::-1].iterrows()):
        right = left = 0.0
        for name, value in row.items():
            start = right if value > 0.0 else left
            ax.barh(
                y, value, left=start, height=0.6, color=DESTINATION_COLOURS[str(name)],
                edgecolor="white", lw=0.8,
            )  # fmt: skip
            if value > 0.0:
                right += value
            else:
                left += value
        ax.annotate(
            f"{float(came.iloc[::-1].iloc[y]):,.1f}", (right, y), xytext=(6.0, 0.0),
            textcoords="offset points", va="center", fontsize=STYLE_SIZE - 1.0,
        )  # fmt: skip
    ax.axvline(0.0, color="black", lw=0.8)
    ax.set_ylim(len(parts) - max(len(parts), 6) - 0.6, len(parts) - 0.4)
    ax.set_yticks(range(len(parts)), [textwrap.fill(name, 22) for name in parts.index[::-1]])
    ax.tick_params(axis="y", length=0)
    # Room for the numbers behind the bars.
    longest = float(parts.clip(lower=0.0).sum(axis=1).max())
    ax.set_xlim(1.05 * float(parts.clip(upper=0.0).sum(axis=1).min()), 1.18 * longest)
    ax.grid(axis="x", color="#e3e3e3", lw=0.7)
    ax.set_title("figures: what came in", loc="right", fontsize=STYLE_SIZE - 2.0)
    _plain(ax)
    ax.spines["left"].set_visible(False)


# ---------------------------------------------------------------------- the sources' pieces


def _grouped(by_source: pd.Series) -> dict[str, float]:
    return {
        group: float(by_source.reindex(list(sources)).sum())
        for group, sources in SOURCE_GROUPS.items()
    }


def _stacks(ax: Axes, bars: dict[str, dict[str, float]]) -> None:
    """Horizontal stacked bars, the first on top, on an axis that other rows share."""
    for y, parts in enumerate(reversed(bars.values())):
        left = 0.0
        for group, value in parts.items():
            if value <= 0.0:
                continue
            ax.barh(
                y, value, left=left, height=0.6, color=SOURCE_COLOURS[group], edgecolor="white",
                lw=0.8,
            )  # fmt: skip
            left += value
    ax.set_ylim(-0.6, len(bars) - 0.4)
    ax.set_yticks(range(len(bars)), list(reversed(bars)))
    ax.tick_params(axis="y", length=0)
    ax.grid(axis="x", color="#e3e3e3", lw=0.7)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,g}")
    _plain(ax)
    ax.spines["left"].set_visible(True)


# ---------------------------------------------------------------------- the season's pieces


def _daily_rh(season: Season) -> pd.DataFrame:
    """Mean, 5th and 95th percentile of each day's hours, at the day's noon."""
    rh = season.hourly["zone_rh_pct"]
    by_day = rh.groupby(rh.index.normalize())  # type: ignore[attr-defined]
    frame = pd.DataFrame(
        {"mean": by_day.mean(), "low": by_day.quantile(0.05), "high": by_day.quantile(0.95)}
    )
    frame.index = frame.index + pd.Timedelta(hours=12)
    return frame


def _season_rh(ax: Axes, days: pd.DataFrame, limits: tuple[float, float]) -> None:
    x = days.index.to_numpy()
    ax.fill_between(
        x, days["low"].to_numpy(float), days["high"].to_numpy(float), color=ROOM, alpha=0.25, lw=0
    )
    ax.plot(x, days["mean"].to_numpy(float), color=ROOM, lw=2.0, marker="" if len(x) > 3 else "o")
    ax.axhline(HUMID, color=LIMIT, lw=1.0, ls="--")
    ax.set_ylim(*limits)
    ax.set_yticks(np.arange(limits[0], limits[1] + 1.0, 10.0))
    ax.grid(axis="y", color="#e3e3e3", lw=0.7)
    ax.margins(x=0.01)
    _plain(ax)


def _dryness(season: Season, units: Units) -> str:
    humidity = season.meter.humidity
    dew_point = _temperature(humidity["mean_dew_point_C"], units)
    return (
        f"mean dew point {dew_point:.1f} {'°F' if units == 'us' else '°C'}, "
        f"{humidity['hours_over_60']:,.0f} h above {HUMID:g} % RH"
    )


def _bar(ax: Axes, season: Season, longest: float) -> None:
    left = 0.0
    for use in END_USES:
        kwh = float(season.meter.kwh[use])
        if kwh <= 0.0:
            continue
        colour = END_USE_COLOURS[use]
        ax.barh(0.0, kwh, left=left, height=0.55, color=colour, edgecolor="white", lw=0.8)
        if kwh > 0.09 * longest:
            ax.text(
                left + 0.5 * kwh, 0.0, f"{kwh:,.0f}", ha="center", va="center",
                fontsize=STYLE_SIZE - 1.0, color=_ink_on(colour),
            )  # fmt: skip
        left += kwh
    ax.set_xlim(0.0, 1.02 * longest if longest > 0.0 else 1.0)
    ax.set_ylim(-0.5, 0.5)
    ax.set_yticks([])
    ax.grid(axis="x", color="#e3e3e3", lw=0.7)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    _plain(ax)
    ax.spines["left"].set_visible(True)


def _date_axis(ax: Axes, days: pd.DataFrame) -> None:
    months = len(days) > 75
    ax.xaxis.set_major_locator(
        dates.MonthLocator()  # type: ignore[no-untyped-call]
        if months
        else dates.AutoDateLocator(minticks=2, maxticks=7)  # type: ignore[no-untyped-call]
    )

    def label(value: float, _: object) -> str:
        stamp = dates.num2date(value)  # type: ignore[no-untyped-call]
        return f"{stamp:%b}" if months else f"{stamp:%b} {stamp.day}"

    ax.xaxis.set_major_formatter(label)


# ---------------------------------------------------------------------- the day's pieces


def _temperatures(
    ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame, season: Season, units: Units
) -> None:
    pressure = season.weather.frame["pressure"].reindex(frame.index, method="ffill")
    vapour = air.over(
        air.vapour_pressure, frame["outdoor_humidity_ratio"].to_numpy(float), pressure.to_numpy()
    )
    outdoor_dew_point = air.over(air.dew_point, vapour)
    for values, colour, dash in (
        (frame["outdoor_temperature_C"].to_numpy(float), OUTDOORS, "-"),
        (outdoor_dew_point, OUTDOORS, ":"),
        (frame["zone_temperature_C"].to_numpy(float), ROOM, "-"),
        (frame["zone_dew_point_C"].to_numpy(float), ROOM, ":"),
    ):
        ax.plot(hours, _temperature(values, units), color=colour, lw=1.8, ls=dash)
    setpoint = season.strategy.settings.get("cooling_setpoint")
    if setpoint is not None:
        ax.axhline(float(_temperature(setpoint, units)), color=LIMIT, lw=1.0, ls="--")


def _day_label(frame: pd.DataFrame, season: Season, units: Units) -> str:
    coil = -float(frame["water_coil_kg"].sum() + frame["water_reevaporated_kg"].sum())
    # A coil may give back more than it took; a sum of nothing is plain 0, not -0.
    water = coil - float(frame["water_dehumidifier_kg"].sum()) + 0.0
    water = 0.0 if abs(water) < 0.05 else water
    amount = f"{from_si(water, 'kg', 'pint'):.1f} pints" if units == "us" else f"{water:.1f} kg"
    kwh = float(frame["power_kW"].sum()) * season.step / 3600.0
    return f"{kwh:.1f} kWh\n{amount} removed"


class _Lane(NamedTuple):
    label: str
    column: str
    colour: str
    stages: float
    """Installed; the lane is this many steps high."""


def _lanes(comparison: Comparison, minutes: dict[str, pd.DataFrame]) -> list[_Lane]:
    """Lanes that any option uses on the day, from the bottom; cooling always."""
    machines = [season.machines for season in comparison.seasons.values()]
    cooling = max((len(m.cooling.stages) for m in machines if m.cooling), default=1)
    strips = max((len(m.strips.stages) for m in machines if m.strips), default=1)
    every = (
        _Lane("cooling", "cooling_stage", END_USE_COLOURS["compressor"], cooling),
        _Lane("strips", "reheat_stage", END_USE_COLOURS["reheat"], strips),
        _Lane("heating", "heating_stage", END_USE_COLOURS["heat_pump"], 2),
        # A machine without stages is on or off: its column holds hours of the step.
        _Lane("dehumidifier", "dehumidifier_on", END_USE_COLOURS["dehumidifier"], 1),
    )
    for frame in minutes.values():
        frame["dehumidifier_on"] = (frame["dehumidifier_h"] > 0.0) * 1.0
    return [
        lane
        for lane in every
        if lane.column == "cooling_stage"
        or any(bool((frame[lane.column] > 0.0).any()) for frame in minutes.values())
    ]


def _lane_steps(
    ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame, lanes: list[_Lane]
) -> None:
    for number, lane in enumerate(lanes):
        top = number + 0.8 * frame[lane.column].to_numpy(float) / lane.stages
        ax.fill_between(hours, number, top, step="post", color=lane.colour, lw=0)
        ax.axhline(number, color="#bbbbbb", lw=0.7)
    ax.set_ylim(-0.1, len(lanes))
    labels = [
        lane.label + (f"\n({lane.stages:g} stages)" if lane.stages > 1 else "") for lane in lanes
    ]
    ax.set_yticks([k + 0.4 for k in range(len(lanes))], labels)
    ax.tick_params(axis="y", length=0)


def _power(ax: Axes, hours: NDArray[np.float64], frame: pd.DataFrame) -> None:
    base = np.zeros(len(frame))
    # Power is energy over the step, and the steps are even.
    per_hour = 1.0 / float(hours[1] - hours[0])
    for use in END_USES:
        power = frame[f"{use}_kWh"].to_numpy(float) * per_hour
        if power.any():
            ax.fill_between(
                hours, base, base + power, step="post", color=END_USE_COLOURS[use], lw=0
            )
            base = base + power


# ---------------------------------------------------------------------- effective SHR


def effective_shr_figure(cooling: Cooling, **conditions: Any) -> Figure:
    """What short runs leave of a coil's drying: effective SHR against runtime fraction, both fans.

    Parameters
    ----------
    cooling : Cooling
        The machine. Its continuous fan turns at `idle_airflow`, or at the cycling stage's own air
        flow if that is 0.
    **conditions
        Stage, air and cycling rate, as `coil_bench` takes them.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        As `coil_bench`.
    """
    stage = cooling.stages[(conditions.get("stage") or len(cooling.stages)) - 1]
    idle = cooling.idle_airflow or stage.airflow / cooling.full_airflow
    machine: Any = cooling
    automatic = coil_bench(attrs.evolve(machine, idle_airflow=0.0), **conditions)
    continuous = coil_bench(attrs.evolve(machine, idle_airflow=idle), **conditions)
    steady = float(coil_bench(cooling, **conditions | {"runtime_fractions": [1.0]})["shr"].iloc[0])

    figure = Figure(figsize=(9.0, 5.6), layout="constrained")
    ax = figure.subplots()
    _plain(ax)
    ax.axhline(steady, color=LIMIT, lw=1.0, ls="--", label=f"coil that runs on: {steady:.2f}")
    delay = f", {cooling.fan_off_delay:.0f} s after a run" if cooling.fan_off_delay else ""
    for table, colour, label in (
        (continuous, END_USE_COLOURS["reheat"], f"continuous fan, {100.0 * idle:.0f} % of flow"),
        (automatic, ROOM, f"automatic fan{delay}"),
    ):
        ax.plot(table.index, table["shr"], color=colour, lw=2.5, label=label)
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(np.floor(10.0 * steady - 0.2) / 10.0, 1.01)
    ax.set_xlabel("runtime fraction", fontsize=STYLE_SIZE)
    ax.set_ylabel("effective sensible heat ratio", fontsize=STYLE_SIZE)
    ax.set_title(
        "How much drying is left when the coil cycles\n(1.0: all water goes back to the room)",
        loc="left",
        fontsize=STYLE_SIZE + 1.0,
    )
    _legend(figure, ax.get_legend_handles_labels()[0])
    return figure


# ---------------------------------------------------------------------- shared


def _check(units: str) -> None:
    if units not in ("si", "us"):
        raise InputError("figure units", units, "'si' or 'us'")


def _temperature(celsius: Any, units: Units) -> Any:
    return celsius * 1.8 + 32.0 if units == "us" else celsius


def _date(stamp: pd.Timestamp) -> str:
    return f"{stamp:%B} {stamp.day}"


def _place(of: Study | Season, units: Units) -> str:
    weather, house = of.weather, of.house
    place = weather.name or f"{weather.latitude:.2f}°, {weather.longitude:.2f}°"
    area = (
        f"{from_si(house.floor_area, 'm2', 'ft2'):,.0f} ft²"
        if units == "us"
        else f"{house.floor_area:,.0f} m²"
    )
    return f"A house of {area} in the weather of {place}"


def _title(ax: Axes, name: str, label: str, width: int) -> None:
    """The option's name in bold, wrapped, and a line about it."""
    lines = textwrap.wrap(name, width) or [name]
    ax.set_title(label, loc="left", fontsize=STYLE_SIZE - 1.0, pad=5.0)
    below = (STYLE_SIZE + 2.0) * label.count("\n")
    ax.annotate(
        "\n".join(lines), (0.0, 1.0), xycoords="axes fraction",
        xytext=(0.0, STYLE_SIZE + 8.0 + below),
        textcoords="offset points", ha="left", va="bottom", fontsize=STYLE_SIZE,
        fontweight="bold", annotation_clip=False,
    )  # fmt: skip


def _plain(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.set_axisbelow(True)
    ax.tick_params(labelsize=STYLE_SIZE - 1.0)


def _ink_on(colour: str) -> str:
    """Black or white, whichever contrasts more (relative luminance of WCAG 2)."""
    channels = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return "white" if linear @ (0.2126, 0.7152, 0.0722) < 0.179 else "black"


def _end_uses_of(totals: Any) -> list[str]:
    """End uses with any electricity, in the order of the stack."""
    summed = sum(totals)
    return [use for use in END_USES if float(summed[use]) > 0.0]


def _legend(figure: Figure, handles: list[Any]) -> None:
    width = float(figure.get_size_inches()[0])
    figure.legend(
        handles=handles,
        loc="outside lower center",
        ncols=max(2, min(len(handles), int(width / 2.7))),
        frameon=False,
        fontsize=STYLE_SIZE - 1.0,
    )
