"""How libraries and machine code come in: without a search for garbage that they do not make."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Pause Python's collector of garbage while libraries are loaded, or code is compiled.

    What they make is there to stay, and each search goes through all of it again: a fifth of the
    time to a first result, a tenth of a compile's. A caller who has switched the collector off finds it off.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
