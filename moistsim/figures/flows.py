"""Where each kWh and each liter went, as flows from their sources to what became of them."""

from collections.abc import Mapping
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.engine import END_USES, column_catalog, tags
from moistsim.figures import style
from moistsim.figures.page import points, text_width, wrapped
from moistsim.figures.sources import DESTINATION_COLORS, DESTINATIONS, SOURCE_COLORS, SOURCE_GROUPS
from moistsim.figures.style import END_USE_COLORS, LIMIT, Context, Drawn
from moistsim.season import Season

COOLED, DRIED = "cooling the house", "removing water"
PURPOSES = {
    "indoor_fan": "moving air", "reheat": "reheating the room", "backup_heat": "heating the house",
    "heat_pump": "heating the house", "room_heater": "heating the house", "dehumidifier": DRIED,
    "ventilation_fan": "moving air", "standby": "standby", "space_dehumidifier": DRIED,
}  # fmt: skip
"""Purpose of the electricity of each end use but the compressor, whose share `Attribution` splits."""
AGAIN = {
    "reheat": "removing heat of strips",
    "hot_gas": "removing heat of hot gas",
    "dehumidifier": "removing the dehumidifier’s heat",
    tags.CONDENSING: "removing the dehumidifier’s heat",
}
"""Purpose of the compressor's electricity by source of a heat that drying had added."""
UNKNOWN = "a second system’s cooling"
MATERIALS = "materials, from before"
"""Source of water that the house had held at the start."""
REST = "all else"
FEWEST = 4
"""Least number of ends, for whose labels a panel has room."""
MERGED = {"paper": 0.01, "slide": 0.02}
"""Share of all flows, below which an end of them is drawn as part of `REST`, by context."""


