"""Sources and destinations of water and heat."""

from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, MACHINE_COLORS, Context, Drawn
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


def sources_figure(
    comparison: Comparison, day: str | None = None, units: Units | None = None, *,
    ax: Any = None, context: Context = "paper",
) -> Drawn:  # fmt: skip
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
    units : {"us", "si"}, optional
        Units of water and floor area; default: those of `set_units`.
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
        If `units` or `context` is unknown, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.sources_figure(study.run(), "06-15")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    found = {name: season.attribution(day) for name, season in comparison.seasons.items()}
    n = len(found)
    digits = 0 if day is None else 1
    unit = show.unit("water")
    shown: set[str] = set()
    longest = [0.0, 0.0]
    spent = {}
    with style.sheet("sources_figure", context, ax) as page:
        axes = page.panels(n, 2, height=1.35 * n + 1.7, link_x="col")
        inches = page.width(2) - (1.6 if page.slide else 0.7)
        for (water, energy), (name, one) in zip(axes, found.items(), strict=True):
            liters = {
                str(to): _grouped(show.value(parts, "water")) for to, parts in one.liters.items()
            }
            compressor = _grouped(one.compressor_kwh)
            taken = sum(sum(parts.values()) for parts in liters.values())
            style.name_panel(water, name, f"{number(taken, digits)} {unit} removed", inches)
            if page.slide:
                # A slide has no room for two rows of each option.
                together = pd.DataFrame(liters).sum(axis=1)
                liters = {"water": {str(group): float(x) for group, x in together.items()}}
            _stacks(water, liters)
            _stacks(energy, {"compressor": compressor})
            total, added = sum(compressor.values()), one.drying_heat_kwh
            spent[name] = (total, added)
            said = (
                f"{number(total, digits)} kWh, including {number(added, digits)} kWh for heat from "
                "reheat or the dehumidifier"
            )
            energy.set_title(style.wrapped(said, inches, "small"), loc="left", fontsize="small")
            longest[0] = max(longest[0], *(sum(parts.values()) for parts in liters.values()))
            longest[1] = max(longest[1], total)
            # On a slide, the legend has what a class can see from its seats.
            least = VISIBLE if page.slide else 0.0
            for parts in (*liters.values(), compressor):
                whole = sum(parts.values())
                shown.update(group for group, value in parts.items() if value > least * whole)
        for column, end in enumerate(longest):
            for panel in axes[:, column]:
                panel.set_xlim(0.0, 1.03 * end if end > 0.0 else 1.0)
                panel.locator_params(axis="x", nbins=4)
        axes[-1, 0].set_xlabel(f"Water removed, {unit}")
        axes[-1, 1].set_xlabel("Compressor electricity, kWh")
        index = next(iter(comparison.seasons.values())).hourly.index
        if day is None:
            when = show.days(index[0], index[-1])
        else:
            when = show.day(next(iter(comparison.seasons.values())).minutes(day).index[0])
        most = max(spent, key=lambda name: spent[name][1])
        total, added = spent[most]
        title = (
            f"With {style.quoted(most)}, {number(100.0 * added / total)}\xa0% of the compressor’s "
            "electricity removes heat that reheat or the dehumidifier added"
            if total > 0.0 and added > 0.0
            else "No electricity of the compressor removes heat that drying added"
        )
        return page.done(
            title,
            f"{style.place(comparison.study, show)}. {when}, sources of the water and the heat removed",
            alt="; ".join(
                f"{name}: {number(whole, digits)} kWh of the compressor, {number(of, digits)} kWh for heat added"
                for name, (whole, of) in spent.items()
            ),
            key=[
                Patch(color=color, label=group)
                for group, color in SOURCE_COLORS.items()
                if group in shown
            ],
        )


VISIBLE = 0.025
"""Minimum share of a bar for a place in the legend of a slide."""

ON_A_SLIDE = 5
"""Number of sources with rows of their own on a slide."""

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


