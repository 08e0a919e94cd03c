"""What a model leaves unexplained, and how much a log of correlated residuals is worth.

Residuals of a house by the hour are far from independent: errors of the weather, of habits and of the
model last for hours to days. A long run of them carries the information of n / T independent hours,
where T is the integral time of their correlation; (1 + φ) / (1 - φ) for an AR(1) process. The likelihood
counts that many. The most probable values are then those of least squares, and their bands are as wide
as correlated errors make them.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

SMALLEST, SHORTEST = 0.04, 24.0
"""Smallest deviation of residuals, g/kg, and shortest integral time, h, that any model is trusted to.
The hours of a day go together: a habit, a surface a little warmer than modeled. Round figures of ours, which
the invented houses of `tests/benchmarks/measured_houses.py` bear out."""
FEWEST = 5.0
"""Fewest independent residuals that a log is counted as."""


class Noise(NamedTuple):
    """Residuals of a fit: standard deviation, g/kg, and integral time, h."""

    deviation: float
    time: float

    def worth(self, hours: int) -> float:
        """Number of independent values that so many hours are worth."""
        return max(hours / self.time, FEWEST)

    def weight(self, hours: int) -> float:
        """Factor of each hour's squared residual in the likelihood, kg²/g²."""
        return self.worth(hours) / hours / self.deviation**2

    def remembered(self, apart: NDArray[np.float64]) -> NDArray[np.float64]:
        """Share of a residual that is still there so many hours later."""
        # An AR(1) process of time constant τ has the integral time 2 τ.
        return np.asarray(np.exp(-apart / (0.5 * self.time)))


WINDOW = 5.0
"""Window of the integral time, in integral times (Sokal's choice, as in emcee)."""
WIDE, WARM = Noise(0.2, 24.0), Noise(0.7, 48.0)
"""Noise of humidity, g/kg, and of temperature, K, before the first residuals are known; round figures."""


def noise_of(residual: NDArray[np.float64], spacing: float) -> Noise:
    """Noise behind residuals, g/kg, at times `spacing` hours apart.

    The integral time is Sokal's estimate, as emcee makes it for chains.
    """
    deviation = max(float(np.sqrt(np.mean(residual**2))), SMALLEST)
    steps = min(integral_time(residual), len(residual) / FEWEST)
    return Noise(deviation, max(spacing * steps, SHORTEST))


def integral_time(values: NDArray[np.float64]) -> float:
    """Integral time of a series' correlation, in its own steps; at least 1."""
    from emcee import autocorr

    if len(values) < 4 or np.ptp(values) == 0.0:
        return 1.0
    sums = 2.0 * np.cumsum(autocorr.function_1d(values)) - 1.0
    return max(float(sums[autocorr.auto_window(sums, WINDOW)]), 1.0)
