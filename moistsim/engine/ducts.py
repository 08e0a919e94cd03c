"""Ducts outside the envelope: what they leak and conduct, and the space around them.

The blower's flow m leaves the room through the return, of which it draws the share r from the
space around the ducts, and comes back through the supply, of which it loses the share s there. In
the return the walls come first and the leak after them, in the supply as well: so that without
moisture, in a steady state, what reaches the room is the delivery effectiveness of ASHRAE 152
(from memory),

    a_s B_s - a_s B_s (1 - a_r B_r) dT_r / dT_e - a_s (1 - B_s) dT_s / dT_e

with a = 1 - leakage, B = exp(-UA / (m c)), dT_e the rise across the machines, dT_r and dT_s the
room's temperature less that around the ducts. The dew that a cold duct may gather outside, the
heat that duct walls hold, and water that could form within, are not in it.
"""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import DuctParameters


class ReturnAir(NamedTuple):
    """Return air as it reaches the machines, and the gains of the return ducts."""

    temperature: float
    humidity_ratio: float
    leak: float
    """Dry air from the space around the ducts, kg/s."""
    leak_water: float
    """What it carries, kg/s and W."""
    leak_heat: float
    walls: float
    """Heat into the return air through its duct's walls, W."""


class SupplyAir(NamedTuple):
    """Losses of the supply ducts, leakage and heat through walls."""

    leak: float
    """Dry air, kg/s."""
    leak_water: float
    leak_heat: float
    walls: float
    """Heat into the supply air through its duct's walls, W."""


class DuctSpace(NamedTuple):
    """State of the space around the ducts."""

    temperature: float
    """degC."""
    humidity_ratio: float


class SpaceSurroundings(NamedTuple):
    """Surroundings of the space around the ducts."""

    room: float
    """degC."""
    outer: float
    """Sol-air temperature of the roof, or ground, degC."""
    outdoor_temperature: float
    """degC."""
    outdoor_humidity_ratio: float
    density: float
    """Dry air outdoors, kg/m3."""
    pressure: float
    """Pa."""


@piece
def return_air(
    ducts: DuctParameters, t: float, w: float, t_space: float, w_space: float, dry_air: float
) -> ReturnAir:
    """Room air as it arrives at the machines with `dry_air` kg/s, the room's own if that is 0."""
    if ducts.outside == 0.0 or dry_air <= 0.0:
        return ReturnAir(t, w, 0.0, 0.0, 0.0, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w
    lost = 1.0 - math.exp(-ducts.return_walls / (dry_air * specific))
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
    ducts: DuctParameters, h: float, w: float, t_space: float, dry_air: float
) -> SupplyAir:
    """Losses of the supply ducts from air that leaves the machines at (h, w)."""
    if ducts.outside == 0.0 or dry_air <= 0.0:
        return SupplyAir(0.0, 0.0, 0.0, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w
    lost = 1.0 - math.exp(-ducts.supply_walls / (dry_air * specific))
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
    """The space around the ducts at the end of a step, implicit in all but the ducts' walls.

    One node: to the roof's sol-air temperature or the ground, to the room, to outdoor air, to the
    supply air that is lost in it. Outdoor air comes by the space's own ventilation, and what the
    ducts draw out of it more than they lose in it comes beside that. Vapor beyond saturation
    condenses on the space's surfaces and stays there; its heat is not counted.
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
