"""The cases from which Sobol indices can be computed."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.sensitivity.drawing import drawn


def saltelli_cases(vary: Mapping[str, Any], n: int, seed: int = 0) -> pd.DataFrame:
    """Cases from which Sobol indices can be computed: two samples, and one in the other.

    Parameters
    ----------
    vary : dict
        By the parameter's dotted name: a range of a sweep with bounds in SI, a distribution with a
        method `ppf`, as those of scipy.stats, or a list of choices of equal weight (or a dict, whose
        labels are chosen from). Parameters must be independent of each other.
    n : int
        Cases a sample, a power of 2.
    seed : int

    Returns
    -------
    pandas.DataFrame
        n (d + 2) rows for d parameters, indexed by `case`: A, then B, then, for each parameter, A
        with that parameter taken from B. Both samples are parts of one scrambled Sobol sequence of
        2 d dimensions (Saltelli et al. 2010, section 5).

    Raises
    ------
    InputError
        If there are fewer than two parameters, `n` is no power of 2, or one cannot be drawn from.
    """
    from scipy.stats import qmc

    if len(vary) < 2:
        raise InputError("saltelli_cases(vary)", list(vary), "two parameters or more")
    if isinstance(n, bool) or not isinstance(n, int) or n < 2 or n & (n - 1):
        raise InputError("saltelli_cases(n)", n, "a power of 2, such as 256")
    d = len(vary)
    samples = qmc.Sobol(2 * d, seed=np.random.default_rng(seed), bits=64).random(n)
    a, b = (
        pd.DataFrame(
            {name: drawn(name, of, u) for (name, of), u in zip(vary.items(), half.T, strict=True)}
        )
        for half in (samples[:, :d], samples[:, d:])
    )
    cases = pd.concat([a, b, *_pages(a, b)], ignore_index=True)
    cases.index.name = "case"
    return cases


def sample_size(design: pd.DataFrame) -> int:
    """Rows a sample, of what is truly a design of `saltelli_cases`."""
    d = len(design.columns)
    n, rest = divmod(len(design), d + 2)
    whole = d >= 2 and rest == 0 and n >= 2 and n & (n - 1) == 0
    if whole:
        a, b, *pages = (
            design.iloc[k * n : (k + 1) * n].reset_index(drop=True) for k in range(d + 2)
        )
        whole = all(page.equals(due) for page, due in zip(pages, _pages(a, b), strict=True))
    if not whole:
        raise InputError(
            "sobol_from(design)",
            Problem(f"{len(design)} rows of {d} parameters"),
            "what saltelli_cases gave, whole and in its order",
        )
    return n


def _pages(a: pd.DataFrame, b: pd.DataFrame) -> list[pd.DataFrame]:
    """A with one parameter from B, for each."""
    return [a.assign(**{str(name): b[name]}) for name in a.columns]
