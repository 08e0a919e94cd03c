"""Effective sensible heat ratio of a coil that cycles."""

from typing import Any

import attrs
import numpy as np

from moistsim.core.display import Units, duration, units_or_default
from moistsim.equipment import Cooling
from moistsim.figures import style
from moistsim.figures.style import LIMIT, PLACE_COLORS, ROOM, Context, Drawn
from moistsim.machine_checks import coil_bench


def effective_shr_figure(
    cooling: Cooling, *, units: Units | None = None, ax: Any = None, context: Context = "paper",
    **conditions: Any,
) -> Drawn:  # fmt: skip
    """Draw effective sensible heat ratio against runtime fraction, with the fan AUTO and ON.

    Parameters
    ----------
    cooling : Cooling
        The machine. With the fan ON it runs at `fan_airflow` between runs.
    units : {"us", "si"}, optional
        Both axes are ratios, so the units change nothing.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    **conditions
        Stage, air and cycling rate, as for `coil_bench`.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        As `coil_bench`, or if `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.effective_shr_figure(cooling, temperature="75 degF", stage=1)  # doctest: +SKIP
    """
    units_or_default(units, "figure units")
    machine: Any = cooling
    automatic = coil_bench(attrs.evolve(machine, fan="auto"), **conditions)
    continuous = coil_bench(attrs.evolve(machine, fan="on"), **conditions)
    steady = float(coil_bench(cooling, **conditions | {"runtime_fractions": [1.0]})["shr"].iloc[0])
    with style.sheet("effective_shr_figure", context, ax) as page:
        panel = page.panel(height=4.2)
        style.plain(panel)
        panel.axhline(steady, color=LIMIT, lw=1.0, ls="--", label=f"Steady coil: {steady:.2f}")
        delay = (
            f", fan-off delay {duration(cooling.fan_off_delay)}" if cooling.fan_off_delay else ""
        )
        for table, color, dash, label in (
            (
                continuous, PLACE_COLORS[1], (0, (5, 1.5)),
                f"Fan ON at {100.0 * cooling.fan_airflow:.0f} % airflow",
            ),
            (automatic, ROOM, "-", f"Fan AUTO{delay}"),
        ):  # fmt: skip
            panel.plot(table.index, table["shr"], color=color, ls=dash, lw=2.5, label=label)
        panel.set_xlim(0.0, 1.0)
        panel.set_ylim(np.floor(10.0 * steady - 0.2) / 10.0, 1.01)
        panel.set_xlabel("Runtime fraction")
        panel.set_ylabel("Effective sensible heat ratio")
        # The table's share nearest to a coil that runs half of the time.
        half = automatic.index[int(np.abs(automatic.index.to_numpy(float) - 0.5).argmin())]
        return page.done(
            f"A coil that runs {100.0 * half:.0f} % of the time has an SHR of "
            f"{automatic['shr'].loc[half]:.2f} with the fan AUTO and {continuous['shr'].loc[half]:.2f} "
            f"with it ON; steady, {steady:.2f}",
            "Effective sensible heat ratio of a cycling coil; at 1.0 all of its water evaporates "
            "back into the house",
            key=panel.get_legend_handles_labels()[0],
        )
