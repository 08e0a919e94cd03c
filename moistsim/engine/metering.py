"""Meter of a step: groups of means over the step, and the calculation of each.

All values are in SI and rates are per second. A flow into the zone is positive. A field has the
same name everywhere. `STEP_FIELDS` holds all names in the order of the hourly sums.
"""

from typing import Any, NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.air_exchange import Exchange
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY
from moistsim.engine.ducts import ReturnAir, SupplyAir
from moistsim.engine.forcing_tables import NOT_IMPOSED
from moistsim.engine.interlocks import (
    BUCKET_FULL,
    COIL_FROST,
    DEHUMIDIFIER_COLD,
    HEAT_AGAINST_COOL,
    LOW_AIRFLOW,
    MINIMUM_TIME,
    NOT_INSTALLED,
    OUTDOOR_COLD,
    REHEAT_ALONE,
    ROOM_HOT,
    STRIPS_LOCKED_OUT,
    STRIPS_TRIPPED,
)
from moistsim.engine.machines import AtWork
from moistsim.engine.outset import Outset
from moistsim.engine.records import AirHandlerParameters, Minute, Plant, State, ZoneParameters
from moistsim.engine.room import Acting, RoomEnd, room_heater
from moistsim.engine.zone import (
    GROUND_VAPOR_ENTHALPY,
    SORBED_ENTHALPY,
    SOURCE_ENTHALPY,
)

DRY_ROOM = 0.45
"""RH below which a room needs no drying, 0 to 1 (our own round figure).
Reheat below it counts as machines that work against each other."""


@piece
def flag(condition: bool) -> float:
    """Value 1 for a true condition, 0 for a false one, to be added up."""
    return 1.0 if condition else 0.0


class RoomMeter(NamedTuple):
    """Room and air around it: time in a state is 1 or 0, RH above a mark an integral."""

    indoor_temperature: float
    indoor_humidity_ratio: float
    indoor_rh: float
    """Relative humidity of the room, 0 to 1."""
    sensed_temperature: float
    """Temperature of the sensor in the middle of the step, degC."""
    sensed_rh: float
    """Relative humidity in the sensor in the middle of the step, 0 to 1."""
    outdoor_temperature: float
    outdoor_humidity_ratio: float
    below_40: float
    above_50: float
    above_55: float
    above_60: float
    above_65: float
    rh_over_55: float
    """Room RH above 55 %, percent."""
    rh_over_60: float
    """Room RH above 60 %, percent."""
    warm: float
    cool: float
    cold: float
    supply_temperature: float
    entering_temperature: float
    """Dry bulb of the air entering the air handler, degC.
    While the blower is off it is the room's."""
    occupied: float
    bedroom_rh: float
    """Relative humidity of the bedroom, 0 to 1; the zone's without a separate bedroom."""
    bedroom_above_60: float
    off_curve: float


@piece
def supply_temperature(machines: AtWork, room: float) -> float:
    """Dry bulb of the supply air, degC; that of the room while the blower is off."""
    if machines.moved > 0.0:
        return float(
            air.temperature_at_enthalpy(machines.stream.h_supply, machines.stream.w_supply)
        )
    return room


@piece
def meter_room(
    plant: Plant,
    state: State,
    new: State,
    begins: Outset,
    minute: Minute,
    machines: AtWork,
    end: RoomEnd,
) -> RoomMeter:
    """Temperature, humidity and comfort of the room at the end of the step."""
    sensor, percent = plant.sensor, 100.0 * end.rh
    bedroom_rh = end.rh
    if plant.bedroom.share > 0.0:
        bedroom_rh = air.share_of_saturation(
            new.bedroom_humidity_ratio, minute.pressure, end.saturation
        )
    return RoomMeter(
        indoor_temperature=end.air.temperature,
        indoor_humidity_ratio=end.air.humidity_ratio,
        indoor_rh=end.rh,
        sensed_temperature=begins.sensed_temperature,
        sensed_rh=begins.sensed_rh,
        outdoor_temperature=minute.t_out,
        outdoor_humidity_ratio=minute.w_out,
        below_40=flag(percent < 40.0),
        above_50=flag(percent > 50.0),
        above_55=flag(percent > 55.0),
        above_60=flag(percent > 60.0),
        above_65=flag(percent > 65.0),
        rh_over_55=max(percent - 55.0, 0.0),
        rh_over_60=max(percent - 60.0, 0.0),
        warm=minute.occupied * flag(end.air.temperature > sensor.warm_above),
        cool=minute.occupied * flag(end.air.temperature < sensor.cool_below),
        cold=minute.occupied * flag(end.air.temperature < sensor.cold_below),
        supply_temperature=supply_temperature(machines, state.indoor_temperature),
        entering_temperature=machines.back.temperature,
        occupied=minute.occupied,
        bedroom_rh=bedroom_rh,
        bedroom_above_60=flag(bedroom_rh > 0.60),
        off_curve=max(machines.stream.off_curve, machines.dried.held),
    )


