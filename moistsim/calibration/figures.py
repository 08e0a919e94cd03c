"""The figure of a fit: what the loggers showed, what the fitted house shows, and how sure that is."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib import dates, ticker

from moistsim.calibration.goodness import coverage, rmse
from moistsim.core.display import Units, units_or_default
from moistsim.figures import style

if TYPE_CHECKING:
    from moistsim.calibration.fit import Fit

GRAINS = 7000.0
"""Grains in a pound, which are grains/lb of 1 kg/kg."""


def fit_figure(
    fit: "Fit", units: Units | None = None, *, ax: Any = None, context: style.Context = "paper"
) -> style.Drawn:
    """Draw measured and predicted humidity through the log, and the draws of air against moisture.

    Parameters
    ----------
    units : {"us", "si"}, optional
        Humidity ratio in grains/lb and outdoor air in cfm, or g/kg and m3/h.
    ax : list of two Axes, optional
        In place of a page.
    context : {"paper", "slide"}
        A page or a slide.
    """
    units = units_or_default(units, "figure units")
    us = units == "us"
    scale, unit = (GRAINS, "grains/lb") if us else (1000.0, "g/kg")
    day = len(fit.hours.index) > 24 * 21
    table = scale * fit.predict(period="D" if day else "h")
    with style.sheet("fit_figure", context, ax) as page:
        through, scatter = (
            page.panels(1, 2, height=0.0, width_ratios=[2.0, 1.0])
            if page.slide
            else page.panels(2, 1, height=6.8)
        ).ravel()
        style.band(
            through, table.index, table["low"], table["high"], style.MACHINE_COLORS["cooling alone"]
        )
        through.plot(
            table.index,
            table["predicted"],
            color=style.ROOM,
            lw=1.4,
            label="Fitted house, 90 % band",
        )
        through.plot(
            table.index,
            table["measured"],
            color=style.TOO_HUMID,
            lw=1.4,
            ls=(0, (4, 1.5)),
            label="Loggers",
        )
        outdoors = pd.Series(fit.hours.outdoors * scale / 1000.0, fit.hours.index)
        if day:
            outdoors = outdoors.resample("D").mean()
        through.plot(outdoors.index, outdoors, color=style.OUTDOORS, lw=0.9, label="Outdoors")
        if fit.fitted < len(fit.hours.index):
            cut = fit.hours.index[fit.fitted]
            through.axvline(cut, color=style.LIMIT, lw=1.0, ls=":")
            through.annotate("not seen by the fit", (cut, 1.0), xycoords=("data", "axes fraction"),
                        xytext=(4, -14), textcoords="offset points", fontsize="small")  # fmt: skip
        blind = table[
            table.index >= fit.hours.index[min(fit.fitted, len(fit.hours.index) - 1)]
        ].dropna()
        part = blind if len(blind) > 1 and fit.fitted < len(fit.hours.index) else table.dropna()
        what = "days" if day else "hours"
        error = rmse(part["measured"], part["predicted"])
        share = coverage(part["measured"], part["low"], part["high"])
        through.set_ylabel(f"Humidity ratio, {unit}")
        formatter: Any = dates.ConciseDateFormatter
        through.xaxis.set_major_formatter(formatter(through.xaxis.get_major_locator()))
        span = float(np.nanmax(table["high"]) - np.nanmin(np.r_[table["low"], outdoors]))
        through.set_ylim(float(np.nanmin(np.r_[table["low"], outdoors])) - 0.05 * span, None)
        per_flow, flow = (1.0 / 1.699, "cfm") if us else (1.0, "m³/h")
        per_water, water = (1.0 / 0.4732, "pints/day") if us else (1.0, "L/day")
        for found, color, marker, label in (
            (fit.prior_quantities, style.OUTDOORS, "x", "Before the log"),
            (fit.quantities, style.ROOM, "o", "After the log"),
        ):
            scatter.scatter(
                found["air_flow_m3h"] * per_flow, found["moisture_kg_day"] * per_water,
                color=color, marker=marker, s=22, lw=1.0, label=label,
            )  # fmt: skip
        scatter.set_xscale("log")
        scatter.set_yscale("log")
        for side in (scatter.xaxis, scatter.yaxis):
            side.set_major_locator(ticker.LogLocator(subs=(1.0, 2.0, 5.0)))
            side.set_major_formatter("{x:g}")
            side.set_minor_locator(ticker.NullLocator())
        scatter.set_xlabel(f"Outdoor air, {flow}")
        scatter.set_ylabel(f"Household moisture, {water}")
        scatter.set_title("Values that fit the log")
        for one in (through, scatter):
            style.plain(one)
        return page.done(
            f"Humidity ratio: error {error:.{1 if us else 2}f} {unit}, {100 * share:.0f} % of the "
            f"{what} {'not seen ' if part is blind else ''}in the band",
            "Humidity ratio through the log, and values of the house that fit it",
            key=[h for one in (through, scatter) for h in one.get_legend_handles_labels()[0]],
        )
