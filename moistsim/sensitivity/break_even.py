"""The line over two parameters at which the cheaper of two options changes."""

from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.engine import catalog
from moistsim.sensitivity.frame import outcome
from moistsim.sensitivity.surface import best_surface
from moistsim.sensitivity.values import finite, numeric


def break_even(
    frame: pd.DataFrame,
    options: tuple[str, str],
    x: str,
    y: str,
    *,
    measure: str = catalog.COST.name,
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
    `surface.HIGHEST_DEGREE` that with the least leave-one-out error, which for least squares follows from
    residuals and leverages with no refitting (Allen 1974, from memory). A fit and no interpolation, since
    where other parameters vary too, neighbors differ by more than their distance.
    """
    import contourpy
    from scipy.spatial import Delaunay

    where = "break_even"
    if not finite(years) or years <= 0.0:
        raise InputError(f"{where}(years)", years, "a number of years above 0")
    if not finite(extra_first_cost):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, "a number")
    known = catalog.measure(measure)
    if extra_first_cost and (known is None or known.unit != catalog.COST.unit):
        raise InputError(f"{where}(extra_first_cost)", extra_first_cost, f"0, with {measure!r}")
    if isinstance(points, bool) or not isinstance(points, int) or points < 5:
        raise InputError(f"{where}(points)", points, "5 points an axis or more")
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
