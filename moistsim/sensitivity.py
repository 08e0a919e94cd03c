"""What a sweep says: which inputs decide, by how much each moves a result, where the verdict turns.

Everything here reads the frame of a sweep, one row a case and option: `case`, a column a varied
parameter (those between `case` and `option`), `option`, the results, and `status`, "ok" or why the
case has none. Cases without a result are left out and counted in ``attrs["left_out"]``; of several
options only cases that all of them finished are read, so that all are judged on the same houses.
"""

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from moistsim.units import InputError, one_of

HIGHEST_DEGREE = 6
"""Of the surface that `break_even` fits."""

MOST_GROUPS = 30
"""More groups than this are a parameter to be put into classes first."""


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
            {name: _drawn(name, of, u) for (name, of), u in zip(vary.items(), half.T, strict=True)}
        )
        for half in (samples[:, :d], samples[:, d:])
    )
    cases = pd.concat([a, b, *_pages(a, b)], ignore_index=True)
    cases.index.name = "case"
    return cases


def one_at_a_time_cases(base: Mapping[str, Any], vary: Mapping[str, Any]) -> pd.DataFrame:
    """Cases for `tornado`: the base, then each value of each parameter alone.

    Parameters
    ----------
    base : dict
        The base case's value of each parameter.
    vary : dict
        By name: a list of values, a range, whose bounds are taken, or a distribution without any,
        of which the 5 and the 95 % points are.

    Returns
    -------
    pandas.DataFrame
        Indexed by `case`; case 0 is the base.

    Raises
    ------
    InputError
        If a parameter has no base, or cannot be drawn from.
    """
    rows = [dict(base)]
    for name, of in vary.items():
        if name not in base:
            raise InputError("one_at_a_time_cases(vary)", name, one_of(name, base))
        if hasattr(of, "low") and (quantile := _quantile(name, of)) is not None:
            values = quantile(np.array([0.0, 1.0]))
        elif hasattr(of, "ppf") or hasattr(of, "at"):
            values = _drawn(name, of, np.array([0.05, 0.95]))
        else:
            values = _choices(name, of)
        rows += [{**base, name: value} for value in values if not _same(value, base[name])]
    cases = pd.DataFrame(rows)
    cases.index.name = "case"
    return cases


