"""Identity of a function: a digest of its code and of every value that the code reads.

Two functions of one identity give the same results. The identity is the same for a file that is run
and for a file that is imported: it holds no path, no line number, no address and no module name of
the user's own code.
"""

import builtins
import dis
import hashlib
import importlib.metadata
import inspect
import sys
import sysconfig
import types
from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Any, NamedTuple

import attrs
import numpy as np

from moistsim.core.errors import InputError, Problem

_LOADS = {
    "LOAD_GLOBAL": "global", "LOAD_NAME": "global", "LOAD_DEREF": "closure", "LOAD_CLASSDEREF": "closure",
    "LOAD_FROM_DICT_OR_DEREF": "closure", "LOAD_FROM_DICT_OR_GLOBALS": "global",
    "STORE_GLOBAL": "written", "DELETE_GLOBAL": "written",
}  # fmt: skip
_PLAIN = (type(None), type(Ellipsis), type(NotImplemented), bool, int, float, complex, str, bytes)
_MISSING = "a name that is not defined"
_NO_PART_OF_A_CLASS = {
    "__dict__", "__weakref__", "__module__", "__doc__", "__firstlineno__", "__static_attributes__",
    "__annotations__", "__annotate__", "__annotate_func__", "__annotations_cache__",
}  # fmt: skip


class Read(NamedTuple):
    """One value that a function's code takes from outside of the function."""

    name: str
    """The variable as the code writes it, such as ``LIMIT`` or ``house.LIMIT``."""
    value: Any


class _Reference(NamedTuple):
    """One variable in a function's code, with the attributes that follow it."""

    kind: str
    name: str
    attributes: tuple[str, ...]


@lru_cache(maxsize=1024)
def _references(code: types.CodeType) -> tuple[_Reference, ...]:
    """Variables from outside that code and the code inside of it read or write, each once."""
    found: list[_Reference] = []
    instructions = [each for each in dis.get_instructions(code) if each.opname != "EXTENDED_ARG"]
    for i, instruction in enumerate(instructions):
        kind = _LOADS.get(instruction.opname)
        if kind is not None:
            attributes = []
            for following in instructions[i + 1 :]:
                if following.opname not in ("LOAD_ATTR", "LOAD_METHOD"):
                    break
                attributes.append(str(following.argval))
            found.append(_Reference(kind, str(instruction.argval), tuple(attributes)))
    for constant in code.co_consts:
        if isinstance(constant, types.CodeType):
            found += _references(constant)
    return tuple(dict.fromkeys(found))


def reads(function: types.FunctionType) -> Iterator[Read]:
    """Yield the global and closure variables that a function's code reads, with their values.

    A module is followed to the attribute that the code takes of it. Names of the language itself,
    such as ``max``, are yielded only where a variable hides them.

    Examples
    --------
    >>> import math
    >>> [read.name for read in reads(lambda: math.pi)]
    ['math.pi']
    """
    cells = dict(zip(function.__code__.co_freevars, function.__closure__ or (), strict=True))
    for kind, name, attributes in _references(function.__code__):
        if kind == "written":
            continue
        if kind == "closure":
            if name not in cells:
                continue
            try:
                value = cells[name].cell_contents
            except ValueError:
                value = _MISSING
        elif name in function.__globals__:
            value = function.__globals__[name]
        elif hasattr(builtins, name):
            continue
        else:
            value = _MISSING
        path = name
        for attribute in attributes:
            if not isinstance(value, types.ModuleType):
                break
            path = f"{path}.{attribute}"
            value = getattr(value, attribute, _MISSING)
        yield Read(path, value)


def written(function: types.FunctionType) -> tuple[str, ...]:
    """Names of the global variables that a function's code changes."""
    return tuple(
        dict.fromkeys(
            each.name for each in _references(function.__code__) if each.kind == "written"
        )
    )


def names_used(code: types.CodeType) -> set[str]:
    """Names of all globals, attributes and methods in a code and in the code inside of it."""
    inner = (names_used(each) for each in code.co_consts if isinstance(each, types.CodeType))
    return set(code.co_names).union(*inner)


@cache
def _installed() -> tuple[Path, ...]:
    """Folders of Python's own modules and of installed packages."""
    paths = sysconfig.get_paths()
    return tuple(
        {Path(paths[key]).resolve() for key in ("stdlib", "platstdlib", "purelib", "platlib")}
    )