class PowerMeter(NamedTuple):
    """Electricity of fans and standby that no other group contains, W."""

    ventilation_fan: float
    standby: float
    space_dehumidifier: float


@piece
def meter_power(
    crankcase_heat: float, minute: Minute, machines: AtWork, standby: float, elsewhere: float
) -> PowerMeter:
    """Electricity of ventilation and exhaust fans, of standby, and of machines `elsewhere`, W.

    Standby holds the controls and the crankcase heater of a compressor that is off.
    """
    running = machines.running
    resting = running.cooling == 0.0 and running.heat_pump == 0.0
    crankcase = crankcase_heat * minute.powered if resting else 0.0
    return PowerMeter(
        ventilation_fan=machines.going.power + minute.exhaust_power,
        standby=standby + crankcase,
        space_dehumidifier=elsewhere,
    )


class AirMeter(NamedTuple):
    """Dry air into the zone, kg/s; outdoor air that fans bring, and natural infiltration, m3/s."""

    air_infiltration: float
    air_ventilation: float
    air_out: float
    ventilation_volume: float
    natural_infiltration: float
    """Infiltration that wind and stack alone would cause, without fans and ducts, m3/s."""


@piece
def meter_air(minute: Minute, exchange: Exchange, end: RoomEnd) -> AirMeter:
    """Air that enters and leaves the zone."""
    return AirMeter(
        air_infiltration=end.leaked,
        air_ventilation=exchange.outdoors.ventilated - end.through_spaces,
        air_out=-end.leaving,
        ventilation_volume=exchange.outdoors.ventilated * (1.0 / minute.density),
        natural_infiltration=minute.natural,
    )


class WaterMeter(NamedTuple):
    """Water into the zone's air, kg/s."""

    water_infiltration: float
    water_ventilation: float
    water_out: float
    water_gains: float
    water_stored: float
    """Water from the surface layer of the building's moisture store to the air, kg/s."""
    water_stored_deep: float
    """Water from the deep layer of the building's store to its surface layer, kg/s."""


@piece
def meter_water(minute: Minute, exchange: Exchange, end: RoomEnd) -> WaterMeter:
    """Water that air, people and the building's store carry into the zone's air."""
    return WaterMeter(
        water_infiltration=end.leaked * minute.w_out,
        water_ventilation=exchange.outdoors.water - end.through_spaces * minute.w_out,
        water_out=-end.leaving * end.air.humidity_ratio,
        water_gains=minute.moisture,
        water_stored=-end.wet.to_surface,
        water_stored_deep=-end.wet.to_deep,
    )


class HeatMeter(NamedTuple):
    """Heat into the zone, W."""

    heat_infiltration: float
    heat_ventilation: float
    heat_out: float
    heat_opaque: float
    heat_windows: float
    heat_sun: float
    heat_ground: float
    heat_gains: float
    heat_moisture: float
    heat_ventilation_fan: float
    heat_standby: float
    heat_pressure: float
    heat_stored: float
    """Heat from the fast mass to the air, W."""
    heat_stored_deep: float
    """Heat from the slow mass to the fast mass, W."""


