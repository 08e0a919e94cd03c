"""Outdoor air: what leaks, what the fans bring, and how the two combine."""

import math

from moistsim.compiled import compiled


@compiled
def natural_infiltration(
    stack: float, exponent: float, wind_flow: float, t_in: float, t_out: float
) -> float:
    """Infiltration by stack and wind, m3/s.

    Enhanced model of ASHRAE Fundamentals ch. 16 (Walker & Wilson 1998): stack flow
    c C_s |dT|^n and wind flow c C_w (s U)^(2n) add in quadrature. `stack` is c C_s; the wind flow
    comes ready from the forcing.
    """
    stack_flow = stack * abs(t_in - t_out) ** exponent
    return math.sqrt(stack_flow * stack_flow + wind_flow * wind_flow)


@compiled
def total_outdoor_air(natural: float, balanced: float, unbalanced: float) -> float:
    """All outdoor air, m3/s: balanced flow adds, unbalanced combines in quadrature.

    ASHRAE Fundamentals ch. 16, combination of mechanical and natural flows.

    >>> float(total_outdoor_air(3.0, 2.0, 4.0))
    7.0
    """
    return balanced + math.sqrt(natural * natural + unbalanced * unbalanced)
