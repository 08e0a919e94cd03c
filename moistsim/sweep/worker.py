"""One case of a sweep in its worker: a thread, a process, or another computer.

A case is sent as its number and its values. Each process keeps the study of all cases by its digest.
A worker without the study reports that, and receives it once.
"""

import io
import pickle
import signal
import sys
import types
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import attrs
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.engine import column_catalog, measures_of
from moistsim.house import SPACES
from moistsim.season import simulate
from moistsim.study import Comparison, Study
from moistsim.sweep.paths import varied

UNKNOWN = {measure.name for measure in column_catalog.MEASURES if measure.needs} | {
    measure.name for space in SPACES for measure in column_catalog.space_measures(space)
}
"""Measures that are unknown for a strategy without the setpoint, or a house without the space."""


def unknown(name: str) -> bool:
    """Whether a measure that a run lacks is unknown, rather than 0."""
    return name in UNKNOWN or name.startswith(column_catalog.SECOND_SYSTEM)


KEPT = 4
"""Number of studies that a process keeps; the latest ones."""


class Shared(NamedTuple):
    """The values that all cases of a sweep share."""

    study: Study
    labels: dict[str, dict[str, Any]]
    """Values that have a label, by parameter."""
    columns: tuple[str, ...]
    """Names of the results in their order; see `result_columns`."""


class Done(NamedTuple):
    """A finished case with its results."""

    case: int
    rows: list[tuple[str, str, list[float]]]
    """Each option's name, its status and its results, in the order of the columns."""
    hourly: pd.DataFrame | None


_shared: OrderedDict[str, Shared] = OrderedDict()
_stopped: set[str] = set()
_event: list[Any] = []
"""Event in a process of a sweep's own pool, set when the cases must end."""


def keep(digest: str, shared: Shared) -> None:
    """Keep a study by its digest, for this process and its forks."""
    _stopped.discard(digest)
    _shared[digest] = shared
    while len(_shared) > KEPT:
        _shared.popitem(last=False)


def stop(digest: str) -> None:
    """Let the cases that run in threads of this process end after their present option."""
    _stopped.add(digest)


def begin_process(event: Any, digest: str, sent: bytes) -> None:
    """Prepare a process of a sweep's own pool."""
    # Ctrl-C reaches the process that waits for the results, and it stops the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _event[:] = [event]
    keep(digest, pickle.loads(sent))


def run_case(
    digest: str, case: int, values: Mapping[str, Any], hourly: bool, sent: bytes | None = None
) -> Done | None:
    """Simulate all options of a case, in the same weather.

    Parameters
    ----------
    digest : str
        Digest of the study.
    case : int
    values : dict
        SI numbers, texts and labels by dotted name.
    hourly : bool
        Also return the hourly tables.
    sent : bytes, optional
        The study itself, by `packed`.

    Returns
    -------
    Done or None
        None if this process does not have the study, or the sweep was stopped meanwhile.
    """
    if sent is not None:
        keep(digest, pickle.loads(sent))
    shared = _shared.get(digest)
    if shared is None:
        return None
    labels = shared.labels
    values = {k: labels[k][v] if k in labels else v for k, v in values.items()}
    rows, tables = [], {}
    for option, study in varied(shared.study, values):
        if digest in _stopped or any(event.is_set() for event in _event):
            return None
        status, results = "ok", [float("nan")] * len(shared.columns)
        try:
            if isinstance(study, InputError):
                raise study
            machines, strategy, house = study.resolved[option]
            season = simulate(
                house, machines, strategy, study.weather,
                start=study.start, end=study.end, step=study.step,
            )  # fmt: skip
            row = Comparison(study, {option: season}).row(option)
            # A missing stage has no runtime, as in a table; other missing values are unknown.
            results = [
                float(row.get(name, float("nan") if unknown(name) else 0.0))
                for name in shared.columns
            ]
            if hourly:
                tables[option] = season.hourly
        except (MemoryError, OSError):
            raise  # The computer's error, not the case's.
        except InputError as error:
            status = str(error)
        except Exception as error:
            status = f"{type(error).__name__}: {error}"
        rows.append((option, status, results))
    table = pd.concat(tables, names=["option", "time"]).reset_index() if tables else None
    return Done(case, rows, table)


def result_columns(
    study: Study, stages: int, spaces: Iterable[str], second: int | None = None
) -> tuple[str, ...]:
    """Names of the numbers in a row of `Comparison.table`, without the differences.

    Parameters
    ----------
    study : Study
    stages : int
        Cooling stages of the air conditioner that has the most.
    spaces : iterable of str
        Names of the spaces next to any of the houses.
    second : int, optional
        Cooling stages of a second system; default: no option has one.
    """
    strategies = [option.strategy for option in study.resolved.values()]
    roles = {it.role for strategy in strategies for it in strategy.declared.values()}
    return tuple(
        measure.name
        for measure in measures_of(stages, spaces, second)
        if measure.unit != "text"
        and (measure.needs is None or measure.needs in roles)
        and (measure is not column_catalog.EMISSIONS or study.emissions is not None)
    )


# ---------------------------------------------------------------------- on the way to a process


def _undecorated(module: str, name: str) -> Any:
    """The plain function of a strategy or an addition that a module holds under its name."""
    __import__(module)
    return getattr(sys.modules[module], name).function


class _Pickler(pickle.Pickler):
    """Pickler that finds a strategy's function under the name of the strategy."""

    def reducer_override(self, value: Any) -> Any:
        if isinstance(value, types.FunctionType) and value.__module__ in sys.modules:
            module, name = value.__module__, value.__name__
            held = getattr(sys.modules[module], name, None)
            if held is not value and getattr(held, "function", None) is value:
                return _undecorated, (module, name)
        return NotImplemented


def packed(shared: Shared) -> bytes:
    """The values that all cases share, packed for another process.

    Raises
    ------
    InputError
        If a strategy's function cannot be found by its name in another process.
    """
    out = io.BytesIO()
    try:
        _Pickler(out, pickle.HIGHEST_PROTOCOL).dump(shared)
    except (pickle.PicklingError, AttributeError, TypeError) as error:
        raise InputError(
            "Sweep.run executor",
            Problem(f"a study that cannot be sent to another process ({error})"),
            "strategies at the top of a module that can be imported; or threads",
        ) from None
    return out.getvalue()


def described(value: Any) -> Any:
    """A study or a part of one as plain values that JSON can hold, for its digest."""
    if isinstance(value, types.FunctionType):
        code = value.__code__
        return [
            value.__module__,
            value.__qualname__,
            code.co_code.hex(),
            repr(value.__kwdefaults__),
        ]
    if hasattr(value, "checksum"):  # a weather
        return [value.name, value.checksum]
    if attrs.has(type(value)):
        fields = {f.name: described(getattr(value, f.name)) for f in attrs.fields(type(value))}
        return {type(value).__name__: fields}
    if isinstance(value, Mapping):
        return {str(key): described(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [described(item) for item in value]
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if hasattr(value, "tolist"):  # numpy's
        return value.tolist()
    if hasattr(value, "py_func"):  # compiled
        return described(value.py_func)
    return f"{type(value).__module__}.{type(value).__qualname__}"
