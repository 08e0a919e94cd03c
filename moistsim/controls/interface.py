"""What a control may see, what it may ask for, and how a plain function becomes a strategy."""

import inspect
import types
from collections.abc import Callable
from functools import cached_property
from typing import Annotated, Any, NamedTuple, get_args, get_origin, get_type_hints, overload

import attrs
import numba
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interpreted import interpreted, reason_of
from moistsim.controls.taken import may_take
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError
from moistsim.core.units import KINDS, to_si

MEMORY_SIZE = 16
"""Floats that a strategy's function may keep from one step to the next; all zero at the start."""


class Readings(NamedTuple):
    """What the sensors give and what is running: never the hidden true state of the room."""

    temperature: float
    """Room, degC."""
    relative_humidity: float
    """Room, percent."""
    dew_point: float
    """Room, degC, from the two above."""
    outdoor_temperature: float
    """degC."""
    outdoor_relative_humidity: float
    """Percent."""
    outdoor_dew_point: float
    """degC."""
    hour: float
    """Of the day in local standard time, 0 to 24."""
    day: float
    """Of the year, 1 to 366."""
    month: float
    """1 to 12."""
    cooling_stage: float
    """Stage that runs, 0 for none."""
    cooling_minutes: float
    """Since the compressor last started or stopped in cooling."""
    reheat_stage: float
    """Strip stages that are on as reheat."""
    heating_stage: float
    """1 heat pump, 2 with the strips, 0 none."""
    heating_minutes: float
    """Since heating last started or stopped."""
    dehumidifier_on: float
    """1 or 0."""
    dehumidifier_minutes: float
    """Since the dehumidifier last started or stopped."""
    airflow: float
    """Indoor blower, as a fraction of its full flow."""
    occupied: float
    """1 while people live there, at home or out for the day; 0 on vacation and between stays."""
    cooling_stages: float
    """How many the compressor has: what an installer tells a thermostat."""
    variable_speed: float
    """1 if the compressor follows a call between two stages."""
    step_minutes: float = 1.0
    """Since the control last ran."""
    message_age: float = 0.0
    """Minutes since the room's sensor was last heard."""
    cooling_set_back: float = 0.0
    """How far the cooling setpoint is raised for now, K; see `parts.cooling_stage`."""
    heating_set_back: float = 0.0
    """How far the heating setpoint is lowered for now, K."""


class CallSet(NamedTuple):
    """What a control asks of the machines; `Calls` makes one."""

    cooling: float
    reheat: float
    heating: float
    dehumidifier: float
    fan: float
    airflow: float
    ventilation: float
    hot_gas: float
    slow_down: float


@compiled
def Calls(  # noqa: N802 - reads as the record that it makes
    cooling: float = 0.0,
    reheat: float = 0.0,
    heating: float = 0.0,
    dehumidifier: float = 0.0,
    fan: float = 0.0,
    airflow: float = 0.0,
    ventilation: float = 1.0,
    hot_gas: float = 0.0,
    slow_down: float = 0.0,
) -> CallSet:
    """What a control asks for this minute.

    Parameters
    ----------
    cooling : float
        Compressor stage, 0 for none.
    reheat : float
        Strip stages to run as reheat. Proportional strips give a fraction as a share of the next
        stage; others round to the nearest whole stage.
    heating : float
        1 for the heat pump, 2 for the strips beside it.
    dehumidifier : float
        1 to run it.
    fan : float
        1 to run the indoor blower with no other call.
    airflow : float
        Blower speed as a fraction of full flow, above 0 to 1; 0 leaves it to the machine's stage.
    ventilation : float
        Factor on the ventilation rate.
    hot_gas : float
        Hot-gas reheat, 0 to 1 of all that it can give.
    slow_down : float
        Share by which the blower runs slower in cooling than it would otherwise, 0 to 0.5.

    Returns
    -------
    CallSet
        All floats. The engine, not the strategy, enforces what the machines would, and counts
        every call that it refused.
    """
    return CallSet(
        float(cooling),
        float(reheat),
        float(heating),
        float(dehumidifier),
        float(fan),
        float(airflow),
        float(ventilation),
        float(hot_gas),
        float(slow_down),
    )