@piece
def meter_heat(
    zone: ZoneParameters,
    fast_before: float,
    minute: Minute,
    fan_heat: float,
    exchange: Exchange,
    acting: Acting,
    end: RoomEnd,
) -> HeatMeter:
    """Heat that comes in with air, through the envelope, from people and from the masses.

    Parameters
    ----------
    fast_before : float
        Temperature of the fast mass at the start of the step, degC.
    fan_heat : float
        Heat of the ventilation fans to the zone, W.
    """
    heat = end.heat
    return HeatMeter(
        heat_infiltration=end.leaked * exchange.h_out,
        heat_ventilation=exchange.outdoors.heat - end.through_spaces * exchange.h_out,
        heat_out=-end.leaving * end.air.enthalpy,
        heat_opaque=zone.opaque * (minute.sol_air - heat.fast_temperature),
        heat_windows=zone.windows * (minute.t_out - heat.mean_temperature),
        heat_sun=minute.sun,
        heat_ground=zone.ground * (minute.ground - heat.slow_temperature),
        heat_gains=minute.gains,
        heat_moisture=minute.moisture * SOURCE_ENTHALPY,
        heat_ventilation_fan=fan_heat,
        heat_standby=acting.standby,
        heat_pressure=acting.squeeze,
        heat_stored=zone.air_to_fast
        * (
            zone.air_weight * heat.fast_temperature
            + (1.0 - zone.air_weight) * fast_before
            - heat.mean_temperature
        ),
        heat_stored_deep=zone.fast_to_slow * (heat.slow_temperature - heat.fast_temperature),
    )


class CoilMeter(NamedTuple):
    """The cooling coil, and the blower for any machine: power and heat in W, water in kg/s."""

    cooling_stage: float
    fan_on: float
    airflow: float
    """Airflow of the blower as a share of full flow."""
    dry_coil: float
    frost: float
    compressor: float
    indoor_fan: float
    water_coil: float
    water_reevaporated: float
    water_drained: float
    heat_refrigerant: float
    heat_drained: float
    coil_total: float
    coil_sensible: float


@piece
def meter_coil(machines: AtWork, frosted: float) -> CoilMeter:
    """Cooling, and the water that condenses on the coil, evaporates from it and drains."""
    stream = machines.stream
    return CoilMeter(
        cooling_stage=machines.running.cooling,
        fan_on=machines.running.fan_share * flag(machines.moved > 0.0),
        airflow=machines.moved,
        dry_coil=stream.dry_coil,
        frost=max(stream.frost, frosted),
        compressor=stream.compressor,
        indoor_fan=stream.fan,
        water_coil=-stream.condensed,
        water_reevaporated=stream.reevaporated,
        water_drained=-stream.drained,
        heat_refrigerant=-stream.refrigerant,
        heat_drained=-stream.drained * CONDENSATE_ENTHALPY,
        coil_total=stream.total,
        coil_sensible=stream.sensible,
    )


class HeatingMeter(NamedTuple):
    """All heating of the supply air: strips, heat pump, furnace, hot gas; power and heat in W."""

    reheat_stage: float
    heating_stage: float
    reheat_on: float
    heat_pump_on: float
    backup_on: float
    strips_start: float
    heat_pump_start: float
    reheat: float
    backup_heat: float
    heat_pump: float
    heat_heat_pump: float
    hot_gas_on: float
    furnace_on: float
    furnace_start: float
    strip_trip: float
    strip_rise: float
    """Temperature rise of the air across the strips, K."""
    gas: float
    """Gas burned in furnace or room heater, W."""
    heat_furnace: float
    heat_hot_gas: float
    strips_without_air: float
    """Share of the step with strips on in still air."""
    fighting: float
    """Simultaneous heating and cooling: 1 with reheat in a room that is dry or warm."""


