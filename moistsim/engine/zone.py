"""One step of the zone: water first, then heat, both implicit in their stiff parts.

At the start of the step m is the zone's dry air, h its enthalpy, t its temperature and W its
humidity ratio. C is the heat capacity of light contents. Air leaves in the end state. The balances of a zone with air exchange then reduce to

    m (W' - W) = sum m_in (W_in - W') dt + water sources dt
    m (h' - h) + C (t' - t) = sum m_in (h_in - h') dt + heat sources dt + V dp

where primed values are those at the end of the step. The leaving air follows from the dry air in
the zone at the end of the step, pV/(R T).
"""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import Boundary, Volume, ZoneParameters

SORBED_ENTHALPY = air.CP_WATER * 20.0
"""Enthalpy of sorbed water and of water condensed on surfaces, taken at 20 degC, J/kg."""
GROUND_VAPOR_ENTHALPY = air.H_EVAPORATION + air.CP_VAPOR * 20.0
"""Enthalpy of vapor from the ground or a basement, which comes at about 20 degC, J/kg."""
SOURCE_ENTHALPY = air.H_EVAPORATION + air.CP_VAPOR * 33.0
"""Enthalpy of household vapor, which leaves skin and cooking at about 33 degC, J/kg."""
NOTHING = 1.0e-300
"""Smallest number with a finite reciprocal. A smaller store or mass is treated as absent."""


class Inflow(NamedTuple):
    """Streams into the zone's air: kg/s of dry air, kg/s of water, W."""

    dry_air: float
    """Dry air into the zone, kg/s."""
    water: float
    """Water into the zone, kg/s."""
    heat: float
    """Enthalpy into the zone, W."""


class WaterNode(NamedTuple):
    """Water balance of the air in a step, before the humidity at its end is known."""

    above: float
    """Numerator of the humidity ratio at the end of the step, kg.
    Terms that are linear in the humidity ratio need not wait for the division."""
    below: float
    """Denominator of the humidity ratio at the end of the step, kg."""
    sorbing: float
    """Water that the stores would absorb from air without vapor, kg/s.
    It is the part of the water to the stores that is known before the humidity at the end."""
    sorbing_rise: float
    """Increase of the water to the stores per unit of humidity ratio, kg/s."""


class WaterStep(NamedTuple):
    """Humidity of the air and the moisture stores at the end of a step, with the flows of water."""

    humidity_ratio: float
    """Humidity ratio of the air at the end of the step, kg/kg."""
    surface_rh: float
    """Relative humidity in balance with the surface layer at the end of the step, 0 to 1."""
    deep_rh: float
    """Relative humidity in balance with the deep layer at the end of the step, 0 to 1."""
    to_surface: float
    """Water from the air to the surface layer, kg/s."""
    to_deep: float
    """Water from the surface layer to the deep layer, kg/s."""
    contents_rh: float
    """Relative humidity in balance with the contents' surface layer, 0 to 1."""
    contents_deep_rh: float
    """Relative humidity in balance with the contents' deep layer, 0 to 1."""
    to_contents: float
    """Water from the air to the contents' surface layer, kg/s."""
    to_contents_deep: float
    """Water from the contents' surface layer to their deep layer, kg/s."""
    onto_full: float
    """Water from the air that full stores cannot take and that stays on their surface, kg/s."""


class Pull(NamedTuple):
    """Effect of a moisture store on the air in a step.

    The deep layer is expressed by the surface layer, and the surface layer by the air.
    """

    conductance: float
    """Water that the store absorbs per pascal of vapor pressure, kg/Pa."""
    known: float
    """Water that the store gives to air without vapor, kg."""
    idle: float
    """RH of the surface layer at the end of the step in air without vapor, 0 to 1."""
    gain: float
    """Increase of the surface layer's RH per pascal of vapor pressure, 1/Pa."""
    deep_share: float
    """Share of the surface layer's change of RH that the deep layer follows."""


