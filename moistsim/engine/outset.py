"""The room at the start of a step: quantities that do not depend on the calls that follow."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.bedroom import hallway
from moistsim.engine.records import (
    MoistAir,
    Plant,
    Probe,
    SensorParameters,
    SpaceParameters,
    SpaceState,
    State,
    ZoneParameters,
    probe_of,
    room_of,
)
from moistsim.engine.rows import reader
from moistsim.engine.zone import Stores, stores_at

STEEPEST = 1000.0
"""Limit for the slope of the saturation pressure, Pa/K.
No room reaches it, because it needs more than 60 degC."""


space_of, space_state = reader(SpaceParameters), reader(SpaceState)


class Spaces(NamedTuple):
    """Spaces next to the house's zone, one row each, with the tables that drive and meter them.

    A house without any has None in their place. numba then compiles a loop of its own, in which
    they cost nothing.
    """

    parameters: NDArray[np.float64]
    """Rows of `SpaceParameters`."""
    states: NDArray[np.float64]
    """Rows of `SpaceState`, which each step replaces."""
    work: NDArray[np.float64]
    """Room for the calculation of a step, see `spaces.work_space`."""
    nodes: NDArray[np.float64]
    """Table of `Forcing.nodes`."""
    hours: NDArray[np.float64]
    """Table of `Forcing.hours`."""
    hourly: NDArray[np.float64]
    """Hourly sums, see `recording.Record`."""
    trace: NDArray[np.float64]
    """Values of every step, or an empty table."""


class Surroundings(NamedTuple):
    """Air around the ducts."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    dry_air: float
    """Dry air, kg."""


class AtSensor(NamedTuple):
    """Temperature, degC, and humidity ratio, kg/kg, that the sensor approaches."""

    temperature: float
    humidity_ratio: float


class Outset(NamedTuple):
    """The room at the start of a step."""

    room_at_sensor: AtSensor
    """Room air that mixes into the air near the sensor."""
    at_sensor: AtSensor
    """Surroundings of the sensor."""
    sensed_temperature: float
    """Temperature of the sensor in the middle of the step, degC."""
    sensed_rh: float
    """Relative humidity in the sensor in the middle of the step, 0 to 1."""
    takes: float
    """Heat that the fast mass passes on, or holds in a step, W/K."""
    wet_bulb: float
    """Wet bulb of the room, degC."""
    stores: Stores
    """Effect of the moisture stores on the air."""
    air: MoistAir
    """Air of the room."""
    drawn: MoistAir
    """Air that the return draws: the room's, with that of a second conditioned zone."""
    around: Surroundings
    """Air around the ducts; the room's for ducts inside the envelope."""


@piece
def passes_on(zone: ZoneParameters, dt: float) -> float:
    """Heat that the fast mass of a zone passes on, or holds in a step, W/K."""
    return zone.fast_capacity / dt + zone.air_to_fast + zone.fast_to_slow + zone.opaque


@piece
def sorbing_share(zone: ZoneParameters, fast_temperature: float, takes: float) -> float:
    """Share of the stores' vapor conductance that acts in a step.

    Heat of sorption without a mass to warm makes the stores swing from step to step. They take
    up at most half of the water that would bring their vapor pressure to that of the air.

    Parameters
    ----------
    takes : float
        Result of `passes_on`, W/K.
    """
    heats = (zone.air_to_surface + zone.air_to_contents) * air.H_EVAPORATION
    if heats * STEEPEST <= takes:
        return 1.0
    return min(1.0, 0.5 * takes / (heats * air.saturation_rise(fast_temperature)[1]))


@piece
def mean_temperature(zone: ZoneParameters, t: float, spaces: Spaces | None) -> float:
    """Dry bulb of the house, degC: the mean of its zones by their volumes."""
    if spaces is None:
        return t
    second = space_of(spaces.parameters, 0)
    if second.conditioned == 0.0:
        return t
    share = second.zone.volume / (zone.volume + second.zone.volume)
    return float(t + share * (space_state(spaces.states, 0).air.temperature - t))


@piece
def drawn_air(spaces: Spaces | None, room: MoistAir) -> MoistAir:
    """Air that the return draws from the room and from spaces with a return."""
    if spaces is None:
        return room
    share, w, h = 1.0, 0.0, 0.0
    for k in range(spaces.parameters.shape[0]):
        returned = space_of(spaces.parameters, k).return_share
        if returned > 0.0:
            volume = space_state(spaces.states, k).air
            share -= returned
            w += returned * volume.humidity_ratio
            h += returned * air.enthalpy(volume.temperature, volume.humidity_ratio)
    if share == 1.0:
        return room
    w, h = w + share * room.humidity_ratio, h + share * room.enthalpy
    return MoistAir(air.temperature_at_enthalpy(h, w), w, h)


