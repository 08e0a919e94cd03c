"""Sobol indices: the share of each parameter in the variance of a result, with its band."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.whole_numbers import seed_of, whole_number
from moistsim.sensitivity.frame import outcome, reason
from moistsim.sensitivity.saltelli import saltelli_cases, sample_size
from moistsim.sensitivity.values import finite, same


def sobol_indices(
    function: Callable[[dict[str, Any]], float],
    vary: Mapping[str, Any],
    *,
    n: int = 256,
    seed: int = 0,
    confidence: float = 0.95,
    resamples: int = 999,
) -> pd.DataFrame:
    """Sobol indices of a function: the share of each parameter in its variance.

    Parameters
    ----------
    function : callable
        Takes a case as a dict and returns a number; called n (d + 2) times.
    vary, n, seed
        As for `saltelli_cases`.
    confidence, resamples
        As for `sobol_from`.

    Returns
    -------
    pandas.DataFrame
        As `sobol_from`.

    Raises
    ------
    InputError
        As `saltelli_cases`, or if the function returns something else than a number, or the same
        number for all cases.

    Examples
    --------
    A sum of two uniform values with widths 1 and 3: the second has 9 of 10 parts of the variance.

    >>> import moistsim as ms
    >>> vary = {"a": ms.uniform(0.0, 1.0), "b": ms.uniform(0.0, 3.0)}
    >>> sobol_indices(lambda case: case["a"] + case["b"], vary, resamples=100)["total"].round(2)
    parameter
    b    0.9
    a    0.1
    Name: total, dtype: float64
    """
    design = saltelli_cases(vary, n, seed)
    values = np.array([float(function(case)) for case in _records(design)])
    if not np.isfinite(values).all():
        case = int(np.argmin(np.isfinite(values)))
        raise InputError(
            "sobol_indices(function)",
            float(values[case]),
            f"a number for each case; case {case} is {_records(design)[case]}",
        )
    name = getattr(function, "__name__", "function")
    table = _indices("sobol_indices", values, list(vary), seed, confidence, resamples)
    table.attrs |= {"measure": name, "of": "", "difference": False, "left_out": 0}
    return table


def sobol_from(
    frame: pd.DataFrame,
    design: pd.DataFrame,
    measure: str,
    *,
    option: str | None = None,
    options: tuple[str, str] | None = None,
    seed: int = 0,
    confidence: float = 0.95,
    resamples: int = 999,
) -> pd.DataFrame:
    """First-order and total Sobol indices of a result of a sweep, with confidence bands.

    Parameters
    ----------
    frame : DataFrame
        The frame of a sweep over `design`.
    design : DataFrame
        The cases of `saltelli_cases`, whose same arguments give the same cases; or `Sweep.cases` of
        a sweep with ``sample="saltelli"``.
    measure : str
        A column of results.
    option : str, optional
        The option; needed if there are several.
    options : (str, str), optional
        Two options instead: the result is the first's minus the second's in each case.
    seed : int
        Seed of the resampling.
    confidence : float
        Confidence of the bands, between 0 and 1.
    resamples : int
        Number of resamples of the percentile bootstrap over the n rows of the design.

    Returns
    -------
    pandas.DataFrame
        Indexed by `parameter`, the largest total first. `first` is the share of the variance that
        vanishes if this parameter is known. `total` is the share that remains if all others are
        known. `_low` and `_high` are the ends of their bands. A small index may be slightly
        negative.

    Raises
    ------
    InputError
        If a measure or option is unknown, a case of the design is missing or has no result, the
        frame is from another design, or the result is the same in all cases.

    Notes
    -----
    `scipy.stats.sobol_indices` computes the indices (Saltelli et al. 2010,
    doi:10.1016/j.cpc.2009.09.018). Its own bootstrap has no seed, so `scipy.stats.bootstrap`
    resamples it here and bands can be repeated.

    Examples
    --------
    >>> import moistsim as ms
    >>> vary = {"house.ach50": ms.uniform(2.0, 6.0), "tariff.price": ms.uniform(0.1, 0.4)}
    >>> design = saltelli_cases(vary, 64)
    >>> frame = design.reset_index()
    >>> frame["option"] = "plain"
    >>> frame["cost_USD"] = 1000.0 * frame["tariff.price"] + frame["house.ach50"]
    >>> frame["status"] = "ok"
    >>> table = sobol_from(frame, design, "cost_USD", resamples=100)
    >>> list(table.index), round(float(table["total"].iloc[0]), 2)
    (['tariff.price', 'house.ach50'], 1.0)
    """
    where = "sobol_from"
    # A sweep's own table of cases also has what follows from the parameters.
    varied = [name for name in design.attrs.get("varied", ()) if name in design]
    design = design[varied] if varied else design
    n, names = sample_size(design), [str(name) for name in design.columns]
    read = outcome(frame, where, measure, option, options)
    missing = design.index.difference(read.values.index)
    if len(missing):
        raise InputError(
            f"{where}(frame)",
            Problem(
                f"{len(design) - len(missing)} of {len(design)} cases with a result; "
                f"case {missing[0]}: {reason(frame, missing[0])}"
            ),
            "a frame with a result for each case of the design",
        )
    inputs = read.inputs.loc[design.index]
    for name in names:
        if name not in inputs:
            raise InputError(f"{where}(design)", name, one_of(name, inputs.columns))
        pairs = zip(design.index, design[name], inputs[name], strict=True)
        other = next((row for row in pairs if not same(*row[1:])), None)
        if other is not None:
            raise InputError(
                f"{where}(frame)",
                Problem(f"{name} = {other[2]} in case {other[0]}"),
                f"the design's own value, {other[1]}",
            )
    values = read.values.loc[design.index].to_numpy(float)
    assert len(values) == n * (len(names) + 2)
    table = _indices(f"{where}(measure={measure!r})", values, names, seed, confidence, resamples)
    table.attrs |= read.about
    return table


def _indices(
    where: str, values: Any, names: list[str], seed: int, confidence: float, resamples: int
) -> pd.DataFrame:
    from scipy import stats

    if not finite(confidence) or not 0.0 < confidence < 1.0:
        raise InputError(f"{where}: confidence", confidence, "a number between 0 and 1")
    resamples = whole_number(
        resamples, f"{where}: resamples", 100, 100_000, "a whole number from 100 to 100,000"
    )
    seed = seed_of(seed, f"{where}: seed")
    n = len(values) // (len(names) + 2)
    a, b, *pages = np.asarray(values, float).reshape(-1, n)
    # Rounding errors of a constant are not variance.
    if np.ptp([a, b]) <= 1e-12 * np.abs([a, b]).max():
        raise InputError(where, Problem(f"{a[0]:g} in all cases"), "a result that varies")
    ab = np.array(pages)

    def both(rows: Any) -> Any:
        found = stats.sobol_indices(
            func={
                "f_A": a[rows].reshape(1, -1),
                "f_B": b[rows].reshape(1, -1),
                "f_AB": ab[:, rows].reshape(len(names), 1, -1),
            },
            n=n,
        )
        return np.array([found.first_order, found.total_order])

    rows = np.arange(n)
    first, total = both(rows)
    band: Any = stats.bootstrap(
        (rows,), both, n_resamples=resamples, confidence_level=confidence, vectorized=False,
        method="percentile", random_state=np.random.default_rng(seed),
    ).confidence_interval  # fmt: skip
    table = pd.DataFrame(
        {
            "first": first,
            "first_low": band.low[0],
            "first_high": band.high[0],
            "total": total,
            "total_low": band.low[1],
            "total_high": band.high[1],
        },
        index=pd.Index(names, name="parameter"),
    ).sort_values("total", ascending=False, kind="stable")
    table.attrs = {"n": n, "cases": len(values), "confidence": float(confidence)}
    return table


def _records(design: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in design.to_dict("records")]
