"""Changes of single functions of the engine, for the tests of the balance.

`MUTATIONS` and `SPACE_MUTATIONS` break a conservation law, in the physics or in the meter, so each must open a
balance. `CONSERVING` and `SPACE_CONSERVING` describe another house or machine, so the balances still close.
"""

from types import ModuleType
from typing import NamedTuple

from moistsim.engine import (
    air_exchange,
    air_handler,
    air_network,
    drying,
    ducts,
    metering,
    room,
    saturated_air,
    second_system,
    space_leaks,
    spaces,
    ventilating,
    zone,
)


class Mutation(NamedTuple):
    """A change to the source of one function, which breaks a conservation law."""

    function: str
    old: str
    new: str


AIR_HANDLER, WATER, HEAT = "run_air_handler", "water_node", "heat_node"
ACT, SETTLE_ROOM, EXCHANGE = "act", "settle_room", "exchange_air"
FROM_MACHINES = "from_machines"
METER_AIR, METER_WATER, METER_HEAT = "meter_air", "meter_water", "meter_heat"
METER_COIL, METER_HEATING = "meter_coil", "meter_heating"
METER_DEHUMIDIFIER, METER_VAPOR = "meter_dehumidifier", "meter_vapor"
ROOM_AT, SETTLING = "room_at", "settling"
FILM, HOLD = "film_after", "hold_saturated"
SETTLE, STORES = "settle", "stores_at"
DRY, OUTDOORS, RETURN, SUPPLY = "dry", "outdoor_air", "return_air", "supply_air"
MODULE: dict[str, ModuleType] = {
    ACT: room,
    FROM_MACHINES: room,
    SETTLE_ROOM: room,
    EXCHANGE: air_exchange,
    METER_AIR: metering,
    METER_WATER: metering,
    METER_HEAT: metering,
    METER_COIL: metering,
    METER_HEATING: metering,
    METER_DEHUMIDIFIER: metering,
    METER_VAPOR: metering,
    AIR_HANDLER: air_handler,
    WATER: zone,
    SETTLE: zone,
    FILM: saturated_air,
    SETTLING: saturated_air,
    ROOM_AT: room,
    STORES: zone,
    HEAT: zone,
    DRY: drying,
    OUTDOORS: ventilating,
    RETURN: ducts,
    SUPPLY: ducts,
}

