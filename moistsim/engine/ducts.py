"""Ducts outside the envelope: their leakage and conduction, and the space around them.

The blower draws the share r of its flow from the space around the return ducts, and the rest from
the room. The supply ducts lose the share s of the flow to that space. In both, the air passes the
walls first and the leak after them. Without moisture, in a steady state, the share of the heat that
reaches the room is the delivery effectiveness of ASHRAE 152 (from memory),

    a_s B_s - a_s B_s (1 - a_r B_r) dT_r / dT_e - a_s (1 - B_s) dT_s / dT_e

with a = 1 - leakage and B = exp(-UA / (m c)). The rise across the machines is dT_e. The room's
temperature less that around the return and supply ducts is dT_r and dT_s. The model leaves out
condensation on or in the ducts and the heat capacity of the duct walls.
"""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import DuctParameters


class ReturnAir(NamedTuple):
    """Return air as it reaches the machines, and the gains of the return ducts."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    leak: float
    """Leakage from the space around the ducts, kg/s of dry air."""
    leak_water: float
    """Water in the leakage, kg/s."""
    leak_heat: float
    """Enthalpy of the leakage, W."""
    walls: float
    """Heat into the return air through the walls of its duct, W."""


class SupplyAir(NamedTuple):
    """Losses of the supply ducts, leakage and heat through walls."""

    leak: float
    """Leakage to the space around the ducts, kg/s of dry air."""
    leak_water: float
    """Water in the leakage, kg/s."""
    leak_heat: float
    """Enthalpy of the leakage, W."""
    walls: float
    """Heat into the supply air through the walls of its duct, W."""


class DuctSpace(NamedTuple):
    """State of the space around the ducts."""

    temperature: float
    """Dry bulb of the space, degC."""
    humidity_ratio: float
    """Humidity ratio of the space, kg/kg."""


class SpaceSurroundings(NamedTuple):
    """Conditions around the space in which the ducts run."""

    room: float
    """Dry bulb of the room, degC."""
    outer: float
    """Sol-air temperature of the roof, or ground temperature, degC."""
    outdoor_temperature: float
    """Outdoor dry bulb, degC."""
    outdoor_humidity_ratio: float
    """Outdoor humidity ratio, kg/kg."""
    density: float
    """Density of outdoor air, kg/m3 of dry air."""
    pressure: float
    """Air pressure, Pa."""


@piece
def return_air(
    ducts: DuctParameters, t: float, w: float, t_space: float, w_space: float, dry_air: float,
    share: float = 1.0,
) -> ReturnAir:  # fmt: skip
    """Return air at the machines with a flow of `dry_air` kg/s; without flow, the room's air.

    The flow is the mean over a step in which the blower runs for `share` of the time.
    """
    if ducts.outside == 0.0 or dry_air <= 0.0:
        return ReturnAir(t, w, 0.0, 0.0, 0.0, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w
    lost = 1.0 - math.exp(-share * ducts.return_walls / (dry_air * specific))
    drawn = (1.0 - ducts.return_leak) * dry_air
    walls = drawn * specific * lost * (t_space - t)
    leak = ducts.return_leak * dry_air
    leak_heat = leak * air.enthalpy(t_space, w_space)
    w_in = w + ducts.return_leak * (w_space - w)
    h_in = (drawn * air.enthalpy(t, w) + walls + leak_heat) / dry_air
    return ReturnAir(
        air.temperature_at_enthalpy(h_in, w_in), w_in, leak, leak * w_space, leak_heat, walls
    )


@piece
def supply_air(
    ducts: DuctParameters, h: float, w: float, t_space: float, dry_air: float, share: float = 1.0
) -> SupplyAir:
    """Losses of the supply ducts from air that leaves the machines at (h, w).

    The flow is the mean over a step in which the blower runs for `share` of the time.
    """
    if ducts.outside == 0.0 or dry_air <= 0.0:
        return SupplyAir(0.0, 0.0, 0.0, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w
    lost = 1.0 - math.exp(-share * ducts.supply_walls / (dry_air * specific))
    walls = dry_air * specific * lost * (t_space - air.temperature_at_enthalpy(h, w))
    leak = ducts.supply_leak * dry_air
    return SupplyAir(leak, leak * w, leak * (h + walls / dry_air), walls)


@piece
def duct_space(
    ducts: DuctParameters,
    space: DuctSpace,
    back: ReturnAir,
    out: SupplyAir,
    around: SpaceSurroundings,
    dt: float,
) -> DuctSpace:
    """State of the space around the ducts at the end of a step.

    The step is implicit except for the ducts' walls. One node exchanges heat with the roof's
    sol-air temperature or the ground, the room, outdoor air, and leaked supply air. Outdoor air
    enters by the space's own ventilation, and it replaces the air that return leaks draw out beyond
    the supply leakage. Vapor beyond saturation condenses on the surfaces and stays there. Its heat
    is not counted.
    """
    if ducts.outside == 0.0:
        return space
    t_space, w_space, w_out = (
        space.temperature, space.humidity_ratio, around.outdoor_humidity_ratio
    )  # fmt: skip
    fresh = ducts.ventilation * around.density + max(back.leak - out.leak, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w_out
    lost_t, lost_w = t_space, w_space
    if out.leak > 0.0:
        lost_w = out.leak_water / out.leak
        lost_t = air.temperature_at_enthalpy(out.leak_heat / out.leak, lost_w)
    mass = ducts.volume * around.density
    # The space's air is heated with its structure.
    held = (ducts.heat_capacity + mass * specific) / dt
    through, lost = fresh * specific, out.leak * specific
    temperature = (
        held * t_space
        + ducts.outer * around.outer
        + ducts.inner * around.room
        + through * around.outdoor_temperature
        + lost * lost_t
        - back.walls
        - out.walls
    ) / (held + ducts.outer + ducts.inner + through + lost)
    mixing = mass / dt + fresh + out.leak
    humidity_ratio = w_out
    if mixing > 0.0:
        humidity_ratio = (mass / dt * w_space + fresh * w_out + out.leak * lost_w) / mixing
    most = air.saturation_humidity_ratio(temperature, around.pressure)
    return DuctSpace(temperature, min(humidity_ratio, most))
