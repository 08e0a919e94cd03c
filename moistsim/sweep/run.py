"""One pass through the cases of a sweep, to the last case or to the error that stops it."""

import atexit
import gc
import logging
import textwrap
from collections import deque
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from typing import Any

from moistsim.core.errors import InputError
from moistsim.core.progress import progress_bar
from moistsim.sweep.cases import Cases
from moistsim.sweep.executor import Pool, ctrl_c_between_cases, ctrl_c_waits
from moistsim.sweep.parts import Parts, SweepError
from moistsim.sweep.worker import Done, Shared, keep, packed, run_task, stop

AHEAD = 4
"""Tasks under way for each worker. No worker waits, and memory does not grow with the cases."""
TASK = 0.25
"""Length of a task with several short cases, s: long next to handing it out, short next to a stop."""
LARGEST = 64
"""Largest number of cases in a task."""
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
                run.through(deque(missing), look_for_ctrl_c)
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
        self.under_way: dict[Future[list[Done] | None], list[int]] = {}
        """Tasks, with the positions of their cases."""
        self.seconds: float | None = None
        """Time that a case takes in its worker, s, by the latest ones."""
        self.suspects: list[int] = []
        """Positions of cases under way when a worker died; each runs again, alone."""
        self.tried: int | None = None
        """The suspect that is running."""
        self.deadly: list[int] = []
        """Suspects whose worker died again, since the last finished case."""
        self.sent: bytes | None = None
        self.alone = False
        """Whether the progress bar shows that the cluster has no worker."""

    def through(self, waiting: deque[int], look_for_ctrl_c: Callable[[], None]) -> None:
        """Run the cases at these positions, and write the results."""
        # With threads, the first case runs alone and loads the compiled loop for the others.
        first = self.pool.kind == "threads"
        while True:
            look_for_ctrl_c()
            alone = first or self.suspects or self.tried is not None
            most = 1 if alone else AHEAD * self.pool.workers
            died: Exception | None = None
            while len(self.under_way) < most and (self.suspects or waiting):
                if self.suspects:
                    positions = [self.suspects.pop()]
                else:
                    size = 1 if alone else self._task_size(len(waiting))
                    positions = [waiting.popleft() for _ in range(size)]
                self.tried = positions[0] if alone and not first else None
                try:
                    self._submit(positions)
                except self.pool.lost as error:
                    # Cases that no worker had yet are not to blame.
                    if self.tried is not None:
                        self.suspects += positions
                    else:
                        waiting.extendleft(positions[::-1])
                    died = error
                    break
            if not (self.under_way or self.suspects or waiting):
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

    def _task_size(self, left: int) -> int:
        """Number of cases in the next task: many if they are short, and few if few are left."""
        if self.seconds is None:
            return 1
        fair = -(-left // (2 * self.pool.workers))
        return max(min(int(TASK / max(self.seconds, 1e-9)), LARGEST, fair), 1)

    def _submit(self, positions: list[int], sent: bytes | None = None) -> None:
        executor = self.pool.make(self.digest, self.shared)
        cases = [(self.cases.number(each), self.cases.values(each)) for each in positions]
        try:
            # A pool begins its processes with its first case.
            with ctrl_c_waits():
                future = executor.submit(
                    run_task, self.digest, cases, self.hourly, sent, **self.pool.how
                )
        except self.pool.lost:
            raise
        except Exception as error:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: the executor took no more cases ({_short(error)}); "
                + self.parts.kept()
            ) from error
        self.under_way[future] = positions

    def _take(self, positions: list[int], future: "Future[list[Done] | None]") -> None:
        try:
            finished = future.result()
        except self.pool.lost:
            raise
        except (InputError, KeyboardInterrupt):
            raise
        except Exception as error:
            self.parts.write()
            raise SweepError(
                f"Sweep.run: a worker failed ({_short(error)}); {self.parts.kept()}"
            ) from error
        if finished is None:
            # The process does not have the study yet, so it is sent with the cases.
            self.sent = self.sent or packed(self.shared)
            self._submit(positions, self.sent)
            return
        self.deadly, self.tried = [], None
        for position, done in zip(positions, finished, strict=True):
            self._finish(position, done)
            # The first cases may have compiled the loop, so a shorter time counts at once.
            usual = done.seconds if self.seconds is None else self.seconds
            self.seconds = min(done.seconds, usual + 0.3 * (done.seconds - usual))

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
                f"{sum(map(len, self.under_way.values()))} cases under way; {self.parts.kept()}"
            )

    def _bury(self, died: Exception) -> None:
        """Keep the finished cases after the death of a worker, and suspect the unfinished ones.

        Raises
        ------
        SweepError
            If the user's own executor died with the worker, or worker after worker dies.
        """
        lost: list[int] = []
        for future, positions in [*self.under_way.items()]:
            if future.done() and not future.cancelled() and future.exception() is None:
                self._take(positions, future)
            elif future.done() or not self.pool.outlives(died):
                lost += positions
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