def loads_figure(
    season: Season, day: str | None = None, units: Units | None = None, *, ax: Any = None,
    context: Context = "paper",
) -> Drawn:  # fmt: skip
    """Draw where water and heat come from, and where they go: one bar for each source.

    A bar is as long as the amount that came in from its source. Its parts show where that amount
    went: removed by the coil or the dehumidifier, carried out with the air, or stored in the house.
    Amounts released from storage are left of zero; where they went is right of zero. The number
    at each end of a bar is its length on that side.

    Parameters
    ----------
    season : Season
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; default: the mean day of the season.
    units : {"us", "si"}, optional
        Pints and kBtu a day, or liters and kWh a day; default: those of `set_units`.
    ax : list of two Axes, optional
        For water and heat, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown, or the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.loads_figure(season, units="us")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
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
    index = season.hourly.index
    when = (
        f"{show.days(index[0], index[-1])}, mean day"
        if day is None
        else show.day(season.minutes(day).index[0])
    )
    said: list[str] = []
    used: dict[str, str] = {}
    tables: dict[str, pd.DataFrame] = {}
    for kind, unit in (("water", "kg"), ("heat", "kWh")):
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
        tables[kind] = parts.loc[
            [g for g in groups if g in parts.index and parts.loc[g].abs().sum() > least]
        ]
        came = tables[kind].clip(lower=0.0).sum(axis=1)
        most = str(came.idxmax())
        said.append(
            f"{kind} from {most}, {number(came[most])} of {number(came.sum())} {show.unit(kind)} a day"
        )
        used |= {
            name: DESTINATION_COLORS[name]
            for name in DESTINATIONS[kind]
            if tables[kind][name].abs().sum() > 0.0
        }
    if context == "slide":
        tables = {kind: _largest(table) for kind, table in tables.items()}
    most_rows = max(len(table) for table in tables.values())
    with style.sheet("loads_figure", context, ax) as page:
        axes = page.panels(1, 2, height=0.36 * most_rows + 2.6)[0]
        for panel, (kind, parts) in zip(axes, tables.items(), strict=True):
            _destinations(panel, parts, 2.3 if page.slide else 1.05)
            panel.set_xlabel(f"{kind.capitalize()}, {show.unit(kind)} a day")
        return page.done(
            f"Most {said[0]}; most {said[1]}",
            f"{style.place(season, show)}. {when}, sources and destinations of water and heat. "
            "Numbers: length of a bar to the right and to the left of zero",
            key=[Patch(color=color, label=name) for name, color in used.items()],
        )


def _largest(parts: pd.DataFrame) -> pd.DataFrame:
    """The rows that a slide has room for, and the sum of the others."""
    size = parts.abs().sum(axis=1)
    small = size < size.nlargest(ON_A_SLIDE).min()
    if not small.any():
        return parts
    together: pd.DataFrame = pd.concat(
        [parts[~small], pd.DataFrame({"other sources": parts[small].sum()}).T]
    )
    return together


def _destinations(ax: Axes, parts: pd.DataFrame, inches: float) -> None:
    """One stacked bar for each source: positive parts to the right, negative parts to the left."""
    ends = []
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
        ends += [(y, right, 1.0), (y, left, -1.0)]
    for y, end, side in ends:
        text = number(end, 1)
        # A side that rounds to nothing has no bar to be seen.
        if text.strip("0.\N{MINUS SIGN}"):
            ax.annotate(
                text, (end, y), xytext=(3.0 * side, 0.0), textcoords="offset points", va="center",
                ha="left" if side > 0.0 else "right", fontsize="small",
            )  # fmt: skip
    ax.axvline(0.0, color="black", lw=0.8)
    ax.set_ylim(len(parts) - max(len(parts), 6) - 0.6, len(parts) - 0.4)
    ax.set_yticks(
        range(len(parts)), [style.wrapped(name, inches, "small") for name in parts.index[::-1]]
    )
    ax.tick_params(axis="y", length=0)
    # The numbers at the ends of the bars need space.
    low = float(parts.clip(upper=0.0).sum(axis=1).min())
    high = float(parts.clip(lower=0.0).sum(axis=1).max())
    room = 0.22 * (high - low)
    ax.set_xlim(low - (room if low < 0.0 else 0.0), high + room)
    ax.grid(axis="x")
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
    ax.set_yticks(range(len(bars)), [name.replace(" ", "\n") for name in reversed(bars)])
    ax.tick_params(axis="y", length=0)
    ax.grid(axis="x")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,g}")
    style.plain(ax)
    ax.spines["left"].set_visible(True)
