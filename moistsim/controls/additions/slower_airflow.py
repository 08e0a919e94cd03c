"""Less air over the coil on a humidity call: a colder coil, which dries more."""

import math

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.controls.parts import check_humidistat, check_limits, latch
from moistsim.core.units import Fraction, Percent

LEAST_FLOW = 0.33
"""Of full flow, to which the blower is slowed at most: a tenth above the 0.3 below which machines
refuse. Our own round figure."""
SAME_SPEED = 0.1
"""Change of a variable compressor's call, in stages, in which its airflow is about the same."""


def _check(settings: dict[str, float]) -> None:
    check_humidistat("addition slower_airflow", settings)
    check_limits("addition slower_airflow", settings, {"slow_down_by": (0.0, 0.5, "")})


@addition(check=_check)
def slower_airflow(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    target_rh: Percent = 52.0,
    humidity_deadband: Percent = 5.0,
    slow_down_by: Fraction = 0.2,
) -> CallSet:
    """In cooling the blower runs slower by `slow_down_by` on a humidity call.

    Not in the first step of a stage, whose own flow is then not yet known, nor while strips are
    called for or the strategy calls for an airflow itself. It never slows the blower below
    `LEAST_FLOW`.
    """
    half = 0.5 * humidity_deadband
    memory[0] = latch(memory[0], readings.relative_humidity, target_rh + half, target_rh - half)
    called = min(calls.cooling, readings.cooling_stages)
    tolerance = SAME_SPEED
    if readings.variable_speed == 0.0:
        called, tolerance = math.floor(called + 0.5), 0.0
    settled = called > 0.0 and abs(called - readings.cooling_stage) <= tolerance
    slower = 0.0
    if memory[0] > 0.0 and settled and calls.reheat <= 0.0 and calls.airflow <= 0.0:
        # The stage's own flow, without what it was slowed by a step ago.
        flow = readings.airflow / (1.0 - memory[1])
        slower = min(slow_down_by, max(1.0 - LEAST_FLOW / max(flow, LEAST_FLOW), 0.0))
    memory[1] = slower
    return calls._replace(slow_down=max(calls.slow_down, slower))
