"""Outdoor air from fans: flow, temperature, humidity, and lockouts."""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.airflow import total_outdoor_air
from moistsim.engine.records import AirHandlerParameters, State, VentilationParameters

FROST_REST_PER_KELVIN, MOST_FROST_REST = 0.015, 0.4
"""Share of the time that a supply fan pauses to thaw its core: per kelvin, and the maximum.

The kelvins count below the frost limit. Both are our own round figures after common practice: in
cycles of half an hour, 10 to 15 K below the limit, thawing takes six minutes."""


class Ventilating(NamedTuple):
    """Operation of the ventilation's own fans, flows in m3/s."""

    supply: float
    """Outdoor air through the ventilation machine or the central duct, m3/s."""
    exhaust: float
    """Room air that the ventilation draws out of the house, m3/s."""
    temperature: float
    """Dry bulb of the supply air where it enters the house, degC."""
    humidity_ratio: float
    """Humidity ratio of the supply air where it enters the house, kg/kg."""
    power: float
    """Power of all ventilation fans, W."""
    heat: float
    """Heat of the ventilation fans that reaches the house, W."""
    locked: float
    """1 while a lockout stops ventilation that the control calls for."""


class OutdoorAir(NamedTuple):
    """Outdoor air into the house, kg/s of dry air, with the water and heat of the part that fans bring."""

    leaked: float
    """Outdoor air through leaks, kg/s of dry air."""
    ventilated: float
    """Outdoor air that fans bring in, kg/s of dry air."""
    water: float
    """Water in the ventilated air, kg/s."""
    heat: float
    """Enthalpy of the ventilated air without the heat of its fans, W."""
    drawn: float
    """Part of the ventilated air that fans draw in through leaks, kg/s of dry air."""


@piece
def effectiveness(rated: float, flow: float) -> float:
    """Effectiveness of an exchanger at `flow` times its rated flow, both streams equal.

    Counterflow with equal capacity rates: e = NTU / (1 + NTU). The conductance of a laminar core
    does not change with the flow. NTU is therefore the rated one divided by `flow` (textbook
    relation, Kays & London; from memory).

    >>> float(effectiveness(0.75, 1.0)), float(effectiveness(0.75, 3.0))
    (0.75, 0.5)
    """
    return rated / (rated + (1.0 - rated) * flow) if rated > 0.0 else 0.0


@piece
def ventilate(
    vent: VentilationParameters,
    called: float,
    t: float,
    w: float,
    t_out: float,
    w_out: float,
    pressure: float,
    hour: float,
    dt: float,
) -> Ventilating:
    """Run the ventilation's fans at `called` times their rate, in a room of (t, w).

    A separate fan with a minimum runtime in each hour runs at the start of the hour.

    The flow of a central duct is the one at the blower's full flow. Sensible recovery is
    (t_out - t_supply) / (t_out - t). Latent recovery has humidity ratios in place of temperatures.
    The exhaust air gives the recovered heat and vapor.
    """
    factor = called if called > 0.0 else 0.0
    if vent.least_run > 0.0 and vent.central == 0.0:
        left = vent.least_run - (3600.0 * (hour - math.floor(hour)) - 0.5 * dt)
        factor *= min(max(left, 0.0), dt) / dt
    locked = 0.0
    if factor > 0.0 and (
        t_out > vent.lockout_above
        or t_out < vent.lockout_below
        or air.vapor_pressure(w_out, pressure) > vent.lockout_vapor_pressure
    ):
        locked, factor = 1.0, 0.0
    rests, recovers = 0.0, 1.0
    if t_out < vent.frost_limit:
        below = FROST_REST_PER_KELVIN * (vent.frost_limit - t_out)
        rests = vent.frost_rests * min(below, MOST_FROST_REST)
        recovers = 1.0 - vent.frost_bypass
    balanced, unbalanced = factor * vent.balanced, factor * vent.unbalanced
    sensible = recovers * effectiveness(vent.sensible_recovery, factor)
    latent = recovers * effectiveness(vent.latent_recovery, factor)
    # Only the fan in the incoming air pauses.
    power = factor * vent.fan_power
    return Ventilating(
        balanced * (1.0 - rests) + vent.supply * unbalanced,
        balanced + (1.0 - vent.supply) * unbalanced,
        t_out + sensible * (t - t_out),
        w_out + latent * (w - w_out),
        power * (1.0 - vent.fan_heat * rests),
        power * vent.fan_heat * (1.0 - rests),
        locked,
    )