def flows_figure(
    season: Season,
    day: str | None = None,
    *,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw where each kWh and each liter went: from end use to purpose, from source to destination.

    The compressor's electricity is split by the heat that its coil removed: plain heat, water, and
    heat that strips, hot gas or the dehumidifier had added (`Season.attribution`). Most water only
    passes through the house, in with outdoor air and out with room air. Flows add up to the meter's
    totals; ends of less than a hundredth of all (on a slide, two) are drawn together.

    Parameters
    ----------
    season : Season
    day : str, optional
        "MM-DD" or "YYYY-MM-DD"; default: the whole season.
    units : {"us", "si"}, optional
        Pints or liters; default: those of `set_units`. Electricity is in kWh.
    ax : list of two Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If the season has no such day.

    Examples
    --------
    >>> figure = ms.figures.flows_figure(season)  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    kwh, water = electricity_flows(season, day), water_flows(season, day)
    unit = show.unit("water")
    with style.sheet("flows_figure", context, ax) as page:
        merged = MERGED["slide" if page.slide else "paper"]
        panels = [
            (_merged(kwh, merged), END_USE_COLORS, {}, "kWh", 0, "Electricity"),
            (
                _merged(show.value(water, "water"), merged), SOURCE_COLORS, DESTINATION_COLORS,
                unit, show.digits("water") if day else 0, "Water",
            ),
        ]  # fmt: skip
        lanes = [max(flows.shape) for flows, *_ in panels]
        axes = page.panels(
            2, height=1.9 + 0.24 * sum(lanes), height_ratios=[max(n, FEWEST) for n in lanes]
        )
        inches = (3.8 if page.slide else 0.24 * sum(lanes)) / sum(lanes)
        for panel, (flows, left, right, of, digits, name) in zip(axes[:, 0], panels, strict=True):
            digits = 1 if day else digits
            total = float(flows.to_numpy().sum())
            # A line of letters, as a share of the panel's height.
            line = 1.35 * points("small") / 72.0 / (inches * max(max(flows.shape), FEWEST))
            _draw(panel, flows, left, right, digits, line, page.width())
            style.name_panel(panel, f"{name}: {number(total, digits)} {of}", "", page.width())
        index = season.hourly.index
        when = (
            show.days(index[0], index[-1])
            if day is None
            else show.day(season.minutes(day).index[0])
        )
        return page.done(
            _finding(kwh, water),
            f"{style.place(season, show)}. {when}, {season.strategy.name.replace('_', ' ')}",
            alt="; ".join(
                f"{source} to {to}: {number(amount, 1 if day else 0)} {of}"
                for flows, _, _, of, _, _ in panels
                for to, column in flows.items()
                for source, amount in column.items()
                if amount > 0.0
            ),
            note=""
            if season.equipment.second_system is None
            else "Water is followed through the main zone and the first system, electricity through both.",
        )


def electricity_flows(season: Season, day: str | None = None) -> pd.DataFrame:
    """Electricity by end use (rows) and purpose (columns), kWh; it adds up to the meter."""
    frame = (season.hourly if day is None else season.minutes(day)).sum()
    found = season.attribution(day)
    rows: dict[str, dict[str, float]] = {}
    for use in END_USES:
        used = float(column_catalog.in_both_systems(frame, column_catalog.USES[use].name))
        if use != "compressor":
            rows[use] = {PURPOSES[use]: used}
            continue
        split: dict[str, float] = {}
        for source, (sensible, latent) in found.kwh[["coil_sensible", "coil_latent"]].iterrows():
            for purpose, part in (
                (AGAIN.get(str(source), COOLED), sensible),
                (AGAIN.get(str(source), DRIED), latent),
            ):
                split[purpose] = split.get(purpose, 0.0) + float(part)
        # The tags follow the first system alone.
        split[UNKNOWN] = used - sum(split.values())
        if abs(split[UNKNOWN]) < 1.0e-6 * max(used, 1.0):
            split[UNKNOWN] = 0.0
        rows[use] = split
    return _table(rows)


def water_flows(season: Season, day: str | None = None) -> pd.DataFrame:
    """Water by source (rows) and destination (columns), kg.

    What came in and is still in the house goes to the materials. What left beyond what came in from
    a source had been in the materials.
    """
    loads = season.attribution(day).loads
    went = {
        to: loads[[c for sink in sinks if (c := f"water_{sink}_kg") in loads]].sum(axis=1)
        for to, sinks in DESTINATIONS["water"].items()
    }
    stored = went.pop("stored in materials and air")
    rows: dict[str, dict[str, float]] = {}
    for source in loads.index:
        group = next(name for name, members in SOURCE_GROUPS.items() if source in members)
        left = {to: float(each[source]) for to, each in went.items()}
        # Less than nothing is stored where materials gave up water of this source.
        given = max(-float(stored[source]), 0.0)
        share = given / sum(left.values()) if given else 0.0
        own, before = rows.setdefault(group, {}), rows.setdefault(MATERIALS, {})
        for to, amount in left.items():
            own[to] = own.get(to, 0.0) + (1.0 - share) * amount
            before[to] = before.get(to, 0.0) + share * amount
        kept = "stored in materials and air"
        own[kept] = own.get(kept, 0.0) + max(float(stored[source]), 0.0)
    return _table(rows)


def _table(rows: dict[str, dict[str, float]]) -> pd.DataFrame:
    table = pd.DataFrame.from_dict(rows, orient="index").fillna(0.0)
    # A rounding is no flow.
    least = 1.0e-9 * float(table.to_numpy().sum())
    return table.loc[(table > least).any(axis=1), (table > least).any()]


def _ends(flows: pd.DataFrame, axis: int) -> pd.Series:
    """Sums of the sources (0) or of the destinations (1)."""
    return flows.sum(axis=1) if axis == 0 else flows.sum(axis=0)


def _merged(flows: pd.DataFrame, share: float) -> pd.DataFrame:
    """Flows with the small ends of either side as one."""
    least = share * float(flows.to_numpy().sum())
    for axis in (0, 1):
        sums = _ends(flows, axis)
        small = [str(name) for name in sums.index if sums[name] < least]
        if len(small) < 2:
            continue
        turned = flows if axis == 0 else flows.T
        rest = turned.loc[small].sum()
        turned = turned.drop(index=small)
        turned.loc[REST] = rest
        flows = turned if axis == 0 else turned.T
    return flows


def _draw(
    panel: Axes, flows: pd.DataFrame, left: Mapping[str, str], right: Mapping[str, str],
    digits: int, line: float, width: float,
) -> None:  # fmt: skip
    """Ends as bars on both sides, and a ribbon for each flow between them."""
    total = float(flows.to_numpy().sum())
    labels = {}
    for axis, words in ((0, column_catalog.USES), (1, {})):
        sums = _ends(flows, axis)
        for name, amount in sums.items():
            label = words[str(name)].label if name in words else str(name)
            least = 10.0**-digits
            said = number(amount, digits) if amount >= 0.5 * least else f"under {least:g}"
            labels[axis, name] = wrapped(f"{label}: {said}", 0.37 * width, "small")
    wide = [
        max(
            text_width(row, "small")
            for (side, _), text in labels.items()
            for row in text.split("\n")
            if side == axis
        )
        for axis in (0, 1)
    ]
    begin, end = wide[0] + 0.1, width - wide[1] - 0.2
    bar = 0.012 * width
    places: dict[tuple[int, Any], float] = {}
    for axis in (0, 1):
        sums = _ends(flows, axis) / total
        # Each end has room for its label.
        slots = {
            name: max(share + 0.4 * line, line * (labels[axis, name].count("\n") + 1))
            for name, share in sums.items()
        }
        top = 1.0 + 0.5 * max(sum(slots.values()) - 1.0, 0.0)
        for name, share in sums.items():
            top -= slots[name]
            low = top + 0.5 * (slots[name] - share)
            places[axis, name] = low + share
            color = (left, right)[axis].get(str(name), LIMIT)
            x = begin if axis == 0 else end - bar
            panel.add_patch(Rectangle((x, low), bar, share, color=color, lw=0))
            panel.annotate(
                labels[axis, name], (x if axis == 0 else x + bar, low + 0.5 * share),
                xytext=(-4.0 if axis == 0 else 4.0, 0.0), textcoords="offset points",
                ha="right" if axis == 0 else "left", va="center", fontsize="small",
                annotation_clip=False,
            )  # fmt: skip
    table = {str(to): column for to, column in flows.items()}
    x0, x1 = begin + bar, end - bar
    middle = 0.5 * (x0 + x1)
    codes = [Path.MOVETO, *[Path.CURVE4] * 3, Path.LINETO, *[Path.CURVE4] * 3, Path.CLOSEPOLY]
    for source in map(str, flows.index):
        for to in table:
            share = float(table[to][source]) / total
            if share <= 0.0:
                continue
            a, b = places[0, source], places[1, to]
            places[0, source], places[1, to] = a - share, b - share
            vertices = [
                (x0, a), (middle, a), (middle, b), (x1, b), (x1, b - share), (middle, b - share),
                (middle, a - share), (x0, a - share), (x0, a),
            ]  # fmt: skip
            panel.add_patch(
                PathPatch(
                    Path(vertices, codes),
                    facecolor=left.get(str(source), LIMIT),
                    alpha=0.55,
                    edgecolor="white",
                    lw=0.4,
                )  # fmt: skip
            )
    lows = [patch.get_y() for patch in panel.patches if isinstance(patch, Rectangle)]
    tops = [p.get_y() + p.get_height() for p in panel.patches if isinstance(p, Rectangle)]
    panel.set_xlim(0.0, width)
    panel.set_ylim(min(lows) - 0.3 * line, max(tops) + 0.3 * line)
    panel.set_axis_off()


def _finding(kwh: pd.DataFrame, water: pd.DataFrame) -> str:
    def share(table: pd.DataFrame, *names: str) -> float:
        return 100.0 * float(table.reindex(columns=[*names]).sum().sum() / table.to_numpy().sum())

    parts = [
        (share(kwh, COOLED), "cools the house"),
        (share(kwh, PURPOSES["heat_pump"]), "heats the house"),
        (share(kwh, DRIED), "removes water"),
        (
            share(kwh, PURPOSES["reheat"], *AGAIN.values()),
            "adds heat to dry and takes it out again",
        ),
    ]
    said = ", ".join(f"{number(each)}\xa0% {what}" for each, what in parts if each >= 0.5)
    out = share(water, "coil drain", "dehumidifier")
    electricity = f"Of the electricity, {said}; machines" if said else "Machines"
    return f"{electricity} remove {number(out)}\xa0% of the water that comes in"
