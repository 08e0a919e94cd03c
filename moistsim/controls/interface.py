"""Readings and calls of a control, and strategies made of plain functions."""

import inspect
import types
from collections import namedtuple
from collections.abc import Callable
from functools import cached_property
from typing import Any, NamedTuple, overload

import attrs
import numba
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.settings import (
    Documented,
    Setting,
    check_limits,
    declared_by,
    doc_of,
    read,
    repr_of,
    signature_of,
)
from moistsim.controls.summarizing import strategy_summary
from moistsim.core.compiled import compiled
from moistsim.core.display import Show
from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.core.summary import Summarized, Summary
from moistsim.core.units import Role

MEMORY_SIZE = 16
"""Floats that a strategy's function may keep from one step to the next; all zero at the start."""


class Readings(NamedTuple):
    """Sensor readings and running machines, as a control sees them in a step.

    A control never sees the true state of the room.

    Examples
    --------
    >>> import moistsim as ms
    >>> @ms.strategy
    ... def cool_by_day(readings, memory, *, above: ms.units.CoolingSetpoint = 24.0):
    ...     day = 8.0 <= readings.hour < 20.0
    ...     return ms.Calls(cooling=1 if day and readings.temperature > above else 0)
    >>> "dew_point" in ms.Readings._fields
    True
    """

    temperature: float
    """Room temperature, degC."""
    relative_humidity: float
    """Room relative humidity, percent."""
    dew_point: float
    """Room dew point, degC, from temperature and relative humidity."""
    outdoor_temperature: float
    """Outdoor temperature, degC."""
    outdoor_relative_humidity: float
    """Outdoor relative humidity, percent."""
    outdoor_dew_point: float
    """Outdoor dew point, degC."""
    hour: float
    """Hour of the day in local standard time, 0 to 24."""
    day: float
    """Day of the year, 1 to 366."""
    month: float
    """Month of the year, 1 to 12."""
    cooling_stage: float
    """Compressor stage that runs in cooling, 0 while it is off."""
    cooling_minutes: float
    """Minutes since the compressor last started or stopped in cooling."""
    reheat_stage: float
    """Strip stages that are on as reheat."""
    heating_stage: float
    """Heating that runs: 0 off, 1 heat pump, 2 heat pump with strips."""
    heating_minutes: float
    """Minutes since heating last started or stopped."""
    dehumidifier_on: float
    """1 while the dehumidifier runs, otherwise 0."""
    dehumidifier_minutes: float
    """Minutes since the dehumidifier last started or stopped."""
    airflow: float
    """Indoor airflow as a fraction of full flow."""
    occupied: float
    """1 while people live in the house, even if out for the day; 0 on vacation or between stays."""
    cooling_stages: float
    """Number of compressor stages, as an installer sets it on a thermostat."""
    variable_speed: float
    """1 if the compressor follows a call between two stages, otherwise 0."""
    step_minutes: float = 1.0
    """Minutes since the control last ran."""
    message_age: float = 0.0
    """Minutes since the last message from the room's sensor."""
    cooling_set_back: float = 0.0
    """Present rise of the cooling setpoint by a set-back, K; see `parts.cooling_stage`."""
    heating_set_back: float = 0.0
    """Present reduction of the heating setpoint by a set-back, K."""