@piece
def blower_before(state: State, hour: float, dt: float) -> float:
    """Time that the blower has run in the clock hour in which a step at `hour` begins, s."""
    into = 3600.0 * (hour - math.floor(hour)) - 0.5 * dt
    return state.blower_this_hour if into > 0.5 * dt else 0.0


@piece
def with_least_run(
    unit: AirHandlerParameters,
    vent: VentilationParameters,
    called: float,
    going: Ventilating,
    ran: float,
    hour: float,
    dt: float,
) -> float:
    """Call for the blower: `called`, or 1 when the minimum runtime needs the rest of the hour.

    The minimum is that of circulation or of a central duct, whichever is longer. For the duct, no
    runtime is due while a lockout or the control keeps its damper shut.
    """
    least = unit.circulation
    if vent.central > 0.0 and going.supply > 0.0:
        least = max(least, vent.least_run)
    if least > 0.0:
        left = 3600.0 * (1.0 - (hour - math.floor(hour))) + 0.5 * dt
        # Without this step, the rest of the hour would be too short.
        if left - dt < least - ran - 1.0e-6 * dt:
            return 1.0
    return called


@piece
def through_central_duct(
    vent: VentilationParameters, going: Ventilating, blower: float
) -> Ventilating:
    """Scale the air of a central duct with the blower, here at `blower` of its full flow."""
    share = blower if vent.central > 0.0 else 1.0
    return Ventilating(
        share * going.supply,
        going.exhaust,
        going.temperature,
        going.humidity_ratio,
        share * going.power,
        share * going.heat,
        going.locked,
    )


@piece
def with_central_air(
    going: Ventilating, density: float, dry_air: float, t: float, w: float
) -> tuple[float, float]:
    """Dry bulb and humidity ratio of room air with the outdoor air of a central duct in it.

    Parameters
    ----------
    going : Ventilating
        Air that the duct brings in this step, see `through_central_duct`.
    density, dry_air : float
        Dry air outdoors, kg/m3, and dry air that the blower draws from the room, kg/s.
    """
    share = min(going.supply * density / dry_air, 1.0)
    h = air.enthalpy(t, w)
    w_mixed = w + share * (going.humidity_ratio - w)
    h_mixed = h + share * (air.enthalpy(going.temperature, going.humidity_ratio) - h)
    return air.temperature_at_enthalpy(h_mixed, w_mixed), w_mixed


@piece
def outdoor_air(
    going: Ventilating,
    drawn: float,
    natural: float,
    density: float,
    t_out: float,
    w_out: float,
    exhausted: float,
    return_leak: float,
    supply_leak: float,
    closed_doors: float,
) -> OutdoorAir:
    """Outdoor air that enters through leaks, fans and ducts together.

    Supply and exhaust flows balance each other. The unbalanced rest combines with infiltration in
    quadrature (see `airflow.total_outdoor_air`). Exhaust fans and leaking ducts count in both. Air
    that they draw in through the house's leaks counts as leaked. Air that return ducts bring is
    counted elsewhere.

    Parameters
    ----------
    drawn : float
        Outdoor air that a dehumidifier draws in, m3/s.
    natural : float
        Infiltration by wind and stack, m3/s.
    density : float
        Dry air outdoors, kg/m3.
    exhausted : float
        Drawn out by exhaust fans, m3/s.
    return_leak, supply_leak : float
        Into and out of the ducts, from and to outside the envelope, kg/s.
    closed_doors : float
        Flow by which the blower unbalances rooms with closed doors, m3/s.
    """
    supply = going.supply + drawn
    pushed = supply + return_leak * (1.0 / density)
    pulled = going.exhaust + exhausted + supply_leak * (1.0 / density)
    unbalanced = abs(pushed - pulled)
    if closed_doors > 0.0:
        # Closed doors push air out of some rooms and draw it into others, even in a balanced house.
        unbalanced = math.hypot(unbalanced, closed_doors)
    # All outdoor air except that through the return ducts.
    entering = total_outdoor_air(natural, min(pushed, pulled), unbalanced) * density - return_leak
    ventilated = max(supply, going.exhaust) * density
    if return_leak > 0.0:
        # The exhaust draws less through leaks by the air that the ducts bring.
        ventilated = min(ventilated, entering)
    leaked = entering - ventilated
    through = going.supply * density
    raw = ventilated - through
    return OutdoorAir(
        leaked,
        ventilated,
        through * going.humidity_ratio + raw * w_out,
        through * air.enthalpy(going.temperature, going.humidity_ratio)
        + raw * air.enthalpy(t_out, w_out),
        raw,
    )
