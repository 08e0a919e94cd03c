"""State of each machine by situation, found by running the control from rest into each one."""

from collections.abc import Iterator
from typing import NamedTuple

import attrs

from moistsim import air
from moistsim.controls import CallSet, Strategy
from moistsim.engine import Running, Ventilating, own_humidistat, through_relays
from moistsim.equipment import Equipment
from moistsim.machine_checks import REASONS, Rig, Today
from moistsim.sheet.probing import (
    DRY,
    MILD_DEW_POINT,
    MILD_OUTDOORS,
    UNOCCUPIED,
    Control,
    Level,
    Probe,
    levels_of,
)

COLD_OUTDOORS = 2.0
"""Outdoor dry bulb while the room is cold, degC: near it, frost costs a heat pump most."""


class Situation(NamedTuple):
    """A state of the room and the outdoors."""

    name: str
    temperature: float
    """Dry bulb of the room, degC."""
    relative_humidity: float
    """RH of the room, percent."""
    outdoor: float = MILD_OUTDOORS
    """Outdoor dry bulb, degC."""
    occupied: float = 1.0
    silent: bool = False
    """Whether the sensor has been silent for a day."""
    restarts: bool = False
    """Whether the room is just above or just below a setpoint without a deadband."""


@attrs.frozen
class Answer:
    """The calls and the state of the machines in a situation."""

    situation: Situation
    calls: CallSet
    running: Running
    """State of the machines with these calls, after a long time off."""
    ventilating: Ventilating
    refused: tuple[str, ...]
    """Reasons why machines refuse a call."""
    stays: bool = False
    """Whether the sensor is silent and the calls never change."""
    after: float = 0.0
    """Minutes of sensor silence until the calls change; 0 if they do not or the sensor works."""


def situations(machines: Equipment, probe: Probe) -> Iterator[Situation]:
    """List rooms between a control's own setpoints, each one beyond a further setpoint."""
    satisfied = probe.satisfied
    dry = [p for p in probe.of("cooling", "temperature") if p.rising and p.when == ""]
    dry = [p for p in dry if p.relative_humidity == DRY] or dry
    on = sorted(p.on for p in dry)
    if on:
        warm = 0.5 * (on[0] + on[1]) if len(on) > 1 else on[0] + 0.5
        yield Situation("Dry and warm", warm, DRY)
        if len(on) > 1:
            yield Situation("Dry and hot", on[-1] + 0.5, DRY)
    yield Situation("Dry, thermostat satisfied", satisfied, DRY)
    yield Situation("Humid, thermostat satisfied", satisfied, probe.humid)
    yield Situation("Very humid, thermostat satisfied", satisfied, probe.very_humid)
    points = [p for p in (*probe.of("hot_gas"), *probe.of("reheat")) if not p.rising]
    below = sorted({round(p.on, 2) for p in points}, reverse=True)
    names = {round(p.on, 2): p.level for p in points}
    cool = satisfied - 1.0
    for k, point in enumerate(below):
        cool = 0.5 * (point + below[k + 1]) if k + 1 < len(below) else point - 0.3
        yield Situation(f"Humid and cool: {_below(names[point])}", cool, probe.humid)
    if not below:
        yield Situation("Humid and cool", cool, probe.humid)
    yield from _beside(probe)
    heating = sorted((p.on for p in probe.of("heating", "temperature") if not p.when), reverse=True)
    cooling = machines.cooling
    if cooling is not None:
        outdoors = cooling.low_outdoor_limit - 2.0
        yield Situation(
            "Humid and cool, outdoors too cold to cool", cool, probe.very_humid, outdoors
        )
    if heating:
        cold = 0.5 * (heating[0] + heating[1]) if len(heating) > 1 else heating[0] - 0.5
        yield Situation("Cold", cold, DRY, COLD_OUTDOORS)
        yield Situation("Cold and humid", cold, probe.very_humid, COLD_OUTDOORS)
        if len(heating) > 1:
            yield Situation("Very cold", heating[-1] - 0.5, DRY, COLD_OUTDOORS)
    if any(p.when == UNOCCUPIED for p in probe.setpoints):
        warm = on[-1] + 0.5 if on else satisfied + 2.0
        yield Situation("Unoccupied, dry and hot", warm, DRY, occupied=0.0)
    yield Situation("No sensor signal for 24 h", cool, probe.very_humid, silent=True)