class CallSet(NamedTuple):
    """Calls of a control to the machines; `Calls` makes one."""

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
    """Calls of a control to the machines in a step.

    Parameters
    ----------
    cooling : float
        Compressor stage, 0 for none.
    reheat : float
        Strip stages to run as reheat. Proportional strips give a fraction as a share of the next
        stage; others round to the nearest whole stage.
    heating : float
        1 for the heat pump, 2 for the heat pump with strips.
    dehumidifier : float
        1 to run it.
    fan : float
        1 to run the indoor blower with no other call.
    airflow : float
        Blower speed as a fraction of full flow, above 0 to 1; 0 for the airflow of the stage, or of
        the fan alone.
    ventilation : float
        Factor on the ventilation rate.
    hot_gas : float
        Hot-gas reheat as a fraction of its full heat, 0 to 1.
    slow_down : float
        Share by which the blower runs slower in cooling than it would otherwise, 0 to 0.5.

    Returns
    -------
    CallSet
        All floats. The engine enforces minimum times and interlocks of the machines, and counts
        each call that it refuses.

    Examples
    --------
    >>> import moistsim as ms
    >>> calls = ms.Calls(cooling=1, reheat=0.5)
    >>> float(calls.reheat), float(calls.ventilation)
    (0.5, 1.0)
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


_Seen: Any = namedtuple  # Untyped: its fields follow from those of `Readings`.
ReadingsWithoutDewPoint = _Seen(
    "ReadingsWithoutDewPoint", [name for name in Readings._fields if name != "dew_point"]
)
"""Readings of a control with ``reads_dew_point=False``: reading the dew point is an error."""


def compiled_type(kind: type) -> Any:
    """Compiled type of a record of floats, or of an array of them."""
    if kind is np.ndarray:
        return numba.float64[::1]
    return numba.typeof(kind(*(0.0,) * len(kind._fields)))  # type: ignore[attr-defined]


@attrs.frozen
class Form:
    """Arguments ahead of the settings, and result, of one kind of function."""

    arguments: tuple[tuple[str, type], ...]
    returns: type

    @property
    def leading(self) -> str:
        """Names of the arguments ahead of the settings, with commas."""
        return ", ".join(name for name, _ in self.arguments)

    @cached_property
    def signature(self) -> Any:
        """The compiled signature, whose last argument is the array of settings."""
        kinds = [*(kind for _, kind in self.arguments), np.ndarray]
        return compiled_type(self.returns)(*map(compiled_type, kinds))


STRATEGY = Form((("readings", Readings), ("memory", np.ndarray)), CallSet)
SIGNATURE = STRATEGY.signature
"""The one compiled signature of every strategy: (readings, memory, settings) -> calls."""


@attrs.frozen(repr=False)
class Strategy(Summarized):
    """A control: one plain function and its settings.

    Calling a strategy with settings gives a copy that has them. ``help`` on a strategy lists its
    settings.

    Examples
    --------
    >>> import moistsim as ms
    >>> warmer = ms.strategies.overcooling(cooling_setpoint="77 degF", overcool_by="2 degF")
    >>> round(warmer.settings["cooling_setpoint"], 6)
    25.0
    >>> warmer.setpoint(ms.units.Role.HUMIDITY)
    55.0
    """

    name: str
    function: Callable[..., Any]
    settings: dict[str, float]
    """Values by name, in the SI units that `declared` gives."""
    declared: dict[str, Setting]
    """Unit, role, limits and meaning of each setting."""
    check: Callable[[dict[str, float]], None] | None = None
    reads_dew_point: bool = True
    """Whether the loop calculates the room's dew point for the strategy."""
    machines: tuple[str, ...] = ()
    """Fields of `Equipment` without which a study refuses the strategy, such as "dehumidifier"."""

    __doc__ = Documented(__doc__, doc_of)
    __signature__ = Documented(None, signature_of)
    __repr__ = repr_of

    def __call__(self, **changes: Any) -> "Strategy":
        """A copy with changed settings, each a number in SI or a text with its unit.

        Raises
        ------
        InputError
            If there is no such setting, its unit is of another kind, its value is beyond its
            limits, or the settings contradict each other.
        """
        where = f"strategy {self.name}"
        settings = dict(self.settings)
        for name, value in changes.items():
            if name not in settings:
                unknown = Problem(f"unknown setpoint {brief(name)}")
                raise InputError(where, unknown, one_of(name, settings))
            settings[name] = read(f"{where}.{name}", value, self.declared[name])
        changed = attrs.evolve(self, settings=settings)
        check_limits(where, settings, self.declared)
        if self.check is not None:
            self.check(settings)
        return changed

    def summary(self, show: Show) -> Summary:
        """Settings with their meanings, as a notebook shows them."""
        return strategy_summary(self, show)

    @property
    def about(self) -> str:
        """Description of the strategy: its function's docstring."""
        return inspect.cleandoc(self.function.__doc__ or f"The strategy {self.name}.")

    @property
    def units(self) -> dict[str, str]:
        """SI unit of each setting."""
        return {name: setting.unit for name, setting in self.declared.items()}

    def setpoint(self, role: Role) -> float | None:
        """Value of the first setting that is declared with a role, or None if no setting is."""
        name = self.name_of(role)
        return None if name is None else self.settings[name]

    def name_of(self, role: Role) -> str | None:
        """Name of the first setting that is declared with a role, or None if no setting is."""
        return next((name for name, it in self.declared.items() if it.role is role), None)

    @property
    def base(self) -> "Strategy":
        """The strategy without its additions."""
        return self

    @property
    def additions(self) -> tuple[Any, ...]:
        """Additions on top of the strategy; see `addition.Combination`."""
        return ()

    @property
    def main(self) -> "Strategy":
        """Control of the first system, or of a house's only one."""
        return self

    @property
    def second(self) -> "Strategy":
        """Control of a second system: this strategy too, unless `with_second` gives another."""
        return self

    def with_second(self, second: "Strategy") -> "Strategy":
        """A copy whose second system has a control of its own (`Equipment.second_system`).

        The settings of the second control follow those of the first one, under their names with
        ``second_`` before them. Additions are put on each of the two beforehand.

        Raises
        ------
        InputError
            If the second control is no strategy, or if one of the two has a second control already.

        Examples
        --------
        >>> import moistsim as ms
        >>> own = ms.strategies
        >>> both = own.staged_reheat.with_second(own.temperature_only(cooling_setpoint="77 degF"))
        >>> both(second_cooling_setpoint="76 degF").second.settings["cooling_setpoint"] < 25.0
        True
        """
        from moistsim.controls.two_controls import two_controls

        return two_controls(self, second)

    @property
    def description(self) -> dict[str, Any]:
        """Record of the strategy in a result: its settings."""
        return dict(self.settings)

    @property
    def memory_size(self) -> int:
        """Number of floats of memory that a run keeps for the strategy."""
        return MEMORY_SIZE

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """The settings in the order in which the function takes them."""
        return np.array([*self.settings.values()], dtype=float)

    @property
    def compiled(self) -> Callable[..., CallSet]:
        """The function as the engine calls it: (readings, memory, settings) -> calls.

        A function from outside the package is compiled again if a variable that it reads has
        changed.

        The interpreter calls a function that numba cannot compile. A warning then says so, and
        gives numba's reason.

        Raises
        ------
        InputError
            If the function can be neither compiled nor run.
        """
        return self._packed()

    def _packed(self) -> Callable[..., CallSet]:
        from moistsim.controls.packing import pack

        return pack(self, STRATEGY, self.memory_size, f"strategy {self.name}")


