"""Compilation of a control's function to the one form in which the loop calls every control."""

import inspect
from collections.abc import Callable
from typing import Any

import numba
import numpy as np

from moistsim.controls.failing import MOST_VENTILATION, failed, keep, reason_of, when
from moistsim.controls.guarding import calls_compiled, checked, interpretable, positional
from moistsim.controls.interface import CallSet, Form, Readings, ReadingsWithoutDewPoint
from moistsim.controls.interpreted import ByNumber, called, interpreted
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError, Problem
from moistsim.core.function_identity import identity_of

_packed_functions: dict[tuple[Any, ...], Callable[..., Any]] = {}


def pack(control: Any, form: Form, memory_size: int, where: str) -> Callable[..., Any]:
    """Compile a function so that its settings come in one array: one loop for every strategy.

    A function from outside the package is compiled again whenever a variable that it reads has
    another value.

    Parameters
    ----------
    control : Strategy or Addition
        Gives the function, its settings and whether it reads the dew point.
    form : Form
        Arguments and result of the function.
    memory_size : int
        Floats of memory that it has.
    where : str
        Name of the control in an error, such as ``strategy overcooling``.

    Raises
    ------
    InputError
        If the function can be neither compiled nor run, if it reads a variable whose value cannot be
        told, or if it reads the dew point though it declares that it does not.
    """
    function = control.function
    # Machine code of shipped strategies is kept on disk. A notebook cell has no file to keep it.
    shipped = (function.__module__ or "").startswith("moistsim.")
    identity, untold = "", None
    if not shipped:
        try:
            identity = identity_of(function, where)
        except InputError as error:
            untold = error
    key = (function, control.reads_dew_point, where, identity)
    if key not in _packed_functions:
        make = _shipped if shipped else _from_outside
        packed, reason = make(control, form, memory_size, where)
        if untold is not None and (reason is None or calls_compiled(function)):
            # Compiled code freezes the value, so a run after a change would show old results.
            raise untold
        _packed_functions[key] = packed
    return _packed_functions[key]


def _shipped(
    control: Any, form: Form, memory_size: int, where: str
) -> tuple[Callable[..., Any], str | None]:
    """Compile a function of the package, which needs no check of its indices."""
    function = control.function
    name = f"{function.__name__}_packed"
    scope: dict[str, Any] = {
        "inner": compiled(positional(function), cache=False, inline=True),
        "Seen": ReadingsWithoutDewPoint,
        "Readings": Readings,
        "__name__": function.__module__,
    }
    source = _source(name, form, len(control.settings), control.reads_dew_point)
    # Compiled under the strategy's own file name, because numba keeps its cache next to that file.
    exec(compile(source, inspect.getfile(function), "exec"), scope)
    return compiled(scope[name], signature=form.signature), None


def _from_outside(
    control: Any, form: Form, memory_size: int, where: str
) -> tuple[Callable[..., Any], str | None]:
    """Compile a function from outside the package with checks, or have the interpreter call it.

    The second value is the reason for the interpreter.
    """
    function, settings = control.function, control.settings
    plain = interpretable(function, where) if calls_compiled(function) else function
    try:
        inner = checked(positional(function), where)
        return guarded(inner, plain, control, form, memory_size, where), None
    except InputError:
        raise
    # Numba's errors have no class in common.
    except Exception as error:
        reason = reason_of(error)
    if not control.reads_dew_point:
        raise InputError(
            where,
            Problem(f"a function that numba cannot compile without readings.dew_point: {reason}"),
            "reads_dew_point=True, the default, or a function that does not read it",
        )
    return interpreted(plain, settings, memory_size, where, form, reason), reason


