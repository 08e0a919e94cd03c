"""Tasks of several cases: each case runs once, in any executor, and a stop keeps what is whole."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.small_sweeps import kept_cases, same, small, undisturbed

from moistsim.core.progress import progress_bar
from moistsim.sweep import parts as sweep_parts
from moistsim.sweep import run as sweep_run
from moistsim.sweep import worker as sweep_worker
from moistsim.sweep.executor import Pool
from moistsim.sweep.parts import Parts
from moistsim.sweep.store import Store


class Watched(ThreadPoolExecutor):
    """Threads that note the cases of each task."""

    def __init__(self, workers: int) -> None:
        super().__init__(workers)
        self.tasks: list[list[int]] = []

    def submit(self, function: Any, *arguments: Any, **more: Any) -> Any:
        self.tasks.append([case for case, _ in arguments[1]])
        return super().submit(function, *arguments, **more)


def test_short_cases_travel_together_and_long_ones_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for length, largest in ((1.0e3, 5), (0.0, 1)):
        monkeypatch.setattr(sweep_run, "TASK", length)
        monkeypatch.setattr(sweep_run, "LARGEST", 5)
        with Watched(2) as executor:
            frame = small(30).run(executor, progress=False)
        assert same(frame, undisturbed(30))
        sizes = [len(task) for task in executor.tasks]
        assert max(sizes) == largest and sizes[0] == 1 and sizes[-1] == 1
        # Each case once.
        assert sorted(case for task in executor.tasks for case in task) == list(range(30))


def the_run(workers: int) -> sweep_run.Run:
    sweep = small(4)
    parts = Parts(sweep._cases, sweep._shared.columns, Store(sweep._schema))
    bar = progress_bar(1, "", "", shown=False)
    pool = Pool("threads", None)
    pool._workers = workers
    return sweep_run.Run(sweep._cases, sweep._shared, "", pool, parts, False, bar)


@given(
    seconds=st.one_of(st.none(), st.floats(0.0, 1.0e4)),
    left=st.integers(1, 10**6), workers=st.integers(1, 5000),
)  # fmt: skip
def test_a_task_is_never_too_large(seconds: float | None, left: int, workers: int) -> None:
    run = the_run(workers)
    run.seconds = seconds
    size = run._task_size(left)
    assert 1 <= size <= sweep_run.LARGEST and size <= left
    # Half of what is left is never with one round of the workers, so that all end together.
    assert size == 1 or (size - 1) * 2 * workers < left
    if seconds is None:
        assert size == 1
    elif size > 1:
        assert size * seconds <= sweep_run.TASK * (1.0 + 1e-9)


def test_a_slow_first_case_does_not_keep_tasks_small() -> None:
    """It compiled the loop. The next ones tell the time of a case at once."""
    run, nothing = the_run(2), [float("nan")] * len(small(4)._shared.columns)

    class Ended:
        def __init__(self, seconds: float) -> None:
            self.seconds = seconds

        def result(self) -> list[sweep_worker.Done]:
            return [sweep_worker.Done(0, [("x", "ok", nothing)], None, self.seconds)]

    for seconds, size in ((30.0, 1), (0.01, 25), (0.011, 24), (3.0, 1), (0.01, 25)):
        run._take([0], Ended(seconds))  # type: ignore[arg-type]
        assert run._task_size(10**6) == size


@pytest.mark.parametrize("length", [0.0, 1.0e3])
def test_a_stop_within_a_task_keeps_whole_cases(
    length: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep_run, "TASK", length)
    monkeypatch.setattr(sweep_parts, "PART", 2)
    undisturbed(40)
    taken, add = [], Parts.add

    def added(parts: Parts, position: int, done: sweep_worker.Done) -> None:
        taken.append(done.case)
        add(parts, position, done)

    def interrupted(parts: Parts) -> None:
        write(parts)
        if len(kept_cases(tmp_path)) >= 10:
            raise KeyboardInterrupt  # As of a key pressed just then.

    monkeypatch.setattr(Parts, "add", added)
    write = Parts.write
    with monkeypatch.context() as patch:
        patch.setattr(Parts, "write", interrupted)
        with pytest.raises(KeyboardInterrupt):
            small(40).run(folder=tmp_path, workers=2, progress=False)
    kept = kept_cases(tmp_path)
    assert 10 <= len(kept) < 40
    taken.clear()
    assert same(small(40).resume(tmp_path, workers=2, progress=False), undisturbed(40))
    assert sorted(taken) == sorted(set(range(40)) - kept)