def sobol_indices(
    function: Callable[[dict[str, Any]], float],
    vary: Mapping[str, Any],
    *,
    n: int = 256,
    seed: int = 0,
    confidence: float = 0.95,
    resamples: int = 999,
) -> pd.DataFrame:
    """How much of a function's variance each parameter brings, alone and with the others.

    Parameters
    ----------
    function : callable
        A case as a dict to a number; called n (d + 2) times.
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
        As `saltelli_cases`, or if the function gives what is no number, or one number for all.
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
    """Sobol indices of a sweep's result: first-order and total, each with a confidence band.

    Parameters
    ----------
    frame : DataFrame
        What a sweep over `design` gave.
    design : DataFrame
        What `saltelli_cases` gave; the same arguments give it again.
    measure : str
        A column of results.
    option : str, optional
        Whose result; may be left out where there is one only.
    options : (str, str), optional
        Instead: the first's result less the second's, case by case.
    seed : int
        Of the resampling.
    confidence : float
        Width of the bands, between 0 and 1.
    resamples : int
        Percentile bootstrap over the n rows of the design.

    Returns
    -------
    pandas.DataFrame
        By `parameter`, the greatest total first: `first` (the share of the variance that would go
        if this parameter were known), `total` (the share that would stay if all but it were),
        and `_low` and `_high` of both. An index near nothing may come out a little below zero.

    Raises
    ------
    InputError
        If a measure or option is not there, a case of the design is missing or has no result, the
        frame is of another design, or the result is the same in all cases.

    Notes
    -----
    `scipy.stats.sobol_indices`: Saltelli et al. (2010), doi:10.1016/j.cpc.2009.09.018. Its own
    bootstrap takes no seed; the same function is resampled here, so that bands can be repeated.
    """
    where = "sobol_from"
    n, names = _size(design), [str(name) for name in design.columns]
    read = _outcome(frame, where, measure, option, options)
    missing = design.index.difference(read.values.index)
    if len(missing):
        raise InputError(
            f"{where}(frame)",
            f"{len(design) - len(missing)} of {len(design)} cases with a result; "
            f"case {missing[0]}: {_reason(frame, missing[0])}",
            "a result for each case of the design, since indices cannot be had from a part of it",
        )
    inputs = read.inputs.loc[design.index]
    for name in names:
        if name not in inputs:
            raise InputError(f"{where}(design)", name, one_of(name, inputs.columns))
        pairs = zip(design.index, design[name], inputs[name], strict=True)
        other = next((row for row in pairs if not _same(*row[1:])), None)
        if other is not None:
            raise InputError(
                f"{where}(frame)",
                f"{name} = {other[2]} in case {other[0]}",
                f"the design's own value, {other[1]}",
            )
    values = read.values.loc[design.index].to_numpy(float)
    assert len(values) == n * (len(names) + 2)
    table = _indices(f"{where}(measure={measure!r})", values, names, seed, confidence, resamples)
    table.attrs |= read.about
    return table


def tornado(
    frame: pd.DataFrame,
    base: int | Mapping[str, Any],
    measure: str,
    *,
    option: str | None = None,
    options: tuple[str, str] | None = None,
) -> pd.DataFrame:
    """How far each parameter alone moves a result from the base case.

    Parameters
    ----------
    frame : DataFrame
        What a sweep gave whose cases differ from the base in one parameter (`one_at_a_time_cases`);
        a grid holds such cases among others, which are not read.
    base : int or dict
        The base case's number, or its parameters.
    measure, option, options
        As for `sobol_from`.

    Returns
    -------
    pandas.DataFrame
        By `parameter`, the greatest swing first: `low` and `high`, its least and greatest value
        (of a parameter without numbers, such as the weather, those of the least and the greatest
        result); `at_low` and `at_high`, the results there; `swing`, the greatest result less the
        least over all values tried, the base's among them. ``attrs["base"]`` is the base's result.

    Raises
    ------
    InputError
        If a measure, option, parameter or the base is not there, the base has no result, or a
        parameter that varies is never varied alone.
    """
    where = "tornado"
    read = _outcome(frame, where, measure, option, options)
    names = [str(name) for name in read.inputs.columns]
    all_inputs = frame.drop_duplicates("case").set_index("case")[names]
    if isinstance(base, Mapping):
        for name in base:
            if name not in names:
                raise InputError(f"{where}(base)", name, one_of(str(name), names))
        lacking = [name for name in names if name not in base]
        if lacking:
            raise InputError(f"{where}(base)", dict(base), f"a value of {lacking[0]!r} too")
        at = all_inputs[_alike(all_inputs, base).all(axis=1)]
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
            f"case {number}: {_reason(frame, number)}",
            "a base case with a result",
        )
    centre = all_inputs.loc[number].to_dict()
    in_all = _alike(all_inputs, centre)
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
                f"no case with a result that differs from the base in {name} alone",
                "cases by one_at_a_time_cases, or a grid that the base belongs to",
            )
        tried = [(centre[name], result)]
        tried += zip(read.inputs.loc[alone, name], read.values[alone], strict=True)
        order = (lambda pair: pair[0]) if _numbers(read.inputs[name]) else (lambda pair: pair[1])
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
        raise InputError(f"{where}(frame)", f"{len(all_inputs)} cases alike", "a varied parameter")
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index.name = "parameter"
    table = table.sort_values("swing", ascending=False, kind="stable")
    table.attrs = {**read.about, "base": result, "base_values": centre}
    return table


def break_even(
    frame: pd.DataFrame,
    options: tuple[str, str],
    x: str,
    y: str,
    *,
    measure: str = "cost_USD",
    extra_first_cost: float = 0.0,
    years: float = 1.0,
    points: int = 61,
) -> pd.DataFrame:
    """Where, over two parameters, the cheaper of two options changes.

    The difference of each case is the first option's measure less the second's, times `years`, less
    `extra_first_cost`: above zero the second option is the better buy. Money later counts as much
    as money now (simple payback). What else the sweep varies scatters the cases about the surface.

    Parameters
    ----------
    frame : DataFrame
        What a sweep gave over `x`, `y` and any others.
    options : (str, str)
    x, y : str
        Parameters that are numbers.
    measure : str
        A column of results; a season's bill is taken as a year's.
    extra_first_cost : float
        What the second option costs more to buy than the first, in the measure's unit; may be
        negative.
    years : float
        For which the first cost is spent.
    points : int
        Grid points an axis.

    Returns
    -------
    pandas.DataFrame
        Columns `kind`, `piece`, one named as `x`, one as `y`, and `difference`. Rows of kind "grid"
        hold the fitted surface within the convex hull of the cases and at its corners, "line" the
        points of its zero line in order (a `piece` each where it is in several), "case" the cases'
        own differences.
        ``attrs["error"]`` is the root mean square of what each case misses the surface by that was
        fitted without it and without those at the same place, ``attrs["wrong_side"]`` the share of cases that then fall on the wrong
        side of the line, ``attrs["degree"]`` the surface's degree.

    Raises
    ------
    InputError
        If an option, parameter or measure is not there, a parameter is no number or the same in all
        cases, or there are too few cases.

    Notes
    -----
    The surface is a least-squares sum of products of Legendre polynomials; of total degrees 1 to
    `HIGHEST_DEGREE` that with the least leave-one-out error, which for least squares follows from
    residuals and leverages with no refitting (Allen 1974, from memory). A fit and no interpolation, since
    where other parameters vary too, neighbours differ by more than their distance.
    """
    import contourpy
    from scipy.spatial import Delaunay

    where = "break_even"
    if not _finite(years) or years <= 0.0:
        raise InputError(f"{where}(years)", years, "a number of years above 0")
    if not _finite(extra_first_cost):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, "a number")
    if extra_first_cost and not measure.endswith("_USD"):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, f"0, with {measure!r}")
    if isinstance(points, bool) or not isinstance(points, int) or points < 5:
        raise InputError(f"{where}(points)", points, "5 points an axis or more")
    read = _outcome(frame, where, measure, None, options)
    for axis, name in (("x", x), ("y", y)):
        if name not in read.inputs:
            raise InputError(f"{where}({axis})", name, one_of(name, read.inputs.columns))
        if not _numbers(read.inputs[name]):
            value = read.inputs[name].iloc[0] if len(read.inputs) else None
            raise InputError(f"{where}({axis})", f"{name} = {value!r}", "a parameter of numbers")
    if x == y:
        raise InputError(f"{where}(y)", y, "another parameter than x")
    at = read.inputs[[x, y]].to_numpy(float)
    difference = read.values.to_numpy(float) * years - extra_first_cost
    if len(at) < 6:
        raise InputError(f"{where}(frame)", f"{len(at)} cases with a result", "6 cases or more")
    low, high = at.min(axis=0), at.max(axis=0)
    for name, least, most in zip((x, y), low, high, strict=True):
        if least == most:
            raise InputError(f"{where}(frame)", f"{name} = {least:g} in all cases", "two values")
    scaled = 2.0 * (at - low) / (high - low) - 1.0
    if np.linalg.matrix_rank(scaled - scaled[0], tol=1e-9) < 2:
        raise InputError(f"{where}(frame)", f"{x} and {y} on one line", "parameters not bound")
    fit = _surface(scaled, difference)

    sides = np.linspace(-1.0, 1.0, points)
    grid = np.stack(np.meshgrid(sides, sides), axis=-1)
    hull = Delaunay(scaled)
    within = hull.find_simplex(grid, tol=1e-9) >= 0
    surface = np.where(within, fit.at(grid[..., 0], grid[..., 1]), np.nan)
    lines = contourpy.contour_generator(sides, sides, surface).lines(0.0)

    def rows(kind: str, place: Any, values: Any, piece: int = 0) -> pd.DataFrame:
        true = low + 0.5 * (np.asarray(place, float) + 1.0) * (high - low)
        return pd.DataFrame(
            {"kind": kind, "piece": piece, x: true[:, 0], y: true[:, 1], "difference": values}
        )

    corners = scaled[np.unique(hull.convex_hull)]
    place = np.unique(np.round(np.vstack([grid[within], corners]), 12), axis=0)
    parts = [rows("grid", place, fit.at(*place.T))]
    parts += [rows("line", line, 0.0, k) for k, line in enumerate(lines)]
    parts.append(rows("case", scaled, difference))
    table = pd.concat(parts, ignore_index=True)
    table.attrs = {
        **read.about,
        "options": list(options),
        "extra_first_cost": float(extra_first_cost),
        "years": float(years),
        "degree": fit.degree,
        "error": float(np.sqrt(np.mean(fit.missed**2))),
        "wrong_side": float(np.mean((difference > 0.0) != (difference - fit.missed > 0.0))),
        "second_better": float(np.mean(difference > 0.0)),
    }
    return table


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
        What a sweep gave.
    measure : str
        A column of results.
    by : str
        The column that makes the groups: a parameter, or one that was added, such as classes of a
        continuous parameter by `pandas.cut`.
    options : sequence of str, optional
        All by default. Only cases that all of these finished are read.
    q : sequence of float
        Between 0 and 1.

    Returns
    -------
    pandas.DataFrame
        Indexed by group and option; a column for each quantile, named by its number, and `cases`.
        Between two cases the quantile is interpolated linearly.

    Raises
    ------
    InputError
        If a measure, option or column is not there, there are too many groups, no case with a
        result, or a quantile is none.
    """
    where = "quantiles"
    shares = list(q)
    if not shares or not all(_finite(p) and 0.0 <= p <= 1.0 for p in shares):
        raise InputError(f"{where}(q)", shares, "numbers between 0 and 1")
    _is_sweep(frame, where)
    chosen = _options_of(frame) if options is None else list(options)
    results = _measures(frame)
    groups = [str(c) for c in frame.columns if c not in (*results, "case", "option", "status")]
    if by not in groups:
        raise InputError(f"{where}(by)", by, one_of(by, groups))
    wide, left_out = _wide(frame, where, measure, chosen)
    if wide.empty:
        raise InputError(f"{where}(frame)", "no case with a result", "one or more")
    group = frame.drop_duplicates("case").set_index("case")[by].reindex(wide.index)
    if group.nunique() > MOST_GROUPS:
        raise InputError(
            f"{where}(by)",
            f"{group.nunique()} values of {by}",
            f"{MOST_GROUPS} groups at most, such as classes by pandas.cut",
        )
    if group.isna().any():
        raise InputError(f"{where}(by)", f"{by} empty in case {group.isna().idxmax()}", "a value")
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


