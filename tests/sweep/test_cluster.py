"""Sweeps on a real Dask cluster of this machine: two workers, each a process with a nanny."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from support.small_sweeps import (
    forcings_computed,
    forget_forcings,
    kept_cases,
    same,
    small,
    study,
    undisturbed,
)

import moistsim as ms
from moistsim.sweep import cluster as sweep_cluster
from moistsim.sweep import manifest as sweep_manifest
from moistsim.sweep import parts as sweep_parts
from moistsim.sweep import run as sweep_run
from moistsim.sweep import store as sweep_store

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def client() -> Iterator[Any]:
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=":0"
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


def once_something_is_kept(folder: Path, do: Callable[[], Any]) -> threading.Thread:
    """Do it then, while the sweep goes on."""

    def waiting() -> None:
        until = time.monotonic() + 60.0
        while not list(folder.glob("parts/part-*.parquet")) and time.monotonic() < until:
            time.sleep(0.005)
        do()

    thread = threading.Thread(target=waiting)
    thread.start()
    return thread


def kill_a_worker_once_something_is_kept(client: Any, folder: Path) -> threading.Thread:
    """Of the two workers one, while both are at work."""
    pid = next(iter(client.run(os.getpid).values()))
    return once_something_is_kept(folder, lambda: os.kill(pid, signal.SIGKILL))


@pytest.mark.slow
def test_a_cluster_gives_the_same_bits(client: Any) -> None:
    executor = client.get_executor()
    assert same(small().run(executor, progress=False), undisturbed())
    assert executor.submit(abs, -1).result() == 1  # it is left open


def test_each_worker_is_sent_the_study_once_and_computes_a_forcing_once(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    executor, along = client.get_executor(), []
    submit = executor.submit

    def watched(function: Any, *arguments: Any, **more: Any) -> Any:
        along.append(arguments[-1])
        return submit(function, *arguments, **more)

    monkeypatch.setattr(executor, "submit", watched)
    client.run(forget_forcings)
    prices = ms.Sweep(study(), {"tariff.price": [0.1 + 0.01 * k for k in range(20)]})
    frame = prices.run(executor, progress=False)
    assert set(frame["status"]) == {"ok"}
    assert set(along) == {None}  # never with a case
    computed = client.run(forcings_computed)
    assert sorted(computed.values()) == [1, 1]


@pytest.mark.slow
def test_a_worker_that_is_killed_costs_nothing(
    client: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Dask runs its cases elsewhere; the worker that takes its place is sent the study too."""
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    killing = kill_a_worker_once_something_is_kept(client, tmp_path)
    frame = small(80).run(client.get_executor(), tmp_path, progress=False)
    killing.join()
    client.wait_for_workers(2, timeout=60)
    assert same(frame, undisturbed(80))


@pytest.mark.slow
def test_what_the_cluster_gives_up_runs_again_alone(
    client: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    monkeypatch.setattr(client.cluster.scheduler, "allowed_failures", 0)
    killing = kill_a_worker_once_something_is_kept(client, tmp_path)
    frame = small(80).run(client.get_executor(), tmp_path, progress=False)
    killing.join()
    client.wait_for_workers(2, timeout=60)
    assert same(frame, undisturbed(80))


@pytest.mark.slow
def test_a_stop_keeps_what_is_done_and_is_resumed_to_the_same_bits(
    client: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    add, parts = sweep_store.Store.add, []

    def added(store: sweep_store.Store, columns: Any) -> None:
        add(store, columns)
        parts.append(columns)
        if len(parts) == 2:
            raise KeyboardInterrupt  # As of a key pressed just then.

    monkeypatch.setattr(sweep_store.Store, "add", added)
    with pytest.raises(KeyboardInterrupt):
        small(80).run(client.get_executor(), tmp_path, progress=False)
    assert 0 < len(kept_cases(tmp_path)) < 80
    # What is left of it takes no worker's time.
    assert client.submit(abs, -1, pure=False).result(timeout=60) == 1
    assert same(small(80).resume(tmp_path, client.get_executor(), progress=False), undisturbed(80))


@pytest.mark.slow
def test_a_cluster_that_goes_is_resumed_to_the_same_bits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers in this process are enough here."""
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=":0"
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        going = once_something_is_kept(tmp_path, client.close)
        # It may be found out by a case under way, or by the next one that it does not take.
        with pytest.raises(
            ms.SweepError,
            match=r"^Sweep.run: (the cluster went away with \d+ cases under way|the executor took no "
            r"more cases \([^;]{,210}\)); .* is whole, and Sweep.resume",
        ):
            small(80).run(client.get_executor(), tmp_path, progress=False)
        going.join()
    assert 0 < len(kept_cases(tmp_path)) < 80
    assert same(small(80).resume(tmp_path, progress=False), undisturbed(80))


class Bare:
    """A cluster of one worker at most, which nothing starts again."""

    def __init__(self, cluster: Any, client: Any) -> None:
        self.cluster, self.client = cluster, client
        self.worker: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        module = "distributed.cli.dask_worker"
        where = self.cluster.scheduler_address
        how = ["--no-nanny", "--no-dashboard", "--nthreads", "1"]
        self.worker = subprocess.Popen(
            [sys.executable, "-m", module, where, *how],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            stderr=subprocess.DEVNULL,
        )

    def kill(self) -> None:
        if self.worker is not None:
            self.worker.kill()
            self.worker.wait()


@contextmanager
def bare() -> Iterator[Bare]:
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=":0") as cluster,
        distributed.Client(cluster) as client,
    ):
        here = Bare(cluster, client)
        here.start()
        try:
            client.wait_for_workers(1, timeout=60)
            yield here
        finally:
            here.kill()


@pytest.mark.slow
def test_a_cluster_that_loses_its_last_worker_ends_the_sweep_with_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    monkeypatch.setattr(sweep_cluster, "ASKED", 0.1)
    monkeypatch.setattr(sweep_run, "WORKERLESS", 1.0)
    with bare() as here:
        killing = once_something_is_kept(tmp_path, here.kill)
        with pytest.raises(
            ms.SweepError,
            match=r"no worker for [1-9] s, with \d+ cases under way; .* is whole, and Sweep.resume",
        ):
            small(80).run(here.client.get_executor(), tmp_path)
        killing.join()
    assert "The cluster has no worker. The sweep waits up to" in caplog.text
    assert 0 < len(kept_cases(tmp_path)) < 80
    assert same(small(80).resume(tmp_path, progress=False), undisturbed(80))


@pytest.mark.slow
def test_a_worker_that_comes_in_time_goes_on_with_the_sweep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Not sent the study by anybody but the cluster."""
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    monkeypatch.setattr(sweep_cluster, "ASKED", 0.1)
    with bare() as here:

        def another() -> None:
            here.kill()
            time.sleep(1.0)
            here.start()

        killing = once_something_is_kept(tmp_path, another)
        frame = small(80).run(here.client.get_executor(), tmp_path)
        killing.join()
    assert "The cluster has no worker. The sweep waits up to" in caplog.text
    assert same(frame, undisturbed(80))


def test_a_worker_with_other_code_is_refused_before_any_run(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    # In this process only: the workers run the real one.
    monkeypatch.setattr(sweep_manifest, "package_version", lambda name: "0.1")
    with pytest.raises(ms.InputError, match="a worker at tcp.* differs: moistsim: .*, here '0.1'"):
        small(2).run(client.get_executor(), progress=False)
