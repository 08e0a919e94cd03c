"""One parameter at a time: the cases, and the tornado of their swings."""

from collections.abc import Hashable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.sensitivity.drawing import choices, drawn, quantile_of
from moistsim.sensitivity.frame import outcome, reason
from moistsim.sensitivity.values import numeric, same, same_as


def one_at_a_time_cases(base: Mapping[str, Any], vary: Mapping[str, Any]) -> pd.DataFrame:
    """Cases for `tornado`: the base case, then each value of each parameter alone.

    Parameters
    ----------
    base : dict
        The base case's value of each parameter.
    vary : dict
        By name: a list of values; a range, whose ends are used; or another distribution, whose
        5 % and 95 % quantiles are used.

    Returns
    -------
    pandas.DataFrame
        Indexed by `case`; case 0 is the base.

    Raises
    ------
    InputError
        If a parameter has no base value, or cannot be drawn from.

    Examples
    --------
    >>> cases = one_at_a_time_cases({"house.ach50": 3.0}, {"house.ach50": [2.0, 5.0]})
    >>> list(cases["house.ach50"])
    [3.0, 2.0, 5.0]
    """
    rows = [dict(base)]
    for name, of in vary.items():
        if name not in base:
            raise InputError("one_at_a_time_cases(vary)", name, one_of(name, base))
        if hasattr(of, "low") and (quantile := quantile_of(name, of)) is not None:
            values = quantile(np.array([0.0, 1.0]))
        elif hasattr(of, "ppf") or hasattr(of, "at"):
            values = drawn(name, of, np.array([0.05, 0.95]))
        else:
            values = choices(name, of)
        rows += [{**base, name: value} for value in values if not same(value, base[name])]
    cases = pd.DataFrame(rows)
    cases.index.name = "case"
    cases.attrs["drawn"] = {"sample": "one at a time", "n": len(cases), "seed": None}
    return cases


def tornado(
    frame: pd.DataFrame,
    base: int | Mapping[str, Any],
    measure: str = "",
    *,
    option: str | None = None,
    options: tuple[str, str] | None = None,
) -> pd.DataFrame:
    """The swing of a result for each parameter alone, from the base case.

    Parameters
    ----------
    frame : DataFrame
        The frame of a sweep with cases that differ from the base in one parameter
        (`one_at_a_time_cases`). Other cases, as in a grid, are ignored.
    base : int or dict
        The base case's number, or its parameters.
    measure, option, options
        As for `sobol_from`.

    Returns
    -------
    pandas.DataFrame
        Indexed by `parameter`, the largest swing first. `low` and `high` are the smallest and the
        largest value of the parameter; for a parameter without numbers, such as the weather, those
        of the smallest and the largest result. `at_low` and `at_high` are the results there.
        `swing` is the largest minus the smallest result over all values, including the base.
        ``attrs["base"]`` is the result of the base case.

    Raises
    ------
    InputError
        If a measure, option, parameter or the base case is unknown, the base case has no result, or
        a parameter never varies alone.

    Examples
    --------
    >>> import pandas as pd
    >>> frame = pd.DataFrame(
    ...     {"case": [0, 1, 2], "house.ach50": [3.0, 1.0, 3.0], "tariff.price": [0.1, 0.1, 0.3],
    ...      "option": "plain", "cost_USD": [100.0, 90.0, 300.0], "status": "ok"}
    ... )
    >>> tornado(frame, 0, "cost_USD")["swing"]
    parameter
    tariff.price    200.0
    house.ach50      10.0
    Name: swing, dtype: float64
    """
    where = "tornado"
    if not isinstance(base, Hashable | Mapping):
        found = Problem(f"cannot use a {type(base).__name__}")
        raise InputError(f"{where}(base)", found, "the number of the base case, or a dict of it")
    read = outcome(frame, where, measure, option, options)
    names = [str(name) for name in read.inputs.columns]
    all_inputs = frame.drop_duplicates("case").set_index("case")[names]
    if isinstance(base, Mapping):
        for name in base:
            if name not in names:
                raise InputError(f"{where}(base)", name, one_of(str(name), names))
        lacking = [name for name in names if name not in base]
        if lacking:
            raise InputError(f"{where}(base)", dict(base), f"a value of {lacking[0]!r} too")
        at = all_inputs[same_as(all_inputs, base).all(axis=1)]
        if at.empty:
            raise InputError(f"{where}(base)", dict(base), "the parameters of one of the cases")
        with_result = at.index.intersection(read.values.index)
        number = (with_result if len(with_result) else at.index)[0]
    elif base in all_inputs.index:
        number = base
    else:
        raise InputError(f"{where}(base)", base, f"one of the {len(all_inputs)} cases, or a dict")
    if number not in read.values.index:
        raise InputError(
            f"{where}(base)",
            Problem(f"case {number}: {reason(frame, number)}"),
            "a base case with a result",
        )
    center = all_inputs.loc[number].to_dict()
    in_all = same_as(all_inputs, center)
    alike = in_all.loc[read.inputs.index].to_numpy(bool)
    result = float(read.values[number])
    rows = {}
    for k, name in enumerate(names):
        if in_all[name].all():
            continue
        alone = alike[:, np.arange(len(names)) != k].all(axis=1) & ~alike[:, k]
        if not alone.any():
            raise InputError(
                f"{where}(frame)",
                Problem(f"no case with a result that differs from the base in {name} alone"),
                "cases by one_at_a_time_cases, or a grid that the base belongs to",
            )
        tried = [(center[name], result)]
        tried += zip(read.inputs.loc[alone, name], read.values[alone], strict=True)
        order = (lambda pair: pair[0]) if numeric(read.inputs[name]) else (lambda pair: pair[1])
        low, high = min(tried, key=order), max(tried, key=order)
        reached = [float(value) for _, value in tried]
        rows[name] = {
            "low": low[0],
            "high": high[0],
            "at_low": float(low[1]),
            "at_high": float(high[1]),
            "swing": max(reached) - min(reached),
        }
    if not rows:
        raise InputError(
            f"{where}(frame)", Problem(f"{len(all_inputs)} cases alike"), "a varied parameter"
        )
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index.name = "parameter"
    table = table.sort_values("swing", ascending=False, kind="stable")
    table.attrs = {**read.about, "base": result, "base_values": center}
    return table