MUTATIONS = {
    # What reaches the zone, changed in the stepping only.
    "fan heat not in the air stream": Mutation(
        AIR_HANDLER, "(fan + strip + heat + hot_gas", "(strip + heat + hot_gas"
    ),
    "strip heat not in the air stream": Mutation(
        AIR_HANDLER, "(fan + strip + heat + hot_gas", "(fan + heat + hot_gas"
    ),
    "heat pump's heat counted twice": Mutation(
        AIR_HANDLER, "(fan + strip + heat + hot_gas", "(fan + strip + 2.0 * heat + hot_gas"
    ),
    "hot gas not in the air stream": Mutation(
        AIR_HANDLER, "+ heat + hot_gas + furnace)", "+ heat + furnace)"
    ),
    "furnace not in the air stream": Mutation(
        AIR_HANDLER, "+ heat + hot_gas + furnace)", "+ heat + hot_gas)"
    ),
    "start-up ignored by the air": Mutation(
        AIR_HANDLER, "h = h_entering - share * (h_entering - coil.h_leaving)", "h = coil.h_leaving"
    ),
    "re-evaporated water without its enthalpy": Mutation(
        AIR_HANDLER, "h_entering + reevaporated * CONDENSATE_ENTHALPY * per_dry_air", "h_entering"
    ),
    "re-evaporated water lost": Mutation(
        AIR_HANDLER, "w_out = w + reevaporated * per_dry_air", "w_out = w"
    ),
    "re-evaporated water stays on the coil": Mutation(
        AIR_HANDLER, "water += (condensed - reevaporated) * dt", "water += condensed * dt"
    ),
    "drained water stays on the coil": Mutation(
        AIR_HANDLER, "water -= drained * dt", "water -= 0.0"
    ),
    "condensate counted as warm": Mutation(
        AIR_HANDLER,
        "refrigerant = total - condensed * CONDENSATE_ENTHALPY",
        "refrigerant = total",
    ),
    "dehumidifier's electricity does not heat": Mutation(
        DRY, "(drawn - removed * CONDENSATE_ENTHALPY)", "(-removed * CONDENSATE_ENTHALPY)"
    ),
    "dehumidifier's water keeps its enthalpy": Mutation(
        DRY, "(drawn - removed * CONDENSATE_ENTHALPY)", "drawn"
    ),
    "dehumidifier dries nothing": Mutation(DRY, "w - removed / dehumidifier.flow", "w"),
    "condensate pump does not heat": Mutation(
        DRY, "h + (drawn - removed", "h + (drawn - dehumidifier.pump_power - removed"
    ),
    "dehumidifier sends air that it did not take": Mutation(
        FROM_MACHINES, "dried.humidity_ratio - inlet.humidity_ratio",
        "dried.humidity_ratio - mixed.humidity_ratio",
    ),
    "dehumidifier sends warmth that it did not take": Mutation(
        FROM_MACHINES, "dried.enthalpy - inlet.enthalpy", "dried.enthalpy - mixed.enthalpy"
    ),
    "household moisture lost": Mutation(
        ACT, "brought.water + minute.moisture - wetting", "brought.water - wetting"
    ),
    "household moisture without its enthalpy": Mutation(
        ACT, "+ minute.moisture * SOURCE_ENTHALPY\n", "\n"
    ),
    "gains heat the air twice": Mutation(
        ACT, "+ minute.gains * zone.gains_to_air\n", "+ 2.0 * minute.gains * zone.gains_to_air\n"
    ),
    "controls do not heat": Mutation(ACT, "            + brought.standby\n", "\n"),
    "no work of pressure": Mutation(ACT, "            + squeeze\n", "\n"),
    "water on surfaces stays in the air": Mutation(
        ACT, "brought.water + minute.moisture - wetting", "brought.water + minute.moisture"
    ),
    "sorbed water keeps its enthalpy": Mutation(
        HEAT, "bound = vapor - SORBED_ENTHALPY", "bound = vapor"
    ),
    "room heater does not heat": Mutation(ACT, "            + heater,", "            ,"),
    "imposed heat of another scale": Mutation(
        ROOM_AT, "- air_node.above) / scale", "- air_node.above)"
    ),
    "imposed heat without the air's own": Mutation(
        ROOM_AT, "imposed * air_node.below - air_node.above", "imposed * air_node.below"
    ),
    "ventilation fan does not heat": Mutation(
        ROOM_AT, "outdoors.heat + fan_heat", "outdoors.heat"
    ),
    "no sensible recovery in the step": Mutation(
        ROOM_AT, "leaked * h_out + outdoors.heat +",
        "leaked * h_out + outdoors.ventilated * h_out +",
    ),
    "no latent recovery in the step": Mutation(
        ROOM_AT,
        "leaked * minute.w_out + outdoors.water",
        "leaked * minute.w_out + outdoors.ventilated * minute.w_out",
    ),
    "ventilation brings no water": Mutation(
        ROOM_AT, "leaked * minute.w_out + outdoors.water", "leaked * minute.w_out"
    ),
    "sun on the slow mass twice": Mutation(
        ACT, "minute.sun - sun_air - sun_fast,", "minute.sun - sun_air,"
    ),
    "sun does not heat the air": Mutation(ACT, "            + sun_air\n", "\n"),
    "light contents forget their heat": Mutation(HEAT, "        + light * t\n", "\n"),
    "deep store does not fill": Mutation(
        SETTLE,
        "deep_end = deep_rh + store.deep_share * (surface_end - deep_rh)",
        "deep_end = deep_rh",
    ),
    "what goes to the deep store does not leave the air": Mutation(
        SETTLE, "(surface_end - surface_rh) + to_deep", "(surface_end - surface_rh)"
    ),
    "store gives no water back": Mutation(
        WATER, "volume.humidity_ratio + known + dt", "volume.humidity_ratio + dt"
    ),
    "windows do not bring outdoor warmth": Mutation(
        HEAT, "+ zone.windows * (around.outdoors - (1.0 - weight) * t)\n", "\n"
    ),
    "air and fast mass exchange two amounts": Mutation(HEAT, "        - before\n", "\n"),
    "slow mass does not warm the fast": Mutation(
        HEAT, "+ zone.fast_to_slow * slow_offset\n", "\n"
    ),
    "vapor with a little less heat of evaporation": Mutation(
        HEAT, "- mass * air.H_EVAPORATION)", "- 0.999 * mass * air.H_EVAPORATION)"
    ),
    "return draws air that does not heat the coil's air": Mutation(
        RETURN, "+ walls + leak_heat)", "+ walls)"
    ),
    "return's walls do not warm it": Mutation(RETURN, "+ walls + leak_heat)", "+ leak_heat)"),
    "attic air is as dry as the room's": Mutation(
        RETURN, "w_in = w + ducts.return_leak * (w_space - w)", "w_in = w"
    ),
    "room gives the return all of the blower's water": Mutation(
        FROM_MACHINES, "water += back.leak * mixed.humidity_ratio - lost.leak_water",
        "water += -lost.leak_water",
    ),
    "supply's leak does not leave the room": Mutation(
        FROM_MACHINES, "back.leak * mixed.enthalpy - lost.leak_heat", "back.leak * mixed.enthalpy",
    ),
    "ducts move no air": Mutation(FROM_MACHINES, "heat, back.leak - lost.leak, standby", "heat, 0.0, standby"),
    "contents give no water back": Mutation(
        WATER, "known = walls.known + contents.known", "known = walls.known"
    ),
    "what contents take leaves no heat behind": Mutation(
        WATER, "-known * (1.0 / dt)", "-walls.known * (1.0 / dt)"
    ),
    "new materials dry without heat": Mutation(
        ROOM_AT, "+ (acting.wetting - minute.construction)", "+ acting.wetting"
    ),
    "new materials dry without water": Mutation(
        ACT, "+ minute.ground_vapor + minute.construction,", "+ minute.ground_vapor,"
    ),
    "ground's vapor lost": Mutation(
        ACT, "- wetting + minute.ground_vapor", "- wetting"
    ),
    "ground's vapor without its enthalpy": Mutation(
        ACT, "+ minute.ground_vapor * GROUND_VAPOR_ENTHALPY\n", "\n"
    ),
    "open windows let no air out": Mutation(
        ROOM_AT, "leaving = outdoor.dry_air -", "leaving = outdoor.dry_air - opened -"
    ),
    "open windows bring no water": Mutation(
        ROOM_AT, "outdoors.water + opened * minute.w_out,", "outdoors.water,"
    ),
    "open windows bring no warmth": Mutation(
        ROOM_AT, "fan_heat + opened * h_out,", "fan_heat,"
    ),
    # What the meter writes down, changed in the metering only.
    "meter: windows shut": Mutation(METER_VAPOR, "air_opening=exchange.opened,", "air_opening=0.0,"),
    "meter: dry ground": Mutation(
        METER_VAPOR, "water_ground=minute.ground_vapor", "water_ground=0.0"
    ),
    "meter: old walls": Mutation(
        METER_VAPOR, "water_construction=minute.construction", "water_construction=0.0"
    ),
    "meter: gas for the furnace's heat": Mutation(
        METER_HEATING, "heat_furnace=stream.furnace", "heat_furnace=gas"
    ),
    "meter: no hot gas": Mutation(METER_HEATING, "heat_hot_gas=stream.hot_gas", "heat_hot_gas=0.0"),
    "meter: fan twice": Mutation(METER_COIL, "indoor_fan=stream.fan", "indoor_fan=2.0 * stream.fan"),
    "meter: no backup heat": Mutation(
        METER_HEATING, "backup_heat=strip_watts * running.backup", "backup_heat=0.0"
    ),
    "meter: no reheat": Mutation(
        METER_HEATING, "reheat=strip_watts * (1.0 - running.backup)", "reheat=0.0"
    ),
    "meter: heat pump's input for its heat": Mutation(
        METER_HEATING, "heat_heat_pump=stream.heat_pump_heat", "heat_heat_pump=stream.heat_pump_input"
    ),
    "meter: dehumidifier's kWh halved": Mutation(
        METER_DEHUMIDIFIER, "dehumidifier=dried.power * on", "dehumidifier=0.5 * dried.power * on"
    ),
    "meter: coil's whole heat for the refrigerant's": Mutation(
        METER_COIL, "heat_refrigerant=-stream.refrigerant", "heat_refrigerant=-stream.total"
    ),
    "meter: no drain": Mutation(METER_COIL, "water_drained=-stream.drained", "water_drained=0.0"),
    "meter: no enthalpy of the drain": Mutation(
        METER_COIL, "heat_drained=-stream.drained * CONDENSATE_ENTHALPY", "heat_drained=0.0"
    ),
    "meter: no water of the dehumidifier": Mutation(
        METER_DEHUMIDIFIER, "water_dehumidifier=-dried.water", "water_dehumidifier=0.0"
    ),
    "meter: no water runs off surfaces": Mutation(
        METER_VAPOR, "water_run_off=-end.film.ran_off", "water_run_off=0.0"
    ),
    "fog keeps its warmth in the air": Mutation(
        SETTLING, "sources.to_air - fog * SORBED_ENTHALPY", "sources.to_air"
    ),
    "half of the fog is lost": Mutation(
        ROOM_AT, "(node.above - node.below * held) * (1.0 / dt)",
        "(node.above - node.below * held) * (0.5 / dt)",
    ),
    "a film does not hold what it gains": Mutation(FILM, "film + dt * gained", "film"),
    "what runs off stays too": Mutation(FILM, "min(whole, zone.film_limit)", "whole"),
    "meter: ventilation without latent recovery": Mutation(
        METER_WATER,
        "water_ventilation=exchange.outdoors.water",
        "water_ventilation=exchange.outdoors.ventilated * minute.w_out",
    ),
    "meter: air leaves as outdoor air": Mutation(
        METER_HEAT, "heat_out=-end.leaving * end.air.enthalpy",
        "heat_out=-end.leaving * air.enthalpy(minute.t_out, minute.w_out)",
    ),
    "meter: water leaves as outdoor air's": Mutation(
        METER_WATER, "water_out=-end.leaving * end.air.humidity_ratio",
        "water_out=-end.leaving * minute.w_out",
    ),
    "meter: house does not breathe": Mutation(
        METER_AIR, "air_out=-end.leaving", "air_out=-(end.leaked + exchange.outdoors.ventilated)"
    ),
    "meter: windows at the temperature of the fast mass": Mutation(
        METER_HEAT, "(minute.t_out - heat.mean_temperature)",
        "(minute.t_out - heat.fast_temperature)",
    ),
    "meter: walls before the step": Mutation(
        METER_HEAT,
        "(minute.sol_air - heat.fast_temperature)",
        "(minute.sol_air - fast_before)",
    ),
    "meter: ground at the temperature of the fast mass": Mutation(
        METER_HEAT,
        "(minute.ground - heat.slow_temperature)",
        "(minute.ground - heat.fast_temperature)",
    ),
}  # fmt: skip

