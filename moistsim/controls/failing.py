"""Failures of a control within the compiled loop, kept by thread and raised after the loop."""

import itertools
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from moistsim.core.errors import InputError, Problem

MOST_VENTILATION = 20.0
"""Greatest factor on the ventilation rate that a call may ask for.

No fan delivers 20 times its rate. A greater factor is a rate in cfm or liters per second."""


class _Run(threading.local):
    """Errors of controls in this thread's run, each with the control's name; None outside a run."""

    failures: list[tuple[str, BaseException]] | None = None


_run = _Run()


@contextmanager
def carrying() -> Iterator[None]:
    """Raise after a run the first error of a control that failed in it.

    Raises
    ------
    InputError
        One sentence that names the strategy and the error of its function.
    """
    # A function that is called by its address cannot raise an exception itself.
    failures: list[tuple[str, BaseException]] = []
    before, _run.failures = _run.failures, failures
    try:
        yield
    finally:
        _run.failures = before
    if failures:
        where, error = failures[0]
        raise told(where, error)


def failed() -> bool:
    """Whether a control has failed in this thread's run: the rest of the run is discarded."""
    return bool(_run.failures)


def keep(where: str, error: BaseException) -> None:
    """Keep an error until the end of the run; outside a run, raise it."""
    if _run.failures is None:
        raise told(where, error)
    _run.failures.append((where, error))


def told(where: str, error: BaseException) -> BaseException:
    """The error that a user gets for a control's own error."""
    if not isinstance(error, Exception):  # an interrupt from the keyboard
        return error
    if isinstance(error, InputError):
        return error
    own = InputError(
        where,
        f"{type(error).__name__}: {reason_of(error)}",
        "a function that runs on any readings, memory and setpoints, and returns ms.Calls(...), "
        "or the readings if it changes them",
    )
    own.__cause__ = error
    return own


def reason_of(error: BaseException) -> str:
    """Text of an error; of numba's many lines, only the first statement about the function."""
    lines = [line.strip(" -") for line in str(error).splitlines()]
    said = [line for line in lines if line and not line.startswith("Failed in nopython")]
    ends = ("During", "File ", "There are ")
    whole = " ".join(itertools.takewhile(lambda line: not line.startswith(ends), said))
    return whole if len(whole) <= 120 else whole[:117] + "..."


class Memory(np.ndarray[Any, Any]):
    """The memory of a control for the interpreter: an index beyond it raises a sentence."""

    where = ""
    readings: Any = None

    @classmethod
    def of(cls, memory: Any, where: str, readings: Any) -> "Memory":
        """The same floats, for the control of that name and its readings of a step."""
        view: Memory = memory.view(cls)
        view.where, view.readings = where, readings
        return view

    def __getitem__(self, index: Any) -> Any:
        try:
            return super().__getitem__(index)
        except IndexError:
            raise self._beyond(index) from None

    def __setitem__(self, index: Any, value: Any) -> None:
        try:
            super().__setitem__(index, value)
        except IndexError:
            raise self._beyond(index) from None

    def _beyond(self, index: Any) -> Exception:
        # A slice of the memory has no name of its own, and a float is no index at all.
        if not self.where or not isinstance(index, int | np.integer):
            return IndexError(f"{index!r} as an index of {self.size} floats")
        return InputError(
            self.where,
            Problem(f"memory[{index}]{when(self.readings)}, but its memory has {self.size} places"),
            f"memory[0] to memory[{self.size - 1}]",
        )


def when(readings: Any) -> str:
    """Time of readings, for an error."""
    hour, minute = divmod(int(60.0 * readings.hour), 60)
    return f" at {hour}:{minute:02d} on day {readings.day:g}"


def result_of(where: str, result: Any, kind: Any, readings: Any) -> tuple[float, ...]:
    """The floats that a control returned for readings.

    Raises
    ------
    TypeError
        If it returned something else than a record of that kind.
    InputError
        If a float is not a number, or no machine could follow it.
    """
    if not isinstance(result, kind):
        raise TypeError(f"it returned {result!r}")
    floats: list[float] = [float(value) for value in result]
    values = dict(zip(kind._fields, floats, strict=True))
    of = "calls" if "ventilation" in values else "readings"
    for name, value in values.items():
        if not math.isfinite(value):
            raise InputError(
                where, Problem(f"{of}.{name} is {value}{when(readings)}"), "finite numbers"
            )
    ventilation = values.get("ventilation", 1.0)
    if not 0.0 <= ventilation <= MOST_VENTILATION:
        raise InputError(
            where,
            Problem(f"calls.ventilation is {ventilation:g}{when(readings)}"),
            f"a factor on the ventilation rate, from 0 to {MOST_VENTILATION:g}",
        )
    return tuple(values.values())
