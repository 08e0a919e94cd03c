"""Readings of the room's sensor in the middle of a step, and its state at the end."""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.controls import Readings
from moistsim.core.compiled import piece
from moistsim.engine.outset import AtSensor, Outset, SensorRoom, around_sensor
from moistsim.engine.records import Minute, Plant, Probe, SensorParameters, State


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

    Parameters
    ----------
    day : float
        Day of the year.
    """
    unit = plant.unit
    sensed_t, sensed_rh = begins.sensed_temperature, begins.sensed_rh
    dew_point = math.nan
    if plant.sensor.dew_point > 0.0:
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
def lagged(x: float, gain: float, follow: float, before: float, after: float) -> float:
    """Value with a first-order lag behind one that changes linearly over the step."""
    return x + gain * (before - x) + follow * (after - before)


@piece
def follow(
    sensor: SensorParameters,
    probe: Probe,
    start: AtSensor,
    before: AtSensor,
    end: SensorRoom,
) -> Probe:
    """Follow the room: the air near the sensor, then the sensor, each with a first-order lag.

    Parameters
    ----------
    start, before : AtSensor
        Room air and the sensor's surroundings at the start of the step.
    end : SensorRoom
        The sensor's room at the end of the step.
    """
    gain, share = sensor.mixing_gain, sensor.mixing_follow
    near_t = lagged(probe.near_temperature, gain, share, start.temperature, end.air.temperature)
    near_w = lagged(
        probe.near_humidity_ratio, gain, share, start.humidity_ratio, end.air.humidity_ratio
    )
    after = around_sensor(sensor, near_t, near_w, end.surfaces)
    return Probe(
        near_t,
        near_w,
        lagged(
            probe.temperature, sensor.temperature_gain, sensor.temperature_follow,
            before.temperature, after.temperature,
        ),
        lagged(
            probe.humidity_ratio, sensor.humidity_gain, sensor.humidity_follow,
            before.humidity_ratio, after.humidity_ratio,
        ),
    )  # fmt: skip
