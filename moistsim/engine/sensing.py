"""Readings of the room's sensor in the middle of a step, and its state at the end."""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.controls import Readings
from moistsim.core.compiled import piece
from moistsim.engine.outset import Outset
from moistsim.engine.records import Minute, Plant, SensorParameters, State


class OutdoorReading(NamedTuple):
    """Outdoor conditions as the control reads them."""

    temperature: float
    """Outdoor dry bulb, degC."""
    relative_humidity: float
    """Outdoor relative humidity, percent."""
    dew_point: float
    """Outdoor dew point, degC."""


@piece
def read(
    plant: Plant,
    state: State,
    begins: Outset,
    outdoors: OutdoorReading,
    minute: Minute,
    day: float,
    dt: float,
) -> Readings:
    """Readings in the middle of a step, from the room at its start.

    A reading may cross a setpoint anywhere within a step, and the control acts on whole steps. With
    readings at the start it would act half a step late on average, a first-order error.

    Parameters
    ----------
    day : float
        Day of the year.
    """
    sensor, unit = plant.sensor, plant.unit
    sensed_t = state.sensed_temperature + sensor.temperature_half * (
        begins.temperature - state.sensed_temperature
    )
    sensed_rh = state.sensed_rh + sensor.humidity_half * (begins.rh - state.sensed_rh)
    dew_point = math.nan
    if sensor.dew_point > 0.0:
        dew_point = air.dew_point(sensed_rh * air.saturation_pressure(sensed_t))
    return Readings(
        temperature=sensed_t,
        relative_humidity=100.0 * sensed_rh,
        dew_point=dew_point,
        outdoor_temperature=outdoors.temperature,
        outdoor_relative_humidity=outdoors.relative_humidity,
        outdoor_dew_point=outdoors.dew_point,
        hour=minute.hour,
        day=day,
        month=minute.month,
        cooling_stage=state.cooling_stage,
        cooling_minutes=state.cooling_time / 60.0,
        reheat_stage=state.reheat,
        heating_stage=state.heating_stage,
        heating_minutes=state.heating_time / 60.0,
        dehumidifier_on=state.dehumidifier,
        dehumidifier_minutes=state.dehumidifier_time / 60.0,
        airflow=state.airflow,
        occupied=minute.occupied,
        cooling_stages=unit.stages,
        variable_speed=unit.variable,
        step_minutes=dt / 60.0,
        message_age=0.0,
        cooling_set_back=0.0,
        heating_set_back=0.0,
    )


@piece
def follow(
    sensor: SensorParameters, state: State, begins: Outset, t_end: float, rh_end: float
) -> tuple[float, float]:
    """Temperature, degC, and RH, 0 to 1, of the sensor at the end of a step.

    The sensor follows with a first-order lag a room that changes linearly over the step.
    """
    sensed_t = (
        state.sensed_temperature
        + sensor.temperature_gain * (begins.temperature - state.sensed_temperature)
        + sensor.temperature_follow * (t_end - state.indoor_temperature)
    )
    sensed_rh = (
        state.sensed_rh
        + sensor.humidity_gain * (begins.rh - state.sensed_rh)
        + sensor.humidity_follow * (rh_end - begins.rh)
    )
    return sensed_t, sensed_rh
