"""One step of a house: sensors, interlocks, machines, zone, and what the step is metered by."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import CallSet, Readings
from moistsim.core.compiled import piece
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY, run_air_handler
from moistsim.engine.bedroom import BedroomParameters, bedroom_after, hallway
from moistsim.engine.drying import bucket_after, dry, inlet_air, own_humidistat
from moistsim.engine.ducts import duct_space, return_air, supply_air
from moistsim.engine.interlocks import obey
from moistsim.engine.records import (
    AirHandlerParameters,
    DehumidifierParameters,
    DuctParameters,
    ExhaustParameters,
    LineParameters,
    SensorParameters,
    State,
    Step,
    VentilationParameters,
    Working,
    ZoneParameters,
)
from moistsim.engine.strips import Bank, limit_switch, locked_out, sequence, strip_power
from moistsim.engine.ventilating import (
    blower_before,
    outdoor_air,
    through_central_duct,
    ventilate,
    with_central_air,
    with_least_run,
)
from moistsim.engine.window_opening import OpeningParameters, opening_flow, windows_open
from moistsim.engine.zone import (
    GROUND_VAPOR_ENTHALPY,
    SORBED_ENTHALPY,
    SOURCE_ENTHALPY,
    Inflow,
    Stores,
    step_heat,
    step_water,
    stores_at,
)

DRY_ROOM = 0.45
"""RH below which no drying is wanted: reheat there is the machines' fight (our own round figure)."""
R_OVER_MOLE_RATIO = air.R_DRY_AIR / air.MOLE_RATIO
STEEPEST = 1000.0
"""Slope of the saturation pressure that no room reaches, Pa/K: below 60 degC."""
MOST_BREATHS = 200
"""Passes in which a zone that breathes in may draw what it lacks. A house needs two or three; one
that cools by a hundred kelvins within a minute, more."""


class Plant(NamedTuple):
    """All parameters of a house and its machines."""

    zone: ZoneParameters
    ventilation: VentilationParameters
    unit: AirHandlerParameters
    dryer: DehumidifierParameters
    sensor: SensorParameters
    ducts: DuctParameters
    exhausts: ExhaustParameters
    opening: OpeningParameters
    bedroom: BedroomParameters
    line: LineParameters


class Minute(NamedTuple):
    """What drives the house in a step."""

    t_out: float
    w_out: float
    sol_air: float
    sun: float
    """Through the windows, W."""
    pressure: float
    """At the end of the step, Pa."""
    natural: float
    """Infiltration by wind and stack, m3/s."""
    density: float
    """Dry air outdoors, kg/m3."""
    gains: float
    """Sensible, W."""
    moisture: float
    """kg/s."""
    hour: float
    """Of the day, in the middle of the step."""
    month: float
    ground: float
    """Temperature under the floor, degC."""
    roof: float
    """Sol-air temperature of the roof, degC."""
    exhaust: float
    """Of the exhaust fans, m3/s."""
    exhaust_power: float
    """W."""
    ground_vapor: float = 0.0
    """kg/s."""
    construction: float = 0.0
    """Water from new materials, kg/s."""
    opening_wind: float = 0.0
    """Flow by wind through windows while they are open, m3/s."""
    may_open: float = 0.0
    """1 in an hour in which people would open them."""
    occupied: float = 1.0
    blower: float = 1.0
    """Air that the blower moves, of what it should; 0 for one that stands still."""
    welded: float = 0.0
    """1 if the strips' contactor is."""
    dryer_works: float = 1.0
    powered: float = 1.0


@piece
def flag(condition: bool) -> float:
    """1 or 0 to be added up."""
    return 1.0 if condition else 0.0


@piece
def at_the_sensor(plant: Plant, state: State, pressure: float) -> tuple[float, float]:
    """Dry bulb, degC, and relative humidity, 0 to 1, where the sensor hangs."""
    if plant.sensor.in_return > 0.0:
        t, w = state.entering_temperature, state.entering_humidity_ratio
        return t, air.relative_humidity(t, w, pressure)
    w = hallway(plant.bedroom, state.indoor_humidity_ratio, state.bedroom_humidity_ratio)
    return state.indoor_temperature, air.share_of_saturation(w, pressure, state.zone_saturation)


