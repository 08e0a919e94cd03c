"""Finished cases of a sweep before they are stored, and the error that says how to go on."""

import time
from collections.abc import Callable
from typing import Any

from moistsim.sweep.cases import Cases
from moistsim.sweep.store import Store
from moistsim.sweep.worker import Done

PART = 64
"""Number of finished cases in a part; a few more if several finish at the same time."""
PATIENCE = 30.0
"""Time after which finished cases are written, even if they fill no part, s."""


class SweepError(RuntimeError):
    """A sweep stopped before its last case; the message says why and how to go on.

    Examples
    --------
    >>> raise SweepError("a worker died in case 7 of 100; 'resume' goes on with the others")
    Traceback (most recent call last):
    ...
    moistsim.sweep.parts.SweepError: a worker died in case 7 of 100; 'resume' goes on with the others
    """


class Parts:
    """Finished cases, gathered and written as parts.

    Parameters
    ----------
    cases : Cases
    results : tuple of str
        Names of the numbers of each `Done`, in their order.
    store : Store
    """

    def __init__(self, cases: Cases, results: tuple[str, ...], store: Store) -> None:
        self.cases, self.results, self.store = cases, results, store
        self._finished: list[tuple[int, Done]] = []
        self._written = time.monotonic()

    def add(self, position: int, done: Done) -> None:
        """Add one finished case.

        Raises
        ------
        SweepError
            If the hourly table cannot be written.
        """
        if done.hourly is not None:
            table = done.hourly
            self._on_disk(lambda: self.store.add_hourly(done.case, table))
        self._finished.append((position, done._replace(hourly=None)))

    @property
    def due(self) -> bool:
        """Whether the finished cases fill a part, or have waited for `PATIENCE` seconds."""
        return len(self._finished) >= PART or time.monotonic() - self._written > PATIENCE

    def write(self) -> None:
        """Write the finished cases as a part.

        Raises
        ------
        SweepError
            If the part cannot be written.
        """
        self._written = time.monotonic()
        if not self._finished:
            return
        columns: dict[str, list[Any]] = {name: [] for name in self.store.schema.names}
        for position, done in self._finished:
            values = self.cases.values(position)
            for option, status, results in done.rows:
                row = {"case": done.case, **values, "option": option, "status": status}
                row |= zip(self.results, results, strict=True)
                for name, column in columns.items():
                    column.append(row.get(name))
        self._on_disk(lambda: self.store.add(columns))
        self._finished = []

    def _on_disk(self, write: Callable[[], None]) -> None:
        try:
            write()
        except OSError as error:
            self._finished = []
            raise SweepError(
                f"Sweep.run: {self.store.folder} took no more ({error.strerror or error}); "
                + self.kept()
            ) from error

    def kept(self) -> str:
        """End of an error: the results that are kept, and how to go on."""
        if self.store.folder is None:
            return "without a folder nothing is kept"
        return (
            f"all that was written in {self.store.folder} is whole, and Sweep.resume(folder) runs "
            "the rest"
        )