BESIDE_T, BESIDE_RH = 0.2, 1.0
"""Distance of a room from a setpoint without a deadband, K and percent RH."""


def _beside(probe: Probe) -> Iterator[Situation]:
    """Rooms just above and just below each setpoint without a deadband."""
    for point in probe.restarts:
        if point.when:
            continue
        for word, side in (("above", 1.0), ("below", -1.0)):
            t, rh = point.temperature, point.relative_humidity
            if point.reading == "temperature":
                t = point.on + side * BESIDE_T
            else:
                rh = point.on + side * BESIDE_RH
            if t is not None and rh is not None:
                name = (
                    f"{point.level.name[0].upper()}{point.level.name[1:]}: just {word} its setpoint"
                )
                yield Situation(name, t, rh, restarts=True)


def _below(level: Level) -> str:
    return {"hot_gas": "hot gas", "reheat": "electric reheat"}[level.call] + (
        f" ({level.name.split(', ')[-1]})" if "," in level.name else ""
    )


def answers(strategy: Strategy, machines: Equipment, probe: Probe, rig: Rig) -> list[Answer]:
    """Run the control from rest in a satisfied, dry room into each situation, for an hour each."""
    return [_answer(one, strategy, machines, probe, rig) for one in situations(machines, probe)]


def _answer(
    here: Situation, strategy: Strategy, machines: Equipment, probe: Probe, rig: Rig
) -> Answer:
    control = Control(
        strategy, machines, hour=probe.hour, month=probe.month, occupied=here.occupied,
        temperature=probe.satisfied, relative_humidity=DRY,
    )  # fmt: skip
    control.at()
    dew_point = MILD_DEW_POINT if here.outdoor > MILD_DEW_POINT else here.outdoor - 2.0
    calls = control.at(
        temperature=here.temperature,
        relative_humidity=here.relative_humidity,
        outdoor_temperature=here.outdoor,
        outdoor_dew_point=dew_point,
    )
    stays = here.silent and probe.lost is None
    if here.silent and probe.lost is not None:
        calls = probe.lost[1]
    outdoor_rh = float(
        100.0 * air.saturation_pressure(dew_point) / air.saturation_pressure(here.outdoor)
    )
    now = Today(here.outdoor, outdoor_rh, here.temperature, here.relative_humidity)
    rest = rig.resting(now.indoor, now.indoor_rh)
    calls = calls._replace(
        dehumidifier=float(
            own_humidistat(
                rig.plant.dehumidifier, rest, calls.dehumidifier, 0.01 * now.indoor_rh
            )
        )
    )  # fmt: skip
    enable, line = machines.enable, rig.plant.line
    # Each situation starts from dry air, in which the contact of the enable is open.
    if enable is not None and here.relative_humidity <= enable.on_above:
        calls = through_relays(calls, line, 0, int(line.enable_cuts))
    running = rig.running(calls, now)
    return Answer(
        here,
        calls,
        running,
        rig.ventilating(now, calls.ventilation),
        tuple(why for bit, why in REASONS.items() if running.refused & bit),
        stays,
        probe.lost[0] if here.silent and probe.lost else 0.0,
    )


def columns(machines: Equipment) -> list[str]:
    """List the machines' columns in the table of states, with auxiliary heat in its own column."""
    calls = [level.call for level in levels_of(machines)]
    names = ["cooling", "hot_gas", "reheat", "heating"]
    found = [name for name in names if name in calls]
    if machines.strips is not None and machines.heating is not None:
        found.append("backup")
    if machines.dehumidifier is not None:
        found.append("dehumidifier")
    if machines.cooling is not None:
        found.append("blower")
    if machines.ventilation is not None:
        found.append("ventilation")
    return found