@piece
def meter_heating(
    plant: Plant, state: State, new: State, machines: AtWork, rh: float
) -> HeatingMeter:
    """Strips as reheat and as auxiliary heat, heat pump, furnace and hot gas.

    Parameters
    ----------
    rh : float
        Relative humidity of the room at the end of the step, 0 to 1.
    """
    running, stream, guarded = machines.running, machines.stream, machines.guarded
    strips_on = machines.bank.power > 0.0
    heating_begins = (running.heating > 0.0) & (state.heating_stage == 0.0)
    strip_watts = stream.strips + machines.in_still_air
    reheat_on = flag(strips_on & (running.backup == 0.0))
    fights = (reheat_on > 0.0) & (running.cooling > 0.0)
    fights &= (rh < DRY_ROOM) | (new.indoor_temperature > plant.sensor.warm_above - 1.0)
    gas = stream.furnace / plant.unit.furnace_efficiency if stream.furnace > 0.0 else 0.0
    if running.heating > 0.0:
        gas += plant.unit.room_heater_gas
    return HeatingMeter(
        reheat_stage=new.reheat,
        heating_stage=running.heating,
        reheat_on=reheat_on,
        heat_pump_on=running.heat_pump,
        backup_on=new.backup,
        strips_start=flag(strips_on & (not state.strip_level > 0.0)),
        heat_pump_start=flag(
            heating_begins & (running.furnace == 0.0) & (plant.unit.room_heater == 0.0)
        ),
        reheat=strip_watts * (1.0 - running.backup),
        backup_heat=strip_watts * running.backup,
        heat_pump=stream.heat_pump_input,
        heat_heat_pump=stream.heat_pump_heat,
        hot_gas_on=flag(running.hot_gas > 0.0),
        furnace_on=running.furnace,
        furnace_start=flag(heating_begins & (running.furnace > 0.0)),
        strip_trip=flag((guarded.opened > 0.0) & (state.strips_open == 0.0)),
        strip_rise=stream.strip_rise,
        gas=gas,
        heat_furnace=stream.furnace,
        heat_hot_gas=stream.hot_gas,
        strips_without_air=guarded.share * flag(strips_on & (machines.moved == 0.0)),
        fighting=flag(fights),
    )


class DehumidifierMeter(NamedTuple):
    """Dehumidifier: power and heat in W, water in kg/s."""

    dehumidifier_on: float
    dehumidifier_start: float
    dehumidifier: float
    water_dehumidifier: float
    water_dehumidifier_straight: float
    """Part of `water_dehumidifier` that came with ventilation air and never mixed with the room."""
    heat_dehumidifier_drain: float
    dehumidifier_defrost: float
    bucket_full: float


@piece
def meter_dehumidifier(bucket: float, state: State, machines: AtWork) -> DehumidifierMeter:
    """Operation of the dehumidifier, with a bucket of so many kg or a drain."""
    on, dried = machines.running.dehumidifier, machines.dried
    return DehumidifierMeter(
        dehumidifier_on=on,
        dehumidifier_start=flag((on > 0.0) & (state.dehumidifier == 0.0)),
        dehumidifier=dried.power * on,
        water_dehumidifier=-dried.water,
        water_dehumidifier_straight=-dried.water * machines.inlet.straight,
        heat_dehumidifier_drain=-dried.water * CONDENSATE_ENTHALPY,
        dehumidifier_defrost=dried.defrost,
        bucket_full=flag((bucket > 0.0) & (state.bucket >= bucket)),
    )


class DuctMeter(NamedTuple):
    """Ducts outside the envelope: air and water in kg/s, heat in W."""

    air_return_leak: float
    """Dry air into the return ducts from the space around them, kg/s."""
    air_supply_leak: float
    """Dry air out of the supply ducts, kg/s."""
    water_return_leak: float
    water_supply_leak: float
    heat_return_leak: float
    heat_supply_leak: float
    heat_duct_walls: float


@piece
def meter_ducts(back: ReturnAir, lost: SupplyAir) -> DuctMeter:
    """Leakage and conduction of the ducts."""
    return DuctMeter(
        air_return_leak=back.leak,
        air_supply_leak=-lost.leak,
        water_return_leak=back.leak_water,
        water_supply_leak=-lost.leak_water,
        heat_return_leak=back.leak_heat,
        heat_supply_leak=-lost.leak_heat,
        heat_duct_walls=back.walls + lost.walls,
    )


class VaporMeter(NamedTuple):
    """Vapor flows that most houses do not have: air and water in kg/s, heat in W.

    They belong to locked-out ventilation, a second moisture store, vapor from the ground and from
    new materials, open windows, and water on surfaces.
    """

    ventilation_locked: float
    water_contents: float
    """Water from the surface layer of the contents' store to the air, kg/s."""
    water_contents_deep: float
    """Water from the deep layer of the contents' store to its surface layer, kg/s."""
    water_ground: float
    water_construction: float
    heat_ground_vapor: float
    heat_construction: float
    air_opening: float
    water_opening: float
    heat_opening: float
    windows_open: float
    water_surfaces: float
    """Water that condenses on surfaces, kg/s (negative)."""
    water_fog: float
    """Water that the air could not hold and that settles, kg/s (negative)."""
    water_film: float
    """Water that evaporates from wet surfaces, kg/s."""
    water_run_off: float
    """Water that surfaces cannot hold, kg/s (negative)."""
    heat_run_off: float


