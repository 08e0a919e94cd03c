"""Spells: unbroken runs of hours, days or steps in which a condition holds."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def spells(holds: ArrayLike) -> NDArray[np.intp]:
    """Return the first row of each spell and the row after its last, shape (n, 2).

    >>> spells([True, True, False, True]).tolist()
    [[0, 2], [3, 4]]
    """
    edges = np.diff(np.concatenate([[False], np.asarray(holds, bool), [False]]).astype(np.int8))
    return np.column_stack([np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)])


def longest(holds: ArrayLike) -> int:
    """Return the number of rows of the longest spell; 0 without a spell."""
    found = spells(holds)
    return int((found[:, 1] - found[:, 0]).max(initial=0))
