"""Turns in Python: one thread at a time, but for those that are away."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from moistsim.turns import away, turn


def test_one_thread_at_a_time_has_the_turn() -> None:
    inside, most = 0, 0

    @turn()
    def part(_: int) -> None:
        nonlocal inside, most
        inside += 1
        most = max(most, inside)
        # Others would come in here, if they could.
        threading.Event().wait(0.002)
        inside -= 1

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(part, range(20)))
    assert most == 1


def test_another_thread_comes_in_while_one_is_away() -> None:
    left, came = threading.Event(), threading.Event()

    def first() -> bool:
        with turn(), away():
            left.set()
            return came.wait(10.0)

    def second() -> None:
        left.wait(10.0)
        with turn():
            came.set()

    with ThreadPoolExecutor(2) as pool:
        answer = pool.submit(first)
        pool.submit(second).result()
        assert answer.result()


def test_who_has_no_turn_leaves_none() -> None:
    with turn():
        with ThreadPoolExecutor(1) as pool, pytest.raises(ZeroDivisionError):

            def elsewhere() -> None:
                with away():
                    raise ZeroDivisionError

            pool.submit(elsewhere).result()
        # Its own is taken up again after an error.
        with pytest.raises(ZeroDivisionError), away():
            raise ZeroDivisionError
    with turn(), away():
        pass