# ---------------------------------------------------------------------- the sweep's frame


class _Outcome(NamedTuple):
    """One number a case, and the case's parameters."""

    values: "pd.Series[float]"
    inputs: pd.DataFrame
    about: dict[Hashable, Any]


def _is_sweep(frame: pd.DataFrame, where: str) -> None:
    for column in ("case", "option", "status"):
        if column not in frame:
            raise InputError(
                f"{where}(frame)", f"no column {column!r}", "the frame that a sweep gives"
            )


def _parameters(frame: pd.DataFrame) -> list[str]:
    """Between case and option; wherever they stand, dotted names and the weather."""
    names = [str(c) for c in frame.columns]
    first, last = names.index("case"), names.index("option")
    between = names[first + 1 : last]
    return [c for c in names if c in between or "." in c or c == "weather"]


def _measures(frame: pd.DataFrame) -> list[str]:
    inputs = {*_parameters(frame), "case", "option", "status"}
    return [str(c) for c in frame.columns if c not in inputs and _numbers(frame[c])]


def _options_of(frame: pd.DataFrame) -> list[str]:
    # A case that failed before its options were made may be a row without one.
    named = frame["option"].astype(object)
    return [str(name) for name in named[named.notna() & (named != "")].unique()]


def _wide(
    frame: pd.DataFrame, where: str, measure: str, options: Sequence[str]
) -> tuple[pd.DataFrame, int]:
    """The measure by case and option, and how many cases have not all of it."""
    measures = _measures(frame)
    if measure not in measures:
        raise InputError(f"{where}(measure)", measure, one_of(measure, measures))
    known = _options_of(frame)
    for option in options:
        if option not in known:
            raise InputError(f"{where}(option)", option, one_of(str(option), known))
    rows = frame[(frame["status"] == "ok") & frame["option"].isin(list(options))]
    twice = rows.duplicated(["case", "option"])
    if twice.any():
        case, option = rows.loc[twice, ["case", "option"]].iloc[0]
        raise InputError(f"{where}(frame)", f"case {case} of {option!r} twice", "one row of each")
    values = rows[measure].astype(float).to_numpy()
    if not np.isfinite(values).all():
        case, option = rows[["case", "option"]].iloc[int(np.argmin(np.isfinite(values)))]
        raise InputError(
            f"{where}(measure)",
            f"no {measure} in case {case} of {option!r}",
            "a result that each of these options has",
        )
    table = rows.assign(option=rows["option"].astype(object), **{measure: values}).pivot(
        index="case", columns="option", values=measure
    )
    table = table.reindex(columns=list(options)).dropna().sort_index()
    return table, int(frame["case"].nunique()) - len(table)