CONSERVING = {
    "a stronger fan": Mutation(
        AIR_HANDLER, "fan = unit.fan_power *", "fan = 2.0 * unit.fan_power *"
    ),
    "a house that leaks less beside its fans": Mutation(
        OUTDOORS, "total_outdoor_air(natural,", "total_outdoor_air(0.5 * natural,"
    ),
    "supply that leaks ahead of its walls": Mutation(
        SUPPLY, "leak * (h + walls / dry_air)", "leak * h"
    ),
    "ducts of better insulation": Mutation(
        SUPPLY, "math.exp(-share * ducts.supply_walls", "math.exp(-0.2 * share * ducts.supply_walls"
    ),
    "windows half open": Mutation(
        EXCHANGE, "opened = minute.density *", "opened = 0.5 * minute.density *"
    ),
    "a paint that lets less by": Mutation(
        STORES, "a1 = dt * zone.air_to_surface", "a1 = 0.5 * dt * zone.air_to_surface"
    ),
}  # fmt: skip
"""Other houses and machines, not other laws: with these the balance must still close."""


FORESEE, BLOWN_BY, INFLOW_OF, VAPOR_INTO = "foresee", "blown_by", "inflow_of", "vapor_into"
SETTLE_SPACES, SOLVE, LEAVING_FROM, MOVE_ON = "settle_spaces", "solve", "leaving_from", "move_on"
NEXT_DOOR = (
    FORESEE, BLOWN_BY, INFLOW_OF, VAPOR_INTO, SETTLE_SPACES, SOLVE, LEAVING_FROM, MOVE_ON,
    "node_at", HOLD,
)  # fmt: skip
MODULE |= dict.fromkeys(NEXT_DOOR, spaces) | {"both_ways": space_leaks}
MODULE |= dict.fromkeys((SOLVE, VAPOR_INTO, HOLD), air_network)

