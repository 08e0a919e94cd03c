"""Outdoor air that fans bring: how much, in what state, and when not."""

import math
from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.airflow import total_outdoor_air
from moistsim.engine.records import State, VentilationParameters

FROST_REST_PER_KELVIN, MOST_FROST_REST = 0.015, 0.4
"""Share of the time for which a supply fan rests to thaw its core, by the kelvin below its frost
limit, and the most of it. Our own round figures after common practice: cycles of half an hour, six
minutes of which, 10 to 15 K below the limit, go to thawing."""


class Ventilating(NamedTuple):
    """Operation of the ventilation's own fans, flows in m3/s."""

    supply: float
    """Brought in through the machine or the duct."""
    exhaust: float
    """Drawn out of the house."""
    temperature: float
    """In which the supply enters the house, degC."""
    humidity_ratio: float
    power: float
    """Of all fans, W."""
    heat: float
    """Of it, what reaches the house, W."""
    locked: float
    """1 while a lockout holds back what the control asks for."""


class OutdoorAir(NamedTuple):
    """Outdoor air into the house, kg/s of dry air, with the water and heat of the part that fans bring."""

    leaked: float
    ventilated: float
    water: float
    """Of the ventilated air, kg/s."""
    heat: float
    """Of the ventilated air, without its fans', W."""


@piece
def effectiveness(rated: float, flow: float) -> float:
    """Effectiveness of an exchanger at `flow` times its rated flow, both streams equal.

    Counterflow with equal capacity rates: e = NTU / (1 + NTU). The conductance of a laminar core
    does not change with the flow, so that NTU is that of the rating over `flow` (textbook relation,
    Kays & London; from memory).

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

    A fan of its own that is to run for a part of each hour does so at its start.

    A central duct's flow is that at the blower's full flow. Sensible recovery is
    (t_out - t_supply) / (t_out - t), latent recovery the same of humidity ratios; what leaves
    pays for it.
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
    # The fan in the incoming air is the one that rests.
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
    vent: VentilationParameters,
    called: float,
    going: Ventilating,
    ran: float,
    hour: float,
    dt: float,
) -> float:
    """The call for the blower: `called`, or 1 when the hour's end is too near for what is owed.

    Nothing is owed while the duct's damper is shut by a lockout or by the control.
    """
    if vent.least_run > 0.0 and going.supply > 0.0:
        left = 3600.0 * (1.0 - (hour - math.floor(hour))) + 0.5 * dt
        # If this step passed, what is left after it would not do.
        if left - dt < vent.least_run - ran - 1.0e-6 * dt:
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
        What the duct brings now, see `through_central_duct`.
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
    """Outdoor air that comes in by leaks, fans and ducts together.

    What fans bring and what fans draw out balance each other as far as they go; what is left of
    the larger combines with infiltration in quadrature (see `airflow.total_outdoor_air`). Exhaust
    fans and leaking ducts take part in that; what they draw in through the house's leaks counts as
    leaked, and what return ducts bring is counted elsewhere.

    Parameters
    ----------
    drawn : float
        Outdoor air that a dehumidifier brings in, in the state in which it draws it, m3/s.
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
        # Air that goes out of some rooms and into others, whatever the house as a whole does.
        unbalanced = math.hypot(unbalanced, closed_doors)
    # All that does not come through the return ducts.
    entering = total_outdoor_air(natural, min(pushed, pulled), unbalanced) * density - return_leak
    ventilated = max(supply, going.exhaust) * density
    if return_leak > 0.0:
        # What the ducts bring, the ventilation's exhaust need not draw.
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
    )
