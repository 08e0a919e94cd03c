"""Electricity of each extra liter of water, by option and machine, against the least work."""

from collections.abc import Iterable
from typing import Any

import pandas as pd
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.core.measures import Measure
from moistsim.figures import style
from moistsim.figures.page import Sheet, text_width, wrapped
from moistsim.figures.style import END_USE_COLORS, LIMIT, Context, Drawn
from moistsim.study import EXTRA_WATER, FROM_MATERIALS, LEAST, PER_LITER, TOTAL, Comparison

INSIDE = 0.1
"""Share of the longest bar, from which a part has its number inside."""
MUCH = 0.35
"""Share of the extra water, beyond which what materials give or take up decides the result."""


def extra_liter_figure(
    comparison: Comparison,
    days: Iterable[str] | None = None,
    *,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw the kWh of each extra liter of water that an option removes, stacked by machine.

    The numbers are those of `Comparison.per_extra_liter`: extra kWh over extra water, both against
    the base option. A part left of zero is an end use that the option uses less. The last bar
    is the least work with which any machine could remove a liter from this room.

    Parameters
    ----------
    comparison : Comparison
    days : iterable of str, optional
        "MM-DD" or "YYYY-MM-DD" each; default: the whole season.
    units : {"us", "si"}, optional
        kWh per pint or kWh per liter; default: those of `set_units`.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If no option removes more water than the base option, or as `Comparison.per_extra_liter`.

    Examples
    --------
    >>> figure = ms.figures.extra_liter_figure(study.run(), units="si")  # doctest: +SKIP
    """
    units = units_or_default(units, "figure units")
    show = Show(units)
    chosen = None if days is None else list(days)
    table = comparison.per_extra_liter(chosen, units)

    def column(measure: Measure) -> pd.Series:
        found: pd.Series = table[measure.trade_name if show.us else measure.name]
        return found

    total = column(TOTAL).dropna()
    if total.empty:
        raise InputError(
            "extra_liter_figure comparison",
            Problem(f"no option removes more water than “{comparison.base}”"),
            "options of which one removes at least a liter more",
        )
    # The most expensive liter is on top.
    order = list(total.sort_values(ascending=False).index)
    parts = {
        use: column(measure)[order]
        for use, measure in PER_LITER.items()
        if (measure.trade_name if show.us else measure.name) in table
    }
    # A smaller part is thinner than its edge.
    parts = {use: kwh for use, kwh in parts.items() if kwh.abs().max() > 0.003 * total.abs().max()}
    # The table's water is in pints or kilograms.
    water = column(EXTRA_WATER) if show.us else show.value(column(EXTRA_WATER), "water")
    noun = "pint" if show.us else "liter"
    least = float(column(LEAST)[order].mean())
    with style.sheet("extra_liter_figure", context, ax) as page:
        labels = {name: _label(name, water[name], comparison, show, page) for name in order}
        rows = sum(label.count("\n") + 1 for label in labels.values())
        panel = page.panel(height=0.6 * len(order) + 0.15 * rows + 2.3)
        furthest = y = 0.0
        for name in reversed(order):
            right = left = 0.0
            for use, kwh in parts.items():
                value = float(kwh[name])
                start = right if value >= 0.0 else left
                panel.barh(
                    y, value, left=start, height=0.5, color=END_USE_COLORS[use], edgecolor="white",
                    lw=0.6,
                )  # fmt: skip
                if value > INSIDE * float(total.max()):
                    words = number(value, 2)
                    named = f"{PER_LITER[use].label} {words}"
                    # Its name too, where there is room: in gray, machines look alike.
                    if text_width(named, "small") < 0.8 * page.width() * value / float(total.max()):
                        words = named
                    panel.text(
                        start + 0.5 * value, y, words, ha="center", va="center", fontsize="small",
                        color=style.ink_on(END_USE_COLORS[use]),
                    )  # fmt: skip
                right, left = right + max(value, 0.0), left + min(value, 0.0)
            furthest = min(furthest, left)
            panel.annotate(
                number(total[name], 2), (right, y), xytext=(5.0, 0.0), va="center",
                textcoords="offset points", fontsize="medium", fontweight="bold",
            )  # fmt: skip
            _above_bar(panel, y, labels[name])
            y += 0.8 + 0.2 * (labels[name].count("\n") + 1)
        panel.barh(-1, least, height=0.5, color=LIMIT)
        panel.annotate(
            number(least, 3), (least, -1), xytext=(5.0, 0.0), va="center",
            textcoords="offset points", fontsize="medium", fontweight="bold",
        )  # fmt: skip
        _above_bar(panel, -1, "The least that any machine could need")
        panel.axvline(0.0, color=LIMIT, lw=0.8)
        panel.set_xlim(min(0.0, 1.5 * furthest), 1.12 * float(total.max()))
        panel.set_ylim(-1.4, y - 0.25)
        panel.set_yticks([])
        style.plain(panel)
        panel.spines["left"].set_visible(False)
        panel.grid(axis="x")
        panel.set_xlabel(f"Extra electricity for each extra {noun}, {TOTAL.sign(units)}")
        hourly = comparison.seasons[comparison.base].hourly
        when = (
            show.days(hourly.index[0], hourly.index[-1])
            if chosen is None
            else f"{len(chosen)} chosen days"
        )
        held = column(FROM_MATERIALS)[order].abs() > MUCH * column(EXTRA_WATER)[order]
        settled = {name: float(total[name]) for name in order if not held[name]}
        said = style.each(settled, lambda kwh: f"{number(kwh, 2)} kWh")
        return page.done(
            f"An extra {noun} of water takes {said}; no machine needs less than {number(least, 3)} kWh"
            if settled
            else f"Too short a time to say what an extra {noun} of water takes: materials moved as much",
            f"{style.place(comparison.study, show)}. {when}, compared with {style.quoted(comparison.base)}",
            alt="One bar for each option, stacked by end use",
            key=[Patch(color=END_USE_COLORS[use], label=PER_LITER[use].label) for use in parts],
            note=_note(
                [name for name in table.index if name not in order], [n for n in order if held[n]]
            ),
        )


def _label(name: str, water: float, comparison: Comparison, show: Show, page: Sheet) -> str:
    """Name of an option, its extra water and, on a page, how dry its room is."""
    words = f"{name}: {number(water)} {show.unit('water')} extra"
    if page.given is None:
        words += f"; {style.dryness(comparison.seasons[name])}"
    return wrapped(words, page.width() - 0.2, "small")


def _note(drier: list[str], held: list[str]) -> str:
    """What a reader must know before comparing the bars."""
    notes = ["Compare options only where their rooms are equally dry and equally warm."]
    notes += [f"{style.quoted(n)} removes no more water than the base option." for n in drier]
    if held:
        names = " and ".join(map(style.quoted, held))
        notes.append(
            f"Materials took up or gave more than {100.0 * MUCH:g}\xa0% of the extra water of {names}: "
            "a whole year says more."
        )
    return " ".join(notes)


def _above_bar(panel: Any, y: float, words: str) -> None:
    text = panel.annotate(
        words, (0.0, y + 0.25), xytext=(2.0, 3.0), textcoords="offset points", va="bottom",
        fontsize="small", annotation_clip=False,
    )  # fmt: skip
    # Words above a bar may be wider than it, and need no room beside it.
    text.set_in_layout(False)
