"""Figures of a sweep: what decides, what moves the result, where the verdict turns, how it spreads."""

import textwrap
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, TwoSlopeNorm
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator
from matplotlib.tri import Triangulation
from scipy.spatial import Delaunay

from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE
from moistsim.study import Units
from moistsim.units import InputError

# Told apart by lightness as well as by hue; the ends of the diverging map are blue and orange, which
# no common colour-blindness confuses, and equally dark.
LOW, HIGH, OTHER = "#17456e", "#efb94b", "#9a9a9a"
DIVERGING = LinearSegmentedColormap.from_list(
    "blue to orange", ["#17456e", "#7fb0d6", "#f5f5f2", "#efa661", "#a8480f"]
)
OPTIONS = ("#17456e", "#efb94b", "#169a86", "#cf4f1f", "#9a9a9a", "#6e1f10", "#8ec1e6", "#4b4b4b")
MOST_DOTS = 4000
"""Cases shown as dots; of more, evenly spaced ones are shown, and the caption says so."""


def sobol_figure(table: pd.DataFrame, *, labels: Mapping[str, str] | None = None) -> Figure:
    """Share of the variance that each parameter brings, alone and with the others.

    Parameters
    ----------
    table : DataFrame
        What `sobol_indices` or `sobol_from` returned.
    labels : dict, optional
        Words in place of a parameter's dotted name.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table is another's.
    """
    about = _about(table, "sobol_figure", ("n", "confidence"))
    figure, ax = _page(2.6 + 0.62 * len(table))
    rows = np.arange(len(table))
    for kind, shift, colour in (("total", -0.19, LOW), ("first", 0.19, HIGH)):
        value = table[kind].to_numpy(float)
        ax.barh(rows + shift, value, height=0.36, color=colour, zorder=2)
        for row, (at, low, high) in enumerate(
            zip(value, table[f"{kind}_low"], table[f"{kind}_high"], strict=True)
        ):
            ax.plot([low, high], [row + shift] * 2, color="#767676", lw=2.2, zorder=3)
            ax.annotate(
                f"{round(at, 2) + 0.0:.2f}", (max(high, at), row + shift), xytext=(5, 0),
                textcoords="offset points", va="center", fontsize=STYLE_SIZE - 2.0,
            )  # fmt: skip
    ax.axvline(0.0, color=LIMIT, lw=0.8, zorder=4)
    most = float(table[["total_high", "first_high", "total"]].max().max())
    least = float(table[["total_low", "first_low"]].min().min())
    ax.set_xlim(min(0.0, least) - (0.02 * most if least < 0.0 else 0.0), 1.12 * most)
    _rows(ax, [_label(name, labels) for name in table.index])
    ax.set_xlabel("share of the variance", fontsize=STYLE_SIZE)
    alone = float(table["first"].sum())
    _heading(figure, f"Which inputs decide: {_what(about)}")
    style.legend(
        figure,
        [
            Patch(color=LOW, label="total: with all it takes part in"),
            Patch(color=HIGH, label="first order: alone"),
            Line2D([], [], color="#767676", lw=2.2, label=_band(about)),
        ],
        columns=3,
    )
    _caption(
        ax, about, f"a design of {about['n']:,} rows; the first-order shares add up to {alone:.2f}"
    )
    return figure


