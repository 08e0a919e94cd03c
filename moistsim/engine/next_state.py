"""The state at the end of a step, from the operation of the machines and the end of the room."""

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.bedroom import HouseAir, bedroom_after, hallway
from moistsim.engine.calling import Called
from moistsim.engine.drying import bucket_after
from moistsim.engine.machines import AtWork
from moistsim.engine.metering import flag
from moistsim.engine.outset import AtSensor, Outset, SensorRoom, Spaces, sensor_room
from moistsim.engine.records import Minute, Plant, State, Volume, probe_of
from moistsim.engine.room import RoomEnd
from moistsim.engine.sensing import follow


@piece
def since(time: float, was: float, now: float, dt: float) -> float:
    """Time since a machine last started or stopped, at the end of a step, s."""
    return dt if (now > 0.0) != (was > 0.0) else time + dt


@piece
def room_after(end: RoomEnd) -> Volume:
    """State of the room at the end of a step."""
    return Volume(
        temperature=end.air.temperature,
        humidity_ratio=end.air.humidity_ratio,
        dry_air=end.dry_air,
        fast_temperature=end.heat.fast_temperature,
        fast_saturation=air.saturation_pressure(end.heat.fast_temperature),
        slow_temperature=end.heat.slow_temperature,
        surface_rh=end.wet.surface_rh,
        deep_rh=end.wet.deep_rh,
        contents_rh=end.wet.contents_rh,
        contents_deep_rh=end.wet.contents_deep_rh,
        film=end.film.water,
    )


@piece
def bedroom_humidity(
    plant: Plant, state: State, machines: AtWork, room: Volume, minute: Minute, dt: float
) -> float:
    """Humidity ratio of the bedroom at the end of a step, kg/kg; without one, the zone's."""
    if plant.bedroom.share <= 0.0:
        return room.humidity_ratio
    return bedroom_after(
        plant.bedroom,
        state.bedroom_humidity_ratio - state.indoor_humidity_ratio,
        HouseAir(room.temperature, room.humidity_ratio, room.dry_air, minute.pressure),
        machines.blown, minute.moisture, plant.zone.volume, minute.hour, dt,
    )  # fmt: skip


@piece
def next_state(
    plant: Plant,
    state: State,
    begins: Outset,
    called: Called,
    machines: AtWork,
    windows_open: float,
    room: Volume,
    minute: Minute,
    spaces: Spaces | None,
    dt: float,
) -> State:
    """State from which the next step starts.

    Parameters
    ----------
    windows_open : float
        1 while people keep windows open.
    room : Volume
        The room at the end of the step.
    """
    running, bank, stream, guarded = (
        machines.running,
        machines.bank,
        machines.stream,
        machines.guarded,
    )
    w_bedroom = bedroom_humidity(plant, state, machines, room, minute, dt)
    w_hallway = hallway(plant.bedroom, room.humidity_ratio, w_bedroom)
    main = SensorRoom(AtSensor(room.temperature, w_hallway), room.fast_temperature)
    sensor = follow(
        plant.sensor, probe_of(state), begins.room_at_sensor, begins.at_sensor,
        sensor_room(plant, spaces, main),
    )  # fmt: skip
    cooling_time = since(state.cooling_time, state.cooling_stage, running.cooling, dt)
    frosted = state.frosted
    if running.cooling > 0.0:
        frosted = stream.frost
    elif cooling_time >= plant.unit.defrost_time:
        frosted = 0.0
    strips_on = bank.power > 0.0
    # A blower that stops within the step stands still at its end.
    ends = flag(running.fan_share >= 1.0)
    blows = flag(running.airflow > 0.0) * ends
    humidistat = (plant.dehumidifier.humidistat_on > 0.0) & (called.calls.dehumidifier > 0.0)
    return State(
        indoor_temperature=room.temperature,
        indoor_humidity_ratio=room.humidity_ratio,
        zone_dry_air=room.dry_air,
        fast_temperature=room.fast_temperature,
        fast_saturation=room.fast_saturation,
        slow_temperature=room.slow_temperature,
        surface_rh=room.surface_rh,
        deep_rh=room.deep_rh,
        coil_water=stream.coil_water,
        coil_ramp=stream.coil_ramp,
        near_temperature=sensor.near_temperature,
        near_humidity_ratio=sensor.near_humidity_ratio,
        sensed_temperature=sensor.temperature,
        sensed_humidity_ratio=sensor.humidity_ratio,
        cooling_stage=running.cooling,
        cooling_time=cooling_time,
        reheat=bank.on * flag(strips_on & (running.backup == 0.0)),
        backup=flag(strips_on & (running.backup > 0.0)),
        heating_stage=running.heating,
        heating_time=since(state.heating_time, state.heating_stage, running.heating, dt),
        dehumidifier=running.dehumidifier,
        dehumidifier_time=since(
            state.dehumidifier_time, state.dehumidifier, running.dehumidifier, dt
        ),
        airflow=running.airflow * ends,
        frosted=frosted,
        refused=float(running.refused),
        apparatus_guess=stream.apparatus_guess,
        wet_bulb_guess=begins.wet_bulb,
        blower_time=(state.blower_time + dt) * blows,
        strip_level=bank.level,
        limit_temperature=guarded.temperature,
        strips_open=guarded.opened,
        humidistat=flag(humidistat),
        bucket=bucket_after(plant.dehumidifier, state, machines.dried.water, minute.hour, dt),
        blower_this_hour=called.blower_this_hour
        + dt * running.fan_share * flag(running.airflow > 0.0),
        contents_rh=room.contents_rh,
        contents_deep_rh=room.contents_deep_rh,
        windows_open=windows_open,
        bedroom_humidity_ratio=w_bedroom,
        entering_temperature=machines.back.temperature,
        entering_humidity_ratio=machines.back.humidity_ratio,
        film=room.film,
    )
