"""The air stream of the air handler: coil, hot gas, blower, heat pump, furnace, strips."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.coil import CoilResult, contact_with, cool, ramp, reevaporation, stage_at
from moistsim.engine.heating import heat_pump
from moistsim.engine.interlocks import Running
from moistsim.engine.records import AirHandlerParameters, State

CONDENSATE_ENTHALPY = air.CP_WATER * 10.0
"""Enthalpy of the water on the coil and in the drain, taken at 10 degC, J/kg."""


class Stream(NamedTuple):
    """Air stream of the air handler in a step: flows in kg/s, powers in W, means over the step."""

    dry_air: float
    """Airflow, kg/s of dry air, mean over the step."""
    h_supply: float
    """Enthalpy of the supply air, J/kg."""
    w_supply: float
    """Humidity ratio of the supply air, kg/kg."""
    compressor: float
    """Compressor and outdoor fan input in cooling, W."""
    fan: float
    """Power of the blower, W."""
    strips: float
    """Power of the strips in moving air, W."""
    heat_pump_input: float
    """Input of the heat pump in heating, W."""
    heat_pump_heat: float
    """Heat of the heat pump to the air, W."""
    refrigerant: float
    """Heat that the refrigerant absorbs from the air and the condensate, W."""
    total: float
    """Enthalpy that the coil removes from the air, W."""
    sensible: float
    """Sensible heat that the coil removes from the air, W."""
    condensed: float
    """Water that condenses on the coil, kg/s."""
    reevaporated: float
    """Water that evaporates from the idle coil, kg/s."""
    drained: float
    """Water that drains from the coil, kg/s."""
    coil_water: float
    """Water on the coil at the end of the step, kg."""
    coil_ramp: float
    """Share of its capacity that the compressor has reached at the end of the step."""
    frost: float
    """1 if the coil frosts."""
    dry_coil: float
    """1 if no water condenses on the running coil."""
    off_curve: float
    """1 if a performance curve is held at its limit."""
    apparatus_guess: float
    """Apparatus dew point from which the next solve starts, degC."""
    hot_gas: float
    """Heat of the hot gas to the air, W."""
    furnace: float
    """Heat of the furnace to the air, W."""
    strip_rise: float
    """Temperature rise of the air across the strips, K."""
    at_limit: float
    """Temperature at the strips' limit switch, degC."""


class Entering(NamedTuple):
    """Air that enters the air handler.

    It is the zone's, mixed with the air that a central duct and return leaks bring.
    """

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    wet_bulb: float
    """Wet bulb, degC."""
    pressure: float
    """Air pressure, Pa."""


