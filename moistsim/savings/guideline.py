"""Fractional savings uncertainty of ASHRAE Guideline 14."""

import numpy as np
from scipy import stats

CONFIDENCE = 0.68
"""Confidence at which the guideline states it (from memory)."""
LIMIT = 0.5
"""Largest fractional savings uncertainty at that confidence that it accepts (from memory)."""

CALIBRATED = {"bills": 0.15, "days": 0.30}
"""Largest CV(RMSE) of a calibrated simulation, for bills, and for shorter readings (hourly in the
guideline; from memory)."""


def fractional_uncertainty(
    cv_rmse: float,
    share: float,
    before: int,
    after: int,
    *,
    parameters: int,
    autocorrelation: float = 0.0,
    confidence: float = CONFIDENCE,
) -> float:
    """Uncertainty of a saving as a share of it, by ASHRAE Guideline 14.

    dE / E = 1.26 t CV(RMSE) / F sqrt((n / n') (1 + 2 / n') / m), with n' = n (1 - rho) / (1 + rho):
    Guideline 14-2014, annex B, after Reddy & Claridge 2000 (from memory).

    Parameters
    ----------
    cv_rmse : float
        CV(RMSE) of the model before.
    share : float
        F, the saving over the use without it; not 0.
    before, after : int
        Readings n and m.
    parameters : int
        Coefficients of the model, for Student's t.
    autocorrelation : float
        rho, of neighboring residuals.
    confidence : float
        Of the two-sided interval.

    Examples
    --------
    >>> round(fractional_uncertainty(0.10, 0.15, 12, 12, parameters=3), 2)
    0.28
    """
    independent = before * (1.0 - autocorrelation) / (1.0 + autocorrelation)
    freedom = max(independent - parameters, 1.0)
    t = float(stats.t.ppf(0.5 + 0.5 * confidence, freedom))
    spread = np.sqrt(before / independent * (1.0 + 2.0 / independent) / after)
    return float(1.26 * t * cv_rmse * spread / abs(share))
