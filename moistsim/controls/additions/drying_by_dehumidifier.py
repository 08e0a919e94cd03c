"""A stand-alone dehumidifier on the house's control, in addition to other means of drying."""

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


@addition(reads_dew_point=False, machines=("dehumidifier",))
def drying_by_dehumidifier(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    target_rh: TargetRH = TARGET_RH,
    humidity_deadband: BandRH = BAND_RH,
) -> CallSet:
    """Runs the dehumidifier on a humidity call, in addition to what else dries."""
    half = 0.5 * humidity_deadband
    memory[0] = latch(memory[0], readings.relative_humidity, target_rh + half, target_rh - half)
    return calls._replace(dehumidifier=max(calls.dehumidifier, memory[0]))
