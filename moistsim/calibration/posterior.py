"""Values of a structure that fit the log: a search over all ranges, then the posterior.

The search starts least squares from the best points of a Sobol sequence over the priors. The posterior
is drawn by emcee (Goodman & Weare 2010; Foreman-Mackey et al. 2013) with moves of differential
evolution (ter Braak 2006), begun from the normal approximation at the best point.
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import norm, qmc

from moistsim.calibration.model import Hours, Model
from moistsim.calibration.noise import WARM, WIDE, Noise, integral_time, noise_of

Floats = NDArray[np.float64]
MOST_BLOCKS = 1200
"""Largest number of means that are compared; in a longer log, blocks of hours get longer."""
SEARCHED, STARTS = 32, 2
"""Points of the first search, and starts of least squares."""
DIFFERENCE = 0.05
"""Step of the derivatives on the standard normal scale. Windows open on the hour, so a run is not smooth."""
SEARCH_WIDTH = 0.8
"""Width of the search over the priors' deviations: far corners rarely fit."""
LIMIT = 5.0
"""Farthest that the search goes on the standard normal scale."""


@attrs.frozen(eq=False)
class Target:
    """Measured means of blocks of hours that a model has to meet: of humidity or of temperature."""

    rows: tuple[NDArray[np.intp], ...]
    """Rows of the log by block."""
    hours: Floats
    """Middle of each block, h."""
    measured: Floats
    """Mean humidity ratio, g/kg, or temperature, degC."""
    long: int
    """Length of a block, h."""
    _sums: NDArray[np.intp]
    _order: NDArray[np.intp]
    _counts: Floats

    @classmethod
    def of(cls, known: NDArray[np.intp], measured: Floats) -> "Target":
        """Blocks of the rows with a measured value."""
        long = max(int(np.ceil(len(known) / MOST_BLOCKS)), 1)
        if len(known):
            long = max(long, int(np.ceil((known[-1] + 1 - known[0]) / MOST_BLOCKS)))
        blocks = (known - known[0]) // long
        begins = np.flatnonzero(np.diff(blocks, prepend=-1))
        rows = tuple(np.split(known, begins[1:]))
        counts = np.array([len(r) for r in rows], float)
        means = np.add.reduceat(measured[known], begins) / counts
        middles = np.add.reduceat(known.astype(float), begins) / counts
        return cls(rows, middles, means, long, begins, known, counts)

    def residual(self, shown: Floats) -> Floats:
        """Measured less modeled means."""
        return np.asarray(
            self.measured - np.add.reduceat(shown[self._order], self._sums) / self._counts
        )

    @property
    def n(self) -> int:
        """Number of hours with a measured value."""
        return len(self._order)

    def root_weights(self, noise: Noise) -> Floats:
        """Square root of each block's weight in the likelihood."""
        return np.sqrt(self._counts * noise.weight(self.n))


def targets_of(hours: Hours, first: int, last: int) -> tuple[Target, ...]:
    """What a model has to meet in the hours from `first` up to `last`."""
    return tuple(
        Target.of(first + np.flatnonzero(np.isfinite(values[first:last])), values)
        for values in hours.compared
    )


class Best(NamedTuple):
    """The most probable point of a structure."""

    z: Floats
    spread: Floats
    """Covariance of the normal approximation on the standard normal scale."""
    noises: tuple[Noise, ...]
    """Noise of the humidity, then that of the temperature if it is not imposed."""
    hours: tuple[int, ...]
    """Number of hours that each noise is of."""
    runs: int

    @property
    def noise(self) -> Noise:
        """Noise of the humidity."""
        return self.noises[0]

    def evidence(self, times: Sequence[float]) -> float:
        """Logarithm of the density that the structure gave to the log, by Laplace's approximation.

        Parameters
        ----------
        times : sequence of float
            Integral time of the residuals of each kind, h; the same for all structures compared.
        """
        total = 0.5 * float(np.linalg.slogdet(self.spread)[1]) - 0.5 * float(self.z @ self.z)
        for noise, hours, time in zip(self.noises, self.hours, times, strict=True):
            total -= noise._replace(time=time).worth(hours) * (np.log(noise.deviation) + 0.5)
        return total