@piece
def pull_of(
    surface_store: float,
    deep_store: float,
    a1: float,
    a2: float,
    surface_rh: float,
    deep_rh: float,
    saturation: float,
) -> Pull:
    """Effect of a store with two layers on the air of a step.

    Parameters
    ----------
    a1, a2 : float
        Conductances times the step: air to surface layer (kg/Pa), that to the deep one (kg).
    """
    # Two independent divisions, which a processor runs in parallel.
    deep_total = deep_store + a2
    deep_share = a2 / deep_total if deep_total > 0.0 else 0.0
    from_air = a1 * saturation
    pull = a2 * deep_store
    if deep_total <= 0.0:
        deep_total = 1.0
    total = (surface_store + from_air) * deep_total + pull
    if total < NOTHING:
        return Pull(0.0, 0.0, surface_rh, 0.0, deep_share)
    share = 1.0 / total
    idle = (surface_store * deep_total * surface_rh + pull * deep_rh) * share
    gain = a1 * deep_total * share
    return Pull(a1 - from_air * gain, from_air * idle, idle, gain, deep_share)


class Settled(NamedTuple):
    """State of a store at the end of a step, and the water into its layers, kg/s."""

    surface_rh: float
    """Relative humidity in balance with the surface layer, 0 to 1."""
    deep_rh: float
    """Relative humidity in balance with the deep layer, 0 to 1."""
    to_surface: float
    """Water from the air to the surface layer, kg/s."""
    to_deep: float
    """Water from the surface layer to the deep layer, kg/s."""
    onto: float
    """Water from the air that a full store cannot take and that stays on its surface, kg/s."""


@piece
def settle(
    store: Pull,
    surface_store: float,
    deep_store: float,
    surface_rh: float,
    deep_rh: float,
    vapor_pressure: float,
    brims: bool,
    dt: float,
) -> Settled:
    """State of a store at the end of a step, from the vapor pressure of the air then.

    Parameters
    ----------
    brims : bool
        Whether a full store leaves on its surface what it cannot take. Without, its RH passes 1.
    """
    surface_end = store.idle + store.gain * vapor_pressure
    deep_end = deep_rh + store.deep_share * (surface_end - deep_rh)
    to_deep = deep_store / dt * store.deep_share * (surface_end - deep_rh)
    to_surface = surface_store / dt * (surface_end - surface_rh) + to_deep
    if not brims or surface_end <= 1.0:
        return Settled(surface_end, deep_end, to_surface, to_deep, 0.0)
    beyond_deep = deep_store / dt * max(deep_end - 1.0, 0.0)
    onto = surface_store / dt * max(surface_end - 1.0, 0.0) + beyond_deep
    return Settled(
        min(surface_end, 1.0), min(deep_end, 1.0), to_surface - onto, to_deep - beyond_deep, onto
    )


class Stores(NamedTuple):
    """Effect of both moisture stores on the air of a step."""

    walls: Pull
    """Effect of the building's store."""
    contents: Pull
    """Effect of the contents' store."""
    to_pressure: float
    """Vapor pressure per humidity ratio near the room's state, Pa."""


@piece
def stores_at(
    zone: ZoneParameters, volume: Volume, pressure: float, dt: float, sorbing: float = 1.0
) -> Stores:
    """Effect of both stores on the air of a step, from its start alone.

    Parameters
    ----------
    pressure : float
        Air pressure, Pa.
    sorbing : float
        Share of the stores' vapor conductance that acts, limited by their heat of sorption.
    """
    saturation = volume.fast_saturation
    a1 = dt * zone.air_to_surface * sorbing
    b1 = dt * zone.air_to_contents * sorbing
    walls = pull_of(
        zone.surface_store, zone.deep_store, a1, dt * zone.surface_to_deep * saturation,
        volume.surface_rh, volume.deep_rh, saturation,
    )  # fmt: skip
    contents = Pull(0.0, 0.0, volume.contents_rh, 0.0, 0.0)
    if zone.contents_store > 0.0:
        contents = pull_of(
            zone.contents_store, zone.contents_deep_store, b1,
            dt * zone.contents_to_deep * saturation, volume.contents_rh, volume.contents_deep_rh,
            saturation,
        )  # fmt: skip
    return Stores(walls, contents, pressure / (air.MOLE_RATIO + volume.humidity_ratio))


