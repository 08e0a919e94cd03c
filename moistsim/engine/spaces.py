"""Spaces next to the house's zone, solved with it in one implicit step.

Zone and spaces are bodies of air. Each has its own masses, moisture stores and surfaces, and the
equations of `zone`. Between two of them, heat flows from air to air through ceiling, floor or wall,
and air moves through leaks, stairs and ducts. With F_ij the dry air that body i receives from body
j, and U_ij the conductance between them, the ends of the step are two linear systems:

    (m_i/dt + sum F_in) W_i' - sum_j F_ij W_j' = m_i/dt W_i + water that is known
    (m_i/dt + sum F_in) h_i' - sum_j F_ij h_j' + sum_j U_ij (t_i' - t_j') = m_i/dt h_i + heat that is known

Stores and masses are expressed by the air, as in `zone`. The matrices are M-matrices, diagonally
dominant in their rows, so elimination needs no pivots. Machines act on the air at the start of the
step: what ducts leak, draw and lose is known.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import compiled, piece
from moistsim.engine.air_exchange import Exchange
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY, Stream
from moistsim.engine.air_network import hold_more, hold_saturated, into, out_of, solve, vapor_into
from moistsim.engine.airflow import natural_infiltration
from moistsim.engine.drying import Inlet, dry
from moistsim.engine.ducts import ReturnAir, SupplyAir
from moistsim.engine.forcing_tables import (
    NOT_IMPOSED,
    Hour,
    Node,
    Place,
    SpaceHour,
    SpaceNode,
)
from moistsim.engine.metering import STEP_FIELDS, flag
from moistsim.engine.outset import (
    Spaces,
    mean_temperature,
    passes_on,
    sorbing_share,
    space_of,
    space_state,
)
from moistsim.engine.records import (
    Boundary,
    DehumidifierParameters,
    DuctParameters,
    Minute,
    MoistAir,
    Probe,
    SpaceParameters,
    SpaceState,
    Volume,
    ZoneParameters,
)
from moistsim.engine.room import (
    MOST_BREATHS,
    R_OVER_MOLE_RATIO,
    Acting,
    FromMachines,
    RoomEnd,
    room_end,
)
from moistsim.engine.rows import add_from, reader_from, write_from
from moistsim.engine.saturated_air import (
    film_after,
    not_at_saturation,
    settling,
    wet_surfaces,
)
from moistsim.engine.space_leaks import both_ways, drive_of, share_leaks
from moistsim.engine.space_metering import SPACE_FIELDS, SpaceMeter
from moistsim.engine.zone import (
    GROUND_VAPOR_ENTHALPY,
    SORBED_ENTHALPY,
    SOURCE_ENTHALPY,
    HeatNode,
    HeatSources,
    Inflow,
    Stores,
    WaterNode,
    WaterStep,
    heat_node,
    settle_heat,
    settle_water,
    stores_at,
    water_node,
)


class Blown(NamedTuple):
    """Air that the blower takes from the rooms and brings to them in a step."""

    supplied: Inflow
    """Supply air that reaches the rooms: kg/s of dry air, kg/s of water, W."""
    drawn: float
    """Dry air that the return takes from the rooms, kg/s."""
    into_ducts: Inflow
    """Air of the space around the ducts that they take up, less what they lose to it.
    It includes the heat through their walls and the water that drips off them."""
    sweat: float
    """Water that drips off cold ducts, kg/s."""


@piece
def blown_by(stream: Stream, mixed: MoistAir, back: ReturnAir, lost: SupplyAir) -> Blown:
    """Air that the blower takes from the rooms and brings to them in a step."""
    return Blown(
        supplied=Inflow(
            stream.dry_air - lost.leak,
            stream.dry_air * stream.w_supply - lost.leak_water,
            stream.dry_air * stream.h_supply + lost.walls - lost.leak_heat,
        ),
        drawn=stream.dry_air - back.leak,
        into_ducts=Inflow(
            back.leak - lost.leak,
            back.leak_water - lost.leak_water + lost.sweat,
            back.leak_heat - lost.leak_heat + back.walls + lost.walls
            + lost.sweat * SORBED_ENTHALPY,
        ),
        sweat=lost.sweat,
    )  # fmt: skip


class SecondDelivery(NamedTuple):
    """Effects of a second zone's own system in a step."""

    zone: FromMachines
    """Effects on the second zone."""
    blown: Blown
    """Air of its blower."""
    ducts: DuctParameters
    """Its ducts."""


