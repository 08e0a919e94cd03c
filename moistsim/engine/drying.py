"""The dehumidifier: its own humidistat and bucket, its inlet air, and its drying."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY
from moistsim.engine.records import DehumidifierParameters, State
from moistsim.equipment import ENERGY_FACTOR, RATED_INLET, RATED_RH, WATER_REMOVAL

LOW_INLET, HIGH_INLET = 15.0, 33.0
"""Range of inlet dry bulb for which the curves are used, degC."""
LOW_RH, HIGH_RH = 40.0, 85.0
"""Range of inlet RH for which the curves are used, percent."""
MOST_DEFROST = 0.5
"""Maximum share of the time for defrosting, at the low inlet limit (common practice)."""
DEFROST_POWER = 0.15
"""Ratio of the power while it defrosts to that while it dries (our own round figure).
The fan runs and the compressor is off."""

_W, _E = WATER_REMOVAL, ENERGY_FACTOR
_W_RATED = WATER_REMOVAL.at(RATED_INLET, RATED_RH)
_E_RATED = ENERGY_FACTOR.at(RATED_INLET, RATED_RH)


@piece
def dehumidifier_factors(t: float, rh: float) -> tuple[float, float, float]:
    """Water removal and input over their rated values, and 1 if a curve is held.

    Winkler, Christensen & Tomerlin (2011), NREL/TP-5500-52791, divided by the value at the rating
    point; input = water removal / energy factor. `t` in degC, `rh` from 0 to 1. Below 40 % RH the
    water removal falls in proportion to RH, because the curves would fall below zero.

    >>> water, power, held = dehumidifier_factors(26.666667, 0.60)
    >>> round(float(water), 6), round(float(power), 6), float(held)
    (1.0, 1.0, 0.0)
    """
    r = 100.0 * rh
    th = min(max(t, LOW_INLET), HIGH_INLET)
    rc = min(max(r, LOW_RH), HIGH_RH)
    water = _W.a + th * (_W.b + _W.c * th + _W.f * rc) + rc * (_W.d + _W.e * rc)
    factor = _E.a + th * (_E.b + _E.c * th + _E.f * rc) + rc * (_E.d + _E.e * rc)
    water /= _W_RATED
    power = water / (factor / _E_RATED)
    if r < LOW_RH:
        water *= r / LOW_RH
    held = 1.0 if th != t or rc != r else 0.0
    return water, power, held


class Inlet(NamedTuple):
    """Inlet air of the dehumidifier."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    enthalpy: float
    """Enthalpy, J/kg of dry air."""
    straight: float
    """Share of the inlet vapor that comes from outdoors without mixing with the room."""


class Dried(NamedTuple):
    """Operation of the dehumidifier in a step, with its leaving air."""

    dry_air: float
    """Airflow, kg/s of dry air; 0 while the dehumidifier is off."""
    water: float
    """Moisture removal rate, kg/s."""
    power: float
    """Power, W, standby included."""
    humidity_ratio: float
    """Humidity ratio of the leaving air, kg/kg."""
    enthalpy: float
    """Enthalpy of the leaving air, J/kg."""
    held: float
    """1 if a curve is held at its limit."""
    defrost: float
    """Share of the time spent on defrosting."""


@piece
def own_humidistat(
    dehumidifier: DehumidifierParameters,
    state: State,
    called: float,
    sensed: float,
) -> float:
    """Call of the dehumidifier's own humidistat if it has one, else `called`.

    Parameters
    ----------
    sensed : float
        Relative humidity in the house's sensor, 0 to 1.
    """
    if dehumidifier.humidistat_on == 0.0:
        return called
    if sensed > dehumidifier.humidistat_on:
        return 1.0
    if sensed < dehumidifier.humidistat_off:
        return 0.0
    return state.humidistat


@piece
def bucket_after(
    dehumidifier: DehumidifierParameters, state: State, removed: float, hour: float, dt: float
) -> float:
    """Water in the bucket at the end of a step around `hour`, kg; 0 if emptied in the step."""
    if dehumidifier.bucket == 0.0:
        return 0.0
    start = hour - dt / 7200.0
    if (dehumidifier.emptied_at - start + 1.0e-6) % 24.0 < dt / 3600.0:
        return 0.0
    return state.bucket + removed * dt


@piece
def inlet_air(
    dehumidifier: DehumidifierParameters,
    t: float,
    w: float,
    t_out: float,
    w_out: float,
    incoming: float,
    t_incoming: float,
    w_incoming: float,
) -> Inlet:
    """Inlet air: room air, outdoor air, or the ventilation's supply stream with room air added.

    Parameters
    ----------
    incoming, t_incoming, w_incoming : float
        The ventilation's supply stream, kg/s, degC, kg/kg.
    """
    h = air.enthalpy(t, w)
    if dehumidifier.from_outdoors > 0.0:
        return Inlet(t_out, w_out, air.enthalpy(t_out, w_out), 1.0)
    if dehumidifier.from_ventilation > 0.0:
        share = min(incoming / dehumidifier.flow, 1.0)
        w_mixed = w + share * (w_incoming - w)
        h_mixed = h + share * (air.enthalpy(t_incoming, w_incoming) - h)
        fresh = share * w_incoming / w_mixed if w_mixed > 0.0 else 0.0
        return Inlet(air.temperature_at_enthalpy(h_mixed, w_mixed), w_mixed, h_mixed, fresh)
    return Inlet(t, w, h, 0.0)


@piece
def defrosting(dehumidifier: DehumidifierParameters, t: float) -> float:
    """Share of the time spent on defrosting at an inlet of `t` degC, 0 to `MOST_DEFROST`.

    It rises smoothly, as x² (3 - 2x), from the temperature at which frost begins to the limit at
    which the machine stops (common practice, no source).
    """
    if t >= dehumidifier.defrost_below:
        return 0.0
    x = min(
        (dehumidifier.defrost_below - t)
        / (dehumidifier.defrost_below - dehumidifier.low_inlet_limit),
        1.0,
    )
    return MOST_DEFROST * x * x * (3.0 - 2.0 * x)


@piece
def dry(dehumidifier: DehumidifierParameters, on: float, inlet: Inlet, pressure: float) -> Dried:
    """Dry the inlet air; all electricity and the heat of condensation stay in it.

    The leaving air is never drier than saturated air at freezing, because more water would freeze.
    """
    w, h = inlet.humidity_ratio, inlet.enthalpy
    if on <= 0.0:
        resting = dehumidifier.standby_power if dehumidifier.water > 0.0 else 0.0
        return Dried(0.0, 0.0, resting, w, h, 0.0, 0.0)
    water, power, held = dehumidifier_factors(
        inlet.temperature, air.relative_humidity(inlet.temperature, w, pressure)
    )
    defrost = defrosting(dehumidifier, inlet.temperature)
    removed = dehumidifier.water * water * (1.0 - defrost)
    driest = air.saturation_humidity_ratio(0.0, pressure)
    most = dehumidifier.flow * max(w - driest, 0.0)
    if removed > most:
        removed, held = most, 1.0
    drawn = (
        dehumidifier.power * power * (1.0 - defrost * (1.0 - DEFROST_POWER))
        + dehumidifier.pump_power
    )
    return Dried(
        dehumidifier.flow,
        removed,
        drawn,
        w - removed / dehumidifier.flow,
        h + (drawn - removed * CONDENSATE_ENTHALPY) / dehumidifier.flow,
        held,
        defrost,
    )
