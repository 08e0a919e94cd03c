"""Forward chaining: fit to the first part of a log, predict what follows, then move on.

A fit's own residuals flatter it. Errors on hours that it has not seen hold the drift too: people change
their habits, seasons change the house, sensors wander. So the bands get their width from these.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import t as student

from moistsim.calibration.goodness import PERIODS, by_period
from moistsim.calibration.model import Model
from moistsim.calibration.noise import SMALLEST, integral_time
from moistsim.calibration.posterior import LIMIT, Best, best_point, targets_of

Floats = NDArray[np.float64]
ORIGINS = (0.4, 0.55, 0.7, 0.85)
"""Shares of the fitted part after which a prediction begins."""
AHEAD = 0.3
"""Share of the fitted part that each prediction is as long as, at most."""
SETTLING = 24
"""First hours of a log that are not compared, because the state of the house is not known, h."""
POINTS = 8
"""Points of each structure with which the spread by its values is estimated."""


class Chained(NamedTuple):
    """Errors of all structures on hours that they were not fitted to."""

    rmse: dict[str, float]
    """Root of the mean squared error, g/kg, by structure."""
    together: float
    """That of their weighted mean, g/kg."""
    weights: dict[str, float]
    """Weight of each structure."""
    spread: dict[str, float]
    """Deviation that values and structures do not explain, g/kg, by period."""
    pieces: dict[str, float]
    """Number of independent errors behind `spread`, by period."""

    def reach(self, period: str, level: float) -> float:
        """Half the width of a band in deviations: Student's t, because few errors are independent."""
        return float(student.ppf(0.5 + 0.5 * level, max(self.pieces[period] - 1.0, 2.0)))


@attrs.frozen(eq=False)
class Fold:
    """Predictions of one structure after one origin."""

    rows: NDArray[np.intp]
    mean: Floats
    variance: Floats
    """Variance by the values' spread, (g/kg)²."""
    deviation: float
    """Deviation of the residuals before the origin, g/kg."""

    def score(self, measured: Floats) -> float:
        """Mean logarithm of the density that the prediction gave to what was measured then."""
        variance = self.variance + self.deviation**2
        squares = (self.mean - measured[self.rows]) ** 2
        return float(np.mean(-0.5 * np.log(variance) - 0.5 * squares / variance))


def spread_points(best: Best, n: int, seed: int) -> Floats:
    """Points of the normal approximation around the best one, (n, values)."""
    rng = np.random.default_rng(seed)
    root = np.linalg.cholesky(best.spread + 1e-9 * np.eye(len(best.z)))
    drawn = rng.standard_normal((n // 2, len(best.z)))
    return np.clip(best.z + np.vstack([drawn, -drawn]) @ root.T, -LIMIT, LIMIT)


def chain(model: Model, first: int, last: int) -> tuple[list[Fold], Best]:
    """Fit one structure to growing parts of the hours from `first` up to `last`, then to all."""
    hours, best = model.hours, None
    folds = []
    span = last - first
    for share in ORIGINS:
        cut = first + round(share * span)
        known = hours.known(first, cut)
        ahead = hours.known(cut, min(cut + max(round(AHEAD * span), 24), last))
        if len(known) < 24 or not len(ahead):
            continue
        best = best_point(model, targets_of(hours, first, cut), None if best is None else best.z)
        runs = np.array([model.shown(z)[0][ahead] for z in spread_points(best, POINTS, 0)])
        middle = model.shown(best.z)[0][ahead]
        spread = ((runs - middle) ** 2).mean(axis=0)
        folds.append(Fold(ahead, middle, spread, best.noise.deviation))
    whole = targets_of(hours, first, last)
    return folds, best_point(model, whole, None if best is None else best.z)


def chained(models: Sequence[Model], first: int, last: int) -> tuple[Chained, dict[str, Best]]:
    """Errors of structures by forward chaining, and the best point of each on all hours.

    Parameters
    ----------
    first, last : int
        Rows of the log that may be used.
    """
    # The compiled loop runs without Python's lock.
    with ThreadPoolExecutor(2) as pool:
        done = list(pool.map(lambda model: chain(model, first, last), models))
    names = [model.structure.name for model in models]
    bests = {name: best for name, (_, best) in zip(names, done, strict=True)}
    hours = models[0].hours
    squares = {
        name: float(
            np.mean(np.concatenate([(f.mean - hours.measured[f.rows]) ** 2 for f in folds]))
        )
        for name, (folds, _) in zip(names, done, strict=True)
    }
    rows = [fold.rows for fold in done[0][0]]
    # The longest times are those that all structures have to bear.
    times = [
        max(noise.time for noise in alike)
        for alike in zip(*(b.noises for b in bests.values()), strict=True)
    ]
    scores = {
        name: sum(fold.score(hours.measured) for fold in folds) + best.evidence(times)
        for name, (folds, best) in zip(names, done, strict=True)
    }
    # What was fitted speaks by its evidence, and what was not: there each origin counts as one trial,
    # because errors after it go together.
    raw = {name: float(np.exp(score - max(scores.values()))) for name, score in scores.items()}
    weights = {name: value / sum(raw.values()) for name, value in raw.items()}
    parts: dict[str, list[Floats]] = {period: [] for period in PERIODS}
    explained: dict[str, list[Floats]] = {period: [] for period in PERIODS}
    for k, at in enumerate(rows):
        mean = sum(weights[n] * folds[k].mean for n, (folds, _) in zip(names, done, strict=True))
        variance = sum(
            weights[n] * (folds[k].variance + (folds[k].mean - mean) ** 2)
            for n, (folds, _) in zip(names, done, strict=True)
        )
        table = pd.DataFrame(
            {"error": mean - hours.measured[at], "variance": variance}, hours.index[at]
        )
        for period in PERIODS:
            means = by_period(table, period).dropna() if len(table) > 1 else table
            parts[period].append(means["error"].to_numpy())
            explained[period].append(means["variance"].to_numpy())
    spread: dict[str, float] = {}
    count: dict[str, float] = {}
    for period in PERIODS:
        all_errors, all_explained = np.concatenate(parts[period]), np.concatenate(explained[period])
        if not len(all_errors):
            # No period is whole, as weeks in a log of one: the day's errors stand in.
            spread[period], count[period] = spread["D"], count["D"]
            continue
        own = min(best.noise.deviation for best in bests.values()) if period == "h" else SMALLEST
        left = float(np.mean(all_errors**2) - np.mean(all_explained))
        spread[period] = max(np.sqrt(max(left, 0.0)), own)
        count[period] = max(len(all_errors) / integral_time(all_errors), 2.0)
    together = float(np.sqrt(np.mean(np.concatenate(parts["h"]) ** 2)))
    return (
        Chained(
            {name: float(np.sqrt(s)) for name, s in squares.items()},
            together,
            weights,
            spread,
            count,
        ),
        bests,
    )
