"""A stand-alone dehumidifier on the house's control, beside whatever else dries."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.controls.parts import check_humidistat, latch
from moistsim.core.units import Percent


def _check(settings: dict[str, float]) -> None:
    check_humidistat("addition drying_by_dehumidifier", settings)


@addition(check=_check)
def drying_by_dehumidifier(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    target_rh: Percent = 52.0,
    humidity_deadband: Percent = 5.0,
) -> CallSet:
    """The dehumidifier runs on a humidity call around `target_rh`."""
    half = 0.5 * humidity_deadband
    memory[0] = latch(memory[0], readings.relative_humidity, target_rh + half, target_rh - half)
    return calls._replace(dehumidifier=max(calls.dehumidifier, memory[0]))
