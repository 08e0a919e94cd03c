"""Spread of a result over the cases of each group, such as each weather."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.sensitivity.frame import by_option, check_frame, measures_of, options_of
from moistsim.sensitivity.values import finite

MOST_GROUPS = 30
"""Largest number of groups; a parameter with more values needs classes first."""


def quantiles(
    frame: pd.DataFrame,
    measure: str,
    *,
    by: str = "weather",
    options: Sequence[str] | None = None,
    q: Sequence[float] = (0.05, 0.25, 0.5, 0.75, 0.95),
) -> pd.DataFrame:
    """Quantiles of a result over the cases of each group.

    Parameters
    ----------
    frame : DataFrame
        The frame of a sweep.
    measure : str
        A column of results.
    by : str
        The column of the groups: a parameter, or an added column such as classes of a continuous
        parameter by `pandas.cut`.
    options : sequence of str, optional
        Options; default: all. Only cases that all of them finished are read.
    q : sequence of float
        Quantiles between 0 and 1.

    Returns
    -------
    pandas.DataFrame
        Indexed by group and option, with a column for each quantile, named by its number, and
        `cases`. Quantiles between two cases are interpolated linearly.

    Raises
    ------
    InputError
        If a measure, option or column is unknown, there are too many groups, no case has a result,
        or a quantile is not between 0 and 1.

    Examples
    --------
    >>> import pandas as pd
    >>> frame = pd.DataFrame(
    ...     {"case": [0, 1, 2, 3], "weather": ["coast", "coast", "hills", "hills"],
    ...      "option": "plain", "cost_USD": [100.0, 120.0, 70.0, 80.0], "status": "ok"}
    ... )
    >>> quantiles(frame, "cost_USD", q=[0.5])[0.5]
    weather  option
    coast    plain     110.0
    hills    plain      75.0
    Name: 0.5, dtype: float64
    """
    where = "quantiles"
    shares = list(q)
    if not shares or not all(finite(p) and 0.0 <= p <= 1.0 for p in shares):
        raise InputError(f"{where}(q)", shares, "numbers between 0 and 1")
    check_frame(frame, where)
    chosen = options_of(frame) if options is None else list(options)
    results = measures_of(frame)
    groups = [str(c) for c in frame.columns if c not in (*results, "case", "option", "status")]
    if by not in groups:
        raise InputError(f"{where}(by)", by, one_of(by, groups))
    wide, left_out = by_option(frame, where, measure, chosen)
    if wide.empty:
        raise InputError(f"{where}(frame)", Problem("no case with a result"), "one or more")
    group = frame.drop_duplicates("case").set_index("case")[by].reindex(wide.index)
    if group.nunique() > MOST_GROUPS:
        raise InputError(
            f"{where}(by)",
            Problem(f"{group.nunique()} values of {by}"),
            f"{MOST_GROUPS} groups at most, such as classes by pandas.cut",
        )
    if group.isna().any():
        raise InputError(
            f"{where}(by)", Problem(f"{by} empty in case {group.isna().idxmax()}"), "a value"
        )
    rows: dict[Any, dict[Any, Any]] = {}
    for key, members in wide.groupby(group, sort=True, observed=True):
        for option in chosen:
            found = members[option].quantile(shares)
            rows[key, option] = {**dict(zip(shares, found, strict=True)), "cases": len(members)}
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index = pd.MultiIndex.from_tuples(list(rows), names=[by, "option"])
    table["cases"] = table["cases"].astype(int)
    table.attrs = {
        "measure": measure,
        "of": "",
        "difference": False,
        "left_out": left_out,
        "cases": len(wide),
        "by": by,
        "q": shares,
    }
    return table