@lru_cache(maxsize=1024)
def library(module: str | None) -> str | None:
    """Name and version of the library that a module belongs to; None for code of the user's own.

    Parameters
    ----------
    module : str, optional
        Full name of the module, such as ``numpy.linalg``.
    """
    top = (module or "").partition(".")[0]
    if not top or top in ("__main__", "moistsim"):
        return None
    if top in sys.stdlib_module_names:
        return "python"
    file = getattr(sys.modules.get(top), "__file__", None)
    if file is None or not any(Path(file).resolve().is_relative_to(at) for at in _installed()):
        return None
    try:
        return f"{top} {importlib.metadata.version(top)}"
    except importlib.metadata.PackageNotFoundError:
        return top


def identity_of(function: Callable[..., Any], where: str) -> str:
    """Digest of a function's code and of every value that the code reads.

    The digest covers constants, names, defaults, code inside the function, global and closure
    variables, and all of these again for each function, class or module attribute that it reads.
    Compiled functions count with their options, functions of libraries with the library's version,
    arrays with their bytes.

    Parameters
    ----------
    function : callable
        A plain or a compiled function.
    where : str
        Name of the function in an error, such as ``strategy overcooling``.

    Returns
    -------
    str
        64 hexadecimal digits.

    Raises
    ------
    InputError
        If the function reads a variable whose value cannot be told, such as an open file, or
        changes a global variable. The message names the variable.

    Examples
    --------
    >>> limit = 24.0
    >>> def too_warm(temperature):
    ...     return temperature > limit
    >>> before = identity_of(too_warm, "too_warm")
    >>> limit = 20.0
    >>> identity_of(too_warm, "too_warm") == before
    False
    """
    return _Walk(where, getattr(function, "__module__", None)).digest(function).hex()