class Outset(NamedTuple):
    """What only the start of a step decides, whatever the control then says."""

    temperature: float
    """Where the sensor hangs, degC."""
    rh: float
    """The same, 0 to 1."""
    takes: float
    """Heat that the fast mass passes on, or holds in a step, W/K."""
    wet_bulb: float
    """Of the room, degC."""
    stores: Stores


@piece
def outset(plant: Plant, state: State, pressure: float, dt: float) -> Outset:
    """The room as a step finds it, and what its stores will do to the air."""
    zone = plant.zone
    t, rh = at_the_sensor(plant, state, pressure)
    wet_bulb = air.wet_bulb_near(
        state.indoor_temperature, state.indoor_humidity_ratio, pressure, state.wet_bulb_guess
    )
    takes = zone.fast_capacity / dt + zone.air_to_fast + zone.fast_to_slow + zone.opaque
    # Stores whose heat of sorption finds nothing to warm would swing from step to step: they take
    # up no more than half of what would bring their vapor pressure to the air's.
    sorbing = 1.0
    heats = (zone.air_to_surface + zone.air_to_contents) * air.H_EVAPORATION
    if heats * STEEPEST > takes:
        swing = heats * air.saturation_rise(state.fast_temperature)[1]
        sorbing = min(1.0, 0.5 * takes / swing)
    stores = stores_at(
        zone, state.indoor_humidity_ratio, state.surface_rh, state.deep_rh, state.contents_rh,
        state.contents_deep_rh, state.fast_saturation, pressure, dt, sorbing,
    )  # fmt: skip
    return Outset(t, rh, takes, wet_bulb, stores)


@piece
def read(
    plant: Plant,
    state: State,
    begins: Outset,
    t_out: float,
    outdoor_rh: float,
    outdoor_dew_point: float,
    hour: float,
    day: float,
    month: float,
    occupied: float,
    dew_point_taken: bool,
    dt: float,
) -> Readings:
    """What the sensors say in the middle of a step, as far as the room at its start tells.

    A crossing falls anywhere within a step and the control acts on whole steps: read at the start
    it would act half a step late on the average, an error of first order in the step.

    Parameters
    ----------
    dew_point_taken : bool
        Whether the control may look at the dew point; for one that does not, there is none.
    """
    sensor, unit = plant.sensor, plant.unit
    sensed_t = state.sensed_temperature + sensor.temperature_half * (
        begins.temperature - state.sensed_temperature
    )
    sensed_rh = state.sensed_rh + sensor.humidity_half * (begins.rh - state.sensed_rh)
    dew_point = math.nan
    if dew_point_taken:
        dew_point = air.dew_point(sensed_rh * air.saturation_pressure(sensed_t))
    return Readings(
        sensed_t,
        100.0 * sensed_rh,
        dew_point,
        t_out,
        outdoor_rh,
        outdoor_dew_point,
        hour,
        day,
        month,
        state.cooling_stage,
        state.cooling_time / 60.0,
        state.reheat,
        state.heating_stage,
        state.heating_time / 60.0,
        state.dehumidifier,
        state.dehumidifier_time / 60.0,
        state.airflow,
        occupied,
        unit.stages,
        unit.variable,
        dt / 60.0,
        0.0,
        0.0,
        0.0,
    )


