"""Effective sensible heat ratio of a coil that cycles."""

from typing import Any

import attrs
import numpy as np
from matplotlib.figure import Figure

from moistsim.core.display import duration
from moistsim.equipment import Cooling
from moistsim.figures import style
from moistsim.figures.style import END_USE_COLORS, LIMIT, ROOM, STYLE_SIZE, Page
from moistsim.machine_checks import coil_bench


def effective_shr_figure(cooling: Cooling, **conditions: Any) -> Figure:
    """Draw effective sensible heat ratio against runtime fraction, with the fan AUTO and ON.

    Parameters
    ----------
    cooling : Cooling
        The machine. With the fan ON it runs at `fan_airflow` between runs.
    **conditions
        Stage, air and cycling rate, as for `coil_bench`.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    InputError
        As `coil_bench`.

    Examples
    --------
    >>> figure = ms.figures.effective_shr_figure(cooling, temperature="75 degF", stage=1)  # doctest: +SKIP
    """
    machine: Any = cooling
    automatic = coil_bench(attrs.evolve(machine, fan="auto"), **conditions)
    continuous = coil_bench(attrs.evolve(machine, fan="on"), **conditions)
    steady = float(coil_bench(cooling, **conditions | {"runtime_fractions": [1.0]})["shr"].iloc[0])

    figure = Page(figsize=(9.0, 5.6), layout="constrained")
    ax = figure.subplots()
    style.plain(ax)
    ax.axhline(steady, color=LIMIT, lw=1.0, ls="--", label=f"Steady coil: {steady:.2f}")
    delay = f", fan-off delay {duration(cooling.fan_off_delay)}" if cooling.fan_off_delay else ""
    for table, color, label in (
        (
            continuous,
            END_USE_COLORS["reheat"],
            f"Fan ON at {100.0 * cooling.fan_airflow:.0f} % airflow",
        ),
        (automatic, ROOM, f"Fan AUTO{delay}"),
    ):
        ax.plot(table.index, table["shr"], color=color, lw=2.5, label=label)
    ax.set_xlim(0.0, 1.0)
    ax.set_ylim(np.floor(10.0 * steady - 0.2) / 10.0, 1.01)
    ax.set_xlabel("Runtime fraction", fontsize=STYLE_SIZE)
    ax.set_ylabel("Effective sensible heat ratio", fontsize=STYLE_SIZE)
    ax.set_title(
        "Moisture removal of a cycling coil\n(1.0: all water evaporates back into the house)",
        loc="left",
        fontsize=STYLE_SIZE + 1.0,
    )
    style.legend(figure, ax.get_legend_handles_labels()[0])
    return figure