class _Walk:
    """A walk through a function and all that it reads, as texts and bytes in a fixed order."""

    def __init__(self, where: str, module: str | None) -> None:
        self.where = where
        self.top = (module or "").partition(".")[0]
        # Functions and classes by address, kept alive so that no address is used twice.
        self.seen: dict[int, tuple[int, Any]] = {}
        self.open: list[int] = []
        self.path: list[str] = []

    def digest(self, value: Any) -> bytes:
        """Digest of the texts of a value."""
        whole = hashlib.sha256()
        for text in self.of(value):
            said = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
            whole.update(b"%d " % len(said) + said)
        return whole.digest()

    def of(self, value: Any) -> Iterator[str | bytes]:
        """Yield the texts of one value."""
        if isinstance(value, _PLAIN) and type(value) in _PLAIN:
            yield type(value).__name__
            yield repr(value)
        elif isinstance(value, types.CodeType):
            yield from self._code(value)
        elif isinstance(value, types.FunctionType):
            yield from self._once(value, self._function)
        elif isinstance(value, type):
            yield from self._once(value, self._class)
        elif isinstance(getattr(value, "py_func", None), types.FunctionType):
            yield "compiled"
            yield repr(sorted(getattr(value, "targetoptions", {}).items()))
            yield from self.of(value.py_func)
        elif id(value) in self.open:
            yield f"inside itself, {len(self.open) - self.open.index(id(value))} up"
        else:
            self.open.append(id(value))
            yield from self._other(value)
            self.open.pop()

    def _named(self, value: Any) -> str | None:
        """Name and version of a thing of a library, which stand for the thing."""
        module = getattr(value, "__module__", None)
        if not isinstance(module, str) or module.partition(".")[0] == self.top:
            return None
        found = library(module)
        name = getattr(value, "__qualname__", None) or getattr(value, "__name__", "")
        return None if found is None else f"{found} {module}.{name}"

    def _once(
        self, value: Any, of: Callable[[Any], Iterator[str | bytes]]
    ) -> Iterator[str | bytes]:
        if id(value) in self.seen:
            yield f"number {self.seen[id(value)][0]}"
            return
        self.seen[id(value)] = len(self.seen), value
        name = self._named(value)
        if name is None:
            yield from of(value)
        else:
            yield name

    def _code(self, code: types.CodeType) -> Iterator[str | bytes]:
        yield "code"
        yield code.co_code
        yield getattr(code, "co_exceptiontable", b"")
        yield repr(
            (code.co_argcount, code.co_posonlyargcount, code.co_kwonlyargcount, code.co_flags)
        )
        yield repr((code.co_names, code.co_varnames, code.co_freevars, code.co_cellvars))
        for constant in code.co_consts:
            yield from self.of(constant)

    def _function(self, function: types.FunctionType) -> Iterator[str | bytes]:
        yield "function"
        yield from self._code(function.__code__)
        yield from self.of(function.__defaults__)
        yield from self.of(function.__kwdefaults__)
        changed = written(function)
        if changed:
            raise self._untold(f"changes the global variable {changed[0]}")
        for name, value in reads(function):
            self.path.append(name)
            yield name
            if value is _MISSING:
                yield _MISSING
            else:
                yield from self.of(value)
            self.path.pop()

    def _class(self, kind: type) -> Iterator[str | bytes]:
        yield "class"
        yield kind.__qualname__
        if (kind.__module__ or "").partition(".")[0] == "moistsim":
            # Records and descriptions, whose meaning a release of the package fixes.
            yield repr(getattr(kind, "_fields", ()))
            return
        for base in kind.__bases__:
            yield from self.of(base)
        for name, member in sorted(vars(kind).items()):
            if name not in _NO_PART_OF_A_CLASS and not isinstance(
                member, types.MemberDescriptorType | types.GetSetDescriptorType
            ):
                yield name
                yield from self.of(member)

    def _other(self, value: Any) -> Iterator[str | bytes]:
        kind = type(value)
        if isinstance(value, types.ModuleType):
            name = value.__name__
            if library(name) is None and name.partition(".")[0] != "moistsim":
                raise self._untold(f"reads the module {name} as a whole")
            yield f"module {library(name)} {name}"
        elif isinstance(value, Enum):
            yield f"{kind.__qualname__}.{value.name}"
            yield from self.of(value.value)
        elif isinstance(value, np.ndarray | np.generic):
            yield f"array {value.dtype!r} {value.shape}"
            if value.dtype.hasobject:
                yield from self.of(value.tolist())
            else:
                yield value.tobytes()
        elif isinstance(value, tuple | list):
            yield f"{kind.__qualname__} {len(value)} {getattr(kind, '_fields', ())}"
            for item in value:
                yield from self.of(item)
        elif isinstance(value, set | frozenset):
            yield f"{kind.__qualname__} {len(value)}"
            yield from sorted(_Walk(self.where, self.top).digest(item) for item in value)
        elif isinstance(value, Mapping):
            yield f"{kind.__qualname__} {len(value)}"
            for key, item in value.items():
                yield from self.of(key)
                yield from self.of(item)
        elif isinstance(value, types.MethodType):
            yield "method"
            yield from self.of(value.__func__)
            yield from self.of(value.__self__)
        elif isinstance(value, types.BuiltinFunctionType):
            yield f"built-in {value.__module__}.{value.__qualname__}"
            if not isinstance(value.__self__, types.ModuleType | type(None)):
                yield from self.of(value.__self__)
        elif isinstance(value, staticmethod | classmethod):
            yield kind.__name__
            yield from self.of(value.__func__)
        elif isinstance(value, property):
            yield "property"
            yield from self.of((value.fget, value.fset, value.fdel))
        elif isinstance(value, partial):
            yield "partial"
            yield from self.of((value.func, value.args, value.keywords))
        elif isinstance(value, np.ufunc) and isinstance(value.__name__, str) and _is_numpy(value):
            yield f"numpy {np.__version__} {value.__name__}"
        elif callable(value) and (named := self._named(value)) and hasattr(value, "__qualname__"):
            yield named
        elif attrs.has(kind):
            yield from self.of(kind)
            for field in attrs.fields(kind):
                yield field.name
                yield from self.of(getattr(value, field.name))
        else:
            yield from self._pickled(value)

    def _pickled(self, value: Any) -> Iterator[str | bytes]:
        """Yield the parts of which Python itself would make the value again."""
        if inspect.isgenerator(value) or inspect.iscoroutine(value):
            raise self._untold()
        try:
            made = value.__reduce_ex__(4)
        # Any class may raise anything here.
        except Exception:
            raise self._untold() from None
        if isinstance(made, str):
            yield f"{type(value).__qualname__} {made}"
            return
        for part in made:
            yield from self.of(list(part) if isinstance(part, Iterator) else part)

    def _untold(self, what: str | None = None) -> InputError:
        name = self.path[-1] if self.path else "a variable"
        if what is None:
            return InputError(
                self.where,
                Problem(f"the function reads {name}, whose value cannot be compared between runs"),
                "numbers, texts, tuples or arrays, or a setpoint",
            )
        inside = f" {self.path[-1]}" if self.path else ""
        return InputError(
            self.where,
            Problem(f"the function{inside} {what}, which cannot be compared between runs"),
            "numbers, texts, tuples or arrays that it reads by name, or its memory",
        )


def _is_numpy(value: np.ufunc) -> bool:
    """Whether a ufunc is numpy's own and not one made of a user's function."""
    return getattr(np, value.__name__, None) is value