@piece
def advance(
    plant: Plant,
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    state: State,
    begins: Outset,
    calls: CallSet,
    minute: Minute,
    dt: float,
) -> tuple[State, Step, Working]:
    """One step: what the machines do with the calls, and where that leaves the zone.

    Machines meet the air as it is at the start of the step; the zone, its masses and its stores
    are solved for the end of it.
    """
    zone, unit, dryer = plant.zone, plant.unit, plant.dryer
    # What does not change within a run or an hour, the compiled loop divides for once.
    per_second, outdoor_volume = 1.0 / dt, 1.0 / minute.density
    t, w, dry_air = state.indoor_temperature, state.indoor_humidity_ratio, state.zone_dry_air
    pressure = minute.pressure
    dry_air_full = unit.full_flow * (pressure * (1.0 / air.STANDARD_PRESSURE))
    h = air.enthalpy(t, w)

    going = ventilate(
        plant.ventilation, calls.ventilation, t, w, minute.t_out, minute.w_out, pressure,
        minute.hour, dt,
    )  # fmt: skip
    blower_this_hour = blower_before(state, minute.hour, dt)
    drying_call = own_humidistat(
        dryer, state, calls.dehumidifier, begins.rh, plant.sensor.humidity_half
    )
    # Machines that answer themselves call as a control does, and are refused as it is.
    calls = CallSet(
        calls.cooling,
        calls.reheat,
        calls.heating,
        drying_call,
        with_least_run(plant.ventilation, calls.fan, going, blower_this_hour, minute.hour, dt),
        calls.airflow,
        calls.ventilation,
        calls.hot_gas,
        calls.slow_down,
    )
    inlet = inlet_air(
        dryer, t, w, minute.t_out, minute.w_out, going.supply * minute.density,
        going.temperature, going.humidity_ratio,
    )  # fmt: skip
    no_strips = locked_out(unit, minute.hour, minute.month)
    blower_works, powered = minute.blower > 0.0, minute.powered > 0.0
    running = obey(
        calls, state, unit, dryer, stages, minute.t_out, no_strips, inlet.temperature,
        blower_works, minute.dryer_works > 0.0, powered,
    )  # fmt: skip
    called = running.backup * unit.strip_stages + running.reheat
    # The proof of air is the blower's relay.
    bank = sequence(called, running.airflow, state, unit, strips, dt)
    if minute.welded > 0.0 and powered and state.strips_open == 0.0:
        bank = Bank(strip_power(strips, unit.strip_stages), unit.strip_stages, unit.strip_stages)
    moved = running.airflow * minute.blower
    going = through_central_duct(plant.ventilation, going, moved)
    t_space, w_space = state.duct_space_temperature, state.duct_space_humidity_ratio
    blown = moved * dry_air_full
    t_mixed, w_mixed, h_mixed = t, w, h
    if plant.ventilation.central > 0.0 and blown > 0.0:
        # What the return ducts leak in takes no part in this: it comes nearer to the blower.
        drawn = (1.0 - plant.ducts.return_leak) * blown
        t_mixed, w_mixed = with_central_air(going, minute.density, drawn, t, w)
        h_mixed = air.enthalpy(t_mixed, w_mixed)
    back = return_air(plant.ducts, t_mixed, w_mixed, t_space, w_space, blown)
    in_stream = bank.power if moved > 0.0 else 0.0
    wet_bulb = begins.wet_bulb
    if back.temperature != t or back.humidity_ratio != w:
        wet_bulb = air.wet_bulb(back.temperature, back.humidity_ratio, pressure, wet_bulb)
    stream = run_air_handler(
        running, state, back.temperature, back.humidity_ratio, wet_bulb, unit, stages, in_stream,
        minute.t_out, pressure, dry_air_full, dt, minute.blower,
    )  # fmt: skip
    lost = supply_air(plant.ducts, stream.h_supply, stream.w_supply, t_space, blown)
    guarded = limit_switch(state, unit, stream.at_limit, bank.power, moved > 0.0, t, dt)
    # What heats still air reaches the room through the ducts all the same.
    in_still_air = guarded.share * (bank.power - in_stream)

    dried = dry(dryer, running.dehumidifier, inlet, pressure)
    outdoors = outdoor_air(
        going, dryer.from_outdoors * dried.dry_air * outdoor_volume, minute.natural,
        minute.density, minute.t_out, minute.w_out, minute.exhaust, back.leak, lost.leak,
        moved * plant.ducts.closed_doors,
    )  # fmt: skip
    leaked, ventilated = outdoors.leaked, outdoors.ventilated
    h_out = air.enthalpy(minute.t_out, minute.w_out)
    windows = windows_open(
        plant.opening, state.windows_open, minute.may_open, minute.hour, t, minute.t_out,
        minute.w_out, pressure, dt,
    )  # fmt: skip
    opened = minute.density * opening_flow(
        plant.opening, windows, minute.opening_wind, t, minute.t_out
    )

    # Air wetter than its surfaces wets them, limited to half the excess in one step and to what
    # warms them, and all that they pass heat on to, up to its dew point.
    to_surfaces = 0.0
    excess = begins.stores.to_pressure * w - state.fast_saturation
    if excess > 0.0:
        beyond = w - air.humidity_ratio(state.fast_saturation, pressure)
        colder = air.dew_point(air.vapor_pressure(w, pressure)) - state.fast_temperature
        to_surfaces = min(
            zone.condensing * excess,
            0.5 * dry_air * beyond / dt,
            begins.takes * colder / air.H_EVAPORATION,
        )

    machine_water = stream.dry_air * (stream.w_supply - w_mixed) + dried.dry_air * (
        dried.humidity_ratio - inlet.humidity_ratio
    )
    # Of the blower's flow less leaves the room by what the return draws elsewhere, and less comes
    # back by what the supply loses.
    machine_water += back.leak * w_mixed - lost.leak_water
    machine_heat = stream.dry_air * (stream.h_supply - h_mixed) + dried.dry_air * (
        dried.enthalpy - inlet.enthalpy
    )
    machine_heat += lost.walls + back.leak * h_mixed - lost.leak_heat + in_still_air
    ducted = back.leak - lost.leak
    standby = plant.sensor.standby_power
    if dryer.water > 0.0 and running.dehumidifier == 0.0:
        standby += dried.power
    standby *= minute.powered
    # V dp is the work of the weather on air that keeps its volume.
    before = dry_air * R_OVER_MOLE_RATIO * (t + air.KELVIN) * (air.MOLE_RATIO + w)
    squeeze = (zone.volume * pressure - before) * per_second
    sun_fast = minute.sun * zone.sun_to_fast

    for breath in range(MOST_BREATHS):
        outdoor = Inflow(
            leaked + ventilated + ducted + opened,
            leaked * minute.w_out + outdoors.water + opened * minute.w_out,
            leaked * h_out + outdoors.heat + going.heat + opened * h_out,
        )
        wet = step_water(
            zone, w, dry_air, state.surface_rh, state.deep_rh, state.contents_rh,
            state.contents_deep_rh, outdoor,
            machine_water + minute.moisture - to_surfaces + minute.ground_vapor
            + minute.construction,
            begins.stores, dt,
        )  # fmt: skip
        # What sorbs warms the fast mass, and what evaporates from it cools it.
        sorbed = wet.sorbing + (to_surfaces - minute.construction)
        heat = step_heat(
            zone, t, w, dry_air, state.fast_temperature, state.slow_temperature,
            wet.humidity_ratio, wet.above, wet.below, outdoor,
            machine_heat + minute.gains * zone.gains_to_air + minute.moisture * SOURCE_ENTHALPY
            + minute.ground_vapor * GROUND_VAPOR_ENTHALPY
            + standby + squeeze,
            minute.gains * (1.0 - zone.gains_to_air) + sun_fast,
            minute.sun - sun_fast, sorbed, wet.sorbing_rise, minute.t_out, minute.sol_air, minute.ground, dt,
        )  # fmt: skip
        dry_air_end = zone.volume * pressure * (1.0 / R_OVER_MOLE_RATIO) * heat.dry_air_share
        leaving = leaked + ventilated + ducted + opened - (dry_air_end - dry_air) * per_second
        # What is metered must be what was solved: the last pass changes nothing any more.
        if leaving >= 0.0 or breath == MOST_BREATHS - 1:
            break
        # The zone breathes in more than leaks and fans bring: the rest comes in as infiltration.
        leaked -= leaving * (1.0 + 1.0e-6)

    t_end, w_end = heat.indoor_temperature, wet.humidity_ratio
    h_end = air.enthalpy(t_end, w_end)
    zone_saturation = air.saturation_pressure(t_end)
    rh = air.share_of_saturation(w_end, pressure, zone_saturation)
    surrounding = duct_space(
        plant.ducts, t_space, w_space, back, lost, t_end,
        minute.roof if plant.ducts.under_roof > 0.0 else minute.ground,
        minute.t_out, minute.w_out, minute.density, pressure, dt,
    )  # fmt: skip
    around = t_space if plant.ducts.outside > 0.0 else t
    w_bedroom, rh_end, rh_bedroom = w_end, rh, rh
    if plant.bedroom.share > 0.0:
        w_bedroom = bedroom_after(
            plant.bedroom, state.bedroom_humidity_ratio - w, w_end, t_end, dry_air_end, blown,
            minute.moisture, zone.volume, minute.hour, pressure, dt,
        )  # fmt: skip
        rh_bedroom = air.share_of_saturation(w_bedroom, pressure, zone_saturation)
        w_hallway = hallway(plant.bedroom, w_end, w_bedroom)
        rh_end = air.share_of_saturation(w_hallway, pressure, zone_saturation)
    sensor = plant.sensor
    # A first-order lag behind a room that moves in a straight line from state to state.
    sensed_t = (
        state.sensed_temperature
        + sensor.temperature_gain * (begins.temperature - state.sensed_temperature)
        + sensor.temperature_follow * (t_end - t)
    )
    sensed_rh = (
        state.sensed_rh
        + sensor.humidity_gain * (begins.rh - state.sensed_rh)
        + sensor.humidity_follow * (rh_end - begins.rh)
    )

    cooling_switched = (running.cooling > 0.0) != (state.cooling_stage > 0.0)
    heating_switched = (running.heating > 0.0) != (state.heating_stage > 0.0)
    dryer_switched = (running.dehumidifier > 0.0) != (state.dehumidifier > 0.0)
    cooling_time = dt if cooling_switched else state.cooling_time + dt
    heating_time = dt if heating_switched else state.heating_time + dt
    dehumidifier_time = dt if dryer_switched else state.dehumidifier_time + dt
    frosted = state.frosted
    if running.cooling > 0.0:
        frosted = stream.frost
    elif cooling_time >= unit.defrost_time:
        frosted = 0.0
    strips_on = bank.power > 0.0
    reheat_on = flag(strips_on & (running.backup == 0.0))
    backup_on = flag(strips_on & (running.backup > 0.0))
    reheat_stage = bank.on * reheat_on
    new = State(
        indoor_temperature=t_end,
        indoor_humidity_ratio=w_end,
        zone_dry_air=dry_air_end,
        zone_saturation=zone_saturation,
        fast_temperature=heat.fast_temperature,
        fast_saturation=air.saturation_pressure(heat.fast_temperature),
        slow_temperature=heat.slow_temperature,
        surface_rh=wet.surface_rh,
        deep_rh=wet.deep_rh,
        coil_water=stream.coil_water,
        coil_ramp=stream.coil_ramp,
        sensed_temperature=sensed_t,
        sensed_rh=sensed_rh,
        cooling_stage=running.cooling,
        cooling_time=cooling_time,
        reheat=reheat_stage,
        backup=backup_on,
        heating_stage=running.heating,
        heating_time=heating_time,
        dehumidifier=running.dehumidifier,
        dehumidifier_time=dehumidifier_time,
        airflow=running.airflow,
        frosted=frosted,
        refused=float(running.refused),
        apparatus_guess=stream.apparatus_guess,
        wet_bulb_guess=begins.wet_bulb,
        blower_time=(state.blower_time + dt) * flag(running.airflow > 0.0),
        strip_level=bank.level,
        limit_temperature=guarded.temperature,
        strips_open=guarded.opened,
        humidistat=flag((dryer.humidistat_on > 0.0) & (drying_call > 0.0)),
        bucket=bucket_after(dryer, state, dried.water, minute.hour, dt),
        blower_this_hour=blower_this_hour + dt * flag(running.airflow > 0.0),
        duct_space_temperature=surrounding.temperature,
        duct_space_humidity_ratio=surrounding.humidity_ratio,
        contents_rh=wet.contents_rh,
        contents_deep_rh=wet.contents_deep_rh,
        windows_open=windows,
        bedroom_humidity_ratio=w_bedroom,
        entering_temperature=back.temperature,
        entering_humidity_ratio=back.humidity_ratio,
    )

    strips_were_on = state.strip_level > 0.0
    begun = running.refused & ~int(state.refused)
    percent = 100.0 * rh
    supply = t
    if moved > 0.0:
        supply = air.temperature_at_enthalpy(stream.h_supply, stream.w_supply)
    resting = running.cooling == 0.0 and running.heat_pump == 0.0
    crankcase = unit.crankcase_heat * minute.powered if resting else 0.0
    strip_watts = stream.strips + in_still_air
    fights = (reheat_on > 0.0) & (running.cooling > 0.0)
    fights &= (rh < DRY_ROOM) | (t_end > sensor.warm_above - 1.0)
    gas = stream.furnace / unit.furnace_efficiency if stream.furnace > 0.0 else 0.0
    step = Step(
        indoor_temperature=t_end,
        indoor_humidity_ratio=w_end,
        indoor_rh=rh,
        sensed_temperature=sensed_t,
        sensed_rh=sensed_rh,
        outdoor_temperature=minute.t_out,
        outdoor_humidity_ratio=minute.w_out,
        above_50=flag(percent > 50.0),
        above_55=flag(percent > 55.0),
        above_60=flag(percent > 60.0),
        above_65=flag(percent > 65.0),
        rh_over_55=max(percent - 55.0, 0.0),
        rh_over_60=max(percent - 60.0, 0.0),
        warm=minute.occupied * flag(t_end > sensor.warm_above),
        cool=minute.occupied * flag(t_end < sensor.cool_below),
        cold=minute.occupied * flag(t_end < sensor.cold_below),
        cooling_stage=running.cooling,
        reheat_stage=reheat_stage,
        heating_stage=running.heating,
        reheat_on=reheat_on,
        heat_pump_on=running.heat_pump,
        backup_on=backup_on,
        dehumidifier_on=running.dehumidifier,
        fan_on=flag(moved > 0.0),
        airflow=moved,
        supply_temperature=supply,
        entering_temperature=back.temperature,
        duct_space_temperature=around,
        strips_start=flag(strips_on & (not strips_were_on)),
        heat_pump_start=flag(heating_switched & (running.heating > 0.0) & (running.furnace == 0.0)),
        dehumidifier_start=flag(dryer_switched & (running.dehumidifier > 0.0)),
        dry_coil=stream.dry_coil,
        off_curve=max(stream.off_curve, dried.held),
        frost=max(stream.frost, state.frosted),
        compressor=stream.compressor,
        indoor_fan=stream.fan,
        reheat=strip_watts * (1.0 - running.backup),
        backup_heat=strip_watts * running.backup,
        heat_pump=stream.heat_pump_input,
        dehumidifier=dried.power * running.dehumidifier,
        ventilation_fan=going.power + minute.exhaust_power,
        standby=standby + crankcase,
        air_infiltration=leaked,
        air_ventilation=ventilated,
        air_out=-leaving,
        air_return_leak=back.leak,
        air_supply_leak=-lost.leak,
        water_infiltration=leaked * minute.w_out,
        water_ventilation=outdoors.water,
        water_out=-leaving * w_end,
        water_return_leak=back.leak_water,
        water_supply_leak=-lost.leak_water,
        water_gains=minute.moisture,
        water_stored=-wet.to_surface,
        water_stored_deep=-wet.to_deep,
        water_coil=-stream.condensed,
        water_reevaporated=stream.reevaporated,
        water_drained=-stream.drained,
        water_dehumidifier=-dried.water,
        water_dehumidifier_straight=-dried.water * inlet.straight,
        water_surfaces=-to_surfaces,
        heat_infiltration=leaked * h_out,
        heat_ventilation=outdoors.heat,
        heat_out=-leaving * h_end,
        heat_return_leak=back.leak_heat,
        heat_supply_leak=-lost.leak_heat,
        heat_duct_walls=back.walls + lost.walls,
        heat_opaque=zone.opaque * (minute.sol_air - heat.fast_temperature),
        heat_windows=zone.windows * (minute.t_out - heat.mean_temperature),
        heat_sun=minute.sun,
        heat_ground=zone.ground * (minute.ground - heat.slow_temperature),
        heat_gains=minute.gains,
        heat_moisture=minute.moisture * SOURCE_ENTHALPY,
        heat_ventilation_fan=going.heat,
        heat_standby=standby,
        heat_refrigerant=-stream.refrigerant,
        heat_heat_pump=stream.heat_pump_heat,
        heat_drained=-stream.drained * CONDENSATE_ENTHALPY,
        heat_dehumidifier_drain=-dried.water * CONDENSATE_ENTHALPY,
        heat_surfaces=-to_surfaces * SORBED_ENTHALPY,
        heat_pressure=squeeze,
        heat_stored=zone.air_to_fast
        * (
            zone.air_weight * heat.fast_temperature
            + (1.0 - zone.air_weight) * state.fast_temperature
            - heat.mean_temperature
        ),
        heat_stored_deep=zone.fast_to_slow * (heat.slow_temperature - heat.fast_temperature),
        coil_total=stream.total,
        coil_sensible=stream.sensible,
        hot_gas_on=flag(running.hot_gas > 0.0),
        furnace_on=running.furnace,
        furnace_start=flag(heating_switched & (running.furnace > 0.0)),
        strip_trip=flag((guarded.opened > 0.0) & (state.strips_open == 0.0)),
        strip_rise=stream.strip_rise,
        gas=gas,
        heat_furnace=stream.furnace,
        heat_hot_gas=stream.hot_gas,
        dehumidifier_defrost=dried.defrost,
        bucket_full=flag((dryer.bucket > 0.0) & (state.bucket >= dryer.bucket)),
        ventilation_locked=going.locked,
        ventilation_volume=ventilated * outdoor_volume,
        water_contents=-wet.to_contents,
        water_contents_deep=-wet.to_contents_deep,
        water_ground=minute.ground_vapor,
        water_construction=minute.construction,
        heat_ground_vapor=minute.ground_vapor * GROUND_VAPOR_ENTHALPY,
        heat_construction=minute.construction * SORBED_ENTHALPY,
        air_opening=opened,
        water_opening=opened * minute.w_out,
        heat_opening=opened * h_out,
        windows_open=windows,
        occupied=minute.occupied,
        bedroom_rh=rh_bedroom,
        bedroom_above_60=flag(rh_bedroom > 0.60),
        strips_without_air=guarded.share * flag(strips_on & (moved == 0.0)),
        fighting=flag(fights),
        refused_minimum_time=float(begun & 1),
        refused_outdoor_cold=float((begun >> 1) & 1),
        refused_coil_frost=float((begun >> 2) & 1),
        refused_heat_against_cool=float((begun >> 3) & 1),
        refused_reheat_alone=float((begun >> 4) & 1),
        refused_low_airflow=float((begun >> 5) & 1),
        refused_dehumidifier_cold=float((begun >> 6) & 1),
        refused_not_installed=float((begun >> 7) & 1),
        refused_strips_tripped=float((begun >> 8) & 1),
        refused_strips_locked_out=float((begun >> 9) & 1),
        refused_bucket_full=float((begun >> 10) & 1),
        refused_room_hot=float((begun >> 11) & 1),
    )
    bucket_full = step.bucket_full > 0.0
    tripped = step.strip_trip > 0.0
    working = Working(
        (stream.dry_air > 0.0) | (state.frosted > 0.0),
        strips_on | (bank.on > 0.0) | (running.heating > 0.0) | (running.hot_gas > 0.0) | tripped,
        (running.dehumidifier > 0.0) | bucket_full,
        plant.ducts.outside > 0.0,
        (zone.contents_store > 0.0) | (windows > 0.0) | (to_surfaces > 0.0) | (going.locked > 0.0)
        | (minute.ground_vapor != 0.0) | (minute.construction != 0.0),
        begun != 0,
    )  # fmt: skip
    return new, step, working