class Known(NamedTuple):
    """Effects on a space in a step that do not depend on its end."""

    leaks_dry: float
    """Dry air from leaks of ducts, kg/s."""
    leaks_water: float
    """Water from leaks of ducts, less the water that drips off cold ducts, kg/s."""
    leaks_heat: float
    """Enthalpy of the leaks of ducts and heat through their walls, W."""
    blown_dry: float
    """Dry air that blowers bring less that they draw, kg/s."""
    blown_water: float
    """Water that blowers bring less that they draw, kg/s; with that of all machines of a second system."""
    blown_heat: float
    """Enthalpy that blowers bring less that they draw, W; with that of all machines of a second system."""
    water: float
    """Water into the air from people and machines, less that onto surfaces, kg/s."""
    heat: float
    """Heat into the air from people and machines, W."""
    wetting: float
    """Water from the air onto surfaces, kg/s; negative while it evaporates from them."""
    squeeze: float
    """Work V dp of the weather on air of constant volume, W."""
    sol_air: float
    """Sol-air temperature of the opaque surfaces, degC."""
    sun: float
    """Sun through windows, W."""
    ground: float
    """Temperature of the ground below the slow mass, degC."""
    beyond: float
    """Temperature on the far side of this ground, degC."""
    radiated: float
    """Heat from the fast mass to the house, W."""
    radiated_second: float
    """Heat from the fast mass to the second zone, W."""
    gains: float
    """Sensible gains, W."""
    moisture: float
    """Vapor from people and wet things, kg/s."""
    soil_pressure: float
    """Vapor pressure of damp soil, Pa."""
    sweat: float
    """Water that drips off cold ducts, kg/s."""
    dehumidifier_on: float
    """1 while its dehumidifier runs."""
    power: float
    """Power of its dehumidifier, W, standby included."""
    removed: float
    """Water that its dehumidifier removes, kg/s."""


N_KNOWN, N_WATER, N_STEP = len(Known._fields), len(WaterNode._fields), len(WaterStep._fields)
FIRST_LEAK, FIRST_BLOWN, SWEAT = (
    Known._fields.index(name) for name in ("leaks_dry", "blown_dry", "sweat")
)
WIDEST = max(N_KNOWN, N_STEP, len(HeatNode._fields), 8)
KNOWN_HEAT = Known._fields.index("heat")
known_of, water_of, wet_of, heat_of = (
    reader_from(kind) for kind in (Known, WaterNode, WaterStep, HeatNode)
)
space_node, space_hour = reader_from(SpaceNode), reader_from(SpaceHour)
FIRST_NODE, FIRST_HOUR = len(Node._fields), len(Hour._fields)
N_NODE, N_HOUR = len(SpaceNode._fields), len(SpaceHour._fields)
WIND = Hour._fields.index("wind")
FIRST_TIME = len(Volume._fields)
FIRST_SENSOR = FIRST_TIME + 2
SUPPLY_SHARE = FIRST_SENSOR + len(Probe._fields)
GROUND_TEMPERATURE = SUPPLY_SHARE + 1
N_SPACE_STATE = GROUND_TEMPERATURE + 1
"""Floats of a `SpaceState`."""
FIRST_FIELD, N_FIELDS = len(STEP_FIELDS), len(SPACE_FIELDS)


def work_space(spaces: int) -> NDArray[np.float64]:
    """Table in which `settle_spaces` calculates, for a number of spaces.

    With N = spaces + 1 bodies of air: N rows of the flows F_ij; N rows of a matrix with its right
    side; rows of the outdoor air into each body, and of the ends of humidity ratio and temperature;
    rows of the humidity ratio at which saturated air is held, of its fog, and of its mass;
    four rows for each space with its `Known`, `WaterNode`, `WaterStep` and `HeatNode`; the house's
    balance of heat, in whose place an imposed temperature stands.
    """
    bodies = spaces + 1
    return np.zeros((2 * bodies + 7 + 4 * spaces, max(WIDEST, bodies + 1)))


