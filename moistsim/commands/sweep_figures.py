"""Figures of `moistsim sweep`: those that the cases can answer, drawn without being asked."""

import io
from collections.abc import Callable, Iterator
from functools import partial
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.commands.screen import plain
from moistsim.core.display import Units
from moistsim.core.errors import InputError
from moistsim.core.files import write_whole
from moistsim.engine import column_catalog
from moistsim.study import ALIKE

if TYPE_CHECKING:
    from moistsim.sweep import Sweep

SHOWN = (
    column_catalog.COST,
    column_catalog.TOTAL,
    column_catalog.MEAN_DEW_POINT,
    column_catalog.HOURS_OVER_60,
)
"""Results that the screen shows."""
DRAWN = (column_catalog.COST, column_catalog.HOURS_OVER_60)
"""Results that figures show: what dryness costs, and what it is."""


FIGURES = "figures"
"""Folder of the figures, within that of the results."""


def draw(sweep: "Sweep", frame: pd.DataFrame, out: Path, units: Units) -> tuple[int, list[str]]:
    """Draw the figures that the cases can answer.

    Spread of each result; for a Saltelli sample, Sobol indices; for a grid, a tornado about its
    middle case; and for two varied numbers or more, break-even lines of options that are equally
    dry. Bills of options that are not equally dry are not comparable.

    Parameters
    ----------
    sweep : Sweep
    frame : DataFrame
        What the sweep returned.
    out : Path
        The folder of the results.
    units : {"us", "si"}

    Returns
    -------
    int
        Number of figures.
    list of str
        File and reason of each figure that the cases cannot answer.
    """
    drawn, lacking = 0, []
    (out / FIGURES).mkdir(exist_ok=True)
    for name, figure in _figures(sweep, frame, units):
        path = out / FIGURES / name
        try:
            made = figure()
        except InputError as error:
            path.unlink(missing_ok=True)
            lacking.append(f"{name}: {error}")
            continue
        content = io.BytesIO()
        made.savefig(content, format="png", dpi=150)
        write_whole(path, content.getvalue())
        drawn += 1
    return drawn, lacking


def _figures(
    sweep: "Sweep", frame: pd.DataFrame, units: Units
) -> Iterator[tuple[str, Callable[[], Any]]]:
    """File name and maker of each figure."""
    from moistsim import figures, sensitivity

    options = [*sweep.base.options]
    weathers = frame["weather"].nunique() if "weather" in frame else 0
    by = "weather" if 0 < weathers <= sensitivity.MOST_GROUPS else "all"
    grouped = frame if by == "weather" else frame.assign(all="all cases")

    def spread(measure: str) -> Any:
        return figures.quantiles_figure(sensitivity.quantiles(grouped, measure, by=by), units)

    def decides(measure: str, option: str) -> Any:
        table = sensitivity.sobol_from(frame, sweep.cases(), measure, option=option)
        return figures.sobol_figure(table)

    def moves(measure: str, option: str) -> Any:
        middle = _middle(sweep)
        return figures.tornado_figure(
            sensitivity.tornado(frame, middle, measure, option=option), units
        )

    def line(pair: tuple[str, str], x: str, y: str) -> Any:
        return figures.break_even_figure(sensitivity.break_even(frame, pair, x, y))

    for measure in DRAWN:
        yield f"spread-{plain(measure.name)}.png", partial(spread, measure.name)
        for option in options:
            about = f"{plain(measure.name)}-{plain(option)}.png"
            if sweep.sample == "saltelli":
                yield f"decides-{about}", partial(decides, measure.name, option)
            elif sweep.sample == "grid":
                yield f"moves-{about}", partial(moves, measure.name, option)
    numbers = [name for name in sweep.vary if name in sweep.units and frame[name].nunique() > 1]
    if len(numbers) < 2:
        return
    dew_point = frame.groupby("option")[column_catalog.MEAN_DEW_POINT.name].median()
    for pair in combinations(options, 2):
        if abs(dew_point[pair[0]] - dew_point[pair[1]]) <= ALIKE:
            name = f"break-even-{plain(pair[0])}-{plain(pair[1])}.png"
            yield name, partial(line, pair, *numbers[:2])


def _middle(sweep: "Sweep") -> int:
    """The case of a grid whose values are the middle ones of their lists."""
    cases = sweep.cases()
    for name in cases:
        values = [*dict.fromkeys(cases[name])]
        middle = sorted(values)[len(values) // 2] if name in sweep.units else values[0]
        cases = cases[cases[name] == middle]
    return int(cases.index[0])
