"""Ducts outside the envelope: their leakage, conduction and sweat.

The blower draws the share r of its flow from the space around the return ducts, and the rest from
the room. The supply ducts lose the share s of the flow to that space. In both, the air passes the
walls first and the leak after them. Without moisture, in a steady state, the share of the heat that
reaches the room is the delivery effectiveness of ASHRAE 152 (from memory),

    a_s B_s - a_s B_s (1 - a_r B_r) dT_r / dT_e - a_s (1 - B_s) dT_s / dT_e

with a = 1 - leakage and B = exp(-UA / (m c)). The rise across the machines is dT_e. The room's
temperature less that around the return and supply ducts is dT_r and dT_s. The model leaves out
the heat capacity of the duct walls. The space around the ducts is one of `spaces`.
"""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.outset import Surroundings
from moistsim.engine.records import DuctParameters
from moistsim.engine.zone import SORBED_ENTHALPY


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
    sweat: float
    """Vapor of the space that condenses on the ducts and drips off, kg/s."""


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
    ducts: DuctParameters,
    h: float,
    w: float,
    around: Surroundings,
    pressure: float,
    dry_air: float,
    dt: float,
    share: float = 1.0,
) -> SupplyAir:
    """Losses of the supply ducts from air that leaves the machines at (h, w).

    The flow is the mean over a step in which the blower runs for `share` of the time.

    Cold ducts sweat: vapor of the space condenses on their outer surface and drips off. Its heat of
    condensation warms the supply air. One step condenses at most half of the vapor beyond
    saturation at the surface.
    """
    if ducts.outside == 0.0 or dry_air <= 0.0:
        return SupplyAir(0.0, 0.0, 0.0, 0.0, 0.0)
    specific = air.CP_DRY_AIR + air.CP_VAPOR * w
    lost = 1.0 - math.exp(-share * ducts.supply_walls / (dry_air * specific))
    supply = air.temperature_at_enthalpy(h, w)
    walls = dry_air * specific * lost * (around.temperature - supply)
    sweat = 0.0
    if ducts.sweating > 0.0 and supply < around.temperature:
        # The surface at the mean of the air along the duct.
        inside = supply + 0.5 * walls / (dry_air * specific)
        surface = around.temperature - ducts.film_share * (around.temperature - inside)
        saturation = air.saturation_pressure(surface)
        excess = air.vapor_pressure(around.humidity_ratio, pressure) - saturation
        if excess > 0.0:
            beyond = around.humidity_ratio - air.humidity_ratio(saturation, pressure)
            sweat = min(share * ducts.sweating * excess, 0.5 * around.dry_air * beyond / dt)
            walls += sweat * (air.vapor_enthalpy(around.temperature) - SORBED_ENTHALPY)
    leak = ducts.supply_leak * dry_air
    return SupplyAir(leak, leak * w, leak * (h + walls / dry_air), walls, sweat)
