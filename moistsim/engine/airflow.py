"""Outdoor air in a step: infiltration, exhaust fans, and how leaks and fans combine."""

import math
from typing import NamedTuple

from moistsim.core.compiled import piece
from moistsim.engine.records import ExhaustParameters


class Exhausting(NamedTuple):
    """Airflow and power of the exhaust fans, means over a step."""

    flow: float
    """Airflow of all exhaust fans, m3/s."""
    power: float
    """Power of all exhaust fans, W."""


@piece
def runs_in_step(share: float, step: int, steps: int) -> float:
    """Share of a step for which a fan runs that runs for a share of the hour, from its start.

    >>> [float(runs_in_step(0.375, k, 4)) for k in range(4)]
    [1.0, 0.5, 0.0, 0.0]
    """
    return min(max(share * steps - step, 0.0), 1.0)


@piece
def exhausting(
    fans: ExhaustParameters, dryer: float, hood: float, bath: float, step: int, steps: int
) -> Exhausting:
    """Flow and power of the exhaust fans in a step of the hour, by their shares of the hour."""
    a = runs_in_step(dryer, step, steps)
    b = runs_in_step(hood, step, steps)
    c = runs_in_step(bath, step, steps)
    return Exhausting(
        a * fans.dryer + b * fans.hood + c * fans.bath,
        a * fans.dryer_power + b * fans.hood_power + c * fans.bath_power,
    )


@piece
def natural_infiltration(
    stack: float, exponent: float, wind_flow: float, t_in: float, t_out: float
) -> float:
    """Infiltration by stack and wind, m3/s.

    Enhanced model of ASHRAE Fundamentals ch. 16 (Walker & Wilson 1998): stack flow
    c C_s |dT|^n and wind flow c C_w (s U)^(2n) add in quadrature. `stack` is c C_s; the wind flow
    comes from the forcing. The basic model has an exponent of one half.
    """
    stack_flow = stack * abs(t_in - t_out) ** exponent
    return math.sqrt(stack_flow * stack_flow + wind_flow * wind_flow)


@piece
def total_outdoor_air(natural: float, balanced: float, unbalanced: float) -> float:
    """All outdoor air, m3/s: balanced flow adds, unbalanced combines in quadrature.

    ASHRAE Fundamentals ch. 16, combination of mechanical and natural flows.

    >>> float(total_outdoor_air(3.0, 2.0, 4.0))
    7.0
    """
    return balanced + math.sqrt(natural * natural + unbalanced * unbalanced)
