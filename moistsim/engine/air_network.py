"""The linear systems of bodies of air that exchange air: flows between them, solution, fog.

Row i of the first rows of the table holds the flows F_ij into body i from each body j, kg/s of dry
air. The rows of a system hold its matrix and, last, its right side. `spaces` fills both.
"""

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import Volume
from moistsim.engine.saturated_air import more_held
from moistsim.engine.zone import HeatNode, WaterNode


@piece
def solve(work: NDArray[np.float64], first: int, bodies: int, into: int) -> None:
    """Solve the linear system in rows from `first` on, by elimination, into the row `into`."""
    for i in range(bodies):
        for j in range(i + 1, bodies):
            share = work[first + j, i] / work[first + i, i]
            if share != 0.0:
                for k in range(i + 1, bodies + 1):
                    work[first + j, k] -= share * work[first + i, k]
    for i in range(bodies - 1, -1, -1):
        total = work[first + i, bodies]
        for k in range(i + 1, bodies):
            total -= work[first + i, k] * work[into, k]
        work[into, i] = total / work[first + i, i]


@piece
def into(work: NDArray[np.float64], i: int, bodies: int) -> float:
    """Dry air into a body from all others, kg/s."""
    total = 0.0
    for j in range(bodies):
        total += work[i, j]
    return total


@piece
def out_of(work: NDArray[np.float64], i: int, bodies: int) -> float:
    """Dry air from a body to all others, kg/s."""
    total = 0.0
    for j in range(bodies):
        total += work[j, i]
    return total


@piece
def vapor_into(work: NDArray[np.float64], i: int, bodies: int, w_ends: int) -> float:
    """Heat of evaporation in the vapor that other bodies bring, W."""
    total = 0.0
    for j in range(bodies):
        total += work[i, j] * work[w_ends, j]
    return total * air.H_EVAPORATION


@piece
def hold_saturated(
    work: NDArray[np.float64], bodies: int, holds: int, w_ends: int, dt: float
) -> bool:
    """Solve the humidity ratios, with saturated air held at its own, and find the fog in each body.

    Returns
    -------
    bool
        Whether a body can hold all its water after all, so the step must be solved again.
    """
    fogs, masses = holds + 1, holds + 2
    for i in range(bodies):
        if work[holds, i] > 0.0:
            work[fogs, i], work[masses, i] = work[bodies + i, bodies], work[bodies + i, i]
            for j in range(bodies):
                work[bodies + i, j] = 0.0
            work[bodies + i, i], work[bodies + i, bodies] = 1.0, work[holds, i]
    solve(work, bodies, bodies, w_ends)
    freed = False
    for i in range(bodies):
        if work[holds, i] > 0.0:
            left = work[fogs, i] - work[masses, i] * work[w_ends, i]
            for j in range(bodies):
                left += dt * work[i, j] * work[w_ends, j]
            work[fogs, i] = max(left, 0.0) * (1.0 / dt)
            if left < 0.0:
                work[holds, i], freed = 0.0, True
    return freed


@piece
def hold_more(
    work: NDArray[np.float64], i: int, holds: int, w_ends: int, volume: Volume, wet: WaterNode,
    node: HeatNode, pressure: float, dt: float,
) -> None:  # fmt: skip
    """Next estimate of the humidity ratio at which the air of a body is held."""
    work[holds, i] = more_held(
        volume, wet, work[holds + 2, i], node, work[holds, i], work[w_ends + 1, i], pressure, dt
    )