@piece
def own_dehumidifier(
    dehumidifier: DehumidifierParameters, was: SpaceState, rh: float, powered: float
) -> float:
    """1 if the dehumidifier of a space runs, by its own humidistat and its minimum times."""
    if dehumidifier.water == 0.0 or powered == 0.0:
        return 0.0
    runs = was.dehumidifier > 0.0
    if was.air.temperature < dehumidifier.low_inlet_limit:
        return 0.0
    if runs:
        stays = rh > dehumidifier.humidistat_off or was.dehumidifier_time < dehumidifier.minimum_on
        return 1.0 if stays else 0.0
    starts = rh > dehumidifier.humidistat_on and was.dehumidifier_time >= dehumidifier.minimum_off
    return 1.0 if starts else 0.0


@piece
def foresee(
    space: SpaceParameters,
    was: SpaceState,
    stores: Stores,
    blown: Blown,
    ducts_here: bool,
    node: SpaceNode,
    hour: SpaceHour,
    minute: Minute,
    t_house: float,
    t_second: float,
    dt: float,
) -> Known:
    """Effects on a space in a step that do not depend on its end.

    Parameters
    ----------
    t_house, t_second : float
        Dry bulb of the house and of a second zone at the start of the step, degC.
    """
    volume, zone, pressure = was.air, space.zone, minute.pressure
    t, w = volume.temperature, volume.humidity_ratio
    h = air.enthalpy(t, w)
    leaks = blown.into_ducts if ducts_here else Inflow(0.0, 0.0, 0.0)
    drawn = space.return_share * blown.drawn
    rh = air.relative_humidity(t, w, pressure)
    on = own_dehumidifier(space.dehumidifier, was, rh, minute.powered)
    dried = dry(space.dehumidifier, on, Inlet(t, w, h, 0.0), pressure)
    power = dried.power * minute.powered
    wetting = wet_surfaces(zone, volume, stores, passes_on(zone, dt), pressure, dt)
    before = volume.dry_air * R_OVER_MOLE_RATIO * (t + air.KELVIN) * (air.MOLE_RATIO + w)
    squeeze = (zone.volume * pressure - before) * (1.0 / dt)
    ground = was.ground_temperature if space.ground_capacity > 0.0 else hour.ground
    return Known(
        leaks_dry=-leaks.dry_air,
        leaks_water=-leaks.water,
        leaks_heat=-leaks.heat,
        blown_dry=was.supply_share * blown.supplied.dry_air - drawn,
        blown_water=was.supply_share * blown.supplied.water - drawn * w,
        blown_heat=was.supply_share * blown.supplied.heat - drawn * h,
        water=hour.moisture - dried.water - wetting,
        heat=hour.gains * zone.gains_to_air
        + hour.moisture * SOURCE_ENTHALPY
        + power
        - dried.water * CONDENSATE_ENTHALPY
        + squeeze,
        wetting=wetting,
        squeeze=squeeze,
        sol_air=node.sol_air,
        sun=node.sun,
        ground=ground,
        beyond=hour.ground,
        radiated=space.house.from_mass * (volume.fast_temperature - t_house),
        radiated_second=space.second.from_mass * (volume.fast_temperature - t_second),
        gains=hour.gains,
        moisture=hour.moisture,
        soil_pressure=air.saturation_pressure(volume.slow_temperature),
        sweat=flag(ducts_here) * blown.sweat,
        dehumidifier_on=on,
        power=power,
        removed=dried.water,
    )


@piece
def add_second_system(
    work: NDArray[np.float64], row: int, second: SecondDelivery, conditioned: bool, ducts_here: bool
) -> None:
    """Add the effects of a second system to a row of `Known`: of its zone, of the space of its ducts."""
    known = known_of(work, row, 0)
    if conditioned:
        own = second.zone
        write_from(
            work, row, FIRST_BLOWN,
            (
                known.blown_dry + own.ducted,
                known.blown_water + own.water,
                known.blown_heat + own.heat + own.standby,
            ),
        )  # fmt: skip
    if ducts_here:
        leaks = second.blown.into_ducts
        write_from(
            work, row, FIRST_LEAK,
            (
                known.leaks_dry - leaks.dry_air,
                known.leaks_water - leaks.water,
                known.leaks_heat - leaks.heat,
            ),
        )  # fmt: skip
        work[row, SWEAT] = known.sweat + second.blown.sweat


