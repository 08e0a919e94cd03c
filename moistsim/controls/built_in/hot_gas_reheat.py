"""Compressor staged on humidity, the room held up by hot gas first and by strips behind it."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import check_thermostat, cooling_stage, heating_stage, latch
from moistsim.core.units import DegC, DeltaC, Percent


def _check(settings: dict[str, float]) -> None:
    check_thermostat(
        "hot_gas_reheat", settings, settings["cooling_setpoint"] - settings["reheat_below"]
    )


@strategy(check=_check)
def hot_gas_reheat(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: DegC = 24.5,
    heating_setpoint: DegC = 20.0,
    deadband: DeltaC = 1.0,
    second_stage_at: DeltaC = 1.2,
    target_rh: Percent = 52.0,
    humidity_deadband: Percent = 5.0,
    stage_2_over: Percent = 4.5,
    reheat_below: DeltaC = 1.2,
    reheat_deadband: DeltaC = 0.6,
    strips_below: DeltaC = 0.8,
) -> CallSet:
    """Stages on humidity about `target_rh`, hot gas and then strips that hold the room up.

    The second stage dries from `stage_2_over` above the first. Hot gas rises from none to all as
    the room falls through `reheat_deadband` about the point `reheat_below` under the cooling
    setpoint; one strip stage turns on `strips_below` further down.
    """
    t, rh = readings.temperature, readings.relative_humidity
    half = 0.5 * humidity_deadband
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    # A room that calls for heat is not dried by cooling it.
    enabled = 1.0 if memory[1] == 0.0 else 0.0
    memory[2] = enabled * latch(memory[2], rh, target_rh + half, target_rh - half)
    second = target_rh + stage_2_over
    memory[3] = memory[2] * latch(memory[3], rh, second + half, second - half)

    point, half = cooling_setpoint - reheat_below, 0.5 * reheat_deadband
    hot_gas = min(max((point + half - t) / max(reheat_deadband, 0.01), 0.0), 1.0)
    strips = point - strips_below
    memory[4] = memory[2] * latch(memory[4], -t, -strips + half, -strips - half)
    return Calls(
        cooling=max(memory[0], memory[2] + memory[3]),
        reheat=memory[4],
        heating=memory[1],
        hot_gas=memory[2] * hot_gas,
    )
