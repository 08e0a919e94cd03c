"""How a result of a sweep spreads within each group."""

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from moistsim.figures import style
from moistsim.figures.style import STYLE_SIZE
from moistsim.figures.sweep_page import caption, heading, name_rows, new_page
from moistsim.figures.sweep_words import about_of, axis_words, in_units, measure_words, short
from moistsim.study import Units

OPTIONS = ("#17456e", "#efb94b", "#169a86", "#cf4f1f", "#9a9a9a", "#6e1f10", "#8ec1e6", "#4b4b4b")


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
                in_units(table.loc[(group, option), shares].to_numpy(float), about, units)
            )
            # Nested pairs, the inner one thicker, about the middle where there is one.
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
    ax.set_xlabel(axis_words(about, units), fontsize=STYLE_SIZE)
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
    note = f"lines: {', '.join(pairs)} of the cases" if pairs else ""
    if len(shares) % 2:
        middle = shares[len(shares) // 2]
        name = "the median" if middle == 0.5 else f"{100 * middle:g} %"
        note += f"{'; ' if note else ''}dot: {name}"
    caption(ax, about, note)
    return figure