@piece
def stores_of(space: SpaceParameters, volume: Volume, pressure: float, dt: float) -> Stores:
    """Effect of a space's moisture stores on its air in a step."""
    zone = space.zone
    sorbing = sorbing_share(zone, volume.fast_temperature, passes_on(zone, dt))
    return stores_at(zone, volume, pressure, dt, sorbing)


@piece
def node_at(spaces: Spaces, place: Place, k: int) -> SpaceNode:
    """Weather on a space in a step, on a straight line between two nodes."""
    first = FIRST_NODE + k * N_NODE
    low = space_node(spaces.nodes, place.node, first)
    high = space_node(spaces.nodes, place.node + 1, first)
    return SpaceNode(
        low.sol_air + place.share * (high.sol_air - low.sol_air),
        low.sun + place.share * (high.sun - low.sun),
    )


@compiled
def settle_spaces(
    zone: ZoneParameters,
    volume: Volume,
    stores: Stores,
    fan_heat: float,
    exchange: Exchange,
    acting: Acting,
    blown: Blown,
    ducts: DuctParameters,
    minute: Minute,
    exhausted: float,
    spaces: Spaces,
    second_system: SecondDelivery | None,
    place: Place,
    dt: float,
) -> RoomEnd:
    """Solve zone and spaces for the end of the step, move the spaces on, and meter them.

    Parameters
    ----------
    zone, volume, stores, exchange, acting
        Zone of the house, as for `room.settle_room`.
    fan_heat : float
        Heat of the ventilation fans to the zone, W.
    exhausted : float
        Air that fans draw out of the house, m3/s.
    second_system : SecondDelivery, optional
        Effects of a second zone's own system.
    place : Place
        Rows of the step.
    """
    work, n = spaces.work, spaces.parameters.shape[0]
    bodies = n + 1
    outdoor, w_ends, t_ends = 2 * bodies, 2 * bodies + 1, 2 * bodies + 2
    holds, fogs = t_ends + 1, t_ends + 2
    first_known = t_ends + 4
    first_water, first_wet, first_heat = first_known + n, first_known + 2 * n, first_known + 3 * n
    replaced, imposing = first_known + 4 * n, minute.imposed > NOT_IMPOSED
    pressure, density, t_out = minute.pressure, minute.density, minute.t_out
    w_out, h_out = minute.w_out, exchange.h_out
    outdoors = exchange.outdoors
    for i in range(bodies):
        work[outdoor, i] = 0.0
        work[holds, i], work[fogs, i] = 0.0, 0.0
        for j in range(bodies):
            work[i, j] = 0.0

    # What is known before the end, and the air between the bodies.
    leaked = max(outdoors.leaked, 0.0)
    pushed = leaked + outdoors.ventilated + acting.ducted - exhausted * density
    ducted_second = 0.0
    if second_system is not None:
        ducted_second = second_system.zone.ducted
        pushed += ducted_second
    pushed = max(pushed, 0.0)
    wind = spaces.hours[place.hour, WIND]
    warm = flag(mean_temperature(zone, volume.temperature, spaces) > t_out)
    # Exhaust fans draw their air through the same leaks.
    inward = leaked + outdoors.drawn
    share_leaks(
        work, spaces,
        drive_of(minute.natural, wind, inward / density, warm), inward,
        drive_of(minute.natural, wind, pushed / density, warm), pushed, ducted_second,
    )  # fmt: skip
    vented = 0.0 if inward <= 0.0 else outdoors.drawn * work[outdoor, 0] / inward
    fans = Inflow(
        outdoors.ventilated - outdoors.drawn,
        outdoors.water - outdoors.drawn * w_out,
        outdoors.heat - outdoors.drawn * h_out,
    )
    moved = Inflow(0.0, 0.0, 0.0)
    linked, second = 0.0, -1
    for k in range(n):
        space, was = space_of(spaces.parameters, k), space_state(spaces.states, k)
        hour = space_hour(spaces.hours, place.hour, FIRST_HOUR + k * N_HOUR)
        t_second = was.air.temperature
        if second >= 0:
            t_second = space_state(spaces.states, second).air.temperature
        known = foresee(
            space, was, stores_of(space, was.air, pressure, dt), blown,
            ducts.outside > 0.0 and float(k) == ducts.space, node_at(spaces, place, k), hour, minute,
            volume.temperature, t_second, dt,
        )  # fmt: skip
        write_from(work, first_known + k, 0, known)
        if second >= 0:
            work[first_known + second, KNOWN_HEAT] += known.radiated_second
        if second_system is not None:
            its = second_system.ducts
            add_second_system(
                work, first_known + k, second_system, space.conditioned > 0.0,
                its.outside > 0.0 and float(k) == its.space,
            )  # fmt: skip
        linked += space.house.conductance
        moved = Inflow(
            moved.dry_air - known.blown_dry,
            moved.water - known.blown_water,
            moved.heat - known.blown_heat + known.radiated,
        )
        # Air that the blower brings beyond what it draws goes back to the house, or comes from it.
        work[0, k + 1] += max(known.blown_dry, 0.0)
        work[k + 1, 0] += max(-known.blown_dry, 0.0)
        mixed = both_ways(space.house, volume.temperature, was.air.temperature, density)
        work[0, k + 1] += mixed
        work[k + 1, 0] += mixed
        natural = natural_infiltration(
            space.zone.stack, space.zone.leakage_exponent, hour.wind, was.air.temperature, t_out
        )
        work[outdoor, k + 1] += natural * density
        if space.conditioned > 0.0:
            second = k
        elif second >= 0:
            other = space_state(spaces.states, second).air.temperature
            mixed = both_ways(space.second, other, was.air.temperature, density)
            work[second + 1, k + 1] += mixed
            work[k + 1, second + 1] += mixed
    for k in range(n):
        known = known_of(work, first_known + k, 0)
        left = (
            work[outdoor, k + 1]
            + into(work, k + 1, bodies)
            - out_of(work, k + 1, bodies)
            + known.leaks_dry
            + known.blown_dry
        )
        if left < 0.0:
            work[outdoor, k + 1] -= left

    for breath in range(MOST_BREATHS):
        # Water.
        leaks = work[outdoor, 0]
        for i in range(bodies):
            for j in range(bodies):
                work[bodies + i, j] = -dt * work[i, j]
        house_air = Inflow(
            leaks + fans.dry_air + acting.ducted + exchange.opened + moved.dry_air
            + into(work, 0, bodies),
            leaks * w_out + fans.water + exchange.opened * w_out + moved.water,
            leaks * h_out + fans.heat + fan_heat + exchange.opened * h_out + moved.heat,
        )  # fmt: skip
        node = water_node(volume, house_air, acting.water, stores, dt)
        work[bodies, 0], work[bodies, bodies] = node.below, node.above
        for k in range(n):
            space, was = space_of(spaces.parameters, k), space_state(spaces.states, k)
            known = known_of(work, first_known + k, 0)
            own = stores_of(space, was.air, pressure, dt)
            inflow = inflow_of(work, k, bodies, known, w_out, h_out)
            soil = dt * space.soil
            wet = water_node(
                was.air, inflow, known.water + space.soil * known.soil_pressure, own, dt
            )
            write_from(work, first_water + k, 0, wet)
            work[bodies + k + 1, k + 1] = wet.below + soil * own.to_pressure
            work[bodies + k + 1, bodies] = wet.above
        last = breath == MOST_BREATHS - 1
        if hold_saturated(work, bodies, holds, w_ends, dt) and not last:
            continue

        # Heat, with the humidity ratios at the end.
        for i in range(bodies):
            for j in range(bodies):
                work[bodies + i, j] = -work[i, j] * (
                    air.CP_DRY_AIR + air.CP_VAPOR * work[w_ends, j]
                )
        w_end = work[w_ends, 0]
        house_air = Inflow(
            house_air.dry_air, house_air.water, house_air.heat + vapor_into(work, 0, bodies, w_ends)
        )
        house_wet = settle_water(zone, volume, stores, w_end, True, dt)
        sorbed = node.sorbing + (acting.wetting - minute.construction)
        house_heat = heat_node(
            zone, volume, WaterNode(w_end, 1.0, node.sorbing, node.sorbing_rise), house_air,
            linked, settling(acting.heat, work[fogs, 0]), sorbed, Boundary(minute.sol_air, t_out, minute.ground), dt,
        )  # fmt: skip
        work[bodies, 0], work[bodies, bodies] = house_heat.below, house_heat.above
        for k in range(n):
            space, was = space_of(spaces.parameters, k), space_state(spaces.states, k)
            known = known_of(work, first_known + k, 0)
            own = stores_of(space, was.air, pressure, dt)
            w_own = work[w_ends, k + 1]
            write_from(
                work, first_wet + k, 0, settle_water(space.zone, was.air, own, w_own, True, dt)
            )
            wet = water_of(work, first_water + k, 0)
            inflow = inflow_of(work, k, bodies, known, w_out, h_out)
            inflow = Inflow(
                inflow.dry_air, inflow.water,
                inflow.heat + vapor_into(work, k + 1, bodies, w_ends),
            )  # fmt: skip
            soil = space.soil * (known.soil_pressure - own.to_pressure * w_own)
            part = space.zone
            links = space.house.conductance + space.second.conductance
            if k == second:
                for other in range(n):
                    links += space_of(spaces.parameters, other).second.conductance
            own_heat = heat_node(
                part, was.air, WaterNode(w_own, 1.0, wet.sorbing, wet.sorbing_rise), inflow, links,
                HeatSources(
                    known.heat + known.sun * part.sun_to_air + soil * GROUND_VAPOR_ENTHALPY
                    - work[fogs, k + 1] * SORBED_ENTHALPY,
                    known.gains * (1.0 - part.gains_to_air) + known.sun * part.sun_to_fast
                    - known.radiated - known.radiated_second,
                    known.sun * (1.0 - part.sun_to_air - part.sun_to_fast)
                    - soil * (GROUND_VAPOR_ENTHALPY - SORBED_ENTHALPY),
                ),
                wet.sorbing + known.wetting, Boundary(known.sol_air, t_out, known.ground), dt,
            )  # fmt: skip
            write_from(work, first_heat + k, 0, own_heat)
            work[bodies + k + 1, k + 1] = own_heat.below
            work[bodies + k + 1, bodies] = own_heat.above
            work[bodies, k + 1] -= space.house.conductance
            work[bodies + k + 1, 0] -= space.house.conductance
            if second >= 0:
                work[bodies + second + 1, k + 1] -= space.second.conductance
                work[bodies + k + 1, second + 1] -= space.second.conductance
        if imposing:
            for j in range(bodies + 1):
                work[replaced, j], work[bodies, j] = work[bodies, j], 0.0
            work[bodies, 0], work[bodies, bodies] = 1.0, minute.imposed
        solve(work, bodies, bodies, t_ends)

        # Air beyond saturation is solved again, with its fog.
        beyond = False
        for i in range(bodies):
            if not_at_saturation(work[w_ends, i], work[t_ends, i], work[holds, i], pressure):
                beyond = True
                if i == 0:
                    hold_more(
                        work, 0, holds, w_ends, volume, node, house_heat, pressure, dt
                    )  # fmt: skip
                else:
                    hold_more(
                        work, i, holds, w_ends, space_state(spaces.states, i - 1).air,
                        water_of(work, first_water + i - 1, 0),
                        heat_of(work, first_heat + i - 1, 0), pressure, dt,
                    )  # fmt: skip
        if beyond and not last:
            continue

        # Air: a body that lacks it draws outdoor air, and the step is solved again.
        enough = True
        heat = settle_heat(zone, volume, house_heat, w_end, work[t_ends, 0], 1.0)
        dry_air = zone.volume * pressure * (1.0 / R_OVER_MOLE_RATIO) * heat.dry_air_share
        leaving = house_air.dry_air - (dry_air - volume.dry_air) * (1.0 / dt)
        leaving -= out_of(work, 0, bodies)
        if leaving < 0.0:
            enough = False
            work[outdoor, 0] -= leaving * (1.0 + 1.0e-6)
        for k in range(n):
            left = leaving_from(spaces, work, k, bodies, first_known, w_ends, t_ends, pressure, dt)
            if left < 0.0:
                enough = False
                work[outdoor, k + 1] -= left * (1.0 + 1.0e-6)
        if enough or last:
            break

    holding = 0.0
    if imposing:
        holding = -work[replaced, bodies]
        for j in range(bodies):
            holding += work[replaced, j] * work[t_ends, j]
    elsewhere = 0.0
    for k in range(n):
        elsewhere += known_of(work, first_known + k, 0).power
        move_on(spaces, work, k, second, place, blown, first_known, w_ends, minute, h_out, dt)
    return room_end(
        film_after(zone, volume.film, acting.wetting + work[fogs, 0] + house_wet.onto_full, dt),
        work[fogs, 0],
        house_wet,
        heat,
        dry_air,
        leaks - vented,
        leaving,
        outdoors.drawn - vented,
        elsewhere,
        holding,
        pressure,
    )


