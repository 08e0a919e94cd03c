"""Spread of a sweep's result within each group."""

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, units_or_default
from moistsim.figures import style
from moistsim.figures.style import Context, Drawn
from moistsim.figures.sweep_page import cases_words, name_rows
from moistsim.figures.sweep_words import (
    about_of,
    axis_words,
    in_units,
    measure_words,
    result,
    short,
)
from moistsim.uncertainty import in_words

OPTIONS = style.PLACE_COLORS
"""Color of an option by its place: the table of a sweep does not know the option's machine."""


def quantiles_figure(
    table: pd.DataFrame, units: Units | None = None, *, ax: Any = None, context: Context = "paper"
) -> Drawn:
    """Draw the spread of a result over the cases of each group, one interval for each option.

    Parameters
    ----------
    table : DataFrame
        What `quantiles` returned.
    units : {"us", "si"}, optional
        Units of a dew point or another temperature; default: those of `set_units`.
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
        If the table comes from another function, or `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.quantiles_figure(ms.quantiles(frame, "cost_USD", by="weather"))  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    about = about_of(table, "quantiles_figure", ("by", "q"))
    shares = sorted(about["q"])
    groups = list(dict.fromkeys(table.index.get_level_values(0)))
    options = list(dict.fromkeys(table.index.get_level_values(1)))
    height = 0.8 / len(options)
    pairs = [
        f"{100 * a:g} to {100 * b:g} %"
        for a, b in zip(shares[: len(shares) // 2], shares[::-1], strict=False)
    ]
    note = f"Lines: {', '.join(pairs)} of cases" if pairs else ""
    middle = shares[len(shares) // 2]
    if len(shares) % 2:
        name = "median" if middle == 0.5 else f"{100 * middle:g} %"
        note += f"{'. ' if note else ''}Dot: {name}"
    with style.sheet("quantiles_figure", context, ax) as page:
        panel = page.panel(height=min(2.0 + len(groups) * (0.28 + 0.2 * len(options)), 30.0))
        for row, group in enumerate(groups):
            for k, option in enumerate(options):
                at = row + (k + 0.5) * height - 0.4
                found = np.asarray(
                    in_units(table.loc[(group, option), shares].to_numpy(float), about, show)
                )
                # Nested pairs around the middle, the inner one thicker.
                color = OPTIONS[k % len(OPTIONS)]
                for depth in range(len(found) // 2):
                    panel.plot(
                        [found[depth], found[-1 - depth]], [at, at], color=color, zorder=2 + depth,
                        lw=2.0 + 7.0 * depth / max(1, len(found) // 2 - 1), solid_capstyle="butt",
                    )  # fmt: skip
                if len(found) % 2:
                    panel.plot(
                        found[len(found) // 2], at, "o", color="white", markeredgecolor="black",
                        markersize=7, zorder=9,
                    )  # fmt: skip
        counts = table["cases"].groupby(level=0, sort=False, observed=True).first()
        name_rows(
            panel, [f"{short(str(group), 30)}\n({counts[group]:,} cases)" for group in groups],
            0.28 * page.width(),
        )  # fmt: skip
        panel.margins(x=0.05)
        panel.set_xlabel(style.wrapped(axis_words(about, show), 0.65 * page.width()))
        panel.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
        panel.locator_params(axis="x", nbins=6)
        panel.grid(axis="x")
        at_middle = table[middle].astype(float)
        (low_group, low_option), (high_group, high_option) = at_middle.idxmin(), at_middle.idxmax()
        name = "median" if middle == 0.5 else f"{100 * middle:g} % quantile"
        return page.done(
            f"{measure_words(about['measure'])[:1].upper()}{measure_words(about['measure'])[1:]}: {name} from "
            f"{result(at_middle.min(), about, show)} ({short(str(low_option))}, {short(str(low_group), 30)}) to "
            f"{result(at_middle.max(), about, show)} ({short(str(high_option))}, {short(str(high_group), 30)})",
            f"{cases_words(about)}, by {in_words(str(about['by']))}. {note}",
            key=[Patch(color=OPTIONS[k % len(OPTIONS)], label=o) for k, o in enumerate(options)],
        )
