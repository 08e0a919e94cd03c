"""The figure of a fit: what the loggers showed, what the fitted house shows, and how sure that is."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib import dates, ticker
from matplotlib.figure import Figure

from moistsim.calibration.goodness import coverage, rmse
from moistsim.core.display import Units, units_or_default
from moistsim.figures import style

if TYPE_CHECKING:
    from moistsim.calibration.fit import Fit

GRAINS = 7000.0
"""Grains in a pound, which are grains/lb of 1 kg/kg."""


def fit_figure(fit: "Fit", units: Units | None = None) -> Figure:
    """Draw measured and predicted humidity through the log, and the draws of air against moisture.

    Parameters
    ----------
    units : {"us", "si"}, optional
        Humidity ratio in grains/lb and outdoor air in cfm, or g/kg and m3/h.
    """
    units = units_or_default(units, "figure units")
    us = units == "us"
    scale, unit = (GRAINS, "grains/lb") if us else (1000.0, "g/kg")
    day = len(fit.hours.index) > 24 * 21
    table = scale * fit.predict(period="D" if day else "h")
    figure = style.Page(figsize=(14.0, 6.4), layout="constrained")
    axes = figure.subplots(1, 2, gridspec_kw={"width_ratios": [2.4, 1.0]})
    ax, scatter = axes
    style.band(ax, table.index, table["low"], table["high"], style.MACHINE_COLORS["cooling alone"])
    ax.plot(
        table.index, table["predicted"], color=style.ROOM, lw=1.4, label="Fitted house, 90 % band"
    )
    ax.plot(
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
    ax.plot(outdoors.index, outdoors, color=style.OUTDOORS, lw=0.9, label="Outdoors")
    if fit.fitted < len(fit.hours.index):
        cut = fit.hours.index[fit.fitted]
        ax.axvline(cut, color=style.LIMIT, lw=1.0, ls=":")
        ax.annotate("not seen by the fit", (cut, 1.0), xycoords=("data", "axes fraction"),
                    xytext=(4, -14), textcoords="offset points", fontsize=style.STYLE_SIZE - 1.0)  # fmt: skip
    blind = table[
        table.index >= fit.hours.index[min(fit.fitted, len(fit.hours.index) - 1)]
    ].dropna()
    part = blind if len(blind) > 1 and fit.fitted < len(fit.hours.index) else table.dropna()
    what = "days" if day else "hours"
    error = rmse(part["measured"], part["predicted"])
    share = coverage(part["measured"], part["low"], part["high"])
    ax.set_title(
        f"Humidity ratio: error {error:.{1 if us else 2}f} {unit}, {100 * share:.0f} % of the "
        f"{what} {'not seen ' if part is blind else ''}in the band",
        loc="left", fontsize=style.STYLE_SIZE,
    )  # fmt: skip
    ax.set_ylabel(f"Humidity ratio, {unit}", fontsize=style.STYLE_SIZE)
    formatter: Any = dates.ConciseDateFormatter
    ax.xaxis.set_major_formatter(formatter(ax.xaxis.get_major_locator()))
    ax.legend(frameon=False, fontsize=style.STYLE_SIZE - 1.0, loc="lower left", ncols=3)
    span = float(np.nanmax(table["high"]) - np.nanmin(np.r_[table["low"], outdoors]))
    ax.set_ylim(float(np.nanmin(np.r_[table["low"], outdoors])) - 0.12 * span, None)
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
    scatter.set_xlabel(f"Outdoor air, {flow}", fontsize=style.STYLE_SIZE)
    scatter.set_ylabel(f"Household moisture, {water}", fontsize=style.STYLE_SIZE)
    scatter.set_title("Values that fit the log", loc="left", fontsize=style.STYLE_SIZE)
    scatter.legend(frameon=False, fontsize=style.STYLE_SIZE - 1.0, loc="upper left")
    for one in axes:
        style.plain(one)
    return figure
