"""A measured house: joint draws of values in place of independent ranges.

A log knows some values only together, such as airflow and moisture gain by their ratio. Independent
ranges would lose that. So each case takes one whole row of the draws, which one more dimension of the
sequence of cases chooses.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.prices import Purchase, Terms
from moistsim.study import Study
from moistsim.uncertainty.ranges import find_input

FEWEST_DRAWS = 8
"""Smallest number of draws that show a spread."""


def measured_draws(
    measured: Any,
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
    where: str,
) -> pd.DataFrame | None:
    """Joint draws, checked: one row a draw, one column for each dotted name, in SI.

    Columns without a dot, such as the model structure of a draw, are left out.

    Parameters
    ----------
    measured : DataFrame, or an object with `draws`, optional

    Raises
    ------
    InputError
        If a name is unknown, a value is missing, or there are too few draws.
    """
    if measured is None:
        return None
    at = f"{where} measured"
    draws = getattr(measured, "draws", measured)
    if not isinstance(draws, pd.DataFrame):
        raise InputError(at, measured, "a DataFrame of draws, one row a draw, or a fit")
    names = [str(name) for name in draws if "." in str(name)]
    if not names:
        raise InputError(at, Problem("no column with a dotted name"), "names such as 'house.ach50'")
    if len(draws) < FEWEST_DRAWS:
        raise InputError(at, Problem(f"{len(draws)} draws"), f"{FEWEST_DRAWS} draws or more")
    table, units = draws[names].reset_index(drop=True), {}
    for name in names:
        try:
            parameter = find_input(study, purchases, terms, name)
        except InputError as error:
            raise InputError(at, error.found, error.accepted, error.problem) from None
        if parameter.kind != "number":
            raise InputError(at, Problem(f"{name}, which is no number"), "values that are numbers")
        values = pd.to_numeric(table[name], errors="coerce").to_numpy(float)
        if not np.isfinite(values).all():
            row = int(np.argmin(np.isfinite(values)))
            raise InputError(
                at, Problem(f"no number in {name}, draw {row}"), "a number in each draw"
            )
        table[name], units[name] = values, parameter.unit or ""
    table.attrs["units"] = units
    return table


def spread_out(draws: pd.DataFrame, most: int) -> pd.DataFrame:
    """At most so many draws, evenly spaced through all of them."""
    if len(draws) <= most:
        return draws
    rows = np.linspace(0.0, len(draws) - 1.0, most).round().astype(int)
    return draws.iloc[rows]