@piece
def around_the_ducts(plant: Plant, spaces: Spaces | None, state: State) -> Surroundings:
    """Air around the ducts at the start of a step."""
    room = Surroundings(state.indoor_temperature, state.indoor_humidity_ratio, state.zone_dry_air)
    if spaces is None:
        return room
    if plant.ducts.outside == 0.0:
        return room
    volume = space_state(spaces.states, int(plant.ducts.space)).air
    return Surroundings(volume.temperature, volume.humidity_ratio, volume.dry_air)


@piece
def around_sensor(sensor: SensorParameters, t: float, w: float, surfaces: float) -> AtSensor:
    """Surroundings of the sensor, from the air near it and the temperature of the surfaces."""
    return AtSensor(t + sensor.wall_share * (surfaces - t), w)


class SensorRoom(NamedTuple):
    """The room in which a sensor hangs."""

    air: AtSensor
    """Room air that mixes into the air near the sensor."""
    surfaces: float
    """Temperature of the surfaces, degC."""


@piece
def second_room(spaces: Spaces) -> SensorRoom:
    """The second conditioned zone, now, as a sensor in it meets it."""
    volume = space_state(spaces.states, 0).air
    return SensorRoom(AtSensor(volume.temperature, volume.humidity_ratio), volume.fast_temperature)


@piece
def sensor_room(plant: Plant, spaces: Spaces | None, main: SensorRoom) -> SensorRoom:
    """The room of the house's sensor: the main zone's, or the second zone's now."""
    if spaces is None:
        return main
    if plant.sensor.in_second == 0.0:
        return main
    return second_room(spaces)


@piece
def halfway(sensor: SensorParameters, probe: Probe, around: AtSensor) -> AtSensor:
    """Sensor in the middle of a step.

    A reading may cross a setpoint anywhere within a step, and the control acts on whole steps. With
    the sensor at the start it would act half a step late on average, a first-order error.
    """
    return AtSensor(
        probe.temperature + sensor.temperature_half * (around.temperature - probe.temperature),
        probe.humidity_ratio
        + sensor.humidity_half * (around.humidity_ratio - probe.humidity_ratio),
    )


@piece
def outset(plant: Plant, spaces: Spaces | None, state: State, pressure: float, dt: float) -> Outset:
    """The room at the start of a step, and the effect of its stores on the air."""
    zone = plant.zone
    hangs = sensor_room(
        plant,
        spaces,
        SensorRoom(
            AtSensor(
                state.indoor_temperature,
                hallway(plant.bedroom, state.indoor_humidity_ratio, state.bedroom_humidity_ratio),
            ),
            state.fast_temperature,
        ),
    )
    around = around_sensor(
        plant.sensor, state.near_temperature, state.near_humidity_ratio, hangs.surfaces
    )
    if plant.sensor.in_return > 0.0:
        around = AtSensor(state.entering_temperature, state.entering_humidity_ratio)
    sensed = halfway(plant.sensor, probe_of(state), around)
    wet_bulb = air.wet_bulb_near(
        state.indoor_temperature, state.indoor_humidity_ratio, pressure, state.wet_bulb_guess
    )
    takes = passes_on(zone, dt)
    sorbing = sorbing_share(zone, state.fast_temperature, takes)
    stores = stores_at(zone, room_of(state), pressure, dt, sorbing)
    room = MoistAir(
        state.indoor_temperature,
        state.indoor_humidity_ratio,
        air.enthalpy(state.indoor_temperature, state.indoor_humidity_ratio),
    )
    return Outset(
        room_at_sensor=hangs.air,
        at_sensor=around,
        sensed_temperature=sensed.temperature,
        # A sensor colder than the dew point of the air is wet, and its scale ends there.
        sensed_rh=min(
            air.share_of_saturation(
                sensed.humidity_ratio, pressure, air.saturation_pressure(sensed.temperature)
            ),
            1.0,
        ),
        takes=takes,
        wet_bulb=wet_bulb,
        stores=stores,
        air=room,
        drawn=drawn_air(spaces, room),
        around=around_the_ducts(plant, spaces, state),
    )
