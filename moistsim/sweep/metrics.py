"""The user's own numbers of a season, which stand in a sweep's frame next to the catalog's."""

import inspect
import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.engine import column_catalog
from moistsim.season import Season

Metric = Callable[..., float]
"""A function of a season; a compiled one takes hourly columns, by the names of its parameters."""


_TAKEN = ("case", "option", "status", "weather")


def read_metrics(given: Any) -> dict[str, Metric]:
    """Check the metrics of a sweep.

    Parameters
    ----------
    given : dict
        Functions by the names of their columns.

    Raises
    ------
    InputError
        If a name cannot be a column of its own, or a metric is not a function.
    """
    where = "Sweep.metrics"
    if not isinstance(given, Mapping):
        raise InputError(where, given, "a dict of functions, such as {'longest spell, h': spell}")
    for name, metric in given.items():
        if not isinstance(name, str) or not name.strip() or "." in name:
            # A name with a dot is a parameter's.
            raise InputError(where, name, "names without a dot, such as 'longest spell, h'")
        if name in _TAKEN or column_catalog.measure(name) is not None:
            raise InputError(
                f"{where}[{name!r}]", Problem("the frame has this column already"), "another name"
            )
        if not callable(metric):
            raise InputError(f"{where}[{name!r}]", metric, "a function of a season")
    return dict(given)


def value_of(name: str, metric: Metric, season: Season) -> float:
    """Value of a metric for one season.

    Raises
    ------
    InputError
        If the function fails, or returns something else than a finite number.
    """
    where, accepted = f"metric {name!r}", "a function that returns a finite number for each season"
    columns = _columns(name, metric, season)
    try:
        value = metric(*columns)
    except (MemoryError, OSError):
        raise
    except Exception as error:
        raise InputError(where, Problem(f"{type(error).__name__}: {error}"), accepted) from error
    if not isinstance(value, int | float | np.number | np.bool_):
        raise InputError(
            where, Problem(f"it returned a value of the type {type(value).__name__}"), accepted
        )
    if not math.isfinite(value):
        raise InputError(where, Problem(f"it returned {float(value)}"), accepted)
    return float(value)


def _columns(name: str, metric: Metric, season: Season) -> tuple[Any, ...]:
    """Arguments of a metric: the season, or the columns that a compiled function names."""
    source = getattr(metric, "py_func", None)
    if source is None:
        return (season,)
    columns = []
    for parameter in inspect.signature(source).parameters:
        if parameter not in season.hourly:
            raise InputError(
                f"metric {name!r}",
                parameter,
                one_of(parameter, season.hourly.columns),
                "{} is not an hourly column",
            )
        columns.append(np.ascontiguousarray(season.hourly[parameter], dtype=float))
    return tuple(columns)
