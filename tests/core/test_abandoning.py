"""Work that is abandoned ends before the next simulation, in all threads that it started."""

import pytest

import moistsim as ms
from moistsim.core.abandoning import Abandoned, Threads, abandoned_when, check
from moistsim.scenario import DEMO, read_scenario


def test_a_block_is_abandoned_and_what_follows_is_not() -> None:
    with pytest.raises(Abandoned), abandoned_when(lambda: True):
        check()
    check()


def test_threads_of_a_pool_belong_to_the_block_that_fills_it() -> None:
    def one(_: int) -> str:
        check()
        return "ran"

    stale = False
    with abandoned_when(lambda: stale), Threads(2) as pool:
        assert list(pool.map(one, range(3))) == ["ran"] * 3
        stale = True
        with pytest.raises(Abandoned):
            list(pool.map(one, range(3)))
    with Threads(2) as pool:
        assert list(pool.map(one, range(2))) == ["ran"] * 2


def test_a_study_and_its_advice_stop_within_a_run_or_two() -> None:
    demo = read_scenario(DEMO)
    study = demo.study.evolve(start="09-01", end="09-30")
    whole = study.run(progress=False)
    calls = 0

    def after_three() -> bool:
        nonlocal calls
        calls += 1
        return calls > 3

    with pytest.raises(Abandoned), abandoned_when(after_three):
        ms.advise(study, as_set=whole, progress=False)
    with pytest.raises(Abandoned), abandoned_when(lambda: True):
        study.run(progress=False)
