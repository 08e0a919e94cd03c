"""Change of a sweep's result by each input alone."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from moistsim.core.display import Show, Units, check_units
from moistsim.figures import style
from moistsim.figures.style import LIMIT, STYLE_SIZE
from moistsim.figures.sweep_page import HIGH, LOW, OTHER, caption, heading, name_rows, new_page
from moistsim.figures.sweep_words import about_of, axis_words, in_units, label_of, short, what_words


def tornado_figure(
    table: pd.DataFrame, units: Units = "us", *, labels: Mapping[str, str] | None = None
) -> Figure:
    """Draw how far each parameter alone moves the result, the largest swing on top.

    Parameters
    ----------
    table : DataFrame
        What `tornado` returned.
    units : {"us", "si"}
        Units of a dew point or another temperature.
    labels : dict, optional
        Words in place of a parameter's dotted name.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        If the table comes from another function, or `units` is neither.

    Examples
    --------
    >>> figure = ms.figures.tornado_figure(ms.tornado(frame, "cost_USD"))  # doctest: +SKIP
    """
    check_units(units, "figure units")
    show = Show(units)
    about = about_of(table, "tornado_figure", ("base", "base_values"))
    figure, ax = new_page(2.6 + 0.55 * len(table))
    base = float(in_units(about["base"], about, show))
    ends = {
        k: np.asarray(in_units(table[k].to_numpy(float), about, show))
        for k in ("at_low", "at_high")
    }
    reach = np.concatenate([*ends.values(), [base]])
    span = float(np.ptp(reach))
    # Rounding leaves a trace where nothing moves the result.
    span = span if span > 1e-9 * np.abs(reach).max() else abs(base) or 1.0
    numbers = [isinstance(value, (int, float, np.number)) for value in table["low"]]
    for row, name in enumerate(table.index):
        low, high = float(ends["at_low"][row]), float(ends["at_high"][row])
        # Where both ends move the result to one side, each has half the row.
        both = (low - base) * (high - base) > 0.0
        for value, end, color, shift, right in (
            (low, "low", LOW, -0.16, low > base or (low == base and high < base)),
            (high, "high", HIGH, 0.16, high > base or (high == base and low <= base)),
        ):
            at, height = (row + shift, 0.3) if both else (row, 0.6)
            fill = color if numbers[row] else OTHER
            ax.barh(at, value - base, left=base, height=height, color=fill, zorder=2)
            words = _value(table.at[name, end])
            # The row's name shows the base's own value already.
            if value != base or words != _value(about["base_values"][name]):
                _beside(ax, words, value, at, right=right)
    ax.axvline(base, color=LIMIT, lw=1.0, zorder=3)
    ax.set_xlim(reach.min() - 0.28 * span, reach.max() + 0.28 * span)
    names = [
        f"{label_of(name, labels)}\n(base: {_value(about['base_values'][name], 26)})"
        for name in table.index
    ]
    name_rows(ax, names)
    ax.set_xlabel(axis_words(about, show), fontsize=STYLE_SIZE)
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
    heading(figure, f"One parameter at a time: {what_words(about)}")
    keys: list[Patch | Line2D] = [
        Patch(color=LOW, label="Lowest value of the parameter"),
        Patch(color=HIGH, label="Highest value of the parameter"),
    ]
    if not all(numbers):
        keys.append(Patch(color=OTHER, label="Not a number: lowest and highest result"))
    keys.append(Line2D([], [], color=LIMIT, lw=1.0, label=f"Base case: {base:,.5g}"))
    style.legend(figure, keys, columns=2)
    caption(ax, about, "")
    return figure


def _value(value: Any, width: int = 18) -> str:
    if isinstance(value, (float, np.floating)):
        return f"{value:,.4g}"
    return short(str(value), width)


def _beside(ax: Axes, words: str, x: float, row: float, *, right: bool) -> None:
    ax.annotate(
        words, (x, row), xytext=(5 if right else -5, 0), textcoords="offset points",
        ha="left" if right else "right", va="center", fontsize=STYLE_SIZE - 2.0,
    )  # fmt: skip
