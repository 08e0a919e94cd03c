"""Compressor staged on humidity, with reheat by hot gas first and by strips after it."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import (
    BAND_RH,
    DEADBAND,
    REHEAT_BELOW,
    TARGET_RH,
    BandRH,
    CoolingPoint,
    Deadband,
    HeatingPoint,
    SecondStage,
    TargetRH,
    check_thermostat,
    cooling_stage,
    heating_stage,
    latch,
)
from moistsim.core.units import DeltaC, HumidityStage, Limits, Meaning


def _check(settings: dict[str, float]) -> None:
    check_thermostat(
        "hot_gas_reheat", settings, settings["cooling_setpoint"] - settings["reheat_below"]
    )


@strategy(check=_check, reads_dew_point=False, machines=("cooling", "hot_gas"))
def hot_gas_reheat(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: CoolingPoint = 24.5,
    heating_setpoint: HeatingPoint = 20.0,
    deadband: Deadband = DEADBAND,
    second_stage_at: SecondStage = 1.2,
    target_rh: TargetRH = TARGET_RH,
    humidity_deadband: BandRH = BAND_RH,
    stage_2_over: Annotated[
        HumidityStage,
        Limits(0.0, 30.0),
        Meaning("How far above the target the band of the second compressor stage lies."),
    ] = 0.5 * BAND_RH,
    reheat_below: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("How far below the cooling setpoint the hot gas gives half of its heat."),
    ] = REHEAT_BELOW,
    reheat_deadband: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("Temperature range over which the hot gas rises from zero to full heat."),
    ] = 0.6,
    strips_below: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("How far below the hot gas one strip stage turns on."),
    ] = 0.8,
) -> CallSet:
    """Stages the compressor on humidity. Hot gas, then strips, keep the room from overcooling.

    Hot gas rises in proportion as the room falls through `reheat_deadband`. A room that calls for
    heat is not dried by cooling it.
    """
    t, rh = readings.temperature, readings.relative_humidity
    half = 0.5 * humidity_deadband
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
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
