"""One pass through the cases of a sweep, to the last case or to the error that stops it."""

import atexit
import gc
import logging
import textwrap
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from typing import Any

from moistsim.core.errors import InputError
from moistsim.core.progress import progress_bar
from moistsim.sweep.cases import Cases
from moistsim.sweep.executor import Pool, ctrl_c_between_cases, ctrl_c_waits
from moistsim.sweep.parts import Parts, SweepError
from moistsim.sweep.worker import Done, Shared, keep, packed, run_case, stop

AHEAD = 4
"""Cases under way for each worker. No worker waits, and memory does not grow with the cases."""
DEADLY = 3
"""Consecutive cases that may end with a dead worker. With more, the cause is not the cases."""
WORKERLESS = 300.0
"""Time for which a sweep waits for a worker of an empty cluster, s.

It equals Dask's own ``worker-ttl``, after which Dask counts a silent worker as dead.
"""


def run_cases(
    cases: Cases, shared: Shared, digest: str, pool: Pool, parts: Parts, before: set[int],
    *, hourly: bool, progress: bool,
) -> None:  # fmt: skip
    """Run the cases that have not run before, with a progress bar; Ctrl-C keeps finished cases.

    Raises
    ------
    SweepError
        As `Sweep.run`.
    """
    keep(digest, shared)
    with progress_bar(len(cases), "sweep", "case", shown=progress, done=len(before)) as bar:
        run = Run(cases, shared, digest, pool, parts, hourly, bar)
        missing = cases.missing(before)
        pool.cases = max(len(missing), 1)
        try:
            with ctrl_c_between_cases() as look_for_ctrl_c:
                run.through(iter(missing), look_for_ctrl_c)
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                # Garbage collection at exit would take half a second, for nothing.
                atexit.register(gc.freeze)
            parts.write()
            if parts.store.folder is not None and not isinstance(error, SweepError):
                error.add_note(parts.kept())
            raise
        finally:
            run.end()


