"""Two thermostats on one system: the second one's readings, both calls as one, and the dampers."""

from moistsim import air
from moistsim.controls import CallSet, Readings
from moistsim.core.compiled import piece
from moistsim.engine.outset import (
    AtSensor,
    SensorRoom,
    Spaces,
    around_sensor,
    halfway,
    second_room,
    space_of,
    space_state,
)
from moistsim.engine.records import Plant, Probe, SensorParameters
from moistsim.engine.rows import write_from
from moistsim.engine.sensing import follow
from moistsim.engine.spaces import FIRST_SENSOR, SUPPLY_SHARE


@piece
def zoned(spaces: Spaces) -> bool:
    """Whether the second zone has a thermostat and dampers of its own."""
    return bool(space_of(spaces.parameters, 0).thermostat > 0.0)


@piece
def near_second(sensor: SensorParameters, probe: Probe, room: SensorRoom) -> AtSensor:
    """Surroundings of the second thermostat's sensor."""
    return around_sensor(sensor, probe.near_temperature, probe.near_humidity_ratio, room.surfaces)


@piece
def read_second(plant: Plant, spaces: Spaces, readings: Readings, pressure: float) -> Readings:
    """Readings of the second thermostat: those of the first, with its own zone's air."""
    probe = space_state(spaces.states, 0).sensor
    sensed = halfway(plant.sensor, probe, near_second(plant.sensor, probe, second_room(spaces)))
    t = sensed.temperature
    saturation = air.saturation_pressure(t)
    rh = min(air.share_of_saturation(sensed.humidity_ratio, pressure, saturation), 1.0)
    dew_point = readings.dew_point
    if plant.sensor.dew_point > 0.0:
        dew_point = air.dew_point(rh * saturation)
    return readings._replace(
        temperature=t, relative_humidity=100.0 * rh, dew_point=dew_point, message_age=0.0
    )


@piece
def follow_second(plant: Plant, spaces: Spaces, start: SensorRoom) -> None:
    """Move the second thermostat's sensor on to the end of the step.

    Parameters
    ----------
    start : SensorRoom
        The second zone at the start of the step.
    """
    probe = space_state(spaces.states, 0).sensor
    before = near_second(plant.sensor, probe, start)
    write_from(
        spaces.states, 0, FIRST_SENSOR,
        follow(plant.sensor, probe, start.air, before, second_room(spaces)),
    )  # fmt: skip


@piece
def conditions(calls: CallSet) -> bool:
    """Whether calls condition the supply air."""
    return (calls.cooling > 0.0) | (calls.heating > 0.0) | (calls.reheat > 0.0)


@piece
def opposed(main: CallSet, second: CallSet) -> bool:
    """Whether one thermostat calls for heat and the other for cooling."""
    cools, cools_second = main.cooling > 0.0, second.cooling > 0.0
    heats = (main.heating > 0.0) & (not cools)
    heats_second = (second.heating > 0.0) & (not cools_second)
    return (cools & heats_second) | (heats & cools_second)


@piece
def as_one(main: CallSet, second: CallSet) -> CallSet:
    """Calls of two thermostats as one: the higher of both."""
    airflow, slow_down = max(main.airflow, second.airflow), max(main.slow_down, second.slow_down)
    if conditions(main) & conditions(second):
        # An airflow of 0 is the stage's own, which is the higher one.
        airflow = 0.0 if min(main.airflow, second.airflow) == 0.0 else airflow
        slow_down = min(main.slow_down, second.slow_down)
    return CallSet(
        cooling=max(main.cooling, second.cooling),
        reheat=max(main.reheat, second.reheat),
        heating=max(main.heating, second.heating),
        dehumidifier=max(main.dehumidifier, second.dehumidifier),
        fan=max(main.fan, second.fan),
        airflow=airflow,
        ventilation=max(main.ventilation, second.ventilation),
        hot_gas=max(main.hot_gas, second.hot_gas),
        slow_down=slow_down,
    )


@piece
def serve(spaces: Spaces, main: CallSet, second: CallSet) -> CallSet:
    """Set the dampers for the calls of two thermostats, and give the calls to the machines.

    Returns
    -------
    CallSet
        The higher of both calls, or the main zone's if they are opposed. While a damper is closed,
        the blower runs slower in cooling.
    """
    zone = space_of(spaces.parameters, 0)
    against = opposed(main, second)
    calls = main if against else as_one(main, second)
    for_main, for_second = conditions(main), conditions(second) & (not against)
    design = zone.supply_share
    share = space_state(spaces.states, 0).supply_share
    if for_main & for_second:
        share = design
    elif for_main:
        share = min(zone.bleed, design)
    elif for_second:
        share = max(1.0 - zone.bleed, design)
    elif calls.fan > 0.0:
        share = design
    spaces.states[0, SUPPLY_SHARE] = share
    kept = zone.closed_flow if share != design else 1.0
    return calls._replace(slow_down=1.0 - (1.0 - calls.slow_down) * kept)
