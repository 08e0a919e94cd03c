"""Whether a control may look at a reading at all: the loop does not work out what none looks at."""

import inspect
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from numba.core import ir
from numba.core.compiler import run_frontend


@lru_cache(maxsize=256)
def may_take(
    function: Callable[..., Any],
    field: str,
    parameter: str = "readings",
    callers: tuple[Callable[..., Any], ...] = (),
) -> bool:
    """Whether a function may look at a field of the named tuple that one of its parameters is.

    Parameters
    ----------
    function : callable
        As numba would compile it; what it hands the tuple on to is looked into as well.
    field, parameter : str
    callers : tuple of callable
        That handed it the tuple; who calls itself is not followed.

    Returns
    -------
    bool
        False only where every use of the tuple is another field by its name, here and in what it is
        handed on to. Whatever else is done with it, or cannot be told, counts as taking the field.
    """
    plain = getattr(function, "py_func", function)
    try:
        code = run_frontend(plain)
    # Of the many ways in which numba cannot read a function, none says that it takes nothing.
    except Exception:
        return True
    statements = [statement for block in code.blocks.values() for statement in block.body]
    assigned = [each for each in statements if isinstance(each, ir.Assign)]
    known = {
        each.target.name: each.value.value
        for each in assigned
        if isinstance(each.value, ir.Global | ir.FreeVar)
    }
    # Names of the tuple: the parameter's own, and those that it is copied to.
    names: set[str] = set()
    before = -1
    while len(names) > before:
        before = len(names)
        for each in assigned:
            value = each.value
            if (isinstance(value, ir.Arg) and value.name == parameter) or (
                isinstance(value, ir.Var) and value.name in names
            ):
                names.add(each.target.name)

    def handed_on(call: Any) -> bool:
        """Whether all that is called with it is known and does not take the field."""
        callee = known.get(call.func.name)
        if call.vararg is not None or callee is None or callee in (plain, *callers):
            return False
        try:
            takes = [*inspect.signature(callee).parameters]
        except (TypeError, ValueError):
            return False
        places = [place for place, each in enumerate(call.args) if each.name in names]
        if any(place >= len(takes) for place in places):
            return False
        handed = [takes[place] for place in places]
        handed += [key for key, each in call.kws if each.name in names]
        return not any(may_take(callee, field, each, (plain, *callers)) for each in handed)

    def harmless(statement: Any) -> bool:
        if isinstance(statement, ir.Del):
            return True
        value = getattr(statement, "value", None)
        if not isinstance(statement, ir.Assign) or not isinstance(value, ir.Expr):
            return isinstance(statement, ir.Assign)
        if value.op == "getattr":
            return value.attr != field and value.attr[0] != "_" and not hasattr(tuple, value.attr)
        return value.op == "call" and handed_on(value)

    # No such parameter: what is decorated takes its arguments under other names.
    return not names or not all(
        harmless(each)
        for each in statements
        if names.intersection(var.name for var in each.list_vars())
    )