_FLOATS = numba.types.Array(numba.float64, 1, "C")
SIGNATURE = numba.types.NamedUniTuple(numba.float64, len(CallSet._fields), CallSet)(
    numba.types.NamedUniTuple(numba.float64, len(Readings._fields), Readings), _FLOATS, _FLOATS
)
"""The one compiled signature of every strategy: (readings, memory, settings) -> calls."""


@attrs.frozen
class Strategy:
    """A control: one plain function and its setpoints.

    Calling a strategy with setpoints gives a copy that has them:
    ``ms.strategies.overcooling(cooling_setpoint="76 degF")``.
    """

    name: str
    function: Callable[..., Any]
    settings: dict[str, float]
    units: dict[str, str]
    check: Callable[[dict[str, float]], None] | None = None

    def __call__(self, **changes: Any) -> "Strategy":
        """A copy with changed setpoints, each a number or a text with its unit.

        Raises
        ------
        InputError
            If there is no such setpoint, its unit is another kind, or the set contradicts itself.
        """
        settings = dict(self.settings)
        for name, value in changes.items():
            if name not in settings:
                raise InputError(
                    f"strategy {self.name}", name, "the setpoints " + ", ".join(settings)
                )
            settings[name] = to_si(
                value, self.units.get(name, "count"), f"strategy {self.name}.{name}"
            )
        changed = attrs.evolve(self, settings=settings)
        if self.check is not None:
            self.check(settings)
        return changed

    @property
    def base(self) -> "Strategy":
        """The strategy without its additions."""
        return self

    @property
    def additions(self) -> tuple[Any, ...]:
        """What is put on top of it; see `addition.Combination`."""
        return ()

    @property
    def description(self) -> dict[str, Any]:
        """What a result tells of it: its setpoints."""
        return dict(self.settings)

    @property
    def memory_size(self) -> int:
        """Floats of memory that a run keeps for it."""
        return MEMORY_SIZE

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """The setpoints in the order in which the function takes them."""
        return np.array([*self.settings.values()], dtype=float)

    @property
    def takes_dew_point(self) -> bool:
        """Whether it may look at the room's dew point, which is worked out for those alone."""
        return may_take(self.function, "dew_point")

    @cached_property
    def compiled(self) -> Callable[..., CallSet]:
        """The function as the engine calls it: (readings, memory, settings) -> calls.

        One that numba cannot compile is called by the interpreter, with a warning that says so
        and carries numba's reason.

        Raises
        ------
        InputError
            If the function can be neither compiled nor run.
        """
        return self._packed()

    def _packed(self) -> Callable[..., CallSet]:
        return pack(self.function, self.settings, self.memory_size, f"strategy {self.name}")


_packed_functions: dict[Callable[..., Any], Callable[..., Any]] = {}