@piece
def water_node(
    volume: Volume, inflow: Inflow, sources: float, stores: Stores, dt: float
) -> WaterNode:
    """Water balance of the air in a step: its humidity ratio at the end is `above` / `below`.

    Effective moisture penetration depth with two layers (Woods, Winkler & Christensen 2013,
    NREL/TP-5500-57441): vapor flows by the difference of vapor pressures, the layers' being
    their relative humidity times the saturation pressure at the fast mass's temperature.

    Parameters
    ----------
    inflow : Inflow
        Air that enters, whose outflow carries the end state.
    sources : float
        Net water into the air from machines, people and wet surfaces, kg/s.
    stores : Stores
        Effect of both stores, from `stores_at`.
    """
    walls, contents = stores.walls, stores.contents
    k = (walls.conductance + contents.conductance) * stores.to_pressure
    known = walls.known + contents.known
    return WaterNode(
        above=volume.dry_air * volume.humidity_ratio + known + dt * (inflow.water + sources),
        below=volume.dry_air + k + dt * inflow.dry_air,
        sorbing=-known * (1.0 / dt),
        sorbing_rise=k * (1.0 / dt),
    )


@piece
def settle_water(
    zone: ZoneParameters, volume: Volume, stores: Stores, w_end: float, brims: bool, dt: float
) -> WaterStep:
    """Stores' layers and flows of water, from the humidity ratio of the air at the end.

    Parameters
    ----------
    brims : bool
        Whether full stores leave on their surface what they cannot take, see `settle`.
    """
    vapor = stores.to_pressure * w_end
    wall = settle(
        stores.walls, zone.surface_store, zone.deep_store, volume.surface_rh, volume.deep_rh,
        vapor, brims, dt,
    )  # fmt: skip
    content = settle(
        stores.contents, zone.contents_store, zone.contents_deep_store, volume.contents_rh,
        volume.contents_deep_rh, vapor, brims, dt,
    )  # fmt: skip
    return WaterStep(
        humidity_ratio=w_end,
        surface_rh=wall.surface_rh,
        deep_rh=wall.deep_rh,
        to_surface=wall.to_surface,
        to_deep=wall.to_deep,
        contents_rh=content.surface_rh,
        contents_deep_rh=content.deep_rh,
        to_contents=content.to_surface,
        to_contents_deep=content.to_deep,
        onto_full=wall.onto + content.onto,
    )


class HeatSources(NamedTuple):
    """Heat, and the enthalpy of the water that comes and goes, W."""

    to_air: float
    """Heat into the air, W."""
    to_fast: float
    """Heat into the fast mass, W."""
    to_slow: float
    """Heat into the slow mass, W."""


class HeatNode(NamedTuple):
    """Heat balance of the air in a step, before its temperature at the end is known."""

    above: float
    """Numerator of the temperature at the end of the step, scaled as the humidity's."""
    below: float
    """Denominator of the temperature at the end of the step, scaled as the humidity's."""
    fast_known: float
    """Part of the fast mass's temperature that does not depend on the air's, degC."""
    fast_rise: float
    """Increase of the fast mass's temperature per unit of humidity ratio, K."""
    fast_share: float
    """Share of the air's temperature that the fast mass follows."""
    slow_known: float
    """Part of the slow mass's temperature that does not depend on the fast mass's, degC."""
    slow_share: float
    """Share of the fast mass's temperature that the slow mass follows."""


class HeatStep(NamedTuple):
    """Temperatures of the air and of the masses at the end of a step."""

    indoor_temperature: float
    """Dry bulb of the air at the end of the step, degC."""
    mean_temperature: float
    """Dry bulb of the air in the step, weighted as for the windows, degC."""
    fast_temperature: float
    """Temperature of the fast mass at the end of the step, degC."""
    slow_temperature: float
    """Temperature of the slow mass at the end of the step, degC."""
    dry_air_share: float
    """Value of 1 / (T (MOLE_RATIO + W)) at the end of the step, 1/K.
    It gives the dry air in the zone then."""


