"""Compilation of the package's scalar functions: one decorator, one cache rule.

Every physical function of the package is written in plain Python on floats and compiled by
numba. Setting the environment variable ``NUMBA_DISABLE_JIT=1`` before the import runs the same
source uncompiled, for debugging.

The package uses numba's public interface wherever there is one. The parts that are not public:

* `numba.core.caching.FunctionCache`, its `_cache_file._source_stamp` and `Dispatcher._cache`:
  numba looks at the file of a function alone, and would run old physics after a change in another.
* `FunctionCache._impl_class` and its `_locator_classes`, which choose the folder of the cache: numba
  reads pickles from any folder, and would run code that another user has put there.
* The flags `_nrt` (no reference counts: 14 % of the loop), `no_cfunc_wrapper` and, for pieces,
  `forceinline` as options of `register_jitable`: a sixth of a cold compile.
* `numba.core.cgutils.get_item_pointer` and `numba.np.arrayobj.make_array` in `engine.rows`: a row
  of a table read as a whole, an eighth of a cold compile.
* `numba.types.Omitted` and a record's `instance_class` in `controls.replacing`.
"""

import contextlib
import gc
import hashlib
import logging
import os
import re
import warnings
from collections.abc import Callable, Iterator
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Any, TypeVar, overload

import numba
from numba.core.caching import FunctionCache
from numba.extending import register_jitable

from moistsim.core.private_folders import open_to_others

_PACKAGE = Path(__file__).parents[1]
_MARKS = (b"@compiled", b"@piece", b"@strategy", b"@addition", b"compiled(")
_DECORATED = re.compile(rb"^\s*@(?:compiled|piece|strategy|addition)\b|\bcompiled\(", re.MULTILINE)
_IMPORT = re.compile(rb"^from moistsim(\.[\w.]+)? import (\([^)]*\)|[^\n(]*)", re.MULTILINE)
_NAME = re.compile(r"(\w+)(?: as \w+)?")


def _texts(package: Path) -> dict[str, bytes]:
    """Content of all source files of a package, by path below it without ``.py``."""
    found = {}
    below = len(str(package)) + 1
    for folder, inner, files in os.walk(package):
        inner[:] = [name for name in inner if name != "__pycache__"]
        for name in files:
            if name.endswith(".py"):
                path = os.path.join(folder, name)
                with open(path, "rb") as file:
                    found[path[below:-3].replace(os.sep, "/")] = file.read()
    return found


def _reaching_machine_code(texts: dict[str, bytes]) -> list[str]:
    """Names of `_texts` whose content reaches machine code, sorted; see `compiled_sources`."""

    @cache
    def imports(file: str) -> list[tuple[str, list[str]]]:
        """Modules of the package that a file imports from at its top, and the names."""
        return [
            (source.decode().replace(".", "/")[1:], _NAME.findall(names.decode()))
            for source, names in _IMPORT.findall(texts[file])
        ]

    def origin(module: str, name: str) -> str | None:
        """The file that makes what is imported, None for the package's own front door."""
        place = f"{module}/" if module else ""
        for file in (place + name, module):
            if file in texts:
                return file
        front = place + "__init__"
        for source, names in imports(front):
            if name in names:
                return origin(source, name)
        return front if module else None

    reached: set[str] = set()
    waiting = [
        file
        for file, text in texts.items()
        # Plain text first: a regular expression over all files takes ten times as long.
        if any(mark in text for mark in _MARKS) and _DECORATED.search(text)
    ]
    while waiting:
        file = waiting.pop()
        if file in reached:
            continue
        reached.add(file)
        for source, names in imports(file):
            made = {origin(source, name) for name in names}
            waiting += [each for each in made if each is not None]
    return sorted(reached)


def compiled_sources(package: Path = _PACKAGE) -> list[Path]:
    """Source files whose content reaches machine code, sorted.

    These are the files that compile a function, and all that such files import at their top,
    through any number of files: constants and types are frozen into machine code too. A name that
    a folder's ``__init__`` hands on is followed to the file that makes it. An import under
    ``if TYPE_CHECKING`` or in a function is not followed.

    Parameters
    ----------
    package : Path
        Folder of the package.
    """
    return sorted(package / f"{file}.py" for file in _reaching_machine_code(_texts(package)))


def sources_stamp(package: Path = _PACKAGE) -> tuple[str, int]:
    """Digest of `compiled_sources`, in the form that numba's index compares."""
    digest = hashlib.sha256()
    texts = _texts(package)
    files = _reaching_machine_code(texts)
    # By content, so a copy or an installation of the same sources has the same stamp.
    for file in files:
        content = texts[file]
        digest.update(f"{file} {len(content)}\n".encode() + content)
    return digest.hexdigest(), len(files)


@lru_cache(maxsize=1)
def _stamp() -> tuple[str, int]:
    """`sources_stamp` of this package, taken at the first look for machine code."""
    return sources_stamp()


@lru_cache(maxsize=1)
def _warn_of_no_cache() -> None:
    """Warn once a process that machine code cannot be kept."""
    warnings.warn(
        f"compiled code cannot be kept, because this user alone can write neither to {_PACKAGE} nor to "
        "the user's cache folder; each new process compiles for a quarter of a minute or so; "
        "NUMBA_CACHE_DIR names another folder",
        RuntimeWarning,
        stacklevel=3,
    )


