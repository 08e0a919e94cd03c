"""Water that air cannot hold: it condenses on colder surfaces, or as fog that settles on them.

Surfaces below the dew point of the air take vapor from it (`wet_surfaces`), at the rate at which
still air brings it to them. Where that is too slow, the air reaches saturation, and fog forms. Fog
gives its heat of condensation to the air. Its amount is the unknown of the implicit step: the
humidity ratio at the end is that of saturation at the temperature at the end, found by Newton's
method (`more_held`). What condenses stays on the surfaces as a film, evaporates from there, and
runs off beyond `ZoneParameters.film_limit`. What runs off has left the house: it is wiped away or
drips out of sight. The film holds the enthalpy of sorbed water. Frost is not told from water.
"""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import Volume, ZoneParameters
from moistsim.engine.zone import NOTHING, SORBED_ENTHALPY, HeatNode, HeatSources, Stores, WaterNode

CLOSE = 1.0e-9
"""Relative distance from saturation at which a body of saturated air is solved."""
COVERED = 0.25
"""Share of the largest film that wets the whole surface. A thinner film wets a part of it."""
NEARER = 0.4
"""Part of the way to the dew point that condensation takes a surface within a step, at most."""
LAST_DROP = 1.0e-9
"""Share of the largest film below which the film is gone at once."""


@piece
def wet_surfaces(
    zone: ZoneParameters, volume: Volume, stores: Stores, takes: float, pressure: float, dt: float
) -> float:
    """Water that condenses on surfaces from air that is wetter than they are, kg/s.

    Negative while their film evaporates. A step condenses at most half the excess of vapor, and
    evaporates at most half of what is lacking. A second limit is the water that brings the
    surfaces, and all that they pass heat to, `NEARER` to the dew point of the air. Both together
    do not carry the difference past zero, so a surface without mass does not swing.

    Parameters
    ----------
    takes : float
        Heat that the fast mass passes on, or holds in a step, W/K. The part of it that acts on
        temperatures at the start of the step is taken off here.
    """
    w = volume.humidity_ratio
    excess = stores.to_pressure * w - volume.fast_saturation
    if max(excess, volume.film) <= 0.0:
        return 0.0
    beyond = w - air.humidity_ratio(volume.fast_saturation, pressure)
    dew_point = air.dew_point(max(air.vapor_pressure(w, pressure), NOTHING))
    colder = dew_point - volume.fast_temperature
    answers = takes - (1.0 - zone.air_weight) * zone.air_to_fast
    most = NEARER * answers * colder / air.H_EVAPORATION
    if excess > 0.0:
        return min(
            zone.condensing * excess,
            0.5 * volume.dry_air * beyond / dt,
            most,
        )
    if volume.film <= LAST_DROP * zone.film_limit:
        return -volume.film / dt
    wet = min(volume.film / (COVERED * zone.film_limit), 1.0)
    return max(
        zone.condensing * wet * excess,
        0.5 * volume.dry_air * beyond / dt,
        most,
        -volume.film / dt,
    )


@piece
def settling(sources: HeatSources, fog: float) -> HeatSources:
    """Heat into air and masses, less that of the fog that settles from the air."""
    return HeatSources(sources.to_air - fog * SORBED_ENTHALPY, sources.to_fast, sources.to_slow)


@piece
def not_at_saturation(w: float, t: float, held: float, pressure: float) -> bool:
    """Whether an end of the air is not a solution: beyond saturation, or held away from it.

    Parameters
    ----------
    held : float
        Humidity ratio at which the air is held, 0 for air that holds all its water.
    """
    rh = air.relative_humidity(t, w, pressure)
    return rh > 1.0 + CLOSE or (held > 0.0 and rh < 1.0 - CLOSE)


@piece
def more_held(
    volume: Volume,
    wet: WaterNode,
    below: float,
    node: HeatNode,
    held: float,
    t_end: float,
    pressure: float,
    dt: float,
) -> float:
    """Next estimate of the humidity ratio of saturated air at the end of a step, kg/kg.

    With less fog, the air ends colder. The derivative of its temperature follows from `heat_node`.
    The estimates rise from below, so the air never ends beyond saturation.

    Parameters
    ----------
    wet, node : WaterNode, HeatNode
        Balances of the air. `node` is that for a known humidity ratio.
    below : float
        Mass with which the humidity ratio at the end is multiplied in the balance of water, kg.
    held, t_end : float
        Last estimate, 0 for none, and the temperature of its solution.
    """
    vapor_pressure, rise = air.saturation_rise(t_end)
    most = air.humidity_ratio(vapor_pressure, pressure)
    if held == 0.0:
        return most
    dry = pressure - vapor_pressure
    slope = air.MOLE_RATIO * pressure / (dry * dry) * rise
    bound = air.vapor_enthalpy(volume.temperature) - SORBED_ENTHALPY
    cooling = bound * (below / dt - node.fast_share * wet.sorbing_rise) / node.below
    return held + (most - held) / (1.0 + slope * cooling)


class Film(NamedTuple):
    """Water on the surfaces at the end of a step."""

    water: float
    """Film, kg."""
    ran_off: float
    """Water that left it because surfaces hold no more, kg/s."""


@piece
def film_after(zone: ZoneParameters, film: float, gained: float, dt: float) -> Film:
    """Film at the end of a step in which it gains water, kg/s, or loses it."""
    whole = max(film + dt * gained, 0.0)
    return Film(min(whole, zone.film_limit), max(whole - zone.film_limit, 0.0) * (1.0 / dt))
