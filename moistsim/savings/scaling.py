"""A simulation brought to the meter of the time before: the rest of the house, and a scale."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.savings.change_points import first_order, sum_variance
from moistsim.savings.meter_readings import MeterReadings

Array = NDArray[np.float64]

SCALE = 0.15
"""Standard deviation of metered over simulated use of the machines, before the meter is read: ratings,
ducts and charge of a real installation (common practice, no source)."""
SAMPLES = 4000
"""Samples of a distribution over draws."""
_ROUNDS = 4
"""Rounds in which the scatter of the residuals is found."""


class Scaled(NamedTuple):
    """Samples of what simulation and meter say together."""

    total: Array | None
    """Use after, had nothing changed, kWh; None without a meter before."""
    scale: Array
    """Metered over simulated use of the machines."""
    draw: NDArray[np.intp]
    """The draw that each sample belongs to."""
    effective: float
    """Number of draws that the meter leaves (Kish's effective sample size, from memory)."""
    cv_rmse: float | None
    """CV(RMSE) of the best draw on the meter before, as a share; None without one."""


def draw_weights(before: Array, readings: MeterReadings) -> Array:
    """Weights of draws after the meter before, adding up to one.

    Parameters
    ----------
    before : array, shape (draws, periods)
        Simulated electricity in the periods of `readings`, kWh.
    readings : MeterReadings
        The meter before.
    """
    return _weights(_fits(before, readings), len(readings))


def effective_number(weights: Array) -> float:
    """Number of draws that count (Kish's effective sample size, from memory)."""
    return float(weights.sum() ** 2 / (weights @ weights))


def scaled_to_meter(
    before: Array,
    readings: MeterReadings,
    unchanged: Array,
    later: MeterReadings | None,
    rng: np.random.Generator,
    weights: Array | None = None,
) -> Scaled:
    """Fit the rest of the house and the scale of each draw to the meter before, and predict after.

    For each draw, use per day is ``rest + scale * simulated``. The rest is free, and the scale is
    normal around 1 with `SCALE`. Draws count by how well they then follow the meter. Residuals of
    neighbors are correlated, which leaves fewer independent readings.

    Parameters
    ----------
    before : array, shape (draws, periods)
        Simulated electricity in the periods of `readings`, kWh.
    readings : MeterReadings
        The meter before.
    unchanged : array, shape (draws, periods)
        Simulated electricity in the periods of `later`, with the machines before, kWh.
    later : MeterReadings or None
        The meter after.
    rng : numpy.random.Generator
    weights : array, shape (draws,), optional
        Weights of the draws, where the meter has chosen them already; default: `draw_weights`.
    """
    fits = _fits(before, readings)
    weights = _weights(fits, len(readings)) if weights is None else weights / weights.sum()
    draw = rng.choice(len(fits), SAMPLES, p=weights)
    # A t-distributed error of each sample, shared by rest and scale.
    freedom = np.array([max(fit.independent - 2.0, 1.0) for fit in fits])[draw]
    wider = np.sqrt(freedom / rng.chisquare(freedom))
    means = np.stack([fit.coefficients for fit in fits])
    roots = np.stack([np.linalg.cholesky(fit.covariance) for fit in fits])
    errors = np.einsum("sij,sj->si", roots[draw], rng.normal(size=(SAMPLES, 2)))
    coefficients = means[draw] + wider[:, None] * errors
    total = None
    if later is not None:
        own = np.sqrt([sum_variance(later, fit.variance, fit.rho) for fit in fits])
        total = (
            coefficients[:, 0] * later.days.sum()
            + coefficients[:, 1] * unchanged.sum(axis=1)[draw]
            + wider * own[draw] * rng.normal(size=SAMPLES)
        )
    best = min(fit.variance for fit in fits)
    cv_rmse = float(np.sqrt(best / readings.days.mean())) / float(
        readings.kwh.sum() / readings.days.sum()
    )
    return Scaled(total, coefficients[:, 1], draw, effective_number(weights), cv_rmse)


def _fits(before: Array, readings: MeterReadings) -> list["_Straight"]:
    return [
        _straight(row / readings.days, readings.per_day, readings.days, readings) for row in before
    ]


def _weights(fits: list["_Straight"], n: int) -> Array:
    """Weights by the scatter that each draw leaves, with as many readings as the best leaves."""
    independent = fits[int(np.argmin([fit.squares for fit in fits]))].independent
    logs = np.array(
        [
            -0.5 * (independent - 1.0) * np.log(max(fit.squares, 1e-12) / n)
            - 0.5 * ((fit.coefficients[1] - 1.0) / SCALE) ** 2
            for fit in fits
        ]
    )
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def unmetered(draws: int, rng: np.random.Generator) -> Scaled:
    """Samples without a meter before: the scale as it is known without one."""
    draw = rng.integers(draws, size=SAMPLES)
    return Scaled(None, rng.normal(1.0, SCALE, SAMPLES), draw, float(draws), None)


class _Straight(NamedTuple):
    """Rest and scale of one draw."""

    coefficients: Array
    covariance: Array
    squares: float
    variance: float
    """Variance of a residual of one day's weight."""
    rho: float
    independent: float


def _straight(x: Array, use: Array, days: Array, readings: MeterReadings) -> _Straight:
    """Weighted least squares of use on simulated use, with the scale near 1."""
    design = np.column_stack([np.ones(len(x)), x])
    n = len(x)
    variance = float(days @ (use - np.average(use, weights=days)) ** 2) / n + 1e-12
    rho, independent = 0.0, float(n)
    for _ in range(_ROUNDS):
        prior = np.diag([0.0, variance / SCALE**2])
        share = independent / n
        normal = share * (design * days[:, None]).T @ design + prior
        right = share * (design * days[:, None]).T @ use + prior @ np.ones(2)
        found = np.linalg.solve(normal, right)
        residuals = use - design @ found
        squares = float(days @ residuals**2)
        variance = max(squares / max(n - 2, 1), 1e-12)
        rho = first_order(residuals, readings.follows, days)
        independent = max(n * (1.0 - rho) / (1.0 + rho), 3.0)
    return _Straight(
        np.asarray(found, float),
        np.asarray(variance * np.linalg.inv(normal)),
        squares,
        variance,
        rho,
        independent,
    )
