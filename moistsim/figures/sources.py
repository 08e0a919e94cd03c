"""Where water and heat come from, and where they go."""

import textwrap
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.patches import Patch

from moistsim.core.units import from_si
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE
from moistsim.season import Season
from moistsim.study import Comparison, Units

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
    "damp ground, new materials": ("ground_vapor", "construction"),
    "people and appliances": ("people_and_appliances",),
    "household vapor": ("household_vapor",),
    "fans and controls": ("indoor_fan", "ventilation_fan", "standby"),
    "strips": ("reheat", "backup_heat"),
    "hot gas": ("hot_gas",),
    "heat pump, furnace": ("heat_pump", "furnace"),
    "dehumidifier": ("dehumidifier", "dehumidifier_condensing"),
    "in the house at the start": ("initial",),
}
"""Sources of `Attribution` as `sources_figure` shows them, each in one group."""


SOURCE_COLORS = dict(
    zip(
        SOURCE_GROUPS,
        ("#efb94b", "#8c7355", "#8ec1e6", "#d8f2b8", "#4a3fd0", "#17456e", "#7fb069", "#c9c9c9",
         "#cf4f1f", "#9060c0", "#6e1f10", "#169a86", "#4b4b4b"),
        strict=True,
    )
)  # fmt: skip


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
    style.check(units)
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
        liters = {str(to): _grouped(parts * pint) for to, parts in one.liters.items()}
        compressor = _grouped(one.compressor_kwh)
        taken = sum(sum(parts.values()) for parts in liters.values())
        unit = "pints" if units == "us" else "liters"
        style.title(water, name, f"{taken:,.{digits}f} {unit} removed", 62)
        _stacks(water, liters)
        _stacks(energy, {"compressor": compressor})
        added = sum(compressor[group] for group in ("strips", "hot gas", "dehumidifier"))
        energy.set_title(
            f"{sum(compressor.values()):,.{digits}f} kWh, {added:,.{digits}f} of it on heat that "
            "reheat or the dehumidifier added",
            loc="left",
            fontsize=STYLE_SIZE - 1.0,
        )
        longest[0] = max(longest[0], *(sum(parts.values()) for parts in liters.values()))
        longest[1] = max(longest[1], sum(compressor.values()))
        for parts in (*liters.values(), compressor):
            shown.update(group for group, value in parts.items() if value > 0.0)
    for ax, end in zip(axes[-1], longest, strict=True):
        ax.set_xlim(0.0, 1.03 * end if end > 0.0 else 1.0)
    axes[-1, 0].set_xlabel(
        f"water removed by source, {'pints' if units == 'us' else 'liters'}", fontsize=STYLE_SIZE
    )
    axes[-1, 1].set_xlabel(
        "compressor's electricity by source of the heat that its coil took, kWh",
        fontsize=STYLE_SIZE,
    )
    style.legend(
        figure,
        [
            Patch(color=color, label=group)
            for group, color in SOURCE_COLORS.items()
            if group in shown
        ],
    )
    index = next(iter(comparison.seasons.values())).hourly.index
    if day is None:
        when = f"{style.date(index[0])} to {style.date(index[-1])}"
    else:
        when = style.date(next(iter(comparison.seasons.values())).minutes(day).index[0])
    figure.suptitle(
        f"{style.place(comparison.study, units)}\n{when}: where the water and the coil's heat came from",
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


DESTINATION_COLORS = {
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
        Pints and kBtu, or liters and kWh, a day.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.
    """
    style.check(units)
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
            ("water", "kg", from_si(1.0, "kg", "pint" if us else "L"), "pints" if us else "liters"),
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
            Patch(color=DESTINATION_COLORS[name], label=name)
            for name in DESTINATIONS[kind]
            if parts[name].abs().sum() > 0.0
        ]
        ax.legend(
            handles=handles, loc="upper left", bbox_to_anchor=(0.0, -0.12), ncols=2,
            frameon=False, fontsize=STYLE_SIZE - 1.0,
        )  # fmt: skip
    index = season.hourly.index
    when = (
        f"{style.date(index[0])} to {style.date(index[-1])}, mean day"
        if day is None
        else style.date(season.minutes(day).index[0])
    )
    figure.suptitle(
        f"{style.place(season, units)}\n{when}: where water and heat came from, and where they went",
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
                y, value, left=start, height=0.6, color=DESTINATION_COLORS[str(name)],
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
    style.plain(ax)
    ax.spines["left"].set_visible(False)


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
                y, value, left=left, height=0.6, color=SOURCE_COLORS[group], edgecolor="white",
                lw=0.8,
            )  # fmt: skip
            left += value
    ax.set_ylim(-0.6, len(bars) - 0.4)
    ax.set_yticks(range(len(bars)), list(reversed(bars)))
    ax.tick_params(axis="y", length=0)
    ax.grid(axis="x", color="#e3e3e3", lw=0.7)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,g}")
    style.plain(ax)
    ax.spines["left"].set_visible(True)
