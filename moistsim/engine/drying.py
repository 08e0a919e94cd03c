"""The dehumidifier off its rating point."""

from moistsim.compiled import compiled
from moistsim.equipment.dehumidifier import ENERGY_FACTOR, RATED_INLET, RATED_RH, WATER_REMOVAL

LOW_INLET, HIGH_INLET = 15.0, 33.0
"""Inlet dry bulb, degC, within which the curves are used."""
LOW_RH, HIGH_RH = 40.0, 85.0
"""Inlet RH, per cent, within which they are used."""

_W, _E = WATER_REMOVAL, ENERGY_FACTOR
_W_RATED = WATER_REMOVAL.at(RATED_INLET, RATED_RH)
_E_RATED = ENERGY_FACTOR.at(RATED_INLET, RATED_RH)


@compiled
def dehumidifier_factors(t: float, rh: float) -> tuple[float, float, float]:
    """Water removal and input over their rated values, and 1 if a curve is held.

    Winkler, Christensen & Tomerlin (2011), NREL/TP-5500-52791, divided by the value at the rating
    point; input = water removal / energy factor. `t` in degC, `rh` from 0 to 1. Below 40 % RH the
    water removal falls in proportion to RH, where the curves would go through zero.

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
