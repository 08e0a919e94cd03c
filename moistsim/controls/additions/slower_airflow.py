"""Less air over the coil on a humidity call: a colder coil, which dries more."""

import math
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.controls.parts import (
    BAND_RH,
    TARGET_RH,
    BandRH,
    TargetRH,
    latch,
)
from moistsim.core.units import Fraction, Limits, Meaning

LEAST_FLOW = 0.33
"""Lowest airflow to which the blower is slowed, as a fraction of full flow. Machines refuse less
than 0.3; this is a tenth more, our own round figure."""
SAME_SPEED = 0.1
"""Change of a variable-speed compressor's call, in stages, within which its airflow stays about
the same."""


@addition(reads_dew_point=False, machines=("cooling",))
def slower_airflow(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    target_rh: TargetRH = TARGET_RH,
    humidity_deadband: BandRH = BAND_RH,
    slow_down_by: Annotated[
        Fraction,
        Limits(0.0, 0.5),
        Meaning("Share by which the blower runs slower in cooling on a humidity call."),
    ] = 0.2,
) -> CallSet:
    """Slows the blower in cooling on a humidity call, so that a colder coil dries more.

    It acts from the second step of a stage, because the stage's own airflow is not known in the
    first. It does not act while strips are called for, or while the strategy calls for an airflow.
    It never slows the blower below `LEAST_FLOW`.
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
        # The stage's own airflow, without the reduction of the last step.
        flow = readings.airflow / (1.0 - memory[1])
        slower = min(slow_down_by, max(1.0 - LEAST_FLOW / max(flow, LEAST_FLOW), 0.0))
    memory[1] = slower
    return calls._replace(slow_down=max(calls.slow_down, slower))
