"""Events of a season: each change of a call or of a machine, with its minute.

The run is simulated once more, day by day, as for the tags. Only changes are kept, because most
steps change nothing.
"""

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.controls import Calls, CallSet
from moistsim.engine import (
    FLOWS,
    LOGGED,
    REFUSALS,
    STEP_FIELDS,
    SYSTEM_FIELDS,
    Forcing,
    Machine,
    Record,
)


class Change(NamedTuple):
    """A change that the control did not make, such as a fault."""

    time: pd.Timestamp
    what: str
    was: float
    now: float


class _Watched(NamedTuple):
    """A quantity whose changes from step to step are logged."""

    kind: str
    what: str
    of: Callable[[Record], NDArray[np.float64]]
    """Function that gives the quantity in every step of a traced run."""


def _step(name: str) -> Callable[[Record], NDArray[np.float64]]:
    place = STEP_FIELDS.index(name)
    return lambda record: record.trace[:, place]


def _logged(name: str) -> Callable[[Record], NDArray[np.float64]]:
    place = LOGGED.index(name)
    return lambda record: record.log[:, place]


WATCHED = (
    *(_Watched("call", name.replace("_", " "), _logged(name)) for name in CallSet._fields),
    _Watched("call", "dehumidifier's own humidistat", _logged("own_humidistat")),
    *(
        _Watched("relay", name.replace("_", " "), _logged(f"told_{name}"))
        for name in CallSet._fields
    ),
    *(
        _Watched("refusal", name.removeprefix("refused_").replace("_", " "), _step(name))
        for name in REFUSALS
    ),
    _Watched("machine", "strips' limit switch open", _logged("limit_switch_open")),
    *(_Watched("machine", flow.event, _step(flow.field)) for flow in FLOWS if flow.event),
)
"""Everything that is logged of a house of one system, in the order in which one step lists it."""


def _step_of_second(name: str) -> Callable[[Record], NDArray[np.float64]]:
    # The columns of a second system are the last ones of a trace.
    place = SYSTEM_FIELDS.index(name) - len(SYSTEM_FIELDS)
    return lambda record: record.trace[:, place]


def _logged_of_second(name: str) -> Callable[[Record], NDArray[np.float64]]:
    place = len(LOGGED) + LOGGED.index(name)
    return lambda record: record.log[:, place]


_OWN = "second system: "
OF_SECOND = (
    *(
        _Watched("call", _OWN + name.replace("_", " "), _logged_of_second(name))
        for name in CallSet._fields
    ),
    _Watched("call", f"{_OWN}dehumidifier's own humidistat", _logged_of_second("own_humidistat")),
    *(
        _Watched(
            "refusal", _OWN + name.removeprefix("refused_").replace("_", " "), _step_of_second(name)
        )
        for name in REFUSALS
    ),
    _Watched("machine", f"{_OWN}strips' limit switch open", _logged_of_second("limit_switch_open")),
    *(
        _Watched("machine", _OWN + flow.event, _step_of_second(flow.field))
        for flow in FLOWS
        if flow.event and flow.field in SYSTEM_FIELDS
    ),
)
"""What is logged of a second system."""
ALL = (*WATCHED, *OF_SECOND)

_REFUSAL = np.array([one.kind == "refusal" for one in ALL])
_KINDS = np.array([one.kind for one in ALL], dtype=object)
_WHATS = np.array([one.what for one in ALL], dtype=object)
_CALLS = [k for k, one in enumerate(WATCHED) if one.kind == "call"][: len(CallSet._fields)]
_CALLS_OF_SECOND = [len(WATCHED) + k for k in range(len(CallSet._fields))]
_RELAYS = [k for k, one in enumerate(WATCHED) if one.kind == "relay"]


def _watch(record: Record) -> NDArray[np.float64]:
    """Values of all watched quantities, one row per step."""
    two_systems = record.log.shape[1] > len(LOGGED)
    return np.column_stack([one.of(record) for one in (ALL if two_systems else WATCHED)])


def last_step(record: Record) -> NDArray[np.float64]:
    """Values of all watched quantities in the last step of a traced run, for the next one."""
    last: NDArray[np.float64] = _watch(record)[-1].copy()
    return last


def log_events(
    machine: Machine,
    forcing: Forcing,
    index: pd.DatetimeIndex,
    first_state: NDArray[np.float64],
    first_memory: NDArray[np.float64],
    before: NDArray[np.float64] | None,
    faults: Iterable[Change] = (),
) -> pd.DataFrame:
    """Simulate a run once more and log each change, as the table of `Season.events`.

    Parameters
    ----------
    machine, forcing, index, first_state, first_memory
        Parts of the run.
    before : array, optional
        `last_step` of the time before the run. Without it, all that runs or is called in the first
        step is an event.
    faults : iterable of Change
        Dated changes to log with the others. Those outside the run are omitted.
    """
    if before is None:
        # Without a step before, nothing runs and nothing is called.
        before = np.zeros(len(WATCHED if machine.second is None else ALL))
        before[_CALLS] = Calls()
        if machine.second is not None:
            before[_CALLS_OF_SECOND] = Calls()
        if machine.plant.line.acts > 0.0:
            before[_RELAYS] = Calls()
    state, memory = first_state.copy(), first_memory.copy()
    step = pd.Timedelta(hours=1) / machine.steps
    days = index.normalize()
    bounds = [0, *(np.flatnonzero(days[1:] != days[:-1]) + 1), len(index)]
    dated = list(faults)
    times, places, was, now, read = [], [], [], [], []
    rows: list[tuple[Any, ...]] = []
    for first, end in zip(bounds[:-1], bounds[1:], strict=True):
        record = machine.run(forcing.part(first, end), state, memory, trace=True)
        values = _watch(record)
        earlier = np.vstack([before, values[:-1]])
        before = values[-1].copy()
        # A refusal is marked only in its first step, so two marks in a row are two events.
        earlier[:, _REFUSAL[: earlier.shape[1]]] = 0.0
        steps, columns = np.nonzero(values != earlier)
        stamps = pd.date_range(index[first], periods=len(values), freq=step).to_numpy()
        times.append(stamps[steps])
        places.append(columns)
        was.append(earlier[steps, columns])
        now.append(values[steps, columns])
        read.append(record.log[steps, :2])
        for fault in dated:
            if index[first] <= fault.time < index[first] + len(values) * step:
                at = (fault.time - index[first]) // step
                rows.append((fault.time, "fault", *fault[1:], *record.log[at, :2]))
    place, readings = np.concatenate(places), np.concatenate(read)
    table = pd.DataFrame(
        {
            "time": np.concatenate(times),
            "kind": _KINDS[place],
            "what": _WHATS[place],
            "was": np.concatenate(was),
            "now": np.concatenate(now),
            "temperature_C": readings[:, 0],
            "rh_pct": readings[:, 1],
        }
    )
    if rows:
        table = pd.concat([pd.DataFrame(rows, columns=table.columns), table])
    return table.set_index("time").sort_index(kind="stable")
