"""Cases of a sweep in their worker: a thread, a process, or another computer.

A case is sent as its number and its values. Each process keeps the study of all cases by its digest.
A worker without the study reports that, and receives it once.
"""

import io
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import time
import types
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.engine import column_catalog, measures_of
from moistsim.house import SPACES
from moistsim.season import Season, simulate
from moistsim.study import Comparison, Study
from moistsim.sweep.digest import DIGEST, digest_of
from moistsim.sweep.metrics import Metric, value_of
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
    metrics: Mapping[str, Metric] = {}
    """Functions behind the last of the columns, by name."""

    def behind_labels(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Values of a case with those that its labels stand for."""
        labels = self.labels
        return {k: labels[k][v] if k in labels else v for k, v in values.items()}


class Done(NamedTuple):
    """A finished case with its results."""

    case: int
    rows: list[tuple[str, str, list[float]]]
    """Each option's name, its status and its results, in the order of the columns."""
    hourly: pd.DataFrame | None
    seconds: float = 0.0
    """Time that the case took in its worker, s."""


_shared: OrderedDict[str, Shared | InputError] = OrderedDict()
_stopped: set[str] = set()
_event: list[Any] = []
"""Event in a process of a sweep's own pool, set when the cases must end."""


def keep(digest: str, shared: Shared | InputError) -> None:
    """Keep a study by its digest, for this process and its forks."""
    _stopped.discard(digest)
    _shared[digest] = shared
    while len(_shared) > KEPT:
        _shared.popitem(last=False)


def keep_sent(digest: str, sent: bytes) -> None:
    """Keep a study that was sent, or the error for all its cases if this process has other code.

    Functions travel by their names. A process that began before a file was edited has the old one.
    """
    shared: Shared = pickle.loads(sent)
    try:
        here = digest_of(shared._asdict())
    except InputError as error:
        keep(digest, error)
        return
    same = here == digest or not digest.startswith(DIGEST)
    keep(digest, shared if same else _other_code())


def _other_code() -> InputError:
    return InputError(
        "Sweep.run executor",
        Problem("a worker that has another version of a control or of a value that it reads"),
        "workers that began after the last change, with the same files",
    )


def stop(digest: str) -> None:
    """Let the cases that run in threads of this process end after their present option."""
    _stopped.add(digest)


def begin_process(event: Any, digest: str, sent: bytes) -> None:
    """Prepare a process of a sweep's own pool."""
    # Ctrl-C reaches the process that waits for the results, and it stops the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _event[:] = [event]
    keep_sent(digest, sent)


LOOK_FOR_PARENT = 1.0
"""Time between two looks for the process that waits for the results, s."""


def _end_with_parent() -> None:
    """End this process when the one that waits for its results has died, even by ``kill -9``.

    Otherwise it would wait for its next case forever: each worker of a pool also holds the other
    end of the pipe that the cases come through.
    """
    from multiprocessing.connection import wait

    parent, begun_by = multiprocessing.parent_process(), os.getppid()
    if parent is None:
        return
    # The sentinel works on any system. A forked process may hold it open, so the id is looked at too.
    while not wait([parent.sentinel], LOOK_FOR_PARENT) and os.getppid() == begun_by:
        pass
    os._exit(1)


def run_task(
    digest: str,
    cases: Sequence[tuple[int, Mapping[str, Any]]],
    hourly: bool,
    sent: bytes | None = None,
) -> list[Done] | None:
    """Simulate all options of one case or more.

    Parameters
    ----------
    digest : str
        Digest of the study.
    cases : sequence of (int, dict)
        Numbers of the cases with their values: SI numbers, texts and labels by dotted name.
    hourly : bool
        Also return the hourly tables.
    sent : bytes, optional
        The study itself, by `packed`.

    Returns
    -------
    list of Done, or None
        None if this process does not have the study, or the sweep was stopped meanwhile.
    """
    if sent is not None:
        keep_sent(digest, sent)
    shared = _shared.get(digest)
    if shared is None:
        return None
    if isinstance(shared, InputError):
        raise shared
    finished = []
    for case, values in cases:
        begun = time.perf_counter()
        done = _run_case(digest, shared, case, values, hourly)
        if done is None:
            return None
        finished.append(done._replace(seconds=time.perf_counter() - begun))
    return finished


def _run_case(
    digest: str, shared: Shared, case: int, values: Mapping[str, Any], hourly: bool
) -> Done | None:
    """Simulate all options of a case, in the same weather; None if the sweep was stopped."""
    rows, tables = [], {}
    for option, study in varied(shared.study, shared.behind_labels(values)):
        if digest in _stopped or any(event.is_set() for event in _event):
            return None
        status, results = "ok", [float("nan")] * len(shared.columns)
        try:
            if isinstance(study, InputError):
                raise study
            season = simulate_option(study, option)
            row = Comparison(study, {option: season}).row(option)
            row |= {name: value_of(name, of, season) for name, of in shared.metrics.items()}
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


def simulate_option(study: Study, option: str) -> Season:
    """Simulate one option of a study."""
    equipment, strategy, house = study.resolved[option]
    return simulate(
        house, equipment, strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


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
            "strategies and metrics at the top of a module that can be imported; or threads",
        ) from None
    return out.getvalue()
