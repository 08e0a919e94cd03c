"""A control that numba cannot compile, called by the interpreter from within the compiled loop."""

import warnings
from collections.abc import Callable
from typing import Any

import numba
import numpy as np

from moistsim.controls.failing import Memory, carrying, failed, keep, result_of

_kept: list["ByNumber"] = []


class ByNumber:
    """A function that a pickle names by a number, which holds within this process.

    numba pickles what an objmode block calls, in order to reach it again. A control may read what no
    pickle can hold, such as a module that loads its parts late.
    """

    def __init__(self, function: Callable[..., Any]) -> None:
        self.function, self.number = function, len(_kept)
        _kept.append(self)

    def __call__(self, *given: Any) -> Any:
        return self.function(*given)

    def __reduce__(self) -> tuple[Callable[[int], "ByNumber"], tuple[int]]:
        return _by_number, (self.number,)


def _by_number(number: int) -> ByNumber:
    return _kept[number]


def interpreted(
    function: Callable[..., Any],
    settings: dict[str, float],
    memory_size: int,
    where: str,
    form: Any,
    reason: str,
) -> Callable[..., Any]:
    """A compiled function that has the interpreter call `function`.

    Its arithmetic is in double precision, so it gives the same bits as compiled code. The function
    must keep its state in `memory`, because it is called once as a trial before the run.

    Parameters
    ----------
    settings : dict of float
        Setpoints in the order of the last argument, with values for the trial.
    memory_size : int
        Floats of memory that it has.
    where : str
        Names the control in a sentence.
    form : interface.Form
        Arguments and result of the function.
    reason : str
        What kept numba from compiling it, for the warning.

    Raises
    ------
    InputError
        If the function fails, or returns something else, on one set of readings.
    """
    kind = form.returns
    # The rest of a run after a failure is discarded, so it makes no calls.
    nothing = (0.0,) * len(kind._fields)

    def call(*given: Any) -> tuple[float, ...]:
        if failed():
            return nothing
        try:
            return called(function, given, tuple(settings), kind, where)
        except BaseException as error:
            keep(where, error)
            return nothing

    with carrying():
        call(*_trial(form, memory_size), np.array([*settings.values()]))
    warnings.warn(
        f"{where} is called by the interpreter, which makes a run some {SLOWER} times as long, "
        f"since numba cannot compile it: {reason}",
        stacklevel=2,
    )
    arguments = f"{form.leading}, settings"
    result = ", ".join(f"result[{i}]" for i in range(len(nothing)))
    scope: dict[str, Any] = {"objmode": numba.objmode, "call": ByNumber(call), "kind": kind}
    source = (
        f"def packed({arguments}):\n"
        f"    with objmode(result='UniTuple(float64, {len(nothing)})'):\n"
        f"        result = call({arguments})\n"
        f"    return kind({result})\n"
    )
    # The scope has no module name, because numba would look for `call` in that module.
    exec(compile(source, f"<{where}>", "exec"), scope)
    # The objmode block acquires the interpreter's lock itself.
    packed: Callable[..., Any] = numba.njit(form.signature, error_model="numpy")(scope["packed"])
    return packed


def called(
    function: Callable[..., Any],
    given: tuple[Any, ...],
    names: tuple[str, ...],
    kind: type,
    where: str,
) -> tuple[float, ...]:
    """The floats that a control returns, called by the interpreter.

    Parameters
    ----------
    given : tuple
        Arguments as the compiled loop gives them: readings, memory and so on, and all settings.
    names : tuple of str
        Names of the settings.
    """
    readings, memory, *rest, values = given
    settings = dict(zip(names, map(float, values), strict=True))
    result = function(readings, Memory.of(memory, where, readings), *rest, **settings)
    return result_of(where, result, kind, readings)


SLOWER = 200
"""Duration of a run with a short interpreted control, as a multiple of that with a compiled one.

One significant digit: `tests/benchmarks/speed.py` measured 190 to 260.
"""

_SUMMER = {
    "temperature": 24.0, "relative_humidity": 50.0, "dew_point": 12.9, "outdoor_temperature": 30.0,
    "outdoor_relative_humidity": 60.0, "outdoor_dew_point": 21.4, "hour": 12.0, "day": 196.0,
    "month": 7.0,
}  # fmt: skip


def _trial(form: Any, memory_size: int) -> list[Any]:
    """Readings at noon in summer, an empty memory and calls, as the form needs them."""
    return [
        np.zeros(memory_size)
        if kind is np.ndarray
        else kind(*(_SUMMER.get(name, 1.0) for name in kind._fields))
        for _, kind in form.arguments
    ]
