"""Executors of a sweep: threads, processes, the user's own executor, or a Dask cluster."""

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from types import FrameType
from typing import Any

from moistsim.core.errors import InputError
from moistsim.core.whole_numbers import MOST_CASES, whole_number, worker_count
from moistsim.sweep.worker import Shared, begin_process, packed


@contextlib.contextmanager
def ctrl_c_waits() -> Iterator[None]:
    """Let Ctrl-C wait until a process has begun, and keep it from the process itself.

    A process that Ctrl-C reaches before `begin_process` would print a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def ctrl_c_between_cases() -> Iterator[Callable[[], None]]:
    """Keep a first Ctrl-C until the function that it yields is called.

    An exception while futures are waited for may leave one of their locks taken. The executor would
    then never end.
    """
    handler = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or not callable(handler):
        yield lambda: None
        return
    kept: list[int] = []

    def keep(number: int, frame: FrameType | None) -> None:
        if kept:
            handler(number, frame)  # The second Ctrl-C waits for nothing.
        kept.append(number)

    def look() -> None:
        while kept:
            handler(kept.pop(), None)

    signal.signal(signal.SIGINT, keep)
    try:
        yield look
        look()
    finally:
        # The handler may have put another one in its place.
        if signal.getsignal(signal.SIGINT) is keep:
            signal.signal(signal.SIGINT, handler)


class Pool:
    """The user's executor, or one that the sweep makes, and makes again if it breaks."""

    def __init__(self, executor: Any, workers: Any) -> None:
        kinds = ("threads", "processes")
        if executor is not None and executor not in kinds and not isinstance(executor, Executor):
            raise InputError(
                "Sweep.run executor", executor, "'threads', 'processes' or an Executor of "
                "concurrent.futures",
            )  # fmt: skip
        self.own = not isinstance(executor, Executor)
        self.kind = "given" if not self.own else executor or "threads"
        self.executor: Executor | None = None if self.own else executor
        self.lost: tuple[type[Exception], ...] = (BrokenExecutor, CancelledError)
        """Errors that mean that a worker, or the whole executor, has died."""
        self.how: dict[str, Any] = {}
        """Options of the executor's call for each case."""
        self.ended = "a worker died"
        """The event that ended the executor, in words."""
        self._cluster: Any = None
        self._given_to = ""
        # Dask is imported for its own client only, because it is an optional package.
        if type(executor).__module__.startswith("distributed."):
            from moistsim.sweep.cluster import Cluster

            self._cluster = Cluster(executor)
            self.lost += self._cluster.lost
            self.how = self._cluster.how
            self.ended = "the cluster went away"
        own = getattr(executor, "_max_workers", None) if not self.own else None
        where = "Sweep.run workers"
        self._workers: int | None = own
        if self.own:
            self._workers = worker_count(workers, where)
        elif workers is not None:
            accepted = "a number of workers, 1 or more"
            self._workers = whole_number(workers, where, 1, 10**6, accepted)
        self.cases = MOST_CASES
        """Number of cases to run: more workers have nothing to do."""
        self._event: Any = None

    @property
    def workers(self) -> int:
        """Number of cases that run at the same time."""
        return int(
            self._workers or (self._cluster and self._cluster.threads) or os.cpu_count() or 1
        )

    def make(self, digest: str, shared: Shared) -> Executor:
        """Prepare the executor for a sweep, and return it."""
        if self._cluster is not None and self._given_to != digest:
            self._given_to = digest
            self._cluster.begin(digest, packed(shared))
        if self.executor is None and self.kind == "threads":
            self.executor = ThreadPoolExecutor(min(self.workers, self.cases))
        elif self.executor is None:
            self._event = multiprocessing.Event()
            self.executor = ProcessPoolExecutor(
                min(self.workers, self.cases),
                initializer=begin_process,
                initargs=(self._event, digest, packed(shared)),
            )
        return self.executor

    def without_workers(self) -> float:
        """Time for which a cluster has had no worker, s."""
        return 0.0 if self._cluster is None else float(self._cluster.without_workers())

    def outlives(self, died: Exception) -> bool:
        """Whether the other running cases go on, because a cluster has more workers."""
        return self._cluster is not None and isinstance(died, self._cluster.lost)

    def end(self) -> None:
        """Let running cases end after their present option, and shut down an executor of our own."""
        if self._cluster is not None:
            self._cluster.end()
        if self._event is not None:
            self._event.set()
        if self.own and self.executor is not None:
            self.executor.shutdown(wait=False, cancel_futures=True)
            self.executor = None
