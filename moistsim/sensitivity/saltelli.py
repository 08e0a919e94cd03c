"""Cases for the computation of Sobol indices."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.whole_numbers import seed_of
from moistsim.sensitivity.drawing import drawn
from moistsim.sensitivity.sampling import check_design


def saltelli_cases(vary: Mapping[str, Any], n: int, seed: int = 0) -> pd.DataFrame:
    """Cases for Sobol indices: two samples, and the first with columns of the second.

    Parameters
    ----------
    vary : dict
        By dotted name: a range with ends in SI, a frozen distribution of scipy.stats, a list of
        equally likely choices, or a dict with labels to choose from. Parameters must be independent
        of each other.
    n : int
        Cases in each sample, a power of 2.
    seed : int
        Seed of the sample.

    Returns
    -------
    pandas.DataFrame
        n (d + 2) rows for d parameters, indexed by `case`: sample A, then sample B, then A once for
        each parameter, with that parameter from B. Both samples are parts of one scrambled Sobol
        sequence of 2 d dimensions (Saltelli et al. 2010, section 5). ``attrs["drawn"]`` has `n` and
        `seed`.

    Raises
    ------
    InputError
        If there are fewer than two parameters, `n` is not a power of 2, or a parameter cannot be
        drawn from.

    Examples
    --------
    >>> import moistsim as ms
    >>> vary = {"house.ach50": ms.uniform(2.0, 6.0), "tariff.price": ms.uniform(0.1, 0.4)}
    >>> len(saltelli_cases(vary, 16))
    64
    """
    from scipy.stats import qmc

    if len(vary) < 2:
        raise InputError("saltelli_cases(vary)", list(vary), "two parameters or more")
    d = len(vary)
    n = check_design(n, d, "saltelli_cases(n)")
    seed = seed_of(seed, "saltelli_cases(seed)")
    samples = qmc.Sobol(2 * d, seed=np.random.default_rng(seed), bits=64).random(n)
    a, b = (
        pd.DataFrame(
            {name: drawn(name, of, u) for (name, of), u in zip(vary.items(), half.T, strict=True)}
        )
        for half in (samples[:, :d], samples[:, d:])
    )
    cases = pd.concat([a, b, *_pages(a, b)], ignore_index=True)
    cases.index.name = "case"
    cases.attrs["drawn"] = {"sample": "saltelli", "n": n, "seed": seed}
    return cases


def sample_size(design: pd.DataFrame) -> int:
    """Number of rows in each sample of a design, which must come from `saltelli_cases`."""
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
    """Sample A once for each parameter, with that parameter from sample B."""
    return [a.assign(**{str(name): b[name]}) for name in a.columns]