SPACE_MUTATIONS = {
    # What reaches a space before its end is known.
    "space: moisture of its people lost": Mutation(
        FORESEE, "water=hour.moisture - dried.water", "water=-dried.water"
    ),
    "space: dehumidifier dries nothing": Mutation(
        FORESEE, "water=hour.moisture - dried.water", "water=hour.moisture"
    ),
    "space: dew on surfaces stays in the air": Mutation(
        FORESEE, "- dried.water - wetting,", "- dried.water,"
    ),
    "space: moisture without its enthalpy": Mutation(
        FORESEE, "        + hour.moisture * SOURCE_ENTHALPY\n", ""
    ),
    "space: gains heat twice": Mutation(FORESEE, "heat=hour.gains", "heat=2.0 * hour.gains"),
    "space: dehumidifier's electricity does not heat": Mutation(
        FORESEE, "        + power\n", ""
    ),
    "space: condensate keeps its enthalpy": Mutation(
        FORESEE, "        - dried.water * CONDENSATE_ENTHALPY\n", ""
    ),
    "space: no work of pressure": Mutation(FORESEE, "        + squeeze,", "        ,"),
    "space: return draws water twice": Mutation(
        FORESEE, "blown.supplied.water - drawn * w", "blown.supplied.water - 2.0 * drawn * w"
    ),
    "space: supply brings no heat": Mutation(
        FORESEE, "was.supply_share * blown.supplied.heat - drawn * h", "-drawn * h"
    ),
    "space: return draws air twice": Mutation(
        FORESEE, "blown.supplied.dry_air - drawn,", "blown.supplied.dry_air - 2.0 * drawn,"
    ),
    # What ducts lose, and what their space gains.
    "ducts: the supply's leak vanishes": Mutation(
        BLOWN_BY, "            back.leak - lost.leak,", "            back.leak,"
    ),
    "ducts: the return draws no water": Mutation(
        BLOWN_BY, "back.leak_water - lost.leak_water + lost.sweat", "lost.sweat - lost.leak_water"
    ),
    "ducts: sweat drips and stays": Mutation(
        BLOWN_BY, "back.leak_water - lost.leak_water + lost.sweat",
        "back.leak_water - lost.leak_water",
    ),
    "ducts: the return's walls take no heat": Mutation(
        BLOWN_BY, "back.walls + lost.walls", "lost.walls"
    ),
    "ducts: sweat drips without its enthalpy": Mutation(
        BLOWN_BY, "            + lost.sweat * SORBED_ENTHALPY,", "            ,"
    ),
    # The equations of a space.
    "space: vents bring no water": Mutation(INFLOW_OF, "fresh * w_out + known", "known"),
    "space: vents bring no heat": Mutation(INFLOW_OF, "fresh * h_out + known", "known"),
    "space: ducts leak no water": Mutation(
        INFLOW_OF, "+ known.leaks_water + known.blown_water", "+ known.blown_water"
    ),
    "space: ducts leak no heat": Mutation(
        INFLOW_OF, "+ known.leaks_heat + known.blown_heat", "+ known.blown_heat"
    ),
    "space: ducts leak no air": Mutation(
        INFLOW_OF, "fresh + known.leaks_dry +", "fresh +"
    ),
    "spaces: vapor between them loses heat": Mutation(
        VAPOR_INTO, "total * air.H_EVAPORATION", "0.999 * total * air.H_EVAPORATION"
    ),
    "spaces: vapor between them has no warmth": Mutation(
        SETTLE_SPACES, "air.CP_DRY_AIR + air.CP_VAPOR * work[w_ends, j]", "air.CP_DRY_AIR"
    ),
    "spaces: the second zone's air keeps its water": Mutation(
        SETTLE_SPACES, "moved.water - known.blown_water", "moved.water"
    ),
    "spaces: the second zone's air keeps its heat": Mutation(
        SETTLE_SPACES, "moved.heat - known.blown_heat", "moved.heat"
    ),
    "spaces: the second zone's air is not missed": Mutation(
        SETTLE_SPACES, "moved.dry_air - known.blown_dry", "moved.dry_air"
    ),
    "spaces: no heat of vapor into the house": Mutation(
        SETTLE_SPACES, "house_air.heat + vapor_into(work, 0, bodies, w_ends)", "house_air.heat"
    ),
    "spaces: no heat of vapor into a space": Mutation(
        SETTLE_SPACES, "inflow.heat + vapor_into(work, k + 1, bodies, w_ends)", "inflow.heat"
    ),
    "spaces: imposed heat forgets the other bodies": Mutation(
        SETTLE_SPACES, "holding += work[replaced, j] * work[t_ends, j]",
        "holding += work[replaced, 0] * work[t_ends, 0]",
    ),
    "spaces: house not linked": Mutation(SETTLE_SPACES, "linked, settling", "0.0, settling"),
    "spaces: floor heats the house alone": Mutation(
        SETTLE_SPACES, "work[bodies + k + 1, 0] -= space.house.conductance",
        "work[bodies + k + 1, 0] -= 0.0",
    ),
    "spaces: floor cools the space alone": Mutation(
        SETTLE_SPACES, "work[bodies, k + 1] -= space.house.conductance", "work[bodies, k + 1] -= 0.0"
    ),
    "spaces: ceiling of the second zone from one side": Mutation(
        SETTLE_SPACES, "work[bodies + k + 1, second + 1] -= space.second.conductance",
        "work[bodies + k + 1, second + 1] -= 0.0",
    ),
    "spaces: ceiling of the second zone from the other side": Mutation(
        SETTLE_SPACES, "links += space_of(spaces.parameters, other).second.conductance",
        "links += 0.0",
    ),
    "spaces: deck radiates without cooling": Mutation(
        SETTLE_SPACES, "- known.radiated - known.radiated_second", ""
    ),
    "spaces: radiation does not reach the house": Mutation(
        SETTLE_SPACES, "- known.blown_heat + known.radiated", "- known.blown_heat"
    ),
    "spaces: radiation does not reach the second zone": Mutation(
        SETTLE_SPACES, "KNOWN_HEAT] += known.radiated_second", "KNOWN_HEAT] += 0.0"
    ),
    "meter: no radiation to the house": Mutation(
        MOVE_ON, "(t - t_house) + known.radiated", "(t - t_house)"
    ),
    "meter: no radiation to the second zone": Mutation(
        MOVE_ON, "(t - t_second) + known.radiated_second", "(t - t_second)"
    ),
    "spaces: soil dries into nothing": Mutation(
        SETTLE_SPACES, "known.water + space.soil * known.soil_pressure", "known.water"
    ),
    "spaces: soil takes no water back": Mutation(
        SETTLE_SPACES, "wet.below + soil * own.to_pressure", "wet.below"
    ),
    "spaces: soil's vapor is cold": Mutation(
        SETTLE_SPACES, "+ soil * GROUND_VAPOR_ENTHALPY", ""
    ),
    "spaces: soil dries without heat": Mutation(
        SETTLE_SPACES, "- soil * (GROUND_VAPOR_ENTHALPY - SORBED_ENTHALPY)", ""
    ),
    "spaces: dew does not heat": Mutation(
        SETTLE_SPACES, "wet.sorbing + known.wetting, Boundary", "wet.sorbing, Boundary"
    ),
    "spaces: gains heat no surfaces": Mutation(
        SETTLE_SPACES, "known.gains * (1.0 - part.gains_to_air) +", ""
    ),
    "spaces: sun heats no surfaces": Mutation(
        SETTLE_SPACES, "+ known.sun * part.sun_to_fast", ""
    ),
    "spaces: air leaves twice": Mutation(
        SETTLE_SPACES, "leaving -= out_of(work, 0, bodies)", "leaving -= 2.0 * out_of(work, 0, bodies)"
    ),
    "spaces: elimination stops short": Mutation(
        SOLVE, "work[first + j, k] -= share * work[first + i, k]",
        "work[first + j, k] -= 0.999 * share * work[first + i, k]",
    ),
    "space: what goes to other bodies leaves it once more": Mutation(
        LEAVING_FROM, " - out_of(work, k + 1, bodies)", ""
    ),
    # The end of the step, and the meter.
    "space: wood forgets its depth": Mutation(MOVE_ON, "wet.surface_rh, wet.deep_rh,", "wet.surface_rh, before.deep_rh,"),
    "space: concrete forgets": Mutation(MOVE_ON, "wet.contents_rh, wet.contents_deep_rh,", "before.contents_rh, wet.contents_deep_rh,"),
    "space: ground forgets": Mutation(MOVE_ON, "        heat.slow_temperature, wet", "        before.slow_temperature, wet"),
    "meter: no vents": Mutation(MOVE_ON, "air_outdoors=fresh", "air_outdoors=0.0"),
    "meter: dry vents": Mutation(MOVE_ON, "water_outdoors=fresh * minute.w_out", "water_outdoors=0.0"),
    "meter: space does not breathe out": Mutation(MOVE_ON, "air_out=-leaving", "air_out=0.0"),
    "meter: space's water leaves as outdoor air's": Mutation(
        MOVE_ON, "water_out=-leaving * w,", "water_out=-leaving * minute.w_out,"
    ),
    "meter: space's heat leaves before the step": Mutation(
        MOVE_ON, "heat_out=-leaving * h,", "heat_out=-leaving * h_before,"
    ),
    "meter: house draws its own water": Mutation(
        MOVE_ON, "water_to_house=to_house * w +", "water_to_house=to_house * w_house +"
    ),
    "meter: house pushes the space's water": Mutation(
        MOVE_ON, "water_from_house=-from_house * w_house", "water_from_house=-from_house * w"
    ),
    "meter: house draws twice": Mutation(
        MOVE_ON, "heat_to_house=to_house * h", "heat_to_house=2.0 * to_house * h"
    ),
    "meter: return draws what is there at the end": Mutation(
        MOVE_ON, "+ drawn * before.humidity_ratio", "+ drawn * w"
    ),
    "meter: second zone's supply without air": Mutation(
        MOVE_ON, " - supplied * blown.supplied.dry_air", ""
    ),
    "meter: second zone draws from nowhere": Mutation(
        MOVE_ON, "air_to_second=to_second", "air_to_second=0.0"
    ),
    "meter: second zone pushes no heat": Mutation(
        MOVE_ON, "heat_from_second=-from_second *", "heat_from_second=-0.0 *"
    ),
    "meter: floor before the step": Mutation(
        MOVE_ON, "space.house.conductance * (t - t_house)",
        "space.house.conductance * (before.temperature - t_house)",
    ),
    "meter: ceiling of the second zone lost": Mutation(
        MOVE_ON, "heat_partition_second=space", "heat_partition_second=0.0 * space"
    ),
    "meter: deck before the step": Mutation(
        MOVE_ON, "known.sol_air - heat.fast_temperature", "known.sol_air - before.fast_temperature"
    ),
    "meter: ground at the wood's temperature": Mutation(
        MOVE_ON, "known.ground - heat.slow_temperature", "known.ground - heat.fast_temperature"
    ),
    "meter: windows at the end of the step": Mutation(
        MOVE_ON, "minute.t_out - heat.mean_temperature", "minute.t_out - t"
    ),
    "meter: soil's water without heat": Mutation(
        MOVE_ON, "heat_soil=soil * SORBED_ENTHALPY", "heat_soil=0.0"
    ),
    "meter: no soil": Mutation(MOVE_ON, "water_soil=soil", "water_soil=0.0"),
    "meter: no people in the space": Mutation(MOVE_ON, "water_gains=known.moisture", "water_gains=0.0"),
    "spaces: half of the fog is lost": Mutation(
        HOLD, "max(left, 0.0) * (1.0 / dt)", "max(left, 0.0) * (0.5 / dt)"
    ),
    "spaces: fog keeps its warmth in the air": Mutation(
        SETTLE_SPACES, "                    - work[fogs, k + 1] * SORBED_ENTHALPY,", "                    ,"
    ),
    "meter: nothing runs off in the space": Mutation(
        MOVE_ON, "water_run_off=-film.ran_off", "water_run_off=0.0"
    ),
    "meter: space's dehumidifier drains nothing": Mutation(
        MOVE_ON, "water_dehumidifier=-known.removed", "water_dehumidifier=0.0"
    ),
    "meter: space's dehumidifier without electricity": Mutation(
        MOVE_ON, "dehumidifier=known.power", "dehumidifier=0.0"
    ),
    "meter: no work of pressure in the space": Mutation(
        MOVE_ON, "heat_pressure=known.squeeze", "heat_pressure=0.0"
    ),
    "meter: wood gives water twice": Mutation(
        MOVE_ON, "water_stored=-wet.to_surface -", "water_stored=-2.0 * wet.to_surface -"
    ),
    "meter: drips not counted": Mutation(MOVE_ON, "water_sweat=known.sweat", "water_sweat=0.0"),
}  # fmt: skip
"""Laws broken in a space next to the house, or in what passes between the two."""

