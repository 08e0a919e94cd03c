"""How the package compiles its scalar functions: one decorator, one cache rule.

Every physical function of the package is written in plain Python on floats and compiled by
numba. Setting the environment variable ``NUMBA_DISABLE_JIT=1`` before the import runs the same
source uncompiled, for debugging.
"""

import hashlib
import warnings
from collections.abc import Callable
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, TypeVar, overload

import numba
from numba.core.caching import FunctionCache
from numba.extending import register_jitable

from moistsim.loading import uncollected

_PACKAGE = Path(__file__).parent


def _sources_stamp() -> tuple[str, int]:
    """Digest of every source file that holds compiled code or constants that are compiled in, in the
    form that numba's index compares. What lies above them does not recompile the loop."""
    digest = hashlib.sha256()
    # By content, so that a copy or an installation of the same sources is the same.
    folders = (_PACKAGE / "engine", _PACKAGE / "equipment", _PACKAGE / "strategies")
    files = [_PACKAGE / "air.py", _PACKAGE / "bench.py", _PACKAGE / "compiled.py"]
    files += [path for folder in folders for path in sorted(folder.glob("*.py"))]
    for path in files:
        content = path.read_bytes()
        digest.update(f"{path.name} {len(content)}\n".encode() + content)
    return digest.hexdigest(), len(files)


_STAMP = _sources_stamp()


@lru_cache(maxsize=1)
def _warn_of_no_cache() -> None:
    """Once a process."""
    warnings.warn(
        f"compiled code cannot be kept, since neither {_PACKAGE} nor the user's cache folder takes it, "
        "and each new process compiles for a quarter of a minute or so; NUMBA_CACHE_DIR names another folder",
        RuntimeWarning,
        stacklevel=3,
    )


class _Cache(FunctionCache):  # type: ignore[misc]
    """numba's cache of a function's machine code, by the rule in `compiled`."""

    def __init__(self, function: Callable[..., Any]) -> None:
        super().__init__(function)
        self._cache_file._source_stamp = (_STAMP, function.__module__)

    def load_overload(self, signature: Any, target_context: Any) -> Any:
        """What is kept, if anything; the first time, numba loads most of itself for it."""
        with uncollected():
            return super().load_overload(signature, target_context)

    def save_overload(self, signature: Any, result: Any) -> None:
        """Keep what was compiled; a full disk is no reason to lose the run."""
        try:
            super().save_overload(signature, result)
        except OSError:
            _warn_of_no_cache()


Function = TypeVar("Function", bound=Callable[..., Any])


@overload
def compiled(
    function: Function,
    *,
    cache: bool = ...,
    inline: bool = ...,
    allocates: bool = ...,
    signature: Any = ...,
) -> Function: ...
@overload
def compiled(
    *, cache: bool = ..., inline: bool = ..., allocates: bool = ..., signature: Any = ...
) -> Callable[[Function], Function]: ...
def compiled(
    function: Callable[..., Any] | None = None,
    *,
    cache: bool = True,
    inline: bool = False,
    allocates: bool = False,
    signature: Any = None,
) -> Any:
    """Compile a scalar function with numba, without fast-math, releasing the interpreter lock.

    Parameters
    ----------
    function : callable
        Plain Python on floats, small float arrays and named tuples of floats.
    cache : bool
        Keep the machine code on disk. Not for functions typed into a notebook cell.
    inline : bool
        Write the machine code into its compiled callers too, as that of a `piece`.
    allocates : bool
        It makes arrays of its own. Functions of the package otherwise count no references, which
        took a seventh of the loop; those written elsewhere may always allocate.
    signature : numba signature, optional
        Compile at once for this signature.

    Notes
    -----
    Fast-math is off and no operation is reordered, so that the compiled and the uncompiled loop
    agree. numba invalidates a cached function when its own file changes but not when a function
    that it calls from another file does, which would silently run old physics; the stamp is
    therefore taken over all files that hold compiled code. It also holds the module's name, since
    machine code refers to it.

    Machine code lies in ``__pycache__`` beside the source; where that cannot be written to, in the
    user's cache folder; before both in ``NUMBA_CACHE_DIR``, if it is set. Where nothing can be
    written, a warning says so and each process compiles for itself.
    """
    if function is None:
        return partial(
            compiled, cache=cache, inline=inline, allocates=allocates, signature=signature
        )
    arguments = () if signature is None else (signature,)
    options = {
        "nogil": True,
        "error_model": "numpy",
        "forceinline": inline,
        # Only a function with a signature is called by its address.
        "no_cfunc_wrapper": signature is None,
        "_nrt": allocates or not (function.__module__ or "").startswith("moistsim."),
    }
    if not cache or numba.config.DISABLE_JIT:
        return numba.njit(*arguments, **options)(function)
    # With a signature numba compiles inside the decorator, so caching is set up by hand first.
    dispatcher = numba.njit(**options)(function)
    try:
        dispatcher._cache = _Cache(function)
    except RuntimeError:  # numba's, where it finds no folder
        _warn_of_no_cache()
    if signature is not None:
        with uncollected():  # Of what it makes, little is garbage before its end.
            dispatcher.compile(signature)
        dispatcher.disable_compile()
    return dispatcher


def piece(function: Function) -> Function:
    """A piece of the step: its machine code is written into what calls it, and stands nowhere else.

    Pieces hand each other tuples of dozens of floats, which cost more to pass than to compute with.
    Called from Python a piece is what it reads as, plain Python on floats, with the same bits: to
    make all of them ready for calls from outside, and for unpacking those tuples there, took a
    sixth of a cold compile.
    """
    register_jitable(forceinline=True, error_model="numpy", no_cfunc_wrapper=True, _nrt=False)(
        function
    )
    return function
