"""Spread of a sweep's result within each group."""

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, check_units
from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE
from moistsim.figures.sweep_page import caption, heading, name_rows, new_page
from moistsim.figures.sweep_words import about_of, axis_words, in_units, measure_words, short

OPTIONS = tuple(dict.fromkeys((*style.MACHINE_COLORS.values(), *style.END_USE_COLORS.values())))
"""Color of an option by its place: the table of a sweep does not know the option's machine."""


def quantiles_figure(table: pd.DataFrame, units: Units = "us") -> Figure:
    """Draw the spread of a result over the cases of each group, one interval for each option.

    Parameters
    ----------
    table : DataFrame
        What `quantiles` returned.
    units : {"us", "si"}
        Units of a dew point or another temperature.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table comes from another function, or `units` is neither.

    Examples
    --------
    >>> figure = ms.figures.quantiles_figure(ms.quantiles(frame, "cost_USD", by="weather"))  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    about = about_of(table, "quantiles_figure", ("by", "q"))
    shares = sorted(about["q"])
    groups = list(dict.fromkeys(table.index.get_level_values(0)))
    options = list(dict.fromkeys(table.index.get_level_values(1)))
    figure, ax = new_page(2.8 + len(groups) * (0.35 + 0.3 * len(options)))
    height = 0.8 / len(options)
    for row, group in enumerate(groups):
        for k, option in enumerate(options):
            at = row + (k + 0.5) * height - 0.4
            found = np.asarray(
                in_units(table.loc[(group, option), shares].to_numpy(float), about, show)
            )
            # Nested pairs around the middle, the inner one thicker.
            color = OPTIONS[k % len(OPTIONS)]
            for depth in range(len(found) // 2):
                ax.plot(
                    [found[depth], found[-1 - depth]], [at, at], color=color, zorder=2 + depth,
                    lw=2.0 + 7.0 * depth / max(1, len(found) // 2 - 1), solid_capstyle="butt",
                )  # fmt: skip
            if len(found) % 2:
                ax.plot(
                    found[len(found) // 2], at, "o", color="white", markeredgecolor="black",
                    markersize=7, zorder=9,
                )  # fmt: skip
    counts = table["cases"].groupby(level=0, sort=False, observed=True).first()
    name_rows(ax, [f"{short(str(group), 30)}\n({counts[group]:,} cases)" for group in groups])
    ax.margins(x=0.05)
    ax.set_xlabel(axis_words(about, show), fontsize=STYLE_SIZE)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
    ax.grid(axis="x", color="#e9e9e9", lw=0.7)
    heading(figure, f"{measure_words(about['measure'])}, by {about['by']}")
    style.legend(
        figure,
        [Patch(color=OPTIONS[k % len(OPTIONS)], label=o) for k, o in enumerate(options)],
        columns=1 if max(map(len, options)) > 40 else None,
    )
    pairs = [
        f"{100 * a:g} to {100 * b:g} %"
        for a, b in zip(shares[: len(shares) // 2], shares[::-1], strict=False)
    ]
    note = f"Lines: {', '.join(pairs)} of cases" if pairs else ""
    if len(shares) % 2:
        middle = shares[len(shares) // 2]
        name = "median" if middle == 0.5 else f"{100 * middle:g} %"
        note += f"{'. ' if note else ''}Dot: {name}"
    caption(ax, about, note)
    return figure
