"""The break-even line of two options over two parameters."""

from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.whole_numbers import whole_number
from moistsim.engine import column_catalog
from moistsim.sensitivity.frame import outcome
from moistsim.sensitivity.surface import best_surface
from moistsim.sensitivity.values import finite, numeric


def break_even(
    frame: pd.DataFrame,
    options: tuple[str, str],
    x: str,
    y: str,
    *,
    measure: str = column_catalog.COST.name,
    extra_first_cost: float = 0.0,
    years: float = 1.0,
    points: int = 61,
) -> pd.DataFrame:
    """The break-even line of two options over two parameters: there, both cost the same.

    The difference of each case is the first option's measure minus the second's, times `years`,
    minus `extra_first_cost`. Above zero, the second option is the better buy. Future money counts as
    much as money now (simple payback). Other varied parameters scatter the cases about the surface.

    Parameters
    ----------
    frame : DataFrame
        The frame of a sweep over `x`, `y` and any other parameters.
    options : (str, str)
        Names of the two options.
    x, y : str
        Names of two parameters that are numbers.
    measure : str
        A column of results. A season's bill counts as a year's.
    extra_first_cost : float
        First cost of the second option minus that of the first, in the measure's unit; may be
        negative.
    years : float
        Years in which the extra first cost must pay back.
    points : int
        Grid points on each axis.

    Returns
    -------
    pandas.DataFrame
        Columns `kind`, `piece`, the two parameters and `difference`. Rows of kind "grid" have the
        fitted surface within the convex hull of the cases. Rows of kind "line" have the points of
        its zero line in order, with a `piece` for each part. Rows of kind "case" have the
        differences of the cases. ``attrs["error"]`` is the leave-one-out error of the surface (root
        mean square), ``attrs["wrong_side"]`` the share of cases that it puts on the wrong side of
        the line, and ``attrs["degree"]`` the degree of the surface.

    Raises
    ------
    InputError
        If an option, parameter or measure is unknown, a parameter is not a number or does not vary,
        or there are too few cases.

    Notes
    -----
    The surface is a least-squares sum of products of Legendre polynomials. Of total degrees 1 to
    `surface.HIGHEST_DEGREE`, the one with the smallest leave-one-out error is used. For least
    squares, this error follows from residuals and leverages without another fit (Allen 1974, from
    memory). The surface is a fit, not an interpolation, because other varied parameters scatter
    neighboring cases.

    Examples
    --------
    The second option saves 100 times the price a year and costs 30 more: it pays from 0.30 on.

    >>> import itertools
    >>> import pandas as pd
    >>> rows = []
    >>> grid = itertools.product([0.1, 0.2, 0.3, 0.4], [1.0, 2.0, 3.0])
    >>> for case, (price, leaks) in enumerate(grid):
    ...     for option, cost in (("plain", 200 * price), ("saver", 100 * price)):
    ...         rows.append((case, price, leaks, option, cost, "ok"))
    >>> names = ["case", "tariff.price", "house.ach50", "option", "cost_USD", "status"]
    >>> frame = pd.DataFrame(rows, columns=names)
    >>> table = break_even(
    ...     frame, ("plain", "saver"), "tariff.price", "house.ach50", extra_first_cost=30.0
    ... )
    >>> line = table[table["kind"] == "line"]
    >>> round(float(line["tariff.price"].mean()), 3)
    0.3
    """
    import contourpy
    from scipy.spatial import Delaunay

    where = "break_even"
    if not finite(years) or years <= 0.0:
        raise InputError(f"{where}(years)", years, "a number of years above 0")
    if not finite(extra_first_cost):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, "a number")
    known = column_catalog.measure(measure)
    if extra_first_cost and (known is None or known.unit != column_catalog.COST.unit):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, f"0, with {measure!r}")
    points = whole_number(points, f"{where}(points)", 5, 2000, "from 5 to 2,000 points an axis")
    read = outcome(frame, where, measure, None, options)
    for axis, name in (("x", x), ("y", y)):
        if name not in read.inputs:
            raise InputError(f"{where}({axis})", name, one_of(name, read.inputs.columns))
        if not numeric(read.inputs[name]):
            value = read.inputs[name].iloc[0] if len(read.inputs) else None
            raise InputError(f"{where}({axis})", f"{name} = {value!r}", "a parameter of numbers")
    if x == y:
        raise InputError(f"{where}(y)", y, "another parameter than x")
    at = read.inputs[[x, y]].to_numpy(float)
    difference = read.values.to_numpy(float) * years - extra_first_cost
    if len(at) < 6:
        raise InputError(
            f"{where}(frame)", Problem(f"{len(at)} cases with a result"), "6 cases or more"
        )
    low, high = at.min(axis=0), at.max(axis=0)
    for name, least, most in zip((x, y), low, high, strict=True):
        if least == most:
            raise InputError(
                f"{where}(frame)", Problem(f"{name} = {least:g} in all cases"), "two values"
            )
    scaled = 2.0 * (at - low) / (high - low) - 1.0
    if np.linalg.matrix_rank(scaled - scaled[0], tol=1e-9) < 2:
        raise InputError(
            f"{where}(frame)", Problem(f"{x} and {y} on one line"), "parameters not bound"
        )
    fit = best_surface(scaled, difference)

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
