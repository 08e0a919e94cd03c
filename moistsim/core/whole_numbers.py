"""Whole numbers that an argument may be: workers and cases that this computer can hold, and seeds."""

import operator
import os
from typing import Any

from moistsim.core.errors import InputError, Problem

MOST_CASES = 2**20
"""Most cases of one table. Their values and rows fill a few GB with four options."""
A_CORE = 16
"""Most workers for each core. More than one never ends sooner; the rest is for odd machines."""


def worker_count(workers: Any, where: str) -> int:
    """Number of threads or processes to start; one for each core if none is given.

    Parameters
    ----------
    workers : int, optional
    where : str
        Name of the argument in an error.

    Raises
    ------
    InputError
        If it is not a whole number that this computer can hold.

    Examples
    --------
    >>> worker_count(3, "Sweep.run workers")
    3
    >>> worker_count(None, "Sweep.run workers") >= 1
    True
    """
    cores = os.cpu_count() or 1
    if workers is None:
        return cores
    most = A_CORE * cores
    accepted = f"a whole number from 1 to {most}, {A_CORE} for each core of this computer"
    return whole_number(workers, where, 1, most, accepted)


def case_count(
    n: Any, where: str, *, at_least: int = 1, accepted: str = "a whole number of cases"
) -> int:
    """Number of cases to draw.

    Parameters
    ----------
    n : int
    where : str
        Name of the argument in an error.
    at_least : int
        Fewest cases.
    accepted : str
        Noun phrase for an error; the limits follow.

    Raises
    ------
    InputError
        If it is not a whole number, or more than a table can hold.

    Examples
    --------
    >>> case_count(1e8, "Sweep.n")
    Traceback (most recent call last):
        ...
    moistsim.core.errors.InputError: Sweep.n: cannot use 100000000.0. Use a whole number of cases from 1 to 1,048,576.
    """
    accepted = f"{accepted} from {at_least} to {MOST_CASES:,}"
    return whole_number(n, where, at_least, MOST_CASES, accepted)


def seed_of(seed: Any, where: str) -> int:
    """A seed as a whole number of Python.

    Parameters
    ----------
    seed : int
    where : str
        Name of the argument in an error.

    Raises
    ------
    InputError
        If it is not a whole number that a generator takes.

    Examples
    --------
    >>> seed_of(7, "Sweep.seed")
    7
    """
    return whole_number(seed, where, 0, 2**128 - 1, "a whole number, 0 or more, below 2**128")


def whole_number(value: Any, where: str, at_least: int, at_most: int, accepted: str) -> int:
    """A whole number within limits, of Python or of numpy.

    Raises
    ------
    InputError
        If it is anything else, such as True, 3.0 or a text.

    Examples
    --------
    >>> whole_number(7, "Sweep.seed", 0, 10, "a whole number from 0 to 10")
    7
    """
    try:
        number = None if isinstance(value, bool) else operator.index(value)
    except TypeError:
        number = None
    if number is None:
        raise InputError(where, value, accepted)
    if not at_least <= number <= at_most:
        # Python prints no number of thousands of digits.
        long = number.bit_length() > 200
        raise InputError(
            where, Problem("a number of dozens of digits") if long else number, accepted
        )
    return number