SPACE_CONSERVING = {
    "drier soil": Mutation(
        FORESEE, "air.saturation_pressure(volume.slow_temperature)",
        "0.5 * air.saturation_pressure(volume.slow_temperature)",
    ),
    "smaller vents": Mutation(SETTLE_SPACES, "+= natural * density", "+= 0.5 * natural * density"),
    "air that passes one way alone": Mutation(
        SETTLE_SPACES, "work[second + 1, k + 1] += mixed", "work[second + 1, k + 1] += 0.0"
    ),
    "a narrower stair": Mutation(
        "both_ways", "density * (path.mixing + stairs)", "0.5 * density * (path.mixing + stairs)"
    ),
    "a white roof": Mutation(
        "node_at", "low.sol_air + place", "0.9 * low.sol_air + place"
    ),
}  # fmt: skip


ADD_SECOND, END_SECOND, SHARE_LEAKS = "add_second_system", "end_second", "share_leaks"
MODULE |= {ADD_SECOND: spaces, END_SECOND: second_system, SHARE_LEAKS: space_leaks}
UPSTAIRS = (ADD_SECOND, END_SECOND, SHARE_LEAKS)
"""Functions that only a house of two systems puts to work as a whole."""

SECOND_MUTATIONS = {
    "second system: its ducts move no air": Mutation(ADD_SECOND, "+ own.ducted", ""),
    "second system: dries nothing": Mutation(ADD_SECOND, "+ own.water", ""),
    "second system: heat without its controls": Mutation(ADD_SECOND, " + own.standby", ""),
    "second system: its blower brings no heat": Mutation(
        ADD_SECOND, "known.blown_heat + own.heat", "known.blown_heat"
    ),
    "second system: leaks without air": Mutation(ADD_SECOND, "known.leaks_dry - leaks.dry_air", "known.leaks_dry"),
    "second system: leaks without water": Mutation(
        ADD_SECOND, "known.leaks_water - leaks.water", "known.leaks_water"
    ),
    "second system: leaks without heat": Mutation(
        ADD_SECOND, "known.leaks_heat - leaks.heat", "known.leaks_heat"
    ),
    "second system: drips not counted": Mutation(ADD_SECOND, "known.sweat + second.blown.sweat", "known.sweat"),
    "second system: the coil forgets its water": Mutation(
        END_SECOND, "write_from(second.states, 0, 0, new)",
        "write_from(second.states, 0, 0, new._replace(coil_water=0.0))",
    ),
    "second system: controls without heat on the meter": Mutation(
        END_SECOND, "heat_standby=works.brought.standby", "heat_standby=0.0"
    ),
    "second system: ducts of the other one on the meter": Mutation(
        END_SECOND, "meter_ducts(machines.back, machines.lost)",
        "meter_ducts(machines.back._replace(leak=0.0), machines.lost)",
    ),
}  # fmt: skip
"""Laws broken in a house of two systems."""

SECOND_CONSERVING = {
    "air that the second system's ducts lack comes through leaks alone": Mutation(
        SHARE_LEAKS, "leaves - enters - ducted", "leaves - enters"
    ),
}
