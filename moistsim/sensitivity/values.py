"""Checks of parameter values: whether they are numbers, and whether two are the same."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd


def finite(value: Any) -> bool:
    """Whether a value is a finite number."""
    return (
        isinstance(value, (int, float, np.number))
        and not isinstance(value, bool)
        and math.isfinite(value)
    )


def numeric(column: "pd.Series[Any]") -> bool:
    """Whether a column has numbers; true and false are not numbers."""
    return pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column)


def same(one: Any, other: Any) -> bool:
    """Whether two values of a parameter are the same, after a possible round trip through a file."""
    if finite(one) and finite(other):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return str(one) == str(other)


def same_as(inputs: pd.DataFrame, values: Mapping[str, Any]) -> pd.DataFrame:
    """A table that tells which parameters of which cases equal those of one case."""
    return pd.DataFrame(
        {name: [same(v, values[name]) for v in inputs[name]] for name in map(str, inputs.columns)},
        index=inputs.index,
        dtype=bool,
    )