@overload
def strategy(function: Callable[..., Any]) -> Strategy: ...
@overload
def strategy(
    *,
    check: Callable[[dict[str, float]], None] | None = ...,
    reads_dew_point: bool = ...,
    machines: tuple[str, ...] = ...,
) -> Callable[[Callable[..., Any]], Strategy]: ...
def strategy(
    function: Callable[..., Any] | None = None,
    *,
    check: Callable[[dict[str, float]], None] | None = None,
    reads_dew_point: bool = True,
    machines: tuple[str, ...] = (),
) -> Any:
    """Make a strategy of a plain function.

    Parameters
    ----------
    function : callable
        ``f(readings, memory, *, setting=default, ...)`` that returns `Calls`. `memory` is an
        array of 16 floats, zero at the start, for latches and timers. A setting marked with a
        unit, as in ``fan_below: ms.units.DegC = 24.0``, may be given as a text with a unit. A
        mark also declares what a setting is for, whatever its name: `matched` and `size` move a
        `ms.units.HumiditySetpoint` or `DewPointSetpoint`, and comfort is measured against the
        `CoolingSetpoint` and the `HeatingSetpoint`. ``Annotated[..., ms.units.Limits(15, 95),
        ms.units.Meaning("...")]`` adds limits, which are checked, and a sentence for ``help``.
    check : callable, optional
        Called with the settings when they are changed; raises InputError if they contradict.
    reads_dew_point : bool
        Whether the function reads ``readings.dew_point``. The dew point takes about 7 % of the
        loop, so a function that does not read it may declare False. A function that declares
        False and reads it is refused when it is compiled.
    machines : tuple of str
        Fields of `Equipment` that the strategy calls, such as ``("dehumidifier",)``. A study refuses
        an option that lacks one of them.

    Returns
    -------
    Strategy

    Raises
    ------
    InputError
        If the function takes other arguments, or a default is not what its mark declares.

    Examples
    --------
    >>> import moistsim as ms
    >>> @ms.strategy
    ... def dry_first(readings, memory, *, dry_above: ms.units.HumiditySetpoint = 54.0):
    ...     return ms.Calls(cooling=1.0 if readings.relative_humidity > dry_above else 0.0)
    >>> dry_first(dry_above="57 %")
    dry_first(dry_above='57 percent')
    """

    def make(function: Callable[..., Any]) -> Strategy:
        if not isinstance(function, types.FunctionType):
            raise InputError("strategy", function, "a plain function of (readings, memory)")
        # The name stands in tables and file names, for which "<lambda>" is unfit.
        name = function.__name__.strip("<>")
        parameters = list(inspect.signature(function).parameters.values())
        if [p.name for p in parameters[:2]] != ["readings", "memory"]:
            raise InputError(
                f"strategy {name}",
                str(inspect.signature(function)),
                "a function of (readings, memory, *, setpoints with defaults)",
            )
        settings, declared = declared_by(function, f"strategy {name}", 2)
        return Strategy(name, function, settings, declared, check, reads_dew_point, machines)

    return make if function is None else make(function)
