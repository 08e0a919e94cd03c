"""Values of a parameter: whether they are numbers, and whether two of them are one."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd


def finite(value: Any) -> bool:
    """Whether it is a number, and no infinity."""
    return (
        isinstance(value, (int, float, np.number))
        and not isinstance(value, bool)
        and math.isfinite(value)
    )


def numeric(column: "pd.Series[Any]") -> bool:
    """Whether a column holds numbers; a switch is none."""
    return pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column)


def same(one: Any, other: Any) -> bool:
    """Whether two values of a parameter are one; numbers may have passed through a file."""
    if finite(one) and finite(other):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return str(one) == str(other)


def same_as(inputs: pd.DataFrame, values: Mapping[str, Any]) -> pd.DataFrame:
    """Which parameters of which cases are those of one case."""
    return pd.DataFrame(
        {name: [same(v, values[name]) for v in inputs[name]] for name in map(str, inputs.columns)},
        index=inputs.index,
        dtype=bool,
    )
