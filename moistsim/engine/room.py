"""The room in a step: all effects on it added up, then solved for the end of the step."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import compiled, piece
from moistsim.engine.air_exchange import Exchange
from moistsim.engine.forcing_tables import NOT_IMPOSED
from moistsim.engine.machines import AtWork
from moistsim.engine.outset import Outset
from moistsim.engine.records import (
    AirHandlerParameters,
    Boundary,
    Minute,
    MoistAir,
    Plant,
    State,
    ZoneParameters,
    room_of,
)
from moistsim.engine.saturated_air import (
    CLOSE,
    Film,
    film_after,
    more_held,
    not_at_saturation,
    settling,
    wet_surfaces,
)
from moistsim.engine.zone import (
    GROUND_VAPOR_ENTHALPY,
    SOURCE_ENTHALPY,
    HeatNode,
    HeatSources,
    HeatStep,
    Inflow,
    Stores,
    WaterNode,
    WaterStep,
    heat_node,
    settle_heat,
    settle_water,
    water_node,
)

R_OVER_MOLE_RATIO = air.R_DRY_AIR / air.MOLE_RATIO
"""Gas constant of dry air over `MOLE_RATIO`, J/(kg K)."""
MOST_BREATHS = 200
"""Maximum number of passes in which a zone draws in the air that it lacks.
A house needs two or three. A house that cools by a hundred kelvins within a minute needs more."""


class Acting(NamedTuple):
    """Effects on the room in a step, except for outdoor air and stores."""

    water: float
    """Water into the air, kg/s."""
    heat: HeatSources
    """Heat into the air and the masses, W."""
    ducted: float
    """Dry air from outside the envelope through ducts, less the supply leakage, kg/s."""
    wetting: float
    """Water from the air onto surfaces, kg/s; negative while it evaporates from them."""
    standby: float
    """Standby heat of machines and controls, W."""
    squeeze: float
    """Work V dp of the weather on air of constant volume, W."""


class RoomEnd(NamedTuple):
    """The room at the end of a step."""

    air: MoistAir
    """Air of the room."""
    dry_air: float
    """Dry air in the room, kg."""
    saturation: float
    """Saturation pressure at the temperature of the room, Pa."""
    rh: float
    """Relative humidity, 0 to 1."""
    leaked: float
    """Outdoor air that came through leaks, kg/s."""
    leaving: float
    """Dry air that left the room to outdoors, kg/s."""
    through_spaces: float
    """Part of the ventilated air that came from spaces next to the house, kg/s of dry air."""
    elsewhere: float
    """Power of the machines in the spaces next to the house, W."""
    holding: float
    """Heat that holds the room at an imposed temperature, W; 0 without one."""
    fog: float
    """Water that the air could not hold and that settles, kg/s."""
    film: Film
    """Water on the surfaces."""
    wet: WaterStep
    """Humidity and flows of water."""
    heat: HeatStep
    """Temperatures."""


class FromMachines(NamedTuple):
    """Effects of an air handler and a dehumidifier on a room in a step."""

    water: float
    """Water into the air, kg/s."""
    heat: float
    """Heat into the air, W."""
    ducted: float
    """Dry air from outside the room through ducts, less the supply leakage, kg/s."""
    standby: float
    """Standby heat of machines and controls, W."""


@piece
def from_machines(plant: Plant, machines: AtWork, powered: float) -> FromMachines:
    """Effects of an air handler and a dehumidifier on the room that they serve."""
    stream, mixed = machines.stream, machines.mixed
    dried, inlet = machines.dried, machines.inlet
    back, lost = machines.back, machines.lost
    water = stream.dry_air * (stream.w_supply - mixed.humidity_ratio) + dried.dry_air * (
        dried.humidity_ratio - inlet.humidity_ratio
    )
    # The room gives less air than the blower moves, by the return leakage. It receives less, by the
    # supply leakage.
    water += back.leak * mixed.humidity_ratio - lost.leak_water
    heat = stream.dry_air * (stream.h_supply - mixed.enthalpy) + dried.dry_air * (
        dried.enthalpy - inlet.enthalpy
    )
    heat += lost.walls + back.leak * mixed.enthalpy - lost.leak_heat + machines.in_still_air
    standby = plant.sensor.standby_power
    if plant.dehumidifier.water > 0.0 and machines.running.dehumidifier == 0.0:
        standby += dried.power
    return FromMachines(water, heat, back.leak - lost.leak, standby * powered)


@piece
def room_heater(unit: AirHandlerParameters, heating: float) -> float:
    """Heat of a room heater into the air, W, while it runs."""
    return unit.room_heater if heating > 0.0 else 0.0


@piece
def act(
    plant: Plant, state: State, begins: Outset, machines: AtWork, minute: Minute, dt: float
) -> Acting:
    """Effects of machines, people, sun, ground and weather on the room, added up."""
    zone = plant.zone
    wetting = wet_surfaces(zone, room_of(state), begins.stores, begins.takes, minute.pressure, dt)
    brought = from_machines(plant, machines, minute.powered)
    t, w = begins.air.temperature, begins.air.humidity_ratio
    before = state.zone_dry_air * R_OVER_MOLE_RATIO * (t + air.KELVIN) * (air.MOLE_RATIO + w)
    squeeze = (zone.volume * minute.pressure - before) * (1.0 / dt)
    heater = room_heater(plant.unit, machines.running.heating)
    sun_air, sun_fast = minute.sun * zone.sun_to_air, minute.sun * zone.sun_to_fast
    return Acting(
        water=brought.water + minute.moisture - wetting + minute.ground_vapor + minute.construction,
        heat=HeatSources(
            to_air=brought.heat
            + minute.gains * zone.gains_to_air
            + sun_air
            + minute.moisture * SOURCE_ENTHALPY
            + minute.ground_vapor * GROUND_VAPOR_ENTHALPY
            + brought.standby
            + squeeze
            + heater,
            to_fast=minute.gains * (1.0 - zone.gains_to_air) + sun_fast,
            to_slow=minute.sun - sun_air - sun_fast,
        ),
        ducted=brought.ducted,
        wetting=wetting,
        standby=brought.standby,
        squeeze=squeeze,
    )


class RoomAt(NamedTuple):
    """Solution of the room for one amount of outdoor air, and for one humidity of saturated air."""

    outdoor: Inflow
    """Air that enters, with its water and heat."""
    water: WaterNode
    """Balance of water."""
    air: HeatNode
    """Balance of heat."""
    fog: float
    """Water that the air could not hold, kg/s; negative if it can hold more."""
    wet: WaterStep
    """Humidity and flows of water."""
    heat: HeatStep
    """Temperatures."""
    dry_air: float
    """Dry air in the room, kg."""
    leaving: float
    """Dry air that leaves to outdoors, kg/s."""
    holding: float
    """Heat that holds the room at an imposed temperature, W; 0 without one."""


@piece
def room_at(
    zone: ZoneParameters,
    state: State,
    stores: Stores,
    fan_heat: float,
    exchange: Exchange,
    acting: Acting,
    minute: Minute,
    leaked: float,
    held: float,
    brims: bool,
    dt: float,
) -> RoomAt:
    """Solve the room's water, heat and air for an amount of air through leaks.

    An imposed temperature at the end takes the place of `above` / `below` of `heat_node`. Both are
    scaled as the humidity's balance is, by `below` of `water_node`, so the heat into the air that
    holds it is (t x below - above) over that scale.

    Parameters
    ----------
    leaked : float
        Outdoor air through leaks, kg/s.
    held : float
        Humidity ratio at which the air is held, kg/kg; 0 for air that holds all its water.
    brims : bool
        Whether full stores leave water on their surface, see `zone.settle`.
    """
    outdoors, opened, h_out = exchange.outdoors, exchange.opened, exchange.h_out
    volume = room_of(state)
    around = Boundary(minute.sol_air, minute.t_out, minute.ground)
    outdoor = Inflow(
        leaked + outdoors.ventilated + acting.ducted + opened,
        leaked * minute.w_out + outdoors.water + opened * minute.w_out,
        leaked * h_out + outdoors.heat + fan_heat + opened * h_out,
    )
    node = water_node(volume, outdoor, acting.water, stores, dt)
    # Sorption warms the fast mass, and evaporation from it cools it.
    sorbed = node.sorbing + (acting.wetting - minute.construction)
    if held > 0.0:
        w_end, fog = held, (node.above - node.below * held) * (1.0 / dt)
        settled = WaterNode(held, 1.0, node.sorbing, node.sorbing_rise)
        air_node = heat_node(
            zone, volume, settled, outdoor, 0.0, settling(acting.heat, fog), sorbed, around, dt
        )
    else:
        w_end, fog = node.above * (1.0 / node.below), 0.0
        air_node = heat_node(zone, volume, node, outdoor, 0.0, acting.heat, sorbed, around, dt)
    wet = settle_water(zone, volume, stores, w_end, brims, dt)
    if minute.imposed > NOT_IMPOSED:
        scale = 1.0 if held > 0.0 else node.below
        holding = (minute.imposed * air_node.below - air_node.above) / scale
        heat = settle_heat(zone, volume, air_node, w_end, minute.imposed, 1.0)
    else:
        holding = 0.0
        heat = settle_heat(zone, volume, air_node, w_end, air_node.above, air_node.below)
    dry_air = zone.volume * minute.pressure * (1.0 / R_OVER_MOLE_RATIO) * heat.dry_air_share
    leaving = outdoor.dry_air - (dry_air - state.zone_dry_air) * (1.0 / dt)
    return RoomAt(outdoor, node, air_node, fog, wet, heat, dry_air, leaving, holding)


@piece
def settle_room(
    zone: ZoneParameters,
    state: State,
    stores: Stores,
    fan_heat: float,
    exchange: Exchange,
    acting: Acting,
    minute: Minute,
    dt: float,
) -> RoomEnd:
    """Solve the room's water, heat and air for the end of the step.

    A zone that needs more air than leaks and fans bring draws the rest in as infiltration. The
    balances are then solved again with it, because the meter must show the flows of the solution.

    Parameters
    ----------
    fan_heat : float
        Heat of the ventilation fans to the zone, W.
    """
    leaked = exchange.outdoors.leaked
    for breath in range(MOST_BREATHS):
        at = room_at(
            zone, state, stores, fan_heat, exchange, acting, minute, leaked, 0.0, False, dt
        )
        if at.leaving >= 0.0 or breath == MOST_BREATHS - 1:
            break
        leaked -= at.leaving * (1.0 + 1.0e-6)
    end = room_end(
        Film(state.film, 0.0), 0.0, at.wet, at.heat, at.dry_air, leaked, at.leaving, 0.0, 0.0,
        at.holding, minute.pressure,
    )  # fmt: skip
    fullest = max(end.rh, max(at.wet.surface_rh, at.wet.contents_rh))
    if fullest > 1.0 + CLOSE or acting.wetting != 0.0:
        return settle_wet_room(zone, state, stores, fan_heat, exchange, acting, minute, leaked, dt)
    return end


@compiled
def settle_wet_room(
    zone: ZoneParameters,
    state: State,
    stores: Stores,
    fan_heat: float,
    exchange: Exchange,
    acting: Acting,
    minute: Minute,
    leaked: float,
    dt: float,
) -> RoomEnd:
    """Solve a room with wet surfaces or full stores, or that would end beyond saturation.

    It is a function of its own, because an ordinary house does not need it in an ordinary step.

    Parameters
    ----------
    leaked : float
        Outdoor air through leaks that the room needs at least, kg/s.
    """
    volume, held = room_of(state), 0.0
    for breath in range(MOST_BREATHS):
        at = room_at(
            zone, state, stores, fan_heat, exchange, acting, minute, leaked, held, True, dt
        )
        if breath == MOST_BREATHS - 1:
            break
        if at.fog < 0.0:
            held = 0.0
            continue
        t_end, w_end = at.heat.indoor_temperature, at.wet.humidity_ratio
        if not_at_saturation(w_end, t_end, held, minute.pressure):
            held = more_held(
                volume, at.water, at.water.below, at.air, held, t_end, minute.pressure, dt
            )
            continue
        if at.leaving >= 0.0:
            break
        leaked -= at.leaving * (1.0 + 1.0e-6)
    fog = max(at.fog, 0.0)
    film = film_after(zone, volume.film, acting.wetting + fog + at.wet.onto_full, dt)
    return room_end(
        film, fog, at.wet, at.heat, at.dry_air, leaked, at.leaving, 0.0, 0.0, at.holding,
        minute.pressure,
    )  # fmt: skip


@piece
def room_end(
    film: Film,
    fog: float,
    wet: WaterStep,
    heat: HeatStep,
    dry_air: float,
    leaked: float,
    leaving: float,
    through_spaces: float,
    elsewhere: float,
    holding: float,
    pressure: float,
) -> RoomEnd:
    """The room at the end of a step, from its solution."""
    t_end, w_end = heat.indoor_temperature, wet.humidity_ratio
    saturation = air.saturation_pressure(t_end)
    return RoomEnd(
        air=MoistAir(t_end, w_end, air.enthalpy(t_end, w_end)),
        dry_air=dry_air,
        saturation=saturation,
        rh=air.share_of_saturation(w_end, pressure, saturation),
        leaked=leaked,
        leaving=leaving,
        through_spaces=through_spaces,
        elsewhere=elsewhere,
        holding=holding,
        fog=fog,
        film=film,
        wet=wet,
        heat=heat,
    )