@piece
def meter_vapor(
    minute: Minute, locked: float, exchange: Exchange, wetting: float, end: RoomEnd
) -> VaporMeter:
    """Vapor flows that most houses do not have."""
    return VaporMeter(
        ventilation_locked=locked,
        water_contents=-end.wet.to_contents,
        water_contents_deep=-end.wet.to_contents_deep,
        water_ground=minute.ground_vapor,
        water_construction=minute.construction,
        heat_ground_vapor=minute.ground_vapor * GROUND_VAPOR_ENTHALPY,
        heat_construction=minute.construction * SORBED_ENTHALPY,
        air_opening=exchange.opened,
        water_opening=exchange.opened * minute.w_out,
        heat_opening=exchange.opened * exchange.h_out,
        windows_open=exchange.windows_open,
        water_surfaces=-max(wetting, 0.0) - end.wet.onto_full,
        water_fog=-end.fog,
        water_film=max(-wetting, 0.0),
        water_run_off=-end.film.ran_off,
        heat_run_off=-end.film.ran_off * SORBED_ENTHALPY,
    )


class RoomHeatMeter(NamedTuple):
    """Heat straight into the room that most houses do not have: power and heat in W."""

    room_heater_on: float
    room_heater_start: float
    room_heater: float
    """Electricity of the room heater, W."""
    heat_room_heater: float
    heat_imposed: float
    """Heat that holds the room at a measured temperature, W; negative where it cools."""


@piece
def meter_room_heat(
    unit: AirHandlerParameters, was: float, heating: float, end: RoomEnd
) -> RoomHeatMeter:
    """Heat straight into the room: of a room heater, and that which holds an imposed temperature.

    Parameters
    ----------
    was, heating : float
        Heating stage in the step before and in this one.
    """
    on = flag((heating > 0.0) & (unit.room_heater > 0.0))
    return RoomHeatMeter(
        room_heater_on=on,
        room_heater_start=on * flag(was == 0.0),
        room_heater=on * unit.room_heater_power,
        heat_room_heater=room_heater(unit, heating),
        heat_imposed=end.holding,
    )


class RefusalMeter(NamedTuple):
    """Calls refused: 1 in the step in which a refusal begins."""

    refused_minimum_time: float
    refused_outdoor_cold: float
    refused_coil_frost: float
    refused_heat_against_cool: float
    refused_reheat_alone: float
    refused_low_airflow: float
    refused_dehumidifier_cold: float
    refused_not_installed: float
    refused_strips_tripped: float
    refused_strips_locked_out: float
    refused_bucket_full: float
    refused_room_hot: float


@piece
def meter_refusals(begun: int) -> RefusalMeter:
    """Refusals that begin in a step.

    Parameters
    ----------
    begun : int
        Bits of the refusals, see `interlocks`.
    """
    return RefusalMeter(
        refused_minimum_time=flag(begun & MINIMUM_TIME > 0),
        refused_outdoor_cold=flag(begun & OUTDOOR_COLD > 0),
        refused_coil_frost=flag(begun & COIL_FROST > 0),
        refused_heat_against_cool=flag(begun & HEAT_AGAINST_COOL > 0),
        refused_reheat_alone=flag(begun & REHEAT_ALONE > 0),
        refused_low_airflow=flag(begun & LOW_AIRFLOW > 0),
        refused_dehumidifier_cold=flag(begun & DEHUMIDIFIER_COLD > 0),
        refused_not_installed=flag(begun & NOT_INSTALLED > 0),
        refused_strips_tripped=flag(begun & STRIPS_TRIPPED > 0),
        refused_strips_locked_out=flag(begun & STRIPS_LOCKED_OUT > 0),
        refused_bucket_full=flag(begun & BUCKET_FULL > 0),
        refused_room_hot=flag(begun & ROOM_HOT > 0),
    )


