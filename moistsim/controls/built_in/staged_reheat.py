"""Compressor staged on humidity, the room held up by strips: dry, and paid for twice."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import Calls, CallSet, Readings, strategy
from moistsim.controls.parts import check_thermostat, cooling_stage, heating_stage, latch
from moistsim.core.errors import InputError
from moistsim.core.units import DegC, DeltaC, Fraction, Percent


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


@strategy(check=_check)
def staged_reheat(
    readings: Readings,
    memory: NDArray[np.float64],
    *,
    cooling_setpoint: DegC = 24.5,
    heating_setpoint: DegC = 20.0,
    deadband: DeltaC = 1.0,
    second_stage_at: DeltaC = 1.2,
    target_rh: Percent = 52.0,
    enable_over: Percent = -2.5,
    stage_1_on: Percent = 2.5,
    stage_1_off: Percent = -2.5,
    stage_2_on: Percent = 7.0,
    stage_2_off: Percent = 2.0,
    reheat_below: DeltaC = 1.2,
    reheat_deadband: DeltaC = 0.6,
    second_strip_below: DeltaC = 0.8,
    strip_airflow: Fraction = 0.0,
) -> CallSet:
    """Stages on humidity above `target_rh`, strips that hold the room below the setpoint.

    The stage thresholds are percent RH above the target. Nothing dries unless RH is at least
    `enable_over` above it (the humidity call that enables the scheme). Strips turn on when the
    room is `reheat_below` under the cooling setpoint, a second strip stage `second_strip_below`
    further down, each with `reheat_deadband` around its point. While strips are on the blower runs
    at `strip_airflow` of its full flow, or at 0 at the compressor stage's own flow, which dries
    better: more air over the same stage raises its sensible heat ratio.
    """
    t, rh = readings.temperature, readings.relative_humidity - target_rh
    memory[0] = cooling_stage(memory[0], readings, cooling_setpoint, deadband, second_stage_at)
    memory[1] = heating_stage(memory[1], readings, heating_setpoint, deadband)
    # A room that calls for heat is not dried by cooling it.
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