def guarded(
    inner: Callable[..., Any],
    plain: Callable[..., Any],
    control: Any,
    form: Form,
    memory_size: int,
    where: str,
) -> Callable[..., Any]:
    """Compile a call to a checked function that keeps what it raises for the end of the run.

    Parameters
    ----------
    inner : callable
        The compiled function, which may raise an exception.
    plain : callable
        The same function for the interpreter, which is called again on what `inner` cannot do.
    """
    names, kind = tuple(control.settings), form.returns

    def fail(before: tuple[float, ...], *given: Any) -> None:
        if failed():
            return
        readings, _, *rest = given
        try:
            # Compiled code raises an error where a float of numpy's only warns.
            with np.errstate(divide="raise", over="ignore", invalid="ignore"):
                called(plain, (readings, np.array(before), *rest), names, kind, where)
            raise InputError(
                where,
                Problem(f"its compiled function fails{when(readings)}, but not in Python"),
                "a function of floats and whole numbers that stay far below 2**63",
            )
        except BaseException as error:
            keep(where, error)

    seen = _seen if not control.reads_dew_point else "readings"
    rest = [name for name, _ in form.arguments[2:]]
    values = [f"settings[{i}]" for i in range(len(names))]
    fields = [
        "readings.dew_point"
        if field == "dew_point" and not control.reads_dew_point
        else f"float(found.{field})"
        for field in kind._fields  # type: ignore[attr-defined]
    ]
    total = " + ".join(f"result.{field}" for field in kind._fields)  # type: ignore[attr-defined]
    fits = " and 0.0 <= result.ventilation <= most" if kind is CallSet else ""
    nothing = "readings" if kind is Readings else f"Kind({', '.join(['0.0'] * len(fields))})"
    given = ", ".join(["readings", "own", *rest])
    source = "\n    ".join([
        f"def recorded({given}, settings):",
        f"found = inner({', '.join([seen, 'own', *rest, *values])})",
        f"return Kind({', '.join(fields)})",
    ])  # fmt: skip
    # Not within the `try`: numba splits a `try` at each call, and recurses through the pieces.
    source += "\n" + "\n    ".join([
        f"def packed({form.leading}, settings):",
        f"own = memory[:{memory_size}]",
        f"before = ({', '.join(f'own[{i}]' for i in range(memory_size))},)",
        f"result = {nothing}",
        "fine = False",
        "try:",
        f"    result = recorded({given}, settings)",
        "    fine = True",
        "except Exception:",
        "    fine = False",
        # Nothing times a number is 0; nothing times an infinite one is not.
        f"if not (fine and 0.0 * ({total}) == 0.0{fits}):",
        "    with objmode():",
        f"        fail(before, {given}, settings)",
        f"    result = {nothing}",
        "return result",
    ])  # fmt: skip
    scope: dict[str, Any] = {
        "inner": inner, "fail": ByNumber(fail), "objmode": numba.objmode, "Seen": ReadingsWithoutDewPoint,
        "Kind": kind, "most": MOST_VENTILATION,
    }  # fmt: skip
    # The scope has no module name, because numba would look for `fail` in that module.
    exec(compile(source, f"<{where}>", "exec"), scope)
    scope["recorded"] = numba.njit(nogil=True)(scope["recorded"])
    # The objmode block acquires the interpreter's lock itself.
    packed: Callable[..., Any] = numba.njit(form.signature, error_model="numpy")(scope["packed"])
    return packed


_seen = f"Seen({', '.join(f'readings.{field}' for field in ReadingsWithoutDewPoint._fields)})"


def _source(name: str, form: Form, count: int, reads_dew_point: bool) -> str:
    """Python source that takes `count` settings from an array and calls ``inner``."""
    arguments = "".join(f", settings[{i}]" for i in range(count))
    call = f"inner({form.leading}{arguments})"
    if reads_dew_point:
        return f"def {name}({form.leading}, settings):\n    return {call}\n"
    found = "found"
    if form.returns is Readings:
        fields = ("found" if field != "dew_point" else "readings" for field in Readings._fields)
        pairs = zip(fields, Readings._fields, strict=True)
        found = f"Readings({', '.join(f'{owner}.{field}' for owner, field in pairs)})"
    rest = form.leading.partition(", ")[2]
    return (
        f"def {name}({form.leading}, settings):\n"
        f"    found = inner({_seen}, {rest}{arguments})\n"
        f"    return {found}\n"
    )