def tornado_figure(
    table: pd.DataFrame, units: Units = "us", *, labels: Mapping[str, str] | None = None
) -> Figure:
    """How far each parameter alone moves the result, the greatest swing on top.

    Parameters
    ----------
    table : DataFrame
        What `tornado` returned.
    units : {"us", "si"}
        Of a dew point or another temperature.
    labels : dict, optional
        Words in place of a parameter's dotted name.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table is another's, or `units` is neither.
    """
    style.check(units)
    about = _about(table, "tornado_figure", ("base", "base_values"))
    figure, ax = _page(2.6 + 0.55 * len(table))
    base = float(_shown(about["base"], about, units))
    ends = {
        k: np.asarray(_shown(table[k].to_numpy(float), about, units)) for k in ("at_low", "at_high")
    }
    reach = np.concatenate([*ends.values(), [base]])
    span = float(np.ptp(reach))
    # What rounding leaves of no swing at all is none.
    span = span if span > 1e-9 * np.abs(reach).max() else abs(base) or 1.0
    numbers = [isinstance(value, (int, float, np.number)) for value in table["low"]]
    for row, name in enumerate(table.index):
        low, high = float(ends["at_low"][row]), float(ends["at_high"][row])
        # Where both ends move the result to one side, each has half the row.
        both = (low - base) * (high - base) > 0.0
        for value, end, colour, shift, right in (
            (low, "low", LOW, -0.16, low > base or (low == base and high < base)),
            (high, "high", HIGH, 0.16, high > base or (high == base and low <= base)),
        ):
            at, height = (row + shift, 0.3) if both else (row, 0.6)
            fill = colour if numbers[row] else OTHER
            ax.barh(at, value - base, left=base, height=height, color=fill, zorder=2)
            words = _value(table.at[name, end])
            # An end that is the base's own value stands beside the row's name already.
            if value != base or words != _value(about["base_values"][name]):
                _beside(ax, words, value, at, right=right)
    ax.axvline(base, color=LIMIT, lw=1.0, zorder=3)
    ax.set_xlim(reach.min() - 0.28 * span, reach.max() + 0.28 * span)
    names = [
        f"{_label(name, labels)}\n(base: {_value(about['base_values'][name], 26)})"
        for name in table.index
    ]
    _rows(ax, names)
    ax.set_xlabel(_axis(about, units), fontsize=STYLE_SIZE)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
    _heading(figure, f"One parameter at a time: {_what(about)}")
    keys: list[Patch | Line2D] = [
        Patch(color=LOW, label="its least value"),
        Patch(color=HIGH, label="its greatest value"),
    ]
    if not all(numbers):
        keys.append(
            Patch(color=OTHER, label="not a number: where the result is least and greatest")
        )
    keys.append(Line2D([], [], color=LIMIT, lw=1.0, label=f"base case: {base:,.5g}"))
    style.legend(figure, keys, columns=2)
    _caption(ax, about, "")
    return figure