class Step(NamedTuple):
    """Meter of one step by group; `at_work` shows which of the last seven may differ from zero."""

    room: RoomMeter
    power: PowerMeter
    air: AirMeter
    water: WaterMeter
    heat: HeatMeter
    coil: CoilMeter
    heating: HeatingMeter
    dehumidifier: DehumidifierMeter
    ducts: DuctMeter
    vapor: VaporMeter
    room_heat: RoomHeatMeter
    refusals: RefusalMeter


GROUPS: dict[str, Any] = Step.__annotations__
"""Type of each group of `Step` by its name, in order."""
STEP_FIELDS: tuple[str, ...] = tuple(name for kind in GROUPS.values() for name in kind._fields)
"""Names of all values of a step, in the order in which hourly sums and traces hold them."""
REFUSALS = RefusalMeter._fields
"""Reasons for refusing a call, in the order of their bits in `State.refused`."""


class Working(NamedTuple):
    """Groups of `Step` that may differ from zero; a test checks that the others are zero."""

    coil: bool
    heating: bool
    dehumidifier: bool
    ducts: bool
    vapor: bool
    room_heat: bool
    refusals: bool


@piece
def meter(
    plant: Plant,
    state: State,
    new: State,
    begins: Outset,
    minute: Minute,
    machines: AtWork,
    exchange: Exchange,
    acting: Acting,
    end: RoomEnd,
) -> Step:
    """Meter of a step, from everything that happened in it.

    Parameters
    ----------
    state, new : State
        State at the start and at the end of the step.
    """
    return Step(
        room=meter_room(plant, state, new, begins, minute, machines, end),
        power=meter_power(
            plant.unit.crankcase_heat, minute, machines, acting.standby, end.elsewhere
        ),
        air=meter_air(minute, exchange, end),
        water=meter_water(minute, exchange, end),
        heat=meter_heat(
            plant.zone, state.fast_temperature, minute, machines.going.heat, exchange, acting, end
        ),
        coil=meter_coil(machines, state.frosted),
        heating=meter_heating(plant, state, new, machines, end.rh),
        dehumidifier=meter_dehumidifier(plant.dehumidifier.bucket, state, machines),
        ducts=meter_ducts(machines.back, machines.lost),
        vapor=meter_vapor(minute, machines.going.locked, exchange, acting.wetting, end),
        room_heat=meter_room_heat(plant.unit, state.heating_stage, machines.running.heating, end),
        refusals=meter_refusals(machines.running.refused & ~int(state.refused)),
    )


@piece
def at_work(state: State, minute: Minute, machines: AtWork, step: Step, plant: Plant) -> Working:
    """Groups of a step that may differ from zero."""
    running = machines.running
    strips_on = (machines.bank.power > 0.0) | (machines.bank.on > 0.0)
    lived_in = (plant.zone.contents_store > 0.0) | (step.vapor.windows_open > 0.0)
    sources = (minute.ground_vapor != 0.0) | (minute.construction != 0.0)
    wet = (step.vapor.water_surfaces < 0.0) | (step.vapor.water_fog < 0.0)
    wet |= step.vapor.water_film > 0.0
    return Working(
        coil=(machines.stream.dry_air > 0.0) | (state.frosted > 0.0),
        heating=strips_on | (running.heating > 0.0) | (running.hot_gas > 0.0)
        | (step.heating.strip_trip > 0.0),
        dehumidifier=(running.dehumidifier > 0.0) | (step.dehumidifier.bucket_full > 0.0),
        ducts=plant.ducts.outside > 0.0,
        vapor=lived_in | sources | wet | (machines.going.locked > 0.0),
        room_heat=(minute.imposed > NOT_IMPOSED) | (step.room_heat.room_heater_on > 0.0),
        refusals=running.refused & ~int(state.refused) != 0,
    )  # fmt: skip


@piece
def electric_power(
    power: PowerMeter, coil: CoilMeter, heating: HeatingMeter, dehumidifier: DehumidifierMeter
) -> float:
    """Electric power of all machines of a system in a step, W, and of what `power` holds."""
    return (
        coil.compressor
        + coil.indoor_fan
        + heating.reheat
        + heating.backup_heat
        + heating.heat_pump
        + dehumidifier.dehumidifier
        + power.ventilation_fan
        + power.standby
        + power.space_dehumidifier
    )