def _outcome(
    frame: pd.DataFrame,
    where: str,
    measure: str,
    option: str | None,
    options: tuple[str, str] | None,
) -> _Outcome:
    """One option's measure, or the first's less the second's."""
    _is_sweep(frame, where)
    if options is None:
        known = _options_of(frame)
        if option is None and len(known) != 1:
            raise InputError(f"{where}(option)", None, one_of("", known))
        chosen = [known[0] if option is None else option]
    else:
        if option is not None:
            raise InputError(f"{where}(option)", option, "option or options, not both")
        chosen = [options] if isinstance(options, str) else list(options)
        if len(chosen) != 2 or chosen[0] == chosen[1]:
            raise InputError(f"{where}(options)", options, "two options")
    wide, left_out = _wide(frame, where, measure, chosen)
    values = wide[chosen[0]] if len(chosen) == 1 else wide[chosen[0]] - wide[chosen[1]]
    inputs = frame.drop_duplicates("case").set_index("case")[_parameters(frame)]
    about: dict[Hashable, Any] = {
        "measure": measure,
        "of": " less ".join(chosen),
        "difference": len(chosen) == 2,
        "left_out": left_out,
        "cases": len(values),
    }
    return _Outcome(values, inputs.reindex(values.index), about)


def _reason(frame: pd.DataFrame, case: Hashable) -> str:
    """Why a case has no result."""
    status = frame.loc[frame["case"] == case, "status"].astype(str)
    failed = status[status != "ok"]
    return failed.iloc[0] if len(failed) else "not run"