@piece
def run_air_handler(
    running: Running,
    state: State,
    entering: Entering,
    unit: AirHandlerParameters,
    stages: NDArray[np.float64],
    strip: float,
    t_out: float,
    dry_air_full: float,
    dt: float,
    blower: float = 1.0,
) -> Stream:
    """Carry the return air over the coil, the blower and the strips.

    All heat of the blower and the strips goes to the air (draw-through: after the coil). Condensed
    water stays on the coil up to its limit and drains beyond that within the step. The water that a
    coil holds is the amount after dripping, so no water drains in an off cycle. An idle coil dries
    into the air that passes it: the blower's, or the slow drift while the blower is off. Hot gas
    returns a share of the refrigerant's heat and of the compressor's input, ahead of the blower.

    Parameters
    ----------
    strip : float
        Power of the strips in moving air, W.
    blower : float
        Airflow as a share of the expected one at its speed; 0 for a failed blower.
    """
    t, w, wet_bulb = entering.temperature, entering.humidity_ratio, entering.wet_bulb
    airflow, turns = running.airflow * blower, running.fan_share
    moved = airflow * turns
    if moved <= 0.0:
        airflow, turns = 0.0, 1.0
        if state.coil_water > 0.0:
            airflow = unit.off_cycle_airflow
    if airflow <= 0.0:
        return still(entering, state)
    # In a step in which the blower stops, the drift after it is left out.
    flowing = airflow * dry_air_full
    dry_air = flowing * turns
    per_dry_air = 1.0 / dry_air
    h_entering = air.enthalpy(t, w)
    h, w_out = h_entering, w
    compressor, refrigerant, total, sensible = 0.0, 0.0, 0.0, 0.0
    condensed, reevaporated = 0.0, 0.0
    reached, frost, dry_coil, off_curve = 0.0, 0.0, 0.0, 0.0
    apparatus_guess = state.apparatus_guess
    water = state.coil_water
    if running.cooling > 0.0:
        stage = stage_at(stages, running.cooling - 1.0)
        coil: CoilResult = cool(
            stage, t, w, wet_bulb, entering.pressure, t_out, dry_air, apparatus_guess
        )
        before = state.coil_ramp if state.cooling_stage > 0.0 else 0.0
        reached, share = ramp(before, unit.start_up_time, dt)
        share *= 1.0 - running.hot_gas * (1.0 - unit.hot_gas_capacity)
        h = h_entering - share * (h_entering - coil.h_leaving)
        w_out = w - share * (w - coil.w_leaving)
        compressor = coil.input * (1.0 - running.hot_gas * (1.0 - unit.hot_gas_input))
        total = share * coil.capacity
        condensed = dry_air * (w - w_out)
        sensible = total - condensed * air.vapor_enthalpy(t)
        refrigerant = total - condensed * CONDENSATE_ENTHALPY
        frost = 1.0 if coil.apparatus_dew_point < unit.frost_limit else 0.0
        dry_coil, off_curve = coil.dry, coil.off_curve
        apparatus_guess = coil.apparatus_dew_point
    elif water > 0.0:
        w_wet = air.saturated_at_wet_bulb(t, w, wet_bulb)
        contact = contact_with(unit.coil_conductance * per_dry_air * turns)
        reevaporated = turns * reevaporation(
            water, unit.water_held, contact, flowing, w, w_wet, turns * dt
        )
        w_out = w + reevaporated * per_dry_air
        h = h_entering + reevaporated * CONDENSATE_ENTHALPY * per_dry_air
    water += (condensed - reevaporated) * dt
    drained = max(water - unit.water_held, 0.0) * (1.0 / dt)
    water -= drained * dt

    fan = unit.fan_power * running.airflow * turns
    if unit.fan_cubed > 0.0:
        fan *= running.airflow * running.airflow
    if moved == 0.0:
        fan = 0.0
    heat, heat_input = 0.0, 0.0
    if running.heat_pump > 0.0:
        heat, heat_input = heat_pump(unit, t_out)
    hot_gas = running.hot_gas * unit.hot_gas_share * (refrigerant + compressor)
    furnace = running.furnace * unit.furnace_capacity
    h += (fan + strip + heat + hot_gas + furnace) * per_dry_air
    rise, at_limit = 0.0, t
    if strip > 0.0:
        # The switch is at the elements, hotter than the mixed air in proportion to the air's rise.
        before_strips = air.temperature_at_enthalpy(h - strip * per_dry_air, w_out)
        rise = air.temperature_at_enthalpy(h, w_out) - before_strips
        at_limit = (
            before_strips + unit.strip_limit_rise * strip * unit.strip_least_flow * per_dry_air
        )
    return Stream(
        dry_air=dry_air,
        h_supply=h,
        w_supply=w_out,
        compressor=compressor,
        fan=fan,
        strips=strip,
        heat_pump_input=heat_input,
        heat_pump_heat=heat,
        refrigerant=refrigerant,
        total=total,
        sensible=sensible,
        condensed=condensed,
        reevaporated=reevaporated,
        drained=drained,
        coil_water=water,
        coil_ramp=reached,
        frost=frost,
        dry_coil=dry_coil,
        off_curve=off_curve,
        apparatus_guess=apparatus_guess,
        hot_gas=hot_gas,
        furnace=furnace,
        strip_rise=rise,
        at_limit=at_limit,
    )


@piece
def still(entering: Entering, state: State) -> Stream:
    """Stream of an air handler without any airflow."""
    return Stream(
        dry_air=0.0,
        h_supply=air.enthalpy(entering.temperature, entering.humidity_ratio),
        w_supply=entering.humidity_ratio,
        compressor=0.0,
        fan=0.0,
        strips=0.0,
        heat_pump_input=0.0,
        heat_pump_heat=0.0,
        refrigerant=0.0,
        total=0.0,
        sensible=0.0,
        condensed=0.0,
        reevaporated=0.0,
        drained=0.0,
        coil_water=state.coil_water,
        coil_ramp=0.0,
        frost=0.0,
        dry_coil=0.0,
        off_curve=0.0,
        apparatus_guess=state.apparatus_guess,
        hot_gas=0.0,
        furnace=0.0,
        strip_rise=0.0,
        at_limit=entering.temperature,
    )
