"""Ventilation reduced while outdoor air is humid, and made up for while it is dry."""

import math
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.core.compiled import compiled
from moistsim.core.units import DegC, Fraction, Limits, Meaning, Seconds


@compiled
def exposure_after(exposure: float, factor: float, step: float) -> float:
    """Relative exposure after a step, ASHRAE 62.2-2016 normative appendix C (from memory).

    R' = 1/a + (R - 1/a) exp(-a s), or R + s where nothing is ventilated.

    Parameters
    ----------
    exposure : float
        R, the exposure before the step. It is the concentration of a steady contaminant, over its
        concentration at the required rate.
    factor : float
        a, the rate over the required rate.
    step : float
        s, the length of the step over the turnover. The turnover is volume over required rate.
    """
    if factor <= 0.0:
        return exposure + step
    return 1.0 / factor + (exposure - 1.0 / factor) * math.exp(-factor * step)


@compiled
def excess_over(exposure: float, after: float, factor: float, step: float) -> float:
    """Excess of exposure over 1 through a step, in turnovers: the integral of R - 1, exactly.

    It follows from dR/ds = 1 - a R. `after` is the result of `exposure_after`.
    """
    if factor <= 0.0:
        return (exposure - 1.0 + 0.5 * step) * step
    return (step - (after - exposure)) / factor - step


@addition(reads_dew_point=False, machines=("ventilation",))
def held_back_ventilation(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    outdoor_dew_point_above: Annotated[
        DegC, Limits(-20.0, 35.0), Meaning("Outdoor dew point above which ventilation is reduced.")
    ] = 16.0,
    held_factor: Annotated[
        Fraction,
        Limits(0.0, 1.0),
        Meaning("Ventilation rate in humid hours, as a share of normal."),
    ] = 0.3,
    catch_up_factor: Annotated[
        Fraction, Limits(1.0, 5.0), Meaning("Ventilation rate while it catches up.")
    ] = 1.4,
    turnover: Annotated[
        Seconds,
        Limits(360.0, 172_800.0),
        Meaning("Volume of the house divided by its required ventilation rate."),
    ] = 10_800.0,
    # The upper limit of 5 is the standard's maximum in any step.
    most_exposure: Annotated[
        Fraction, Limits(1.0, 5.0), Meaning("Highest relative exposure that it allows.")
    ] = 3.0,
    most_owed: Annotated[
        Seconds,
        Limits(0.0, 3_600_000.0),
        Meaning("Highest excess exposure that it lets add up before it ventilates again."),
    ] = 259_200.0,
) -> CallSet:
    """Reduces ventilation in humid hours, and keeps the average exposure of ASHRAE 62.2.

    Above `outdoor_dew_point_above` the ventilation runs at `held_factor` of its rate until relative
    exposure would exceed `most_exposure`, or the excess would exceed `most_owed`. It then runs at
    its full rate. The excess is exposure above 1, integrated over time. Below that dew point the
    ventilation runs at `catch_up_factor` until the excess is paid back. The mean exposure of a year
    that ends in dry weather is therefore at most 1. In a humid spell of weeks, only the first days
    are reduced. Exposure varies with the inverse of the rate, so the same average needs more air.

    A `turnover` of 3 h is that of 2000 ft2 and three bedrooms at the total rate of 62.2. The rate
    counts as called: the addition knows of no lockout and of no central duct whose blower is off,
    and it takes no credit for infiltration. All defaults are our own round figures.
    """
    # The memory starts with zeros: an exposure of 1, and no hours owed.
    exposure, owed = memory[0] + 1.0, memory[1]
    hours, step = turnover / 3600.0, 60.0 * readings.step_minutes / turnover
    factor = calls.ventilation
    if readings.outdoor_dew_point > outdoor_dew_point_above:
        held = held_factor * factor
        after = exposure_after(exposure, held, step)
        # On the way back to an exposure of 1 at the full rate, `after - 1` more turnovers are owed.
        owing = owed + hours * (excess_over(exposure, after, held, step) + after - 1.0)
        # After an exposure that is too high, it must fall half-way to 1 before the next reduction.
        highest = 0.5 * (1.0 + most_exposure) if memory[2] > 0.0 else most_exposure
        resting = after > highest
        memory[2] = 1.0 if resting else 0.0
        if not resting and 3600.0 * owing <= most_owed:
            factor = held
    elif owed > 0.0:
        factor *= catch_up_factor
    after = exposure_after(exposure, factor, step)
    memory[0] = after - 1.0
    memory[1] = owed + hours * excess_over(exposure, after, factor, step)
    return calls._replace(ventilation=factor)
