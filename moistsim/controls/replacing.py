"""`readings._replace(...)` and `calls._replace(...)` in compiled code, as in plain Python.

numba knows the fields of a named tuple but not its methods.
"""

from typing import Any

import numba
from numba import types
from numba.extending import overload_method

from moistsim.controls.interface import CallSet, Readings, ReadingsWithoutDewPoint, compiled_type

_KINDS = {compiled_type(kind): kind for kind in (Readings, ReadingsWithoutDewPoint, CallSet)}
"""Record classes by their compiled types."""
# numba allows one method for each name, so its arguments are the fields of all kinds.
_NAMES = tuple(dict.fromkeys(name for kind in _KINDS.values() for name in kind._fields))
_ARGUMENTS = ", ".join(f"{name}=None" for name in _NAMES)


def _method(record: Any, given: tuple[Any, ...]) -> Any:
    """The method for one record type and the arguments of one call."""
    kind = _KINDS.get(record)
    if kind is None:
        return None
    changed = {
        name
        for name, value in zip(_NAMES, given, strict=True)
        if value is not None and not isinstance(value, types.Omitted | types.NoneType)
    }
    unknown = changed.difference(kind._fields)
    if unknown:
        raise numba.TypingError(f"{kind.__name__} has no field {sorted(unknown)[0]!r}")
    fields = ", ".join(
        f"float({name})" if name in changed else f"record.{name}" for name in kind._fields
    )
    scope: dict[str, Any] = {"kind": kind}
    exec(f"def method(record, {_ARGUMENTS}):\n    return kind({fields})\n", scope)
    return scope["method"]


def teach() -> None:
    """Have numba find the method."""
    scope: dict[str, Any] = {"method": _method}
    exec(
        f"def typed(record, {_ARGUMENTS}):\n    return method(record, ({', '.join(_NAMES)},))\n",
        scope,
    )
    overload_method(
        type(next(iter(_KINDS))), "_replace", jit_options={"nogil": True, "error_model": "numpy"}
    )(scope["typed"])
