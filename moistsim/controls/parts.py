"""Pieces that several strategies share: small compiled functions and types of settings."""

from collections.abc import Mapping
from typing import Annotated

from moistsim.controls.interface import Readings
from moistsim.controls.settings import shown
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import (
    CoolingSetpoint,
    DeltaC,
    HeatingSetpoint,
    HumidityDeadband,
    HumiditySetpoint,
    Limits,
    Meaning,
    TemperatureDeadband,
)


@compiled
def latch(was_on: float, value: float, on_above: float, off_below: float) -> float:
    """State of a latch: 1 once `value` is above `on_above`, until it falls below `off_below`."""
    if value > on_above:
        return 1.0
    if value < off_below:
        return 0.0
    return was_on


@compiled
def cooling_stage(
    was: float,
    readings: Readings,
    setpoint: float,
    deadband: float,
    second_stage_at: float,
    lowered: float = 0.0,
) -> float:
    """Stage that a cooling thermostat calls for, set up for all installed stages.

    Stage 1 turns on half a deadband above the setpoint and off half a deadband below it. Stage 2
    joins when the room is `second_stage_at` above the setpoint. It stays until the room is back at
    the setpoint. Each further stage joins and leaves another `second_stage_at` higher. The call to
    a variable-speed compressor is proportional: it rises by a stage for each `second_stage_at`
    above the setpoint.

    Parameters
    ----------
    was : float
        The previous result of this function.
    lowered : float
        Depth below the setpoint to which stage 1 cools for drying, K. The other stages respond to
        temperature only and start at their usual points.

    While the thermostat is set back, the set-back is added to the setpoint.
    """
    setpoint += readings.cooling_set_back
    point, half = setpoint - lowered, 0.5 * deadband
    if latch(min(was, 1.0), readings.temperature, point + half, point - half) == 0.0:
        return 0.0
    above, stage = readings.temperature - setpoint, 1.0
    if readings.variable_speed > 0.0:
        more = above / max(second_stage_at, 0.1)
        return stage + min(max(more, 0.0), max(readings.cooling_stages - 1.0, 0.0))
    for number in range(1, int(readings.cooling_stages)):
        off = (number - 1) * second_stage_at - lowered
        stage += latch(1.0 if was > number else 0.0, above, number * second_stage_at, off)
    return stage


@compiled
def heating_stage(was: float, readings: Readings, setpoint: float, deadband: float) -> float:
    """Heating call: 1 for the heat pump, 2 for the heat pump with strips, 0 for no call.

    The heat pump starts and stops half a deadband around the setpoint. Strips join when the room is
    1.5 K below the setpoint, and leave at 0.3 K below it. While the thermostat is set back, the
    set-back is subtracted from the setpoint.
    """
    temperature = readings.temperature
    setpoint -= readings.heating_set_back
    on = latch(min(was, 1.0), -temperature, -setpoint + 0.5 * deadband, -setpoint - 0.5 * deadband)
    if on == 0.0:
        return 0.0
    return 1.0 + latch(max(was - 1.0, 0.0), -temperature, -setpoint + 1.5, -setpoint + 0.3)


DEADBAND = 0.5
"""Default deadband of a thermostat, K.
Electronic thermostats switch within about 1 degF (common practice, no source)."""

# Default humidity settings of all controls: they dry from 57 % to 53 % RH, the second compressor
# stage from 59 % to 55 %. Reasons:
# - A humidistat for comfort is usually set to 50 to 55 % RH (common practice, no source). Each 1 %
#   lower costs energy. Mold and the owner's complaint begin near 60 %, so the upper end is enough.
# - A humidity sensor of a thermostat is within about 3 % RH (common practice, no source). One that
#   reads 3 % too low still starts drying at a true 60 % RH.
# - A band of 4 % is wider than that error. A room whose RH moves by 0.3 % a minute
#   (`review.deadbands.HUMIDITY_RATE`, a round figure) crosses it in 13 min, which is longer than
#   the usual minimum on time of a compressor.
# - The second stage has a band half a band higher. It starts below 60 % and stops at the target.
TARGET_RH = 55.0
BAND_RH = 4.0

REHEAT_BELOW = 0.6
"""Default depth below the cooling setpoint at which reheat turns on and off, K.
Strips that work from about 1 degF below the setpoint keep the room near it (common practice, no
source). They turn on 0.9 K below and off 0.3 K below, just below the point at which the thermostat
stops cooling."""

CoolingPoint = Annotated[
    CoolingSetpoint,
    Limits(10.0, 40.0),
    Meaning("Room temperature around which the thermostat cools."),
]
HeatingPoint = Annotated[
    HeatingSetpoint,
    Limits(5.0, 35.0),
    Meaning("Room temperature around which the thermostat heats."),
]
Deadband = Annotated[
    TemperatureDeadband,
    Limits(0.1, 10.0),
    Meaning("Width of the band around each thermostat setpoint, half of it on either side."),
]
SecondStage = Annotated[
    DeltaC,
    Limits(0.0, 10.0),
    Meaning("How far above the cooling setpoint the second compressor stage joins."),
]
TargetRH = Annotated[
    HumiditySetpoint, Limits(15.0, 95.0), Meaning("Room RH to which the control dries.")
]
BandRH = Annotated[
    HumidityDeadband,
    Limits(0.5, 30.0),
    Meaning("Width of the band around the target: drying starts at its top, stops at its bottom."),
]


def check_thermostat(name: str, settings: Mapping[str, float], coldest: float) -> None:
    """Refuse setpoints that let cooling reach the heating.

    Parameters
    ----------
    name : str
        Strategy, for the error.
    settings : dict
        Holds `heating_setpoint` and `deadband`.
    coldest : float
        Coolest room, degC, that the strategy's cooling aims at.

    Raises
    ------
    InputError
    """
    reached = coldest - 0.5 * settings["deadband"]
    limit = settings["heating_setpoint"] + settings["deadband"]
    if reached < limit:
        raise InputError(
            f"strategy {name}",
            Problem(
                f"it cools the room to {shown(reached, 'degC')} and heats it at "
                f"{shown(settings['heating_setpoint'], 'degC')}, which would be hidden reheat"
            ),
            f"a room of {shown(limit, 'degC')} or more, one deadband above the heating setpoint",
        )
