"""Compressor staged on humidity, with reheat by electric strips: dry air, paid for twice."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import (
    BAND_RH,
    DEADBAND,
    REHEAT_BELOW,
    TARGET_RH,
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
from moistsim.core.errors import InputError
from moistsim.core.units import (
    DeltaC,
    Fraction,
    HumidityStage,
    Limits,
    Meaning,
    TemperatureDeadband,
)


def _check(settings: dict[str, float]) -> None:
    check_thermostat(
        "staged_reheat", settings, settings["cooling_setpoint"] - settings["reheat_below"]
    )
    for stage in ("stage_1", "stage_2"):
        if settings[f"{stage}_off"] >= settings[f"{stage}_on"]:
            raise InputError(
                f"strategy staged_reheat.{stage}_off",
                settings[f"{stage}_off"],
                f"a value below {stage}_on, which is {settings[f'{stage}_on']:g}",
            )


@strategy(check=_check, reads_dew_point=False, machines=("cooling", "strips"))
def staged_reheat(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: CoolingPoint = 24.5,
    heating_setpoint: HeatingPoint = 20.0,
    deadband: Deadband = DEADBAND,
    second_stage_at: SecondStage = 1.2,
    target_rh: TargetRH = TARGET_RH,
    enable_over: Annotated[
        HumidityStage,
        Limits(-30.0, 30.0),
        Meaning("RH above the target over which the humidity call enables all drying."),
    ] = -0.5 * BAND_RH,
    stage_1_on: Annotated[
        HumidityStage,
        Limits(-30.0, 30.0),
        Meaning("RH above the target over which the first compressor stage dries."),
    ] = 0.5 * BAND_RH,
    stage_1_off: Annotated[
        HumidityStage,
        Limits(-30.0, 30.0),
        Meaning("RH above the target under which the first stage stops drying."),
    ] = -0.5 * BAND_RH,
    stage_2_on: Annotated[
        HumidityStage,
        Limits(-30.0, 30.0),
        Meaning("RH above the target over which the second compressor stage dries."),
    ] = BAND_RH,
    stage_2_off: Annotated[
        HumidityStage,
        Limits(-30.0, 30.0),
        Meaning("RH above the target under which the second stage stops drying."),
    ] = 0.0,
    reheat_below: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("How far below the cooling setpoint the first strip stage turns on and off."),
    ] = REHEAT_BELOW,
    reheat_deadband: Annotated[
        TemperatureDeadband,
        Limits(0.0, 10.0),
        Meaning("Width of the band around each point at which strips turn on and off."),
    ] = 0.6,
    second_strip_below: Annotated[
        DeltaC,
        Limits(0.0, 10.0),
        Meaning("How far below the first strip stage the second one turns on and off."),
    ] = 0.8,
    strip_airflow: Annotated[
        Fraction,
        Limits(0.0, 1.0),
        Meaning("Blower speed while strips are on, or 0 for the compressor stage's own airflow."),
    ] = 0.0,
) -> CallSet:
    """Stages the compressor on humidity. Strips keep the room from overcooling.

    A room that calls for heat is not dried by cooling it. The compressor stage's own airflow dries
    better than a faster blower: more air over the same stage raises its sensible heat ratio.
    """
    t, rh = readings.temperature, readings.relative_humidity - target_rh
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    enabled = 1.0 if rh > enable_over and memory[1] == 0.0 else 0.0
    memory[2] = enabled * latch(memory[2], rh, stage_1_on, stage_1_off)
    memory[3] = memory[2] * latch(memory[3], rh, stage_2_on, stage_2_off)
    stage = max(memory[0], memory[2] + memory[3])

    strip = cooling_setpoint - reheat_below
    half = 0.5 * reheat_deadband
    memory[4] = memory[2] * latch(memory[4], -t, -strip + half, -strip - half)
    second = strip - second_strip_below
    memory[5] = memory[2] * latch(memory[5], -t, -second + half, -second - half)
    reheat = memory[4] + memory[5]
    return Calls(
        cooling=stage,
        reheat=reheat,
        heating=memory[1],
        airflow=strip_airflow if reheat > 0.0 else 0.0,
    )