# ---------------------------------------------------------------------- values


def _finite(value: Any) -> bool:
    return (
        isinstance(value, (int, float, np.number))
        and not isinstance(value, bool)
        and math.isfinite(value)
    )


def _numbers(column: "pd.Series[Any]") -> bool:
    return pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column)


def _same(one: Any, other: Any) -> bool:
    """Whether two values of a parameter are one; numbers may have passed through a file."""
    if _finite(one) and _finite(other):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return str(one) == str(other)


def _alike(inputs: pd.DataFrame, values: Mapping[str, Any]) -> pd.DataFrame:
    return pd.DataFrame(
        {name: [_same(v, values[name]) for v in inputs[name]] for name in map(str, inputs.columns)},
        index=inputs.index,
        dtype=bool,
    )


def _quantile(name: str, of: Any) -> Callable[[Any], list[float]] | None:
    """What a distribution or range is below with a given likelihood; of choices, none."""
    if hasattr(of, "ppf"):
        return lambda u: [float(value) for value in of.ppf(u)]
    # A sweep's range is a tuple too, and no list of choices.
    if callable(getattr(of, "at", None)):
        if any(isinstance(number, str) for number in of):
            raise InputError(
                f"vary[{name!r}]", " to ".join(repr(number) for number in of[:2]), "numbers in SI"
            )
        return lambda u: [float(of.at(float(p))) for p in u]
    return None


