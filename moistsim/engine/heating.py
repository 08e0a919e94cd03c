"""The heat pump in heating: straight lines between its ratings, less frost and defrost."""

from moistsim.core.compiled import piece
from moistsim.engine.records import AirHandlerParameters

COLD_RATING, FROST_RATING, FROST_END = (17.0 - 32.0) / 1.8, (35.0 - 32.0) / 1.8, (45.0 - 32.0) / 1.8
"""Outdoor temperatures between which frost builds, and the rating where it costs most, degC."""


@piece
def frost(t_out: float) -> float:
    """Share of the frost penalty at 1.7 degC (35 degF) that acts, 0 to 1.

    It is 1 at that rating, and 0 at -8.3 degC (17 degF) and below and at 7.2 degC (45 degF) and
    above. Between them it follows cubics 3x² - 2x³. AHRI 210/240 (from memory) has straight lines
    and a jump of the capacity at 45 degF. The cubic is our own, to avoid the jump.
    """
    if t_out <= COLD_RATING or t_out >= FROST_END:
        return 0.0
    if t_out < FROST_RATING:
        x = (t_out - COLD_RATING) / (FROST_RATING - COLD_RATING)
    else:
        x = (FROST_END - t_out) / (FROST_END - FROST_RATING)
    return x * x * (3.0 - 2.0 * x)


@piece
def heat_pump(unit: AirHandlerParameters, t_out: float) -> tuple[float, float]:
    """Heating capacity and input, W, at an outdoor dry bulb, degC.

    Both follow straight lines through the 47 and 17 degF rating points. Frost on the outdoor
    coil and its defrost reduce them, as a mean over the defrost cycle.
    """
    capacity = unit.heat_capacity * max(1.0 + unit.heat_capacity_slope * (t_out - 8.3333333), 0.1)
    cop = max(unit.heat_cop + unit.heat_cop_slope * (t_out - 8.3333333), 1.0)
    frosted = frost(t_out)
    power = capacity / cop * (1.0 - frosted * (1.0 - unit.defrost_input))
    return capacity * (1.0 - frosted * (1.0 - unit.defrost_capacity)), power
