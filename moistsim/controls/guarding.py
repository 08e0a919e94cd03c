"""Functions from outside the package, compiled with checks: no control can end the process.

numba checks no index unless told to, and an exception cannot leave a function that the loop calls by
its address. A function from outside is therefore compiled again with checked indices, and so are all
functions that it calls. What they raise is caught in compiled code. The interpreter then calls the
function once more on the same readings and memory, for the sentence that says what is wrong.
"""

import types
from collections.abc import Callable
from typing import Any

import numba
from numba.extending import is_jitted

from moistsim.core.errors import InputError, Problem
from moistsim.core.function_identity import library, names_used, reads

_UNSAFE = {"as_strided", "carray", "farray"}
"""Functions that read and write memory at any address, in Python as in compiled code."""
_UNCHECKED = {"flat"}
"""Attributes whose index numba never checks, but Python does."""
_VECTORIZED = {"DUFunc": "vectorize", "GUFunc": "guvectorize", "CFunc": "cfunc"}
"""Decorators of numba without checked indices, by the type that they make."""


class CannotCheckError(Exception):
    """Reason for which compiled code would not be safe, so the interpreter must call a function."""


def positional(function: types.FunctionType) -> types.FunctionType:
    """A function whose keyword-only arguments are positional, because numba calls by position."""
    code = function.__code__
    copy = types.FunctionType(
        code.replace(co_argcount=code.co_argcount + code.co_kwonlyargcount, co_kwonlyargcount=0),
        function.__globals__,
        function.__name__,
        None,
        function.__closure__,
    )
    copy.__module__ = function.__module__
    return copy


def checked(function: types.FunctionType, where: str) -> Callable[..., Any]:
    """Compile a function and all that it calls with checked indices and divisions.

    Parameters
    ----------
    function : function
        Its arguments are positional.
    where : str
        Name of the control in an error.

    Raises
    ------
    CannotCheckError
        If numba cannot check it: a function that calls itself would fill the stack, and an index
        into ``.flat`` is not checked.
    InputError
        If not even Python would check it.
    """
    made: Callable[..., Any] = _Rebuilding(where, _compiled).of(function)
    return made


def interpretable(function: types.FunctionType, where: str) -> types.FunctionType:
    """A function for the interpreter, its compiled helpers replaced by their Python source.

    Raises
    ------
    InputError
        If not even Python would check it.
    """
    copy: types.FunctionType = _Rebuilding(where, None).of(function)
    return copy


def calls_compiled(function: types.FunctionType) -> bool:
    """Whether a function or one of its helpers calls compiled functions from outside the package."""
    seen: set[int] = set()
    waiting: list[Any] = [function]
    while waiting:
        value = waiting.pop()
        if id(value) in seen:
            continue
        seen.add(id(value))
        if is_jitted(value) and _outside(value.py_func):
            return True
        if type(value) is tuple:
            waiting += value
        elif isinstance(value, types.FunctionType) and (
            value is function or (_outside(value) and library(value.__module__) is None)
        ):
            waiting += [each for _, each in reads(value)]
    return False


def _compiled(function: types.FunctionType, of: Any) -> Any:
    """A function compiled again with checks, with the options and types that it had."""
    if of is None:
        of = numba.njit(function)
    options = of.targetoptions
    # Types that were given convert the arguments and the result.
    given = [] if getattr(of, "_can_compile", True) else list(of.nopython_signatures)
    return numba.njit(
        *((given,) if given else ()),
        nogil=True,
        boundscheck=True,
        error_model=options.get("error_model", "python"),
        fastmath=options.get("fastmath", False),
    )(function)


def _outside(function: Any) -> bool:
    """Whether a function is code of a user's own, as against the package's."""
    return (function.__module__ or "").partition(".")[0] != "moistsim"


class _Rebuilding:
    """Copies of a function and of all functions from outside that it calls."""

    def __init__(self, where: str, make: Callable[..., Any] | None) -> None:
        self.where, self.make = where, make
        self.made: dict[int, Any] = {}
        self.open: list[int] = []

    def of(self, function: types.FunctionType, compiled: Any = None) -> Any:
        """The copy of one function, which the user may have `compiled`."""
        key, code = id(function), function.__code__
        if key in self.open and self.make is not None:
            raise CannotCheckError(f"{function.__name__} calls itself")
        if key in self.made:
            return self.made[key]
        names = names_used(code)
        for name in sorted(names & _UNSAFE):
            raise InputError(
                self.where,
                Problem(f"the function uses {name}, which reads and writes without a check"),
                "slices of memory, or arrays of its own",
            )
        if names & _UNCHECKED and self.make is not None:
            raise CannotCheckError("an index into .flat is not checked")
        self.open.append(key)
        scope = {
            name: function.__globals__[name]
            for name in ("__name__", "__builtins__", *names)
            if name in function.__globals__
        }
        cells = {
            name: types.CellType(*_contents(cell))
            for name, cell in zip(code.co_freevars, function.__closure__ or (), strict=True)
        }
        copy = types.FunctionType(
            code, scope, function.__name__, function.__defaults__, tuple(cells.values())
        )
        copy.__kwdefaults__ = function.__kwdefaults__
        copy.__module__ = function.__module__
        if self.make is None:
            self.made[key] = copy
        for name, value in [*reads(function)]:
            new = self._value(name, value)
            if new is value:
                continue
            first, *attributes = name.split(".")
            if first in cells:
                cells[first].cell_contents = _with(cells[first].cell_contents, attributes, new)
            else:
                scope[first] = _with(scope[first], attributes, new)
        self.open.pop()
        if self.make is not None:
            self.made[key] = self.make(copy, compiled)
        return self.made[key]

    def _value(self, name: str, value: Any) -> Any:
        """A value that a function reads, its functions replaced by copies."""
        if is_jitted(value):
            return self.of(value.py_func, value) if _outside(value.py_func) else value
        if isinstance(value, types.FunctionType):
            own = _outside(value) and library(value.__module__) is None
            return self.of(value) if own else value
        if type(value).__name__ in _VECTORIZED and type(value).__module__.startswith("numba."):
            raise InputError(
                self.where,
                Problem(
                    f"the function calls {name}, whose indices numba.{_VECTORIZED[type(value).__name__]} does not check"
                ),
                "a helper made by numba.njit",
            )
        if type(value) is tuple:
            items = tuple(self._value(name, item) for item in value)
            if all(new is old for new, old in zip(items, value, strict=True)):
                return value
            if self.make is not None:
                # numba calls such a function by its address, which loses what it raises.
                raise CannotCheckError(f"{name} holds functions")
            return items
        return value


def _contents(cell: types.CellType) -> tuple[Any, ...]:
    try:
        return (cell.cell_contents,)
    except ValueError:  # not yet defined
        return ()


def _with(owner: Any, attributes: list[str], value: Any) -> Any:
    """A module like `owner` in which the value at the end of the attributes is another one."""
    if not attributes:
        return value
    copy = types.ModuleType(owner.__name__)
    copy.__dict__.update(vars(owner))
    setattr(copy, attributes[0], _with(getattr(owner, attributes[0]), attributes[1:], value))
    return copy
