"""Path of air through the machines, state by state, as a psychrometric chart draws it."""

from typing import NamedTuple

from moistsim import air
from moistsim.controls import CallSet
from moistsim.engine import dry
from moistsim.machine_checks.commissioning import Rig, Today

ROOM, MIXED, COIL = "room air", "mixed air", "leaving the coil"
HOT_GAS, BLOWER, STRIPS = "after hot gas", "after the blower", "after the strips"
INLET, OUTLET = "entering the dehumidifier", "leaving the dehumidifier"


class AirState(NamedTuple):
    """Air at one place of its path."""

    place: str
    """Where the air is."""
    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""


class AirPath(NamedTuple):
    """States of the air from the room to where it comes back into it."""

    states: tuple[AirState, ...]
    """The states in order, the room first."""
    apparatus_dew_point: float | None
    """Apparatus dew point of a wet coil, degC: where the coil's line meets saturation."""

    def at(self, place: str) -> AirState | None:
        """The state at a place; None if the path has no such place."""
        return next((state for state in self.states if state.place == place), None)


def air_handler_path(rig: Rig, calls: CallSet, air_now: Today) -> AirPath | str:
    """Path through the air handler in steady state, or the reason why it would not run so.

    Outdoor air of a central duct mixes with room air first. Then follow coil, hot gas, blower and
    strips, each if it acts. Return leaks are not known here and left out.

    Parameters
    ----------
    rig : Rig
    calls : CallSet
    air_now : Today
    """
    entering = rig.at_air_handler(calls, air_now)
    steady = rig.steady(calls, air_now, entering)
    if isinstance(steady, str):
        return steady
    _, stream = steady
    states = [_room(rig, air_now)]
    if entering.humidity_ratio != states[0].humidity_ratio:
        states.append(AirState(MIXED, entering.temperature, entering.humidity_ratio))
    h = air.enthalpy(entering.temperature, entering.humidity_ratio)
    for place, heat in (
        (COIL, -stream.total), (HOT_GAS, stream.hot_gas), (BLOWER, stream.fan),
        (STRIPS, stream.strips),
    ):  # fmt: skip
        if heat != 0.0:
            h += heat / stream.dry_air
            t = float(air.temperature_at_enthalpy(h, stream.w_supply))
            states.append(AirState(place, t, float(stream.w_supply)))
    wet = stream.condensed > 0.0
    return AirPath(tuple(states), float(stream.apparatus_guess) if wet else None)


def dehumidifier_path(rig: Rig, air_now: Today) -> AirPath:
    """Path through the dehumidifier in steady state; a ducted one may take outdoor air.

    Parameters
    ----------
    rig : Rig
    air_now : Today
    """
    inlet = rig.inlet(air_now)
    dried = dry(rig.plant.dehumidifier, 1.0, inlet, rig.pressure)
    room = _room(rig, air_now)
    states = [room]
    if inlet.humidity_ratio != room.humidity_ratio:
        states.append(AirState(INLET, float(inlet.temperature), float(inlet.humidity_ratio)))
    t = float(air.temperature_at_enthalpy(dried.enthalpy, dried.humidity_ratio))
    states.append(AirState(OUTLET, t, float(dried.humidity_ratio)))
    return AirPath(tuple(states), None)


def _room(rig: Rig, air_now: Today) -> AirState:
    w = air.humidity_ratio_at(air_now.indoor, 0.01 * air_now.indoor_rh, rig.pressure)
    return AirState(ROOM, air_now.indoor, float(w))
