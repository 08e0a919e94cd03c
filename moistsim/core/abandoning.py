"""Work that nobody waits for any more is abandoned between two runs of the loop."""

import contextlib
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextvars import ContextVar, copy_context
from typing import Any


class Abandoned(BaseException):
    """The result is no longer wanted. It derives from BaseException, so no handler of errors takes it."""


def _never() -> bool:
    return False


_is_stale: ContextVar[Callable[[], bool]] = ContextVar("is_stale", default=_never)


@contextlib.contextmanager
def abandoned_when(is_stale: Callable[[], bool]) -> Iterator[None]:
    """Simulations within this block, and in the pools of `Threads` that it starts, may be abandoned.

    Parameters
    ----------
    is_stale : callable
        Returns whether the result is no longer wanted. It is called from several threads.

    Raises
    ------
    Abandoned
        At the start of the next run of the loop, if it is not: a season, or a day of one in steps.

    Examples
    --------
    >>> with contextlib.suppress(Abandoned), abandoned_when(lambda: True):
    ...     check()
    ...     print("not reached")
    """
    token = _is_stale.set(is_stale)
    try:
        yield
    finally:
        _is_stale.reset(token)


def check() -> None:
    """Raise `Abandoned` if the block's result is no longer wanted."""
    if _is_stale.get()():
        raise Abandoned


class Threads(ThreadPoolExecutor):
    """A pool of threads whose tasks are abandoned together with the block that submits them.

    Examples
    --------
    >>> with Threads(2) as pool:
    ...     sorted(pool.map(abs, (-1, -2)))
    [1, 2]
    """

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        return super().submit(copy_context().run, fn, *args, **kwargs)
