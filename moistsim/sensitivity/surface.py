"""A polynomial surface fitted to scattered points, of the degree that they support."""

from typing import Any, NamedTuple

import numpy as np

from moistsim.core.errors import InputError, Problem

HIGHEST_DEGREE = 6
"""Highest degree of a surface with any number of cases."""


class Surface(NamedTuple):
    """A polynomial in two variables between -1 and 1."""

    coefficients: Any
    degree: int
    missed: Any

    def at(self, x: Any, y: Any) -> Any:
        return np.polynomial.legendre.legval2d(x, y, self.coefficients)


def best_surface(at: Any, values: Any) -> Surface:
    """The surface with the smallest leave-one-out error, of all degrees that the cases support."""
    # Cases at the same place are left out together. Otherwise one would predict the other.
    _, place, many = np.unique(np.round(at, 9), axis=0, return_inverse=True, return_counts=True)
    place = place.ravel()
    distinct = [len(np.unique(np.round(column, 9))) for column in at.T]
    best: Surface | None = None
    for degree in range(1, HIGHEST_DEGREE + 1):
        i, j = np.meshgrid(*(np.arange(degree + 1),) * 2, indexing="ij")
        terms = (i + j <= degree) & (i < distinct[0]) & (j < distinct[1])
        columns = np.polynomial.legendre.legvander2d(at[:, 0], at[:, 1], [degree, degree])
        columns = columns[:, terms.ravel()]
        if len(many) <= columns.shape[1]:
            break
        found, _, rank, _ = np.linalg.lstsq(columns, values, rcond=1e-10)
        leverage = (np.linalg.qr(columns)[0] ** 2).sum(axis=1)
        if rank < columns.shape[1] or (leverage * many[place]).max() > 1.0 - 1e-9:
            break
        residual = values - columns @ found
        together = np.bincount(place, residual)[place]
        missed = residual + leverage * together / (1.0 - leverage * many[place])
        # A gain within rounding is not a better fit.
        floor = 1e-20 * np.sum(values**2)
        if best is None or np.sum(missed**2) < 0.999 * np.sum(best.missed**2) - floor:
            coefficients = np.zeros(terms.shape)
            coefficients[terms] = found
            best = Surface(coefficients, degree, missed)
    if best is None:
        raise InputError(
            "break_even(frame)", Problem(f"cases at {len(many)} places"), "more places"
        )
    return best
