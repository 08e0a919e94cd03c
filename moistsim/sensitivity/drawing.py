"""Values of a parameter from a range, a distribution of scipy.stats or a list of choices."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError


def quantile_of(name: str, of: Any) -> Callable[[Any], list[float]] | None:
    """The quantile function of a distribution or range; None for choices."""
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


def choices(name: str, of: Any) -> list[Any]:
    """The values of a list, or the labels of a dict."""
    if (
        isinstance(of, str | bytes)
        or not isinstance(of, Sequence | Mapping | np.ndarray | pd.Series | pd.Index)
        or not len(of)
    ):
        raise InputError(
            f"vary[{name!r}]", of, "a range, a distribution of scipy.stats, or a list of choices"
        )
    return list(of)


def drawn(name: str, of: Any, u: Any) -> list[Any]:
    """Values of a distribution, range or choices at points between 0 and 1."""
    if (quantile := quantile_of(name, of)) is not None:
        return quantile(u)
    values = choices(name, of)
    return [values[min(int(p * len(values)), len(values) - 1)] for p in u]
