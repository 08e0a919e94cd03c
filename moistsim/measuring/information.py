"""Value of information on draws: what a decision gains from a reading, and at most from all.

A decision takes the option of the highest mean net benefit. With perfect information it takes the
best option of each draw (EVPI). With a reading it takes the option of the highest mean after the
reading (EVSI; Raiffa & Schlaifer 1961, from memory). That mean has two steps. The benefit is
regressed on the readings of the draws (after Strong, Oakley, Brennan & Breeze 2015, from memory), so
what no reading shows does not count. The draws are then weighted by how well they explain the reading.

A maximum over means that contain their own noise promises too much. So draws are split: those that
decide never include the draw that is paid. What is left promises a little too little if draws are few.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NEIGHBORS = 4.0
"""Effective number of draws below which weights are made more even."""
PARTS = 10
"""Parts into which draws are split; each is decided for by the others."""
DIRECTIONS = 2
"""Directions of the readings in which benefits may bend: those in which draws differ most."""
SEEN = 0.1
"""Spread of the draws in a direction, in errors of the readings, below which it shows nothing."""
_HALVINGS = 14
"""Most times that weights are made more even."""


class Worth(NamedTuple):
    """Value of information, in the unit of the benefit."""

    value: float
    error: float
    """Standard error from the number of draws."""
    changes: float
    """Share of readings after which another option is taken."""


def best_option(benefit: Array) -> int:
    """Number of the option with the highest mean benefit.

    Parameters
    ----------
    benefit : array, shape (draws, options)
    """
    return int(np.argmax(benefit.mean(axis=0)))


def perfect_information(benefit: Array) -> Worth:
    """Value of knowing the draw that is true: the ceiling of all measurements.

    Parameters
    ----------
    benefit : array, shape (draws, options)

    Examples
    --------
    >>> perfect_information(np.array([[0.0, 100.0], [0.0, -60.0]])).value
    30.0
    """
    gain = benefit.max(axis=1) - benefit[:, best_option(benefit)]
    changes = benefit.argmax(axis=1) != best_option(benefit)
    return Worth(
        float(gain.mean()),
        float(gain.std(ddof=1) / np.sqrt(len(gain))),
        float((changes & (gain > 0.0)).mean()),
    )


def whitened(readings: Array, covariance: Array) -> Array:
    """Readings in units in which their errors are independent and of size one.

    Parameters
    ----------
    readings : array, shape (draws, readings)
    covariance : array, shape (readings, readings)
        Of the errors of the readings of one measurement.
    """
    root = np.linalg.cholesky(covariance)
    return np.asarray(np.linalg.solve(root, readings.T).T)


def directions(readings: Array) -> Array:
    """Readings along the directions in which draws differ most, shape (draws, up to `DIRECTIONS`).

    The directions are at right angles, so their errors stay independent and of size one.

    Parameters
    ----------
    readings : array, shape (draws, m)
        Whitened.
    """
    middle = readings - readings.mean(axis=0)
    _, sizes, axes = np.linalg.svd(middle, full_matrices=False)
    seen = sizes[:DIRECTIONS] / np.sqrt(len(readings)) > SEEN
    return np.asarray(middle @ axes[:DIRECTIONS][seen].T)


def shapes(points: Array) -> list[Array]:
    """Columns of a constant, of a plane, and of a parabola with products, each shape (draws, terms)."""
    spread = points.std(axis=0)
    z = points / np.where(spread > 0.0, spread, 1.0)
    one, flat = np.ones(len(z)), list(z.T)
    products = [z[:, i] * z[:, j] for i in range(z.shape[1]) for j in range(i, z.shape[1])]
    return [np.column_stack(columns) for columns in ([one], [one, *flat], [one, *flat, *products])]


def told(benefit: Array, points: Array, rows: Any = slice(None)) -> Array:
    """Benefit of each option above the usual one, as far as readings tell it, shape (draws, options).

    Of a constant, a plane and a parabola, the shape with the lowest BIC is taken: a reading that tells
    nothing must not seem to.

    Parameters
    ----------
    benefit : array, shape (draws, options)
    points : array, shape (draws, m)
        What `directions` gave.
    rows : index
        The draws to learn from.
    """
    # Options share most of their benefit; what decides is how each differs from the usual one.
    apart = benefit - benefit[:, [best_option(benefit)]]
    best = np.inf, np.zeros_like(benefit)
    for columns in shapes(points):
        own, n = columns[rows], len(columns[rows])
        if n <= own.shape[1] + 1:
            continue
        slopes = np.linalg.lstsq(own, apart[rows], rcond=None)[0]
        if own.shape[1] == 1:
            # A reading that tells nothing leaves the choice as it is, also in a part of the draws.
            slopes = apart.mean(axis=0, keepdims=True)
        squares = ((apart[rows] - own @ slopes) ** 2).mean(axis=0)
        real = squares[np.ptp(apart, axis=0) > 0.0]
        least = 1.0e-12 * max(float((apart**2).mean()), 1.0e-300)
        criterion = float((n * np.log(np.maximum(real, least)) + own.shape[1] * np.log(n)).sum())
        if criterion < best[0]:
            best = criterion, columns @ slopes
    return best[1]


def weights_of(points: Array, seen: Array) -> Array:
    """Weights of draws after readings, shape (k, draws), each row adding up to one.

    Where hardly a draw explains a reading, the weights are made more even.

    Parameters
    ----------
    points : array, shape (draws, m)
        Readings without error, in errors.
    seen : array, shape (k, m)
        Readings with their error.
    """
    squares = (seen**2).sum(axis=1)[:, None] + (points**2).sum(axis=1)[None, :]
    logs = -0.5 * (squares - 2.0 * seen @ points.T)
    logs -= logs.max(axis=1, keepdims=True)
    weights = np.exp(logs)
    least = min(NEIGHBORS, 0.5 * len(points))
    for _ in range(_HALVINGS):
        few = weights.sum(axis=1) ** 2 / (weights**2).sum(axis=1) < least
        if not few.any():
            break
        logs[few] *= 0.5
        weights[few] = np.exp(logs[few])
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def means_after(benefit: Array, readings: Array, covariance: Array, seen: Array) -> Array:
    """Mean benefit of each option after readings, above that of the usual option.

    Parameters
    ----------
    benefit : array, shape (draws, options)
    readings : array, shape (draws, m)
        Without error.
    covariance : array, shape (m, m)
    seen : array, shape (k, m)
        Readings with their error.

    Returns
    -------
    array, shape (k, options)
    """
    both = whitened(np.vstack([readings, seen]), covariance)
    points = both[: len(readings)]
    fitted = told(benefit, directions(points))
    return np.asarray(weights_of(points, both[len(readings) :]) @ fitted)


def sample_information(
    benefit: Array, readings: Array, covariance: Array, rng: np.random.Generator, repeats: int
) -> Worth:
    """Value of a measurement before it is made.

    Parameters
    ----------
    benefit : array, shape (draws, options)
    readings : array, shape (draws, m)
        What the measurement would show in each draw without error.
    covariance : array, shape (m, m)
        Of its errors.
    rng : numpy.random.Generator
    repeats : int
        Simulated errors for each draw.
    """
    usual, n = best_option(benefit), len(benefit)
    points = directions(whitened(readings, covariance))
    errors = rng.normal(size=(repeats, *points.shape))
    gain, changes = np.zeros(n), np.zeros(n)
    if points.shape[1]:
        parts = rng.permutation(n) % min(PARTS, n)
        for part in range(min(PARTS, n)):
            paid, decide = parts == part, parts != part
            fitted = told(benefit, points, decide)[decide]
            for error in errors:
                weights = weights_of(points[decide], points[paid] + error[paid])
                chosen = (weights @ fitted).argmax(axis=1)
                rows = np.flatnonzero(paid)
                gain[rows] += benefit[rows, chosen] - benefit[rows, usual]
                changes[rows] += chosen != usual
    gain /= repeats
    # Information is never worth less than nothing: it need not be heeded.
    return Worth(
        max(float(gain.mean()), 0.0),
        float(gain.std(ddof=1) / np.sqrt(n)),
        float(changes.mean() / repeats),
    )
