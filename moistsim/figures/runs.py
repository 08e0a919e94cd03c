"""Starts of a machine, and how long its runs are."""

from typing import Any, Literal

import numpy as np

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.figures import style
from moistsim.figures.style import Context, Drawn
from moistsim.risk import RUNNING, SHORT_RUNS, run_minutes
from moistsim.study import Comparison

BOUNDS = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, np.inf)
"""Bounds of the classes of run lengths, minutes; the first ones are those of short runs."""
SHORT = max(SHORT_RUNS)


def runs_figure(
    comparison: Comparison,
    machine: Literal["compressor", "dehumidifier"] = "compressor",
    *,
    units: Units | None = None,
    ax: Any = None,
    context: Context = "paper",
) -> Drawn:
    """Draw how often a machine starts each day and how long its runs are, one row for each option.

    A bar is the mean number of runs a day of one class of length. Runs shorter than ten minutes are
    pale: the coil hardly drips in them (`cycle_figure`). A run goes on through changes of stage. The
    season is simulated once more for each option.

    Parameters
    ----------
    comparison : Comparison
    machine : {"compressor", "dehumidifier"}
        Runs of the compressor are those for cooling and for heating.
    units : {"us", "si"}, optional
        Units of the floor area under the title; default: those of `set_units`.
    ax : list of Axes, optional
        One for each option that ran the machine, in place of a page.
    context : {"paper", "slide"}
        A page, or a slide of up to four options.

    Returns
    -------
    matplotlib.figure.Figure
        Or the axes that the reader gave.

    Raises
    ------
    InputError
        If no option runs the machine, or a choice is unknown.

    Examples
    --------
    >>> figure = ms.figures.runs_figure(study.run(), "dehumidifier")  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    if machine not in RUNNING:
        raise InputError("runs_figure machine", machine, one_of(machine, RUNNING))
    lengths = {
        name: run_minutes(season, season.steps(*RUNNING[machine]), machine)
        for name, season in comparison.seasons.items()
    }
    lengths = {name: minutes for name, minutes in lengths.items() if len(minutes)}
    if not lengths:
        raise InputError(
            "runs_figure machine", Problem(f"no option runs the {machine}"), "a machine that runs"
        )
    hourly = comparison.seasons[comparison.base].hourly
    days = len(hourly) / 24.0
    looks, n = style.option_looks(comparison), len(lengths)
    starts = {name: len(minutes) / days for name, minutes in lengths.items()}
    x = np.arange(len(BOUNDS) - 1)
    with style.sheet("runs_figure", context, ax) as page:
        axes = page.panels(n, height=1.15 * n + 1.7, link_x=True, link_y=True)
        highest = 0.0
        for panel, (name, minutes) in zip(axes[:, 0], lengths.items(), strict=True):
            each = np.histogram(minutes, BOUNDS)[0] / days
            highest = max(highest, float(each.max()))
            color = looks[name][0]
            for k, height in enumerate(each):
                short = BOUNDS[k + 1] <= SHORT
                panel.bar(
                    k, height, width=0.8, facecolor=(color, 0.35) if short else color,
                    edgecolor=color, lw=0.8,
                )  # fmt: skip
                panel.annotate(
                    _few(height), (k, height), xytext=(0.0, 2.0), textcoords="offset points",
                    ha="center", va="bottom", fontsize="small",
                )  # fmt: skip
            share = 100.0 * float(np.mean(minutes < SHORT))
            about = f"{number(starts[name], 1)} starts a day, {number(float(np.mean(minutes)))} min a run"
            # A slide has no room for a second line.
            words = (
                (f"{name}: {about}", "")
                if page.slide
                else (name, f"{about}; {number(share)}\xa0% of runs under {SHORT:g} min")
            )
            style.name_panel(panel, *words, page.width() - 0.8)
            style.plain(panel)
            panel.set_yticks([])
            panel.spines["left"].set_visible(False)
            panel.tick_params(axis="x", length=0)
        axes[0, 0].set_ylim(0.0, (1.6 if page.slide else 1.3) * highest)
        labels = [f"{a:g}–{b:g}" for a, b in zip(BOUNDS[1:-2], BOUNDS[2:-1], strict=True)]
        axes[-1, 0].set_xticks(x, [f"under {BOUNDS[1]:g}", *labels, f"over {BOUNDS[-2]:g}"])
        axes[-1, 0].set_xlabel(f"Length of a {machine} run, minutes; bars: runs a day")
        said = style.each(starts, lambda a_day: f"{number(a_day, 1)} a day")
        return page.done(
            f"Starts of the {machine}: {said}",
            f"{style.place(comparison.study, show)}. "
            f"{show.days(hourly.index[0], hourly.index[-1])}, mean day",
            alt=f"One panel for each option. Runs under {SHORT:g} minutes are pale",
        )


def _few(a_day: float) -> str:
    """Runs a day; a class with some runs is never 0.0."""
    return number(a_day, 1) if a_day >= 0.05 else "<0.1" if a_day else "0"