@contextlib.contextmanager
def _uncollected() -> Iterator[None]:
    """Pause garbage collection while numba compiles or loads code, which makes little garbage.

    The search costs 11 % of a cold compile, and 3 % of the time to a first result.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@cache
def _is_private(folder: str) -> bool:
    """Whether no other user can put machine code into a folder; else a message says so once."""
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        why = open_to_others(folder)
    except OSError as error:
        why = f"{folder} cannot be used ({error.strerror})"
    chosen = numba.config.CACHE_DIR
    if why is not None and chosen and Path(folder).is_relative_to(chosen):
        _warn_of_others(chosen, why)
    return why is None


@cache
def _warn_of_others(chosen: str, why: str) -> None:
    # Without logging set up, Python prints warnings on the screen.
    logging.getLogger("moistsim").warning(
        "NUMBA_CACHE_DIR %s is not used, because %s. Name a folder of your own.", chosen, why
    )


def _private(locator: Any) -> Any:
    """The same way to find a folder for machine code, without folders that others can write to."""

    class Private(locator):  # type: ignore[misc]
        @classmethod
        def from_function(cls, function: Any, file: str) -> Any:
            found = super().from_function(function, file)
            return found if found is not None and _is_private(found.get_cache_path()) else None

    return Private


class _Place(FunctionCache._impl_class):  # type: ignore[misc]
    """Place of a function's machine code: the first of numba's that is private."""

    _locator_classes = [*map(_private, FunctionCache._impl_class._locator_classes)]


class _Cache(FunctionCache):  # type: ignore[misc]
    """Cache of a function's machine code, by the rule in `compiled`."""

    _impl_class = _Place

    def __init__(self, function: Callable[..., Any], before_compiling: Callable[[], None]) -> None:
        super().__init__(function)
        if not _is_private(self.cache_path):  # a locator of the user's own
            raise RuntimeError(self.cache_path)
        self._before_compiling = before_compiling

    def load_overload(self, signature: Any, target_context: Any) -> Any:
        """Machine code from the cache, or None after the preparation for compiling."""
        found = self._kept(signature, target_context)
        if found is None:
            self._before_compiling()
        return found

    def _kept(self, signature: Any, target_context: Any) -> Any:
        self._cache_file._source_stamp = (_stamp(), self._py_func.__module__)
        with _uncollected():
            try:
                return super().load_overload(signature, target_context)
            except Exception:
                # The file is damaged, or of a release with its types in other modules: any of
                # pickle's errors.
                with contextlib.suppress(OSError):
                    self.flush()
                return None

    def save_overload(self, signature: Any, result: Any) -> None:
        """Keep machine code; on a full disk, warn and continue the run."""
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
    before_compiling: Callable[[], None] = ...,
) -> Function: ...
@overload
def compiled(
    *,
    cache: bool = ...,
    inline: bool = ...,
    allocates: bool = ...,
    signature: Any = ...,
    before_compiling: Callable[[], None] = ...,
) -> Callable[[Function], Function]: ...
def compiled(
    function: Callable[..., Any] | None = None,
    *,
    cache: bool = True,
    inline: bool = False,
    allocates: bool = False,
    signature: Any = None,
    before_compiling: Callable[[], None] = lambda: None,
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
        Whether the function makes arrays of its own. Other functions of the package do not count
        references, because reference counting costs 14 % of the loop. Functions written outside
        the package may always allocate.
    signature : numba signature, optional
        Compile now for this signature.
    before_compiling : callable, optional
        Called before compiling for the signature, unless the machine code was kept.

    Notes
    -----
    Fast-math is off and no operation is reordered, so the compiled and the uncompiled loop agree.
    numba compiles a cached function again when its own file changes. It does not when another file
    changes whose functions it calls, and would silently run old physics. The stamp therefore
    covers all `compiled_sources`. It also holds the module's name, because machine code refers to
    it.

    Machine code is kept in ``NUMBA_CACHE_DIR``, if it is set. Otherwise it is kept in
    ``__pycache__`` next to the source, or in the user's cache folder if that cannot be written to.
    A folder is only used if no other user can write to it or to its files (`open_to_others`), because
    machine code is read as a pickle. If no folder is left, a warning says so and each process
    compiles for itself.
    """
    if function is None:
        return partial(
            compiled, cache=cache, inline=inline, allocates=allocates, signature=signature,
            before_compiling=before_compiling,
        )  # fmt: skip
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
        dispatcher._cache = _Cache(function, before_compiling)
    except RuntimeError:  # numba found no folder for its cache
        _warn_of_no_cache()
        before_compiling()
    if signature is not None:
        with _uncollected():
            dispatcher.compile(signature)
        dispatcher.disable_compile()
    return dispatcher


def piece(function: Function) -> Function:
    """Mark a piece of the step, whose machine code is written into its callers only.

    Pieces hand each other tuples of dozens of floats, which cost more to pass than to compute with.
    Called from Python, a piece is plain Python on floats, with the same bits. Compiled entry points
    for calls from Python, with their tuples to unpack, would cost a sixth of a cold compile.
    """
    register_jitable(forceinline=True, error_model="numpy", no_cfunc_wrapper=True, _nrt=False)(
        function
    )
    return function