@piece
def inflow_of(
    work: NDArray[np.float64], k: int, bodies: int, known: Known, w_out: float, h_out: float
) -> Inflow:
    """Air into a space, with the water and heat of what does not come from other bodies."""
    fresh = work[2 * bodies, k + 1]
    return Inflow(
        fresh + known.leaks_dry + known.blown_dry + into(work, k + 1, bodies),
        fresh * w_out + known.leaks_water + known.blown_water,
        fresh * h_out + known.leaks_heat + known.blown_heat,
    )


@piece
def dry_air_in(volume: float, pressure: float, t: float, w: float) -> float:
    """Dry air in a volume, kg."""
    return volume * pressure / (R_OVER_MOLE_RATIO * (t + air.KELVIN) * (air.MOLE_RATIO + w))


@piece
def leaving_from(
    spaces: Spaces, work: NDArray[np.float64], k: int, bodies: int, first_known: int, w_ends: int,
    t_ends: int, pressure: float, dt: float,
) -> float:  # fmt: skip
    """Dry air that leaves a space to outdoors, kg/s."""
    zone, was = space_of(spaces.parameters, k).zone, space_state(spaces.states, k).air
    known = known_of(work, first_known + k, 0)
    dry_air = dry_air_in(zone.volume, pressure, work[t_ends, k + 1], work[w_ends, k + 1])
    entering = inflow_of(work, k, bodies, known, 0.0, 0.0).dry_air
    leaving: float = entering - (dry_air - was.dry_air) * (1.0 / dt) - out_of(work, k + 1, bodies)
    return leaving