@piece
def heat_node(
    zone: ZoneParameters,
    volume: Volume,
    wet: WaterNode,
    inflow: Inflow,
    linked: float,
    sources: HeatSources,
    sorbed: float,
    around: Boundary,
    dt: float,
) -> HeatNode:
    """Heat balance of the air in a step: its temperature at the end is `above` / `below`.

    Light contents are at the temperature of the air. Heat between air and fast mass, and through
    the windows, flows by temperatures weighted between the start and the end of the step. The
    weights make the exchange of the two alone exact (exponential fitting, see
    `parameters.air_weight`). The air follows a machine within minutes. A
    plain implicit step would make it follow too slowly.

    Parameters
    ----------
    wet : WaterNode
        Result of `water_node`. With the humidity at the end known, it is `above` and `below` is 1.
    inflow : Inflow
        Air that enters, whose outflow carries the end state.
    linked : float
        Conductance to the air of neighboring spaces, W/K.
    sources : HeatSources
        Heat into the air and into each mass, except for sorption.
    sorbed : float
        Water to the stores if the air ended without vapor, kg/s. `wet.sorbing_rise` adds the part
        that depends on the humidity at the end. This water takes the enthalpy of vapor from the
        air. The fast mass receives the difference from the enthalpy of sorbed water.
    around : Boundary
        Temperatures outside the zone.
    """
    t, w, t_fast = volume.temperature, volume.humidity_ratio, volume.fast_temperature
    # Shares of constants, for which the compiled loop divides once a run.
    slow_total = zone.slow_capacity / dt + zone.fast_to_slow + zone.ground
    slow_share, slow_offset = 0.0, 0.0
    if slow_total > NOTHING:
        slow_share = zone.fast_to_slow / slow_total
        slow_known = (
            zone.slow_capacity / dt * volume.slow_temperature
            + zone.ground * around.ground
            + sources.to_slow
        )
        slow_offset = slow_known * (1.0 / slow_total)
    weight = zone.air_weight
    exchange = weight * zone.air_to_fast
    before = (1.0 - weight) * zone.air_to_fast * (t - t_fast)
    fast_total = (
        zone.fast_capacity / dt + exchange + zone.opaque + zone.fast_to_slow * (1.0 - slow_share)
    )
    fast_share = exchange / fast_total
    fast_known = (
        zone.fast_capacity / dt * t_fast
        + zone.opaque * around.sol_air
        + zone.fast_to_slow * slow_offset
        + sources.to_fast
        + before
    )
    # Enthalpy is linear in temperature once the humidity at the end is known. All terms that do not
    # need that humidity are added up before it arrives.
    held, light = volume.dry_air * (1.0 / dt), zone.light_contents * (1.0 / dt)
    mass = held + inflow.dry_air
    vapor = air.vapor_enthalpy(t)
    bound = vapor - SORBED_ENTHALPY
    from_air = fast_share * bound - vapor
    air_total = (
        mass * air.CP_DRY_AIR
        + linked
        + (light + weight * zone.windows + exchange * (1.0 - fast_share))
    )
    air_known = (
        held * air.enthalpy(t, w)
        + light * t
        + inflow.heat
        + sources.to_air
        - before
        + zone.windows * (around.outdoors - (1.0 - weight) * t)
        + fast_share * fast_known
        + from_air * sorbed
    )
    rising = bound * (1.0 / fast_total)
    return HeatNode(
        above=air_known * wet.below
        + (from_air * wet.sorbing_rise - mass * air.H_EVAPORATION) * wet.above,
        below=air_total * wet.below + mass * air.CP_VAPOR * wet.above,
        fast_known=fast_known * (1.0 / fast_total) + rising * sorbed,
        fast_rise=rising * wet.sorbing_rise,
        fast_share=fast_share,
        slow_known=slow_offset,
        slow_share=slow_share,
    )


@piece
def settle_heat(
    zone: ZoneParameters, volume: Volume, node: HeatNode, w_end: float, above: float, below: float
) -> HeatStep:
    """Temperatures at the end of a step: of the air `above` / `below`, and of the masses."""
    t_end = above * (1.0 / below)
    # Calculated without t_end, so its division need not wait for that of t_end.
    dry_air_share = below / ((above + air.KELVIN * below) * (air.MOLE_RATIO + w_end))
    fast_end = node.fast_known + node.fast_rise * w_end + node.fast_share * t_end
    slow_end = node.slow_known + node.slow_share * fast_end
    weight = zone.air_weight
    return HeatStep(
        t_end, weight * t_end + (1.0 - weight) * volume.temperature, fast_end, slow_end,
        dry_air_share,
    )  # fmt: skip
