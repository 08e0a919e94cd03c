"""One step of the zone: water first, then heat, each implicit in what is stiff.

With m the zone's dry air at the start of the step, h its enthalpy and W its humidity ratio, and
with the air that leaves at the end state, the balances of a zone that breathes reduce to

    m (W' - W) = sum m_in (W_in - W') dt + water sources dt
    m (h' - h) = sum m_in (h_in - h') dt + heat sources dt + V dp

where the primed values are those at the end of the step. The air that leaves follows from the dry
air that the zone then holds, pV/(R T).
"""

from typing import NamedTuple

from moistsim import air
from moistsim.compiled import compiled
from moistsim.engine.records import ZoneParameters

SORBED_ENTHALPY = air.CP_WATER * 20.0
"""Enthalpy of sorbed water and of water condensed on surfaces, taken at 20 degC, J/kg."""
SOURCE_ENTHALPY = air.H_EVAPORATION + air.CP_VAPOUR * 33.0
"""Enthalpy of household vapour, which leaves skin and cooking at about 33 degC, J/kg."""


class Inflow(NamedTuple):
    """Everything that streams into the zone's air: kg/s of dry air, kg/s of water, W."""

    dry_air: float
    water: float
    heat: float


class WaterStep(NamedTuple):
    humidity_ratio: float
    surface_rh: float
    deep_rh: float
    to_surface: float
    """Air to surface layer, kg/s."""
    to_deep: float
    """Surface to deep layer, kg/s."""


@compiled(inline=True)
def step_water(
    zone: ZoneParameters,
    w: float,
    dry_air: float,
    surface_rh: float,
    deep_rh: float,
    outdoor: Inflow,
    sources: float,
    saturation: float,
    pressure: float,
    dt: float,
) -> WaterStep:
    """Humidity of the air and of the two store layers at the end of the step.

    Effective moisture penetration depth with two layers (Woods, Winkler & Christensen 2013,
    NREL/TP-5500-57441): vapour flows by the difference of vapour pressures, the layers' being
    their relative humidity times the saturation pressure at the fast mass's temperature.

    Parameters
    ----------
    outdoor : Inflow
        Outdoor air, whose outflow carries the end state.
    sources : float
        Net water into the air from machines, people and wet surfaces, kg/s.
    saturation : float
        Saturation pressure at the store's temperature, Pa.
    """
    to_pressure = pressure / (air.MOLE_RATIO + w)
    a1 = dt * zone.air_to_surface
    a2 = dt * zone.surface_to_deep * saturation
    # The deep layer in terms of the surface layer, then both in terms of the air.
    deep_total = zone.deep_store + a2
    deep_share = a2 / deep_total if deep_total > 0.0 else 0.0
    pull = a2 * (1.0 - deep_share)
    surface_total = zone.surface_store + a1 * saturation + pull
    surface_known = zone.surface_store * surface_rh + pull * deep_rh
    k = 0.0
    known = 0.0
    if surface_total > 0.0:
        k = a1 * (1.0 - a1 * saturation / surface_total) * to_pressure
        known = a1 * saturation * surface_known / surface_total
    w_end = (dry_air * w + dt * (outdoor.water + sources) + known) / (
        dry_air + dt * outdoor.dry_air + k
    )
    surface_end = surface_rh
    if surface_total > 0.0:
        surface_end = (surface_known + a1 * to_pressure * w_end) / surface_total
    deep_end = deep_rh + deep_share * (surface_end - deep_rh)
    to_deep = zone.deep_store * (deep_end - deep_rh) / dt
    to_surface = zone.surface_store * (surface_end - surface_rh) / dt + to_deep
    return WaterStep(w_end, surface_end, deep_end, to_surface, to_deep)


class HeatStep(NamedTuple):
    zone_temperature: float
    mean_temperature: float
    """Of the air, as the windows felt it over the step."""
    fast_temperature: float
    slow_temperature: float


@compiled(inline=True)
def step_heat(
    zone: ZoneParameters,
    t: float,
    w: float,
    dry_air: float,
    t_fast: float,
    t_slow: float,
    w_end: float,
    outdoor: Inflow,
    to_air: float,
    to_fast: float,
    to_slow: float,
    t_out: float,
    sol_air: float,
    ground: float,
    dt: float,
) -> HeatStep:
    """Temperatures of the air and of the two masses at the end of the step.

    Between air and fast mass, and through the windows, heat flows by temperatures weighted between
    the start and the end of the step so that the exchange of the two alone would be exact
    (exponential fitting, see `parameters.air_weight`): the air follows a machine within minutes,
    and a plain implicit step would make it follow too slowly.

    Parameters
    ----------
    w, w_end : float
        Humidity ratio at the start and the end of the step.
    outdoor : Inflow
        Outdoor air, whose outflow carries the end state.
    to_air, to_fast, to_slow : float
        Heat (and the enthalpy of the water that comes and goes) into each, W.
    t_out, sol_air, ground : float
        Outdoor and sol-air temperature, and that under the floor, degC.
    """
    slow_total = (zone.slow_capacity / dt) + zone.fast_to_slow + zone.ground
    slow_known = zone.slow_capacity / dt * t_slow + zone.ground * ground + to_slow
    slow_share = 0.0
    slow_offset = 0.0
    if slow_total > 0.0:
        slow_share = zone.fast_to_slow / slow_total
        slow_offset = slow_known / slow_total
    weight = zone.air_weight
    exchange = weight * zone.air_to_fast
    before = (1.0 - weight) * zone.air_to_fast * (t - t_fast)
    fast_total = (
        zone.fast_capacity / dt + exchange + zone.opaque + zone.fast_to_slow * (1.0 - slow_share)
    )
    fast_known = (
        zone.fast_capacity / dt * t_fast
        + zone.opaque * sol_air
        + zone.fast_to_slow * slow_offset
        + to_fast
        + before
    )
    # Enthalpy is linear in temperature once the humidity at the end is known.
    mass = dry_air / dt + outdoor.dry_air
    specific = air.CP_DRY_AIR + air.CP_VAPOUR * w_end
    air_total = mass * specific + weight * zone.windows + exchange * (1.0 - exchange / fast_total)
    air_known = (
        dry_air / dt * air.enthalpy(t, w)
        - mass * air.H_EVAPORATION * w_end
        + outdoor.heat
        + to_air
        - before
        + zone.windows * (t_out - (1.0 - weight) * t)
        + exchange * fast_known / fast_total
    )
    t_end = air_known / air_total
    fast_end = (fast_known + exchange * t_end) / fast_total
    slow_end = slow_offset + slow_share * fast_end
    return HeatStep(t_end, weight * t_end + (1.0 - weight) * t, fast_end, slow_end)