@piece
def move_on(
    spaces: Spaces,
    work: NDArray[np.float64],
    k: int,
    second: int,
    place: Place,
    blown: Blown,
    first_known: int,
    w_ends: int,
    minute: Minute,
    h_out: float,
    dt: float,
) -> None:
    """Replace the state of a space by that at the end of the step, and meter the step."""
    n = spaces.parameters.shape[0]
    bodies, t_ends = n + 1, w_ends + 1
    space, was = space_of(spaces.parameters, k), space_state(spaces.states, k)
    zone, before = space.zone, was.air
    known = known_of(work, first_known + k, 0)
    wet = wet_of(work, first_known + 2 * n + k, 0)
    node = heat_of(work, first_known + 3 * n + k, 0)
    t, w = work[t_ends, k + 1], work[w_ends, k + 1]
    heat = settle_heat(zone, before, node, w, t, 1.0)
    own = stores_of(space, before, minute.pressure, dt)
    soil = space.soil * (known.soil_pressure - own.to_pressure * w)
    leaving = leaving_from(
        spaces, work, k, bodies, first_known, w_ends, t_ends, minute.pressure, dt
    )
    # The dry air by which `leaving` was found, so that the two balance to rounding.
    dry_air = dry_air_in(zone.volume, minute.pressure, t, w)
    saturation = air.saturation_pressure(t)
    rh = air.share_of_saturation(w, minute.pressure, saturation)
    fog = work[w_ends + 3, k + 1]
    film = film_after(zone, before.film, known.wetting + fog + wet.onto_full, dt)
    after = Volume(
        t, w, dry_air, heat.fast_temperature, air.saturation_pressure(heat.fast_temperature),
        heat.slow_temperature, wet.surface_rh, wet.deep_rh, wet.contents_rh, wet.contents_deep_rh,
        film.water,
    )  # fmt: skip
    switched = (known.dehumidifier_on > 0.0) != (was.dehumidifier > 0.0)
    write_from(spaces.states, k, 0, after)
    spaces.states[k, FIRST_TIME] = known.dehumidifier_on
    spaces.states[k, FIRST_TIME + 1] = dt if switched else was.dehumidifier_time + dt
    if space.ground_capacity > 0.0:
        # The soil answers within weeks, so the start of the step is near enough.
        warming = zone.ground * (
            heat.slow_temperature - known.ground
        ) + space.ground_to_outdoors * (known.beyond - known.ground)
        spaces.states[k, GROUND_TEMPERATURE] = known.ground + dt / space.ground_capacity * warming

    h = air.enthalpy(t, w)
    fresh = work[2 * bodies, k + 1]
    t_house, w_house = work[t_ends, 0], work[w_ends, 0]
    # The blower's part of the air between house and space: drawn in the state at the start.
    drawn, supplied = space.return_share * blown.drawn, was.supply_share
    h_before = air.enthalpy(before.temperature, before.humidity_ratio)
    to_house, from_house = work[0, k + 1], work[k + 1, 0]
    to_second, from_second, t_second, w_second = 0.0, 0.0, t, w
    if second >= 0 and second != k:
        to_second, from_second = work[second + 1, k + 1], work[k + 1, second + 1]
        t_second, w_second = work[t_ends, second + 1], work[w_ends, second + 1]
    step = SpaceMeter(
        temperature=t,
        humidity_ratio=w,
        rh=rh,
        fast_temperature=heat.fast_temperature,
        surface_rh=wet.surface_rh,
        deep_rh=wet.deep_rh,
        above_60=flag(rh > 0.60),
        above_80=flag(wet.surface_rh > 0.80),
        warm=flag(t > space.warm_above),
        cool=flag(t < space.cool_below),
        cold=flag(t < space.cold_below),
        air_outdoors=fresh,
        air_out=-leaving,
        air_to_house=to_house + drawn,
        air_from_house=-from_house - supplied * blown.supplied.dry_air,
        air_to_second=to_second,
        air_from_second=-from_second,
        air_ducts=known.leaks_dry,
        water_outdoors=fresh * minute.w_out,
        water_out=-leaving * w,
        water_to_house=to_house * w + drawn * before.humidity_ratio,
        water_from_house=-from_house * w_house - supplied * blown.supplied.water,
        water_to_second=to_second * w,
        water_from_second=-from_second * w_second,
        water_ducts=known.leaks_water,
        water_soil=soil,
        water_gains=known.moisture,
        water_stored=-wet.to_surface - wet.to_contents,
        water_stored_deep=-wet.to_deep - wet.to_contents_deep,
        water_surfaces=-max(known.wetting, 0.0) - wet.onto_full,
        water_fog=-fog,
        water_film=max(-known.wetting, 0.0),
        water_run_off=-film.ran_off,
        water_dehumidifier=-known.removed,
        water_sweat=known.sweat,
        heat_outdoors=fresh * h_out,
        heat_out=-leaving * h,
        heat_to_house=to_house * h + drawn * h_before,
        heat_from_house=-from_house * air.enthalpy(t_house, w_house)
        - supplied * blown.supplied.heat,
        heat_to_second=to_second * h,
        heat_from_second=-from_second * air.enthalpy(t_second, w_second),
        heat_ducts=known.leaks_heat,
        heat_partition=space.house.conductance * (t - t_house) + known.radiated,
        heat_partition_second=space.second.conductance * (t - t_second) + known.radiated_second,
        heat_opaque=zone.opaque * (known.sol_air - heat.fast_temperature),
        heat_windows=zone.windows * (minute.t_out - heat.mean_temperature),
        heat_sun=known.sun,
        heat_ground=zone.ground * (known.ground - heat.slow_temperature),
        heat_soil=soil * SORBED_ENTHALPY,
        heat_gains=known.gains,
        heat_moisture=known.moisture * SOURCE_ENTHALPY,
        heat_run_off=-film.ran_off * SORBED_ENTHALPY,
        heat_pressure=known.squeeze,
        heat_dehumidifier_drain=-known.removed * CONDENSATE_ENTHALPY,
        dehumidifier=known.power,
        dehumidifier_on=known.dehumidifier_on,
        dehumidifier_start=flag(switched & (known.dehumidifier_on > 0.0)),
    )
    first = FIRST_FIELD + k * N_FIELDS
    add_from(spaces.hourly, place.hour, first, step)
    if spaces.trace.shape[0] > 0:
        add_from(spaces.trace, place.row, first, step)
