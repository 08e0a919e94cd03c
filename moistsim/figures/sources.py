"""Sources and destinations of water and heat."""

import textwrap
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, check_units, number
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, MACHINE_COLORS, STYLE_SIZE, Page
from moistsim.season import Season
from moistsim.study import Comparison

SOURCE_GROUPS = {
    "sun": ("sun",),
    "walls, roof, windows, ground": ("opaque", "windows", "ground"),
    "infiltration and ventilation air": (
        "infiltration",
        "ventilation",
        "window_opening",
        "pressure",
    ),
    "crawl space, basement": ("crawl_space", "basement"),
    "attic, garage": ("attic", "garage"),
    "second zone": ("second_zone",),
    "ducts": ("ducts",),
    "damp ground, new materials": ("ground_vapor", "construction"),
    "people and appliances": ("people_and_appliances",),
    "household vapor": ("household_vapor",),
    "fans and controls": ("indoor_fan", "ventilation_fan", "standby"),
    "strips": ("reheat", "backup_heat"),
    "hot gas": ("hot_gas",),
    "heat pump, furnace, room heater": ("heat_pump", "furnace", "room_heater"),
    "heat of a measured temperature": ("imposed",),
    "dehumidifier": ("dehumidifier", "dehumidifier_condensing"),
    "stored at the start": ("initial",),
}
"""Sources of `Attribution` as `sources_figure` shows them, each in one group."""


SOURCE_COLORS = dict(
    zip(
        SOURCE_GROUPS,
        ("#eb173b", "#332d12", "#3897f2", "#5a6987", "#a920ae", "#1e0f1e", "#967acc", "#330d80", "#1f2959", "#1717eb",
         END_USE_COLORS["ventilation_fan"], MACHINE_COLORS["strips"], MACHINE_COLORS["hot gas"],
         END_USE_COLORS["heat_pump"], "#363a50", MACHINE_COLORS["dehumidifier"], END_USE_COLORS["standby"]),
        strict=True,
    )
)  # fmt: skip


