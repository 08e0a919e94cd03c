"""The room at the start of a step: quantities that do not depend on the calls that follow."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.bedroom import hallway
from moistsim.engine.records import MoistAir, Plant, State
from moistsim.engine.zone import Stores, stores_at

STEEPEST = 1000.0
"""Limit for the slope of the saturation pressure, Pa/K.
No room reaches it, because it needs more than 60 degC."""


class Outset(NamedTuple):
    """The room at the start of a step."""

    temperature: float
    """Dry bulb at the sensor, degC."""
    rh: float
    """Relative humidity at the sensor, 0 to 1."""
    takes: float
    """Heat that the fast mass passes on, or holds in a step, W/K."""
    wet_bulb: float
    """Wet bulb of the room, degC."""
    stores: Stores
    """Effect of the moisture stores on the air."""
    air: MoistAir
    """Air of the room."""


@piece
def at_the_sensor(plant: Plant, state: State, pressure: float) -> tuple[float, float]:
    """Dry bulb, degC, and relative humidity, 0 to 1, at the sensor."""
    if plant.sensor.in_return > 0.0:
        t, w = state.entering_temperature, state.entering_humidity_ratio
        return t, air.relative_humidity(t, w, pressure)
    w = hallway(plant.bedroom, state.indoor_humidity_ratio, state.bedroom_humidity_ratio)
    return state.indoor_temperature, air.share_of_saturation(w, pressure, state.zone_saturation)


@piece
def outset(plant: Plant, state: State, pressure: float, dt: float) -> Outset:
    """The room at the start of a step, and the effect of its stores on the air."""
    zone = plant.zone
    t, rh = at_the_sensor(plant, state, pressure)
    wet_bulb = air.wet_bulb_near(
        state.indoor_temperature, state.indoor_humidity_ratio, pressure, state.wet_bulb_guess
    )
    takes = zone.fast_capacity / dt + zone.air_to_fast + zone.fast_to_slow + zone.opaque
    # Heat of sorption without a mass to warm makes the stores swing from step to step. They take
    # up at most half of the water that would bring their vapor pressure to that of the air.
    sorbing = 1.0
    heats = (zone.air_to_surface + zone.air_to_contents) * air.H_EVAPORATION
    if heats * STEEPEST > takes:
        swing = heats * air.saturation_rise(state.fast_temperature)[1]
        sorbing = min(1.0, 0.5 * takes / swing)
    stores = stores_at(zone, state, pressure, dt, sorbing)
    room = MoistAir(
        state.indoor_temperature,
        state.indoor_humidity_ratio,
        air.enthalpy(state.indoor_temperature, state.indoor_humidity_ratio),
    )
    return Outset(t, rh, takes, wet_bulb, stores, room)
