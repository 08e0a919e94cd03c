"""A Dask cluster under a sweep: it sends the study to each worker, and counts the workers.

Only imported for the executor of a Dask client.
"""

import contextlib
import time
from types import MappingProxyType

from distributed import Client, KilledWorker, Worker, WorkerPlugin
from distributed.cfexecutor import ClientExecutor

from moistsim.core.errors import InputError, Problem
from moistsim.sweep.manifest import differences, versions
from moistsim.sweep.worker import keep_sent, stop

ASKED = 5.0
"""Time between two counts of the workers, s, because a cluster may grow and shrink."""


class _Study(WorkerPlugin):
    """The study, sent once to every worker that the cluster has or will have.

    Parameters
    ----------
    digest : str
    sent : bytes
        By `sweep_worker.packed`.
    """

    def __init__(self, digest: str, sent: bytes) -> None:
        self.name, self.digest, self.sent = f"moistsim study {digest}", digest, sent

    def setup(self, worker: Worker) -> None:
        """Keep the study before the worker's first case."""
        keep_sent(self.digest, self.sent)

    def teardown(self, worker: Worker) -> None:
        """Let the worker's cases end after their present option."""
        stop(self.digest)


class Cluster:
    """The parts of a Dask client that a sweep needs beyond its executor."""

    lost = (KilledWorker,)
    """Errors for a case whose workers died as often as the cluster allows."""
    how = MappingProxyType({"pure": False})
    """Options of each call. Without them, Dask would repeat a result from memory, even a failure."""

    def __init__(self, executor: ClientExecutor) -> None:
        self._client: Client = executor._client
        self._study: _Study | None = None
        self._threads, self._asked = 0, float("-inf")
        self._seen = time.monotonic()
        """Time of the last count with a worker, s on the monotonic clock, or of the start."""

    def begin(self, digest: str, sent: bytes) -> None:
        """Send the study to all workers.

        Raises
        ------
        InputError
            If a worker has other code than this process. Workers that join later are not checked.
        """
        here = versions()
        for worker, there in self._client.run(versions, on_error="return").items():
            if isinstance(there, Exception):
                different = f"without moistsim ({type(there).__name__}: {there})"
            else:
                different = "; ".join(differences(there, here))
            if different:
                raise InputError(
                    "Sweep.run executor", Problem(f"a worker at {worker} that differs: {different}"),
                    "workers with the packages of this process",
                )  # fmt: skip
        self._study = _Study(digest, sent)
        self._client.register_plugin(self._study)

    @property
    def threads(self) -> int:
        """Threads of all workers together; at least 1."""
        self._ask()
        return max(self._threads, 1)

    def without_workers(self) -> float:
        """Time without any worker, s; 0 while there is one."""
        self._ask()
        return 0.0 if self._threads else time.monotonic() - self._seen

    def _ask(self) -> None:
        if time.monotonic() - self._asked > ASKED:
            self._asked = time.monotonic()
            # If the scheduler does not answer, the last count stays valid.
            with contextlib.suppress(OSError, TimeoutError, ValueError):
                self._threads = sum(self._client.nthreads().values())
            if self._threads:
                self._seen = self._asked

    def end(self) -> None:
        """Remove the study from the cluster."""
        if self._study is not None and self._client.status == "running":
            with contextlib.suppress(OSError, TimeoutError, ValueError):
                self._client.unregister_worker_plugin(self._study.name)
        self._study = None