def sources_figure(comparison: Comparison, day: str | None = None, units: Units = "us") -> Figure:
    """Draw the sources of the water removed and of the heat that the compressor removed.

    Each option has one row. The left panel shows the water that left through the coil's drain and
    the dehumidifier. The right panel shows the compressor's electricity, divided by the source of
    the heat that its coil removed (`Attribution`). The title gives the part spent on heat that
    reheat or the dehumidifier had added.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; default: the whole season.
    units : {"us", "si"}
        Units of water and floor area.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.sources_figure(study.run(), "06-15")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    found = {name: season.attribution(day) for name, season in comparison.seasons.items()}
    n = len(found)
    figure = Page(
        figsize=(14.0, 1.75 * n + 2.4), layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.08)
    )
    axes: Any = figure.subplots(n, 2, sharex="col", squeeze=False)
    digits = 0 if day is None else 1
    unit = show.unit("water")
    shown: set[str] = set()
    longest = [0.0, 0.0]
    for (water, energy), (name, one) in zip(axes, found.items(), strict=True):
        liters = {str(to): _grouped(show.value(parts, "water")) for to, parts in one.liters.items()}
        compressor = _grouped(one.compressor_kwh)
        taken = sum(sum(parts.values()) for parts in liters.values())
        style.title(water, name, f"{number(taken, digits)} {unit} removed", 62)
        _stacks(water, liters)
        _stacks(energy, {"compressor": compressor})
        added = one.drying_heat_kwh
        energy.set_title(
            f"{number(sum(compressor.values()), digits)} kWh, including {number(added, digits)} kWh for heat from "
            "reheat or the dehumidifier",
            loc="left",
            fontsize=STYLE_SIZE - 1.0,
        )
        longest[0] = max(longest[0], *(sum(parts.values()) for parts in liters.values()))
        longest[1] = max(longest[1], sum(compressor.values()))
        for parts in (*liters.values(), compressor):
            shown.update(group for group, value in parts.items() if value > 0.0)
    for ax, end in zip(axes[-1], longest, strict=True):
        ax.set_xlim(0.0, 1.03 * end if end > 0.0 else 1.0)
    axes[-1, 0].set_xlabel(f"Water removed by source, {unit}", fontsize=STYLE_SIZE)
    axes[-1, 1].set_xlabel(
        "Compressor electricity by source of the heat removed, kWh",
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
        when = show.days(index[0], index[-1])
    else:
        when = show.day(next(iter(comparison.seasons.values())).minutes(day).index[0])
    figure.suptitle(
        f"{style.place(comparison.study, show)}\n{when}: sources of the water and the heat removed",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


DESTINATIONS: dict[str, dict[str, tuple[str, ...]]] = {
    "water": {
        "coil drain": ("coil",),
        "dehumidifier": ("dehumidifier",),
        "outgoing air": ("air_out",),
        "duct losses": ("ducts",),
        "spaces next to the house": (
            "crawl_space",
            "basement",
            "attic",
            "garage",
            "second_zone",
        ),
        "ran off wet surfaces": ("surfaces",),
        "stored in materials and air": ("stored",),
    },
    "heat": {
        "coil, latent": ("coil_latent",),
        "coil, sensible": ("coil_sensible",),
        "dehumidifier evaporator": ("dehumidifier",),
        "outgoing air": (
            "air_out",
            "infiltration",
            "ventilation",
            "window_opening",
            "pressure",
        ),
        "duct losses": ("ducts",),
        "spaces next to the house": (
            "crawl_space",
            "basement",
            "attic",
            "garage",
            "second_zone",
        ),
        "walls, roof, windows, ground": ("opaque", "windows", "ground"),
        "ran off wet surfaces": ("surfaces",),
        "held at a measured temperature": ("imposed",),
        "stored in the house": ("stored",),
    },
}
"""Destinations of `Attribution.loads`, as `loads_figure` shows them."""


DESTINATION_COLORS = {
    "coil drain": "#0f3a5d", "coil, latent": "#0f3a5d", "coil, sensible": "#3897f2",
    "dehumidifier": "#0ea85e", "dehumidifier evaporator": "#0ea85e",
    "outgoing air": "#8e8d8d", "walls, roof, windows, ground": "#332d12",
    "duct losses": "#967acc", "spaces next to the house": "#5a6987", "ran off wet surfaces": "#6f28ca", "stored in materials and air": "#b6249f",
    "held at a measured temperature": "#675b3b", "stored in the house": "#b6249f",
}  # fmt: skip


def loads_figure(season: Season, day: str | None = None, units: Units = "us") -> Figure:
    """Draw where water and heat come from, and where they go: one bar for each source.

    A bar is as long as the amount that came in from its source. Its parts show where that amount
    went: removed by the coil or the dehumidifier, carried out with the air, or stored in the house.
    Amounts released from storage are left of zero; where they went is right of zero.

    Parameters
    ----------
    season : Season
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; default: the mean day of the season.
    units : {"us", "si"}
        Pints and kBtu a day, or liters and kWh a day.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If `units` is neither, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.loads_figure(season, units="us")  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    loads = season.loads(day)
    # Ventilation and leaks are separate rows here.
    groups: dict[str, tuple[str, ...]] = {}
    for group, sources in SOURCE_GROUPS.items():
        if "ventilation" in sources:
            kinds = {"ventilation": "ventilation air", "window_opening": "open windows"}
            for source in sources:
                name = kinds.get(source, "infiltration")
                groups[name] = (*groups.get(name, ()), source)
        else:
            groups[group] = sources
    known = {source: group for group, sources in groups.items() for source in sources}
    loads = loads.groupby([known[str(source)] for source in loads.index]).sum()
    figure = Page(figsize=(14.0, 7.2), layout=ConstrainedLayoutEngine(h_pad=0.08, w_pad=0.12))
    axes: Any = figure.subplots(1, 2)
    for ax, (kind, unit) in zip(axes, (("water", "kg"), ("heat", "kWh")), strict=True):
        factor = show.value(1.0, kind)
        # A house has the destinations of the spaces next to it, and no others.
        columns = {
            name: [c for sink in sinks if (c := f"{kind}_{sink}_{unit}") in loads]
            for name, sinks in DESTINATIONS[kind].items()
        }
        parts = pd.DataFrame(
            {name: loads[names].sum(axis=1) * factor for name, names in columns.items()}
        )
        least = 0.002 * float(parts.abs().to_numpy().sum())
        parts = parts.loc[
            [g for g in groups if g in parts.index and parts.loc[g].abs().sum() > least]
        ]
        came = loads[f"{kind}_in_{unit}"].loc[parts.index] * factor
        _destinations(ax, parts, came)
        ax.set_xlabel(f"{kind.capitalize()}, {show.unit(kind)} a day", fontsize=STYLE_SIZE)
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
        f"{show.days(index[0], index[-1])}, mean day"
        if day is None
        else show.day(season.minutes(day).index[0])
    )
    figure.suptitle(
        f"{style.place(season, show)}\n{when}: sources and destinations of water and heat",
        fontsize=STYLE_SIZE + 2.0,
    )
    return figure


def _destinations(ax: Axes, parts: pd.DataFrame, came: pd.Series) -> None:
    """One stacked bar for each source: positive parts to the right, negative parts to the left."""
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
            number(float(came.iloc[::-1].iloc[y]), 1), (right, y), xytext=(6.0, 0.0),
            textcoords="offset points", va="center", fontsize=STYLE_SIZE - 1.0,
        )  # fmt: skip
    ax.axvline(0.0, color="black", lw=0.8)
    ax.set_ylim(len(parts) - max(len(parts), 6) - 0.6, len(parts) - 0.4)
    ax.set_yticks(range(len(parts)), [textwrap.fill(name, 22) for name in parts.index[::-1]])
    ax.tick_params(axis="y", length=0)
    # The numbers behind the bars need space.
    longest = float(parts.clip(lower=0.0).sum(axis=1).max())
    ax.set_xlim(1.05 * float(parts.clip(upper=0.0).sum(axis=1).min()), 1.18 * longest)
    ax.grid(axis="x", color="#e3e3e3", lw=0.7)
    ax.set_title("Numbers: amount that came in", loc="right", fontsize=STYLE_SIZE - 2.0)
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