class Run:
    """One pass through the cases of a sweep that are missing."""

    def __init__(
        self, cases: Cases, shared: Shared, digest: str, pool: Pool, parts: Parts, hourly: bool,
        bar: Any,
    ) -> None:  # fmt: skip
        self.cases, self.shared, self.digest = cases, shared, digest
        self.pool, self.parts, self.hourly, self.bar = pool, parts, hourly, bar
        self.under_way: dict[Future[Done | None], int] = {}
        self.suspects: list[int] = []
        """Positions of cases under way when a worker died; each runs again, alone."""
        self.tried: int | None = None
        """The suspect that is running."""
        self.deadly: list[int] = []
        """Suspects whose worker died again, since the last finished case."""
        self.sent: bytes | None = None
        self.alone = False
        """Whether the progress bar shows that the cluster has no worker."""

    def through(self, waiting: Iterator[int], look_for_ctrl_c: Callable[[], None]) -> None:
        """Run the cases at these positions, and write the results."""
        # With threads, the first case runs alone and loads the compiled loop for the others.
        first = self.pool.kind == "threads"
        while True:
            look_for_ctrl_c()
            alone = first or self.suspects or self.tried is not None
            most = 1 if alone else AHEAD * self.pool.workers
            died: Exception | None = None
            while len(self.under_way) < most:
                position = self.suspects.pop() if self.suspects else next(waiting, None)
                if position is None:
                    break
                self.tried = position if alone and not first else None
                try:
                    self._submit(position)
                except self.pool.lost as error:
                    self.suspects.append(position)
                    died = error
                    break
            if not self.under_way and not self.suspects:
                self.parts.write()
                return
            # A waiting main thread does not see Ctrl-C on every system.
            ended, _ = wait(self.under_way, timeout=0.5, return_when=FIRST_COMPLETED)
            for future in ended:
                try:
                    self._take(self.under_way[future], future)
                except self.pool.lost as error:
                    died = error
                    continue
                del self.under_way[future]
                first = False
            if died is not None:
                self._bury(died)
            self._look_for_workers()
            if self.parts.due:
                self.parts.write()

    def _submit(self, position: int, sent: bytes | None = None) -> None:
        executor = self.pool.make(self.digest, self.shared)
        case, values = self.cases.number(position), self.cases.values(position)
        try:
            # A pool begins its processes with its first case.
            with ctrl_c_waits():
                future = executor.submit(
                    run_case, self.digest, case, values, self.hourly, sent, **self.pool.how
                )
        except self.pool.lost:
            raise
        except Exception as error:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: the executor took no more cases ({_short(error)}); "
                + self.parts.kept()
            ) from error
        self.under_way[future] = position

    def _take(self, position: int, future: "Future[Done | None]") -> None:
        try:
            done = future.result()
        except self.pool.lost:
            raise
        except (InputError, KeyboardInterrupt):
            raise
        except Exception as error:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: a worker failed ({_short(error)}); {self.parts.kept()}"
            ) from error
        if done is None:
            # The process does not have the study yet, so it is sent with the case.
            self.sent = self.sent or packed(self.shared)
            self._submit(position, self.sent)
            return
        self.deadly, self.tried = [], None
        self._finish(position, done)

    def _finish(self, position: int, done: Done) -> None:
        self.parts.add(position, done)
        self.bar.update()

    def _look_for_workers(self) -> None:
        """Show that a cluster has no worker, and wait up to `WORKERLESS` seconds for one.

        Raises
        ------
        SweepError
            If no worker joins in that time.
        """
        seconds = self.pool.without_workers()
        if self.alone != (seconds > 0.0):
            self.alone = seconds > 0.0
            self.bar.set_postfix_str("no worker, waiting for one" if self.alone else "")
            if self.alone and self.bar.disable:
                # A log has no bar. Without logging set up, Python prints warnings on the screen.
                logging.getLogger("moistsim").warning(
                    "The cluster has no worker. The sweep waits up to %.0f s for one.", WORKERLESS
                )
        if seconds > WORKERLESS:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: the cluster has had no worker for {seconds:.0f} s, with "
                f"{len(self.under_way)} cases under way; {self.parts.kept()}"
            )

    def _bury(self, died: Exception) -> None:
        """Keep the finished cases after the death of a worker, and suspect the unfinished ones.

        Raises
        ------
        SweepError
            If the user's own executor died with the worker, or worker after worker dies.
        """
        lost = []
        for future, position in [*self.under_way.items()]:
            if future.done() and not future.cancelled() and future.exception() is None:
                self._take(position, future)
            elif future.done() or not self.pool.outlives(died):
                lost.append(position)
            else:
                continue
            del self.under_way[future]
        tried, self.tried = self.tried, None
        if tried in lost and self.deadly[-1:] == [tried]:
            # The worker died twice with this case alone, so the case gets a row as a failed one.
            lost = []
            status = "the process that ran it died, twice and with no other case under way"
            nothing = [float("nan")] * len(self.shared.columns)
            rows = [(option, status, nothing) for option in self.shared.study.options]
            self._finish(tried, Done(self.cases.number(tried), rows, None))
        elif tried in lost:
            self.deadly.append(tried)
        if not (self.pool.own or self.pool.outlives(died)) or len(self.deadly) > DEADLY:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: {'worker after worker died' if self.deadly else self.pool.ended} "
                f"with {len(lost)} cases under way; {self.parts.kept()}"
            ) from died
        self.suspects += lost[::-1]
        if self.pool.own:
            self.pool.end()

    def end(self) -> None:
        """Cancel the cases that are still running."""
        if self.under_way:
            stop(self.digest)
        for future in self.under_way:
            future.cancel()
        self.pool.end()


def _short(error: Exception) -> str:
    """Shorten an executor's error, because it may contain the whole study."""
    return textwrap.shorten(f"{type(error).__name__}: {error}", 200)
