"""Ventilation held back while it is humid outdoors, and caught up when it is dry."""

import math

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.controls.parts import check_limits
from moistsim.core.compiled import compiled
from moistsim.core.units import DegC, Fraction, Seconds


def _check(settings: dict[str, float]) -> None:
    check_limits(
        "addition held_back_ventilation",
        settings,
        {
            "outdoor_dew_point_above": (-20.0, 35.0, "degC"),
            "held_factor": (0.0, 1.0, ""),
            "catch_up_factor": (1.0, 5.0, ""),
            "turnover": (360.0, 172_800.0, "s"),
            # 5: the most that the standard allows in any step.
            "most_exposure": (1.0, 5.0, ""),
            "most_owed": (0.0, 3_600_000.0, "s"),
        },
    )


@compiled
def exposure_after(exposure: float, factor: float, step: float) -> float:
    """Relative exposure after a step, ASHRAE 62.2-2016 normative appendix C (from memory).

    R' = 1/a + (R - 1/a) exp(-a s), or R + s where nothing is ventilated.

    Parameters
    ----------
    exposure : float
        Before it: concentration of what the house emits steadily, over that at the required rate.
    factor : float
        a, the rate over the required one.
    step : float
        s, its length over the turnover, volume over the required rate.
    """
    if factor <= 0.0:
        return exposure + step
    return 1.0 / factor + (exposure - 1.0 / factor) * math.exp(-factor * step)


@compiled
def excess_over(exposure: float, after: float, factor: float, step: float) -> float:
    """Excess of exposure over 1 through a step, in turnovers: the integral of R - 1, exactly.

    From dR/ds = 1 - a R; with the arguments and the result of `exposure_after`.
    """
    if factor <= 0.0:
        return (exposure - 1.0 + 0.5 * step) * step
    return (step - (after - exposure)) / factor - step


@addition(check=_check)
def held_back_ventilation(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    outdoor_dew_point_above: DegC = 16.0,
    held_factor: Fraction = 0.3,
    catch_up_factor: Fraction = 1.4,
    turnover: Seconds = 10_800.0,
    most_exposure: Fraction = 3.0,
    most_owed: Seconds = 259_200.0,
) -> CallSet:
    """Ventilates less in humid hours, with the average of ASHRAE 62.2 kept by relative exposure.

    While the outdoor dew point is above `outdoor_dew_point_above` the ventilation runs at
    `held_factor` of its rate, until the exposure would pass `most_exposure`, or what would be owed
    `most_owed`; from then on it runs at its full rate. What is owed is the excess of exposure over
    1, integrated: it is paid back at `catch_up_factor` below that dew point, so that the mean
    exposure of a year that ends in dry weather is at most 1. Where it is humid for weeks it cannot
    be held back but for the first days of them. Exposure is not the rate's mean but goes with its
    inverse, so that the same average takes more air in all.

    `turnover` is the house's volume over its required rate: 3 h is that of 2000 ft2 and three
    bedrooms at 62.2's total rate. The rate counts as called: a lockout or a central duct whose
    blower rests is not known here, and credit for infiltration is not taken. All defaults are
    our own round figures.
    """
    # Zeros at the start are an exposure of 1 and no hours owed.
    exposure, owed = memory[0] + 1.0, memory[1]
    hours, step = turnover / 3600.0, 60.0 * readings.step_minutes / turnover
    factor = calls.ventilation
    if readings.outdoor_dew_point > outdoor_dew_point_above:
        held = held_factor * factor
        after = exposure_after(exposure, held, step)
        # At the full rate, exposure - 1 turnovers more are owed until it is back at 1.
        owing = owed + hours * (excess_over(exposure, after, held, step) + after - 1.0)
        # Once too high, the exposure falls half-way to 1 before it is held again.
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