def _choices(name: str, of: Any) -> list[Any]:
    if (
        isinstance(of, str | bytes)
        or not isinstance(of, Sequence | Mapping | np.ndarray)
        or not len(of)
    ):
        raise InputError(
            f"vary[{name!r}]", of, "a range, a distribution of scipy.stats, or a list of choices"
        )
    return list(of)


def _drawn(name: str, of: Any, u: Any) -> list[Any]:
    """A distribution, range or choices at points between 0 and 1."""
    if (quantile := _quantile(name, of)) is not None:
        return quantile(u)
    values = _choices(name, of)
    return [values[int(p * len(values))] for p in u]


def _records(design: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(k): v for k, v in row.items()} for row in design.to_dict("records")]


# ---------------------------------------------------------------------- arithmetic


def _pages(a: pd.DataFrame, b: pd.DataFrame) -> list[pd.DataFrame]:
    """A with one parameter from B, for each."""
    return [a.assign(**{str(name): b[name]}) for name in a.columns]


def _size(design: pd.DataFrame) -> int:
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
            f"{len(design)} rows of {d} parameters",
            "what saltelli_cases gave, whole and in its order",
        )
    return n


def _indices(
    where: str, values: Any, names: list[str], seed: int, confidence: float, resamples: int
) -> pd.DataFrame:
    from scipy import stats

    if not _finite(confidence) or not 0.0 < confidence < 1.0:
        raise InputError(f"{where}: confidence", confidence, "a number between 0 and 1")
    if isinstance(resamples, bool) or not isinstance(resamples, int) or resamples < 100:
        raise InputError(f"{where}: resamples", resamples, "100 or more")
    n = len(values) // (len(names) + 2)
    a, b, *pages = np.asarray(values, float).reshape(-1, n)
    # What rounding leaves of a constant is no variance.
    if np.ptp([a, b]) <= 1e-12 * np.abs([a, b]).max():
        raise InputError(where, f"{a[0]:g} in all cases", "a result that varies")
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


class _Surface(NamedTuple):
    """A polynomial in two variables between -1 and 1."""

    coefficients: Any
    degree: int
    missed: Any

    def at(self, x: Any, y: Any) -> Any:
        return np.polynomial.legendre.legval2d(x, y, self.coefficients)


def _surface(at: Any, values: Any) -> _Surface:
    """Of all degrees that the cases can tell apart, that with the least leave-one-out error."""
    # Cases at one place are left out together: else one would be foretold by its twin.
    _, place, many = np.unique(np.round(at, 9), axis=0, return_inverse=True, return_counts=True)
    place = place.ravel()
    distinct = [len(np.unique(np.round(column, 9))) for column in at.T]
    best: _Surface | None = None
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
        # What rounding gains is no better fit.
        floor = 1e-20 * np.sum(values**2)
        if best is None or np.sum(missed**2) < 0.999 * np.sum(best.missed**2) - floor:
            coefficients = np.zeros(terms.shape)
            coefficients[terms] = found
            best = _Surface(coefficients, degree, missed)
    if best is None:
        raise InputError("break_even(frame)", f"cases at {len(many)} places", "more places")
    return best