def pack(
    function: Callable[..., Any],
    settings: dict[str, float],
    memory_size: int,
    where: str,
    leading: str = "readings, memory",
    signature: Any = SIGNATURE,
) -> Callable[..., Any]:
    """Setpoints travel in one array, so that the loop compiles once for every strategy.

    Parameters
    ----------
    function, settings, memory_size
        The function, its setpoints in their order, and the floats of memory that it has.
    where : str
        Names it in a sentence, such as ``strategy overcooling``.
    leading : str
        Names of the arguments ahead of the setpoints.
    signature : numba signature
        Of the result, whose arguments are the leading ones and an array of setpoints.
    """
    if function in _packed_functions:
        return _packed_functions[function]
    # Shipped strategies keep their machine code on disk; a notebook cell's has nowhere to stay.
    shipped = function.__module__.startswith("moistsim.")
    code = function.__code__
    # numba calls by position only: the same code, with its keyword-only arguments made positional.
    positional = types.FunctionType(
        code.replace(co_argcount=code.co_argcount + code.co_kwonlyargcount, co_kwonlyargcount=0),
        function.__globals__,
        function.__name__,
        None,
        function.__closure__,
    )
    positional.__module__ = function.__module__
    name = f"{function.__name__}_packed"
    arguments = "".join(f", settings[{i}]" for i in range(len(settings)))
    source = f"def {name}({leading}, settings):\n    return inner({leading}{arguments})\n"
    # Compiled under the strategy's own file name, beside which numba keeps its cache.
    filename = inspect.getfile(function) if shipped else f"<{where}>"
    scope: dict[str, Any] = {
        "inner": compiled(positional, cache=False, inline=True),
        "__name__": function.__module__,
    }
    exec(compile(source, filename, "exec"), scope)
    reason = None
    try:
        packed: Callable[..., Any] = compiled(scope[name], cache=shipped, signature=signature)
    # Numba's errors have no class in common.
    except Exception as error:
        if shipped:
            raise
        reason = reason_of(error)
    if reason is not None:
        packed = interpreted(function, settings, memory_size, where, leading, signature, reason)
    _packed_functions[function] = packed
    return packed


def setpoints_of(
    function: Callable[..., Any], where: str, leading: int
) -> tuple[dict[str, float], dict[str, str]]:
    """Defaults and units of a function's setpoints, its arguments from the one at `leading` on.

    Raises
    ------
    InputError
        If one is not keyword-only, has no default, or a default of another kind than its unit.
    """
    hints = get_type_hints(function, include_extras=True)
    settings, units = {}, {}
    for parameter in [*inspect.signature(function).parameters.values()][leading:]:
        at = f"{where}.{parameter.name}"
        if parameter.kind is not parameter.KEYWORD_ONLY or parameter.default is parameter.empty:
            raise InputError(at, str(parameter), "a keyword-only setpoint (after *) with a default")
        hint = hints.get(parameter.name)
        if get_origin(hint) is Annotated and get_args(hint)[1] in KINDS:
            units[parameter.name] = get_args(hint)[1]
        settings[parameter.name] = to_si(parameter.default, units.get(parameter.name, "count"), at)
    return settings, units


@overload
def strategy(function: Callable[..., Any]) -> Strategy: ...
@overload
def strategy(
    *, check: Callable[[dict[str, float]], None] | None = ...
) -> Callable[[Callable[..., Any]], Strategy]: ...
def strategy(
    function: Callable[..., Any] | None = None,
    *,
    check: Callable[[dict[str, float]], None] | None = None,
) -> Any:
    """Make a strategy of a plain function.

    Parameters
    ----------
    function : callable
        ``f(readings, memory, *, setpoint=default, ...)`` that returns `Calls`. `memory` is an
        array of 16 floats, zero at the start, for latches and timers. A setpoint marked with a
        unit, as in ``cooling_setpoint: ms.units.DegC = 24.0``, may be given as a text with a unit.
        Setpoints named `cooling_setpoint` and `heating_setpoint` are also what comfort is
        measured against.
    check : callable, optional
        Called with the setpoints when they are changed; raises InputError if they contradict.

    Returns
    -------
    Strategy

    Examples
    --------
    >>> from moistsim.core.units import Percent
    >>> @strategy
    ... def dry_first(readings, memory, *, dry_above: Percent = 55.0):
    ...     return Calls(cooling=1.0 if readings.relative_humidity > dry_above else 0.0)
    >>> dry_first(dry_above=60).settings
    {'dry_above': 60.0}
    """

    def make(function: Callable[..., Any]) -> Strategy:
        name = function.__name__
        parameters = list(inspect.signature(function).parameters.values())
        if [p.name for p in parameters[:2]] != ["readings", "memory"]:
            raise InputError(
                f"strategy {name}",
                str(inspect.signature(function)),
                "a function of (readings, memory, *, setpoints with defaults)",
            )
        settings, units = setpoints_of(function, f"strategy {name}", 2)
        return Strategy(name, function, settings, units, check)

    return make if function is None else make(function)
