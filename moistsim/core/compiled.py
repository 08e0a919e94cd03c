"""How the package compiles its scalar functions: one decorator, one cache rule.

Every physical function of the package is written in plain Python on floats and compiled by
numba. Setting the environment variable ``NUMBA_DISABLE_JIT=1`` before the import runs the same
source uncompiled, for debugging.
"""

import contextlib
import hashlib
import pickle
import re
import warnings
from collections.abc import Callable
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, TypeVar, overload

import numba
from numba.core.caching import FunctionCache
from numba.extending import register_jitable

from moistsim.core.loading import uncollected

_PACKAGE = Path(__file__).parents[1]
_DECORATED = re.compile(r"^\s*@(?:compiled|piece|strategy|addition)\b|\bcompiled\(", re.MULTILINE)
_IMPORT = re.compile(r"^from moistsim(\.[\w.]+)? import (\([^)]*\)|[^\n(]*)", re.MULTILINE)


def compiled_sources(package: Path = _PACKAGE) -> list[Path]:
    """Source files whose content reaches machine code, sorted.

    These are the files that compile a function, and all that such files import at their top,
    through any number of files: constants and types are frozen into machine code too. A name that
    a folder's ``__init__`` hands on is followed to the file that makes it. An import that stands
    under ``if TYPE_CHECKING`` or in a function is not followed.

    Parameters
    ----------
    package : Path
        Folder of the package.
    """
    texts = {path: path.read_text(encoding="utf-8") for path in package.rglob("*.py")}

    def origin(module: str, name: str) -> Path | None:
        """The file that makes what is imported, None for the package's own front door."""
        place = package.joinpath(*module.split(".")[1:])
        for file in (place / f"{name}.py", place.with_suffix(".py")):
            if file in texts:
                return file
        front = place / "__init__.py"
        for source, names in imports(front):
            if name in names:
                return origin(source, name)
        return front if module else None

    def imports(file: Path) -> list[tuple[str, list[str]]]:
        """Modules of the package that a file imports from at its top, and the names."""
        found = _IMPORT.findall(texts[file])
        return [(source, re.findall(r"(\w+)(?: as \w+)?", names)) for source, names in found]

    reached: set[Path] = set()
    waiting = [path for path, text in texts.items() if _DECORATED.search(text)]
    while waiting:
        file = waiting.pop()
        if file in reached:
            continue
        reached.add(file)
        for source, names in imports(file):
            made = {origin(source, name) for name in names}
            waiting += [each for each in made if each is not None]
    return sorted(reached)


def sources_stamp(package: Path = _PACKAGE) -> tuple[str, int]:
    """Digest of `compiled_sources`, in the form that numba's index compares."""
    digest = hashlib.sha256()
    files = compiled_sources(package)
    # By content, so a copy or an installation of the same sources has the same stamp.
    for path in files:
        content = path.read_bytes()
        place = path.relative_to(package).as_posix()
        digest.update(f"{place} {len(content)}\n".encode() + content)
    return digest.hexdigest(), len(files)


_STAMP = sources_stamp()


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
            try:
                return super().load_overload(signature, target_context)
            except (ImportError, AttributeError, EOFError, pickle.UnpicklingError):
                # Kept by a release whose types stood elsewhere, or half written.
                with contextlib.suppress(OSError):
                    self.flush()
                return None

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