def best_point(model: Model, targets: tuple[Target, ...], start: Floats | None = None) -> Best:
    """Find the most probable values of a structure.

    Parameters
    ----------
    start : array, optional
        A point to start from, in place of the search over all ranges.
    """
    d, runs = len(model.names), 0

    def residuals(z: Floats) -> list[Floats]:
        nonlocal runs
        runs += 1
        shown = model.shown(z)
        return [target.residual(one) for target, one in zip(targets, shown, strict=True)]

    def misfit_under(noises: Sequence[Noise]) -> Callable[[Floats], Floats]:
        weights = [t.root_weights(noise) for t, noise in zip(targets, noises, strict=True)]

        def misfit(z: Floats) -> Floats:
            parts = zip(weights, residuals(z), strict=True)
            return np.concatenate([*(w * r for w, r in parts), z])

        return misfit

    def noises_at(z: Floats) -> tuple[Noise, ...]:
        left = zip(residuals(z), targets, strict=True)
        return tuple(noise_of(residual, target.long) for residual, target in left)

    wide = (WIDE, WARM)[: len(targets)]
    if start is None:
        cube = qmc.Sobol(d, seed=0).random_base2(int(np.log2(SEARCHED)))
        points = SEARCH_WIDTH * norm.ppf(np.clip(cube, 0.02, 0.98))
        points[0] = 0.0
        misfit = misfit_under(wide)
        losses = [float(np.sum(misfit(z) ** 2)) for z in points]
        starts, most = [points[k] for k in np.argsort(losses)[:STARTS]], 10
    else:
        starts, most = [start], 10
    solved = [_solve(misfit_under(wide), z, most) for z in starts]
    z = min(solved, key=lambda one: float(one.cost)).x
    z = _solve(misfit_under(noises_at(z)), z, 4).x
    noises = noises_at(z)
    jac = _slopes(misfit_under(noises), z)
    spread = np.asarray(np.linalg.inv(jac.T @ jac), float)
    return Best(z, spread, noises, tuple(target.n for target in targets), runs)


def _solve(misfit: Callable[[Floats], Floats], z: Floats, most: int) -> Any:
    """Least squares from a point, with few calls."""

    def slopes(z: Floats) -> Floats:
        return _slopes(misfit, z)

    return least_squares(
        misfit, np.clip(z, -LIMIT, LIMIT), bounds=(-LIMIT - 1e-6, LIMIT + 1e-6),
        jac=slopes, max_nfev=most, xtol=1e-3, ftol=1e-3,
    )  # fmt: skip


def _slopes(f: Callable[[Floats], Floats], z: Floats) -> Floats:
    """Jacobian by differences that a model with switches bears."""
    base = f(z)
    columns = []
    for k in range(len(z)):
        moved = z.copy()
        moved[k] += DIFFERENCE if z[k] < 0.0 else -DIFFERENCE
        columns.append((f(moved) - base) / (moved[k] - z[k]))
    return np.array(columns).T


class Drawn(NamedTuple):
    """Draws from the posterior of a structure."""

    z: Floats
    """Points on the standard normal scale, (draws, values)."""
    acceptance: float
    effective: float
    """Number of independent draws that they are worth."""


def draw(
    model: Model, targets: tuple[Target, ...], best: Best, n: int, steps: int, seed: int
) -> Drawn:
    """Draw from the posterior with the noise of the best point.

    Parameters
    ----------
    n : int
        Number of draws.
    steps : int
        Steps of each walker; the first third is not used.
    """
    import emcee

    d = len(model.names)
    rng = np.random.default_rng(seed)
    walkers = 2 * (d + 1)
    shape = np.linalg.cholesky(best.spread + 1e-9 * np.eye(d))
    begin = np.clip(best.z + rng.standard_normal((walkers, d)) @ shape.T, -LIMIT, LIMIT)

    weights = [t.root_weights(noise) for t, noise in zip(targets, best.noises, strict=True)]

    def log_probability(z: Floats) -> float:
        if np.any(np.abs(z) > LIMIT):
            return -np.inf
        parts = zip(weights, targets, model.shown(z), strict=True)
        misfit = np.concatenate([w * target.residual(one) for w, target, one in parts])
        return -0.5 * float(misfit @ misfit + z @ z)

    moves = [(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)]
    sampler = emcee.EnsembleSampler(walkers, d, log_probability, moves=moves)
    sampler.random_state = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(begin, steps, skip_initial_state_check=True)
    chain = sampler.get_chain(discard=steps // 3)
    # Of the walkers' mean, which is worth as many draws as the chain of one walker times the walkers.
    longest = max(integral_time(chain[:, :, k].mean(axis=1)) for k in range(d))
    flat = chain.reshape(-1, d)
    rows = rng.choice(len(flat), n, replace=len(flat) < n)
    return Drawn(flat[rows], float(np.mean(sampler.acceptance_fraction)), len(flat) / longest)