def break_even_figure(table: pd.DataFrame, *, labels: Mapping[str, str] | None = None) -> Figure:
    """Which of two options is the better buy, over two parameters.

    Parameters
    ----------
    table : DataFrame
        What `break_even` returned.
    labels : dict, optional
        Words in place of a parameter's dotted name.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table is another's.
    """
    about = _about(table, "break_even_figure", ("options", "degree", "error"))
    x, y = (str(c) for c in table.columns[2:4])
    first, second = about["options"]
    parts = {kind: table[table["kind"] == kind] for kind in ("grid", "line", "case")}
    figure, ax = _page(7.6)
    grid = parts["grid"]
    # The scale is the surface's own: a few cases far from it would wash it out.
    widest = float(grid["difference"].abs().max()) or 1.0
    levels = MaxNLocator(20, symmetric=True).tick_values(-widest, widest)
    norm = TwoSlopeNorm(0.0, levels[0], levels[-1])
    # Triangles, since cases seldom fill a rectangle; of equal axes, or they would be slivers.
    at = grid[[x, y]].to_numpy(float)
    triangles = Delaunay((at - at.min(axis=0)) / np.ptp(at, axis=0)).simplices
    filled = ax.tricontourf(
        Triangulation(at[:, 0], at[:, 1], triangles), grid["difference"].to_numpy(float),
        levels=levels, cmap=DIVERGING, norm=norm,
    )  # fmt: skip
    for _, piece in parts["line"].groupby("piece"):
        ax.plot(piece[x], piece[y], color="black", lw=2.4, zorder=4)
    cases = parts["case"]
    shown = cases.iloc[:: -(-len(cases) // MOST_DOTS)]
    for better, marker in ((False, "o"), (True, "^")):
        of = shown[(shown["difference"] > 0.0) == better]
        ax.scatter(
            of[x], of[y], c=np.clip(of["difference"], levels[0], levels[-1]), cmap=DIVERGING, norm=norm,
            s=30, marker=marker, edgecolors="#333333", linewidths=0.6, zorder=3,
        )  # fmt: skip
    bar = figure.colorbar(filled, ax=ax, format=_signed, ticks=MaxNLocator(9))
    unit = _unit(about["measure"])
    years = about["years"]
    over = f" over {years:g} years" if years != 1.0 else ", a season"
    words = f"{_short(first)} less {_short(second)}{over}, {unit}"
    bar.set_label("\n".join(textwrap.wrap(words, 52)), fontsize=STYLE_SIZE)
    bar.ax.tick_params(labelsize=STYLE_SIZE - 1.0)
    room = 0.02 * np.ptp(cases[[x, y]].to_numpy(float), axis=0)
    ax.set_xlim(cases[x].min() - room[0], cases[x].max() + room[0])
    ax.set_ylim(cases[y].min() - room[1], cases[y].max() + room[1])
    ax.set_xlabel(_label(x, labels, 70), fontsize=STYLE_SIZE)
    ax.set_ylabel(_label(y, labels, 50), fontsize=STYLE_SIZE)
    style.plain(ax)
    money = about["measure"].endswith("_USD")
    verb = "cheaper" if money else "lower"
    extra = about["extra_first_cost"]
    when = f" over {years:g} years" if years != 1.0 else ""
    _heading(figure, f"Which is {verb}{when}: {first}, or {second}?")
    empty = "" if len(parts["line"]) else " (none: one is so everywhere)"

    def dot(marker: str, colour: Any, name: str) -> Line2D:
        return Line2D(
            [], [], ls="", marker=marker, color=colour, markeredgecolor="#333333", label=name
        )

    style.legend(
        figure,
        [
            dot("o", DIVERGING(0.1), f"a case, {verb}: {_short(first)}"),
            dot("^", DIVERGING(0.9), f"a case, {verb}: {_short(second)}"),
            Line2D([], [], color="black", lw=2.4, label=f"break-even of the fitted surface{empty}"),
        ],
        columns=1,
    )
    # What rounding leaves of no error at all is none.
    error = about["error"] if about["error"] > 1e-9 * widest else 0.0
    side = "dearer" if extra > 0.0 else "cheaper"
    bought = f", {abs(extra):,.0f} USD {side} to buy," if extra else ""
    note = (
        f"{_short(second)}{bought} is {verb} in {100.0 * about['second_better']:.0f} % of cases; "
        f"surface of degree {about['degree']}, which misses a case by {error:,.3g} {unit} "
        f"(root mean square) and has {100.0 * about['wrong_side']:.0f} % of them on the wrong side"
    )
    if len(shown) < len(cases):
        note += f"; {len(shown):,} of them shown"
    _caption(ax, about, note)
    return figure


def quantiles_figure(table: pd.DataFrame, units: Units = "us") -> Figure:
    """How a result spreads over the cases of each group, an interval an option.

    Parameters
    ----------
    table : DataFrame
        What `quantiles` returned.
    units : {"us", "si"}
        Of a dew point or another temperature.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table is another's, or `units` is neither.
    """
    style.check(units)
    about = _about(table, "quantiles_figure", ("by", "q"))
    shares = sorted(about["q"])
    groups = list(dict.fromkeys(table.index.get_level_values(0)))
    options = list(dict.fromkeys(table.index.get_level_values(1)))
    figure, ax = _page(2.8 + len(groups) * (0.35 + 0.3 * len(options)))
    height = 0.8 / len(options)
    for row, group in enumerate(groups):
        for k, option in enumerate(options):
            at = row + (k + 0.5) * height - 0.4
            found = np.asarray(
                _shown(table.loc[(group, option), shares].to_numpy(float), about, units)
            )
            # Nested pairs, the inner one thicker, about the middle where there is one.
            colour = OPTIONS[k % len(OPTIONS)]
            for depth in range(len(found) // 2):
                ax.plot(
                    [found[depth], found[-1 - depth]], [at, at], color=colour, zorder=2 + depth,
                    lw=2.0 + 7.0 * depth / max(1, len(found) // 2 - 1), solid_capstyle="butt",
                )  # fmt: skip
            if len(found) % 2:
                ax.plot(
                    found[len(found) // 2], at, "o", color="white", markeredgecolor="black",
                    markersize=7, zorder=9,
                )  # fmt: skip
    counts = table["cases"].groupby(level=0, sort=False, observed=True).first()
    _rows(ax, [f"{_short(str(group), 30)}\n({counts[group]:,} cases)" for group in groups])
    ax.margins(x=0.05)
    ax.set_xlabel(_axis(about, units), fontsize=STYLE_SIZE)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
    ax.grid(axis="x", color="#e9e9e9", lw=0.7)
    _heading(figure, f"{_words(about['measure'])}, by {about['by']}")
    style.legend(
        figure,
        [Patch(color=OPTIONS[k % len(OPTIONS)], label=o) for k, o in enumerate(options)],
        columns=1 if max(map(len, options)) > 40 else None,
    )
    pairs = [
        f"{100 * a:g} to {100 * b:g} %"
        for a, b in zip(shares[: len(shares) // 2], shares[::-1], strict=False)
    ]
    note = f"lines: {', '.join(pairs)} of the cases" if pairs else ""
    if len(shares) % 2:
        middle = shares[len(shares) // 2]
        name = "the median" if middle == 0.5 else f"{100 * middle:g} %"
        note += f"{'; ' if note else ''}dot: {name}"
    _caption(ax, about, note)
    return figure


# ---------------------------------------------------------------------- what they share


def _about(table: pd.DataFrame, where: str, keys: tuple[str, ...]) -> dict[Any, Any]:
    if not {"measure", "left_out", "cases", *keys} <= set(table.attrs):
        made = where.removesuffix("_figure")
        raise InputError(f"{where}(table)", list(table.columns), f"a table as {made} returned it")
    return dict(table.attrs)


def _page(height: float) -> tuple[Figure, Axes]:
    figure = Figure(
        figsize=(11.0, min(height, 30.0)), layout=ConstrainedLayoutEngine(h_pad=0.1, w_pad=0.1)
    )
    return figure, figure.add_subplot()


def _rows(ax: Axes, names: list[str]) -> None:
    """One row a name, the first on top."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 0.5, -0.5)
    style.plain(ax)
    ax.tick_params(axis="y", length=0)


def _heading(figure: Figure, words: str) -> None:
    figure.suptitle(
        "\n".join(textwrap.wrap(words[0].upper() + words[1:], 88)), fontsize=STYLE_SIZE + 2.0
    )


def _caption(ax: Axes, about: Mapping[Any, Any], note: str) -> None:
    """How many cases are shown, how many are not, and what else must be known."""
    left_out = about["left_out"]
    words = f"{about['cases']:,} cases"
    words += f", {left_out:,} left out for want of a result" if left_out else ", none left out"
    lines = textwrap.wrap(f"{words}; {note}" if note else words, 105)
    ax.set_title("\n".join(lines), loc="left", fontsize=STYLE_SIZE - 2.0, color="#4b4b4b")


def _beside(ax: Axes, words: str, x: float, row: float, *, right: bool) -> None:
    ax.annotate(
        words, (x, row), xytext=(5 if right else -5, 0), textcoords="offset points",
        ha="left" if right else "right", va="center", fontsize=STYLE_SIZE - 2.0,
    )  # fmt: skip


def _band(about: Mapping[Any, Any]) -> str:
    return f"{100.0 * about['confidence']:g} % confidence"


def _label(name: Any, labels: Mapping[str, str] | None, width: int = 34) -> str:
    return "\n".join(textwrap.wrap((labels or {}).get(str(name), str(name)), width))


def _signed(value: float, _: Any) -> str:
    return f"{value:+,.5g}" if value else "0"


def _short(words: str, width: int = 44) -> str:
    return textwrap.shorten(words, width, placeholder=" …")


def _value(value: Any, width: int = 18) -> str:
    if isinstance(value, (float, np.floating)):
        return f"{value:,.4g}"
    return _short(str(value), width)


def _words(measure: str) -> str:
    """A result's name in words, without its unit."""
    known = {
        "cost_USD": "cost of the season",
        "total_kWh": "electricity of the season",
        "mean_dew_point_C": "mean dew point of the room",
        "difference_USD": "cost beyond the base option's",
    }
    if measure in known:
        return known[measure]
    if measure in style.MEASURE_NAMES:
        return style.MEASURE_NAMES[measure].split(",")[0]
    # A function's name has no unit at its end.
    name = measure.rpartition("_")[0] if _unit(measure) else measure
    return name.replace("_", " ")


def _unit(measure: str) -> str:
    if measure.startswith("rh_hours"):
        return "% h"
    if measure.startswith("hours_over") or measure.endswith("_h"):
        return "h"
    units = {"C": "°C", "pct": "% RH", "degF": "°F"}
    units |= {unit: unit for unit in ("K", "USD", "kWh", "kW", "kg", "pint", "kgCO2e", "starts")}
    return units.get(measure.rpartition("_")[2], "") if "_" in measure else ""


def _shown(values: Any, about: Mapping[Any, Any], units: Units) -> Any:
    """Temperatures in the figure's units; of a difference the scale alone."""
    if not about["measure"].endswith("_C") or units == "si":
        return values
    return values * 1.8 if about["difference"] else style.temperature(values, units)


def _axis(about: Mapping[Any, Any], units: Units) -> str:
    unit = _unit(about["measure"])
    if unit == "°C":
        unit = "°F" if units == "us" else "K" if about["difference"] else unit
    name = _words(about["measure"])
    words = f"{name}: {about['of']}" if about["difference"] else name
    return "\n".join(textwrap.wrap(words + (f", {unit}" if unit else ""), 88))


def _what(about: Mapping[Any, Any]) -> str:
    name = _words(about["measure"])
    return f"{name}, {about['of']}" if about["of"] else name
