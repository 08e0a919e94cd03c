"""What is put on top of a strategy, so that combinations need no file for each."""

import inspect
from collections.abc import Callable
from typing import Any, overload

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import SIGNATURE, CallSet, Strategy, pack, setpoints_of
from moistsim.controls.replacing import teach
from moistsim.controls.taken import may_take
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError
from moistsim.core.units import to_si

teach()

ADDITION_MEMORY = 4
"""Floats that an addition's function may keep from one step to the next; all zero at the start."""

_READINGS, _FLOATS, _ = SIGNATURE.args
_CALLS = SIGNATURE.return_type
_KINDS = {
    "readings": ("readings, memory", _READINGS(_READINGS, _FLOATS, _FLOATS)),
    "calls": ("readings, memory, calls", _CALLS(_READINGS, _FLOATS, _CALLS, _FLOATS)),
}
"""By what an addition changes: its leading arguments and its packed signature."""


@attrs.frozen
class Addition:
    """A plain function that changes what any strategy sees or calls, and its setpoints.

    ``strategy + addition`` is a strategy. Setpoints are changed on the sum, or here:
    ``staged_reheat + set_back(cooling_set_back="4 K")``.
    """

    name: str
    function: Callable[..., Any]
    changes: str
    """"readings" or "calls"."""
    settings: dict[str, float]
    units: dict[str, str]
    check: Callable[[dict[str, float]], None] | None = None
    needs: tuple[str, ...] = ()
    """Setpoints that a strategy must have for the addition to make sense."""
    given: tuple[str, ...] = ()
    """Setpoints that are no defaults."""

    def __call__(self, **changes: Any) -> "Addition":
        """A copy with changed setpoints, each a number or a text with its unit.

        Raises
        ------
        InputError
            If there is no such setpoint or its unit is another kind. Limits are checked when it
            is added to a strategy.
        """
        settings = dict(self.settings)
        for name, value in changes.items():
            where = f"addition {self.name}"
            if name not in settings:
                raise InputError(where, name, "the setpoints " + ", ".join(settings))
            settings[name] = to_si(value, self.units.get(name, "count"), f"{where}.{name}")
        return attrs.evolve(self, settings=settings, given=(*self.given, *changes))

    def __radd__(self, strategy: Strategy) -> "Combination":
        """The strategy with this on top.

        A setpoint of the same name is the same setpoint, at the strategy's value.

        Raises
        ------
        InputError
            If it is there already, needs a setpoint that the strategy lacks, has one of the
            same name in another unit or at another value, or if the set contradicts itself.
        """
        if not isinstance(strategy, Strategy):
            return NotImplemented
        base, before = strategy, tuple[Addition, ...]()
        if isinstance(strategy, Combination):
            base, before = strategy.base, strategy.additions
        name = f"{strategy.name} + {self.name}"
        where = f"strategy {name}"
        if self.name in [addition.name for addition in before]:
            raise InputError(where, f"{self.name} twice", f"{self.name} once")
        for need in self.needs:
            if need not in strategy.settings:
                raise InputError(
                    where,
                    f"no setpoint {need} in {strategy.name}",
                    f"a strategy with the setpoint {need}, which {self.name} works on",
                )
        settings, units = {**self.settings, **strategy.settings}, {**self.units, **strategy.units}
        for shared in self.settings.keys() & strategy.settings.keys():
            mine, other = (x.units.get(shared, "count") for x in (self, strategy))
            if mine != other:
                raise InputError(
                    f"{where}.{shared}",
                    f"{mine} in {self.name} and {other} in {strategy.name}",
                    "one unit, since a setpoint of the same name is the same setpoint",
                )
            if shared in self.given and self.settings[shared] != strategy.settings[shared]:
                raise InputError(
                    f"{where}.{shared}",
                    f"{self.settings[shared]:g} in {self.name} and "
                    f"{strategy.settings[shared]:g} in {strategy.name}",
                    "one value, since a setpoint of the same name is the same setpoint",
                )
        ordered = {key: settings[key] for key in (*strategy.settings, *self.settings)}
        whole = Combination(
            name, strategy.function, ordered, units, strategy.check, base=base,
            additions=(*before, self),
        )  # fmt: skip
        # The call checks all parts.
        return whole()

    @property
    def compiled(self) -> Callable[..., Any]:
        """The function as a combination calls it, its setpoints in one array."""
        leading, signature = _KINDS[self.changes]
        return pack(
            self.function,
            self.settings,
            ADDITION_MEMORY,
            f"addition {self.name}",
            leading,
            signature,
        )


@attrs.frozen
class Combination(Strategy):
    """A strategy and its additions, each with setpoints and memory of its own."""

    base: Strategy = attrs.field(kw_only=True)
    additions: tuple[Addition, ...] = attrs.field(kw_only=True)

    def __call__(self, **changes: Any) -> "Combination":
        """A copy with changed setpoints; see `Strategy`."""
        changed = super().__call__(**changes)
        assert isinstance(changed, Combination)
        settings = changed.settings
        for addition in self.additions:
            if addition.check is not None:
                addition.check(settings)
        # Each part at the setpoints that count, so that equal controls are equal.
        return attrs.evolve(
            changed,
            base=attrs.evolve(self.base, settings=_of(self.base, settings)),
            additions=tuple(
                attrs.evolve(addition, settings=_of(addition, settings), given=())
                for addition in self.additions
            ),
        )

    @property
    def description(self) -> dict[str, Any]:
        """What a result tells of it: its setpoints, and the strategy's rows if it has any."""
        return {**self.base.description, **self.settings}

    @property
    def memory_size(self) -> int:
        """The strategy's own floats, then four for each addition."""
        return self.base.memory_size + ADDITION_MEMORY * len(self.additions)

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """The setpoints of each part behind each other."""
        return np.concatenate(
            [
                self.base.packed_settings,
                *(np.array([*a.settings.values()], dtype=float) for a in self.additions),
            ]
        )

    @property
    def takes_dew_point(self) -> bool:
        """Whether any of its parts may."""
        functions = (self.base.function, *(addition.function for addition in self.additions))
        return any(may_take(function, "dew_point") for function in functions)

    def _packed(self) -> Callable[..., CallSet]:
        """Additions to the readings in their order, the strategy, additions to the calls."""
        parts = (self.base.compiled, *(addition.compiled for addition in self.additions))
        if parts in _combined:
            return _combined[parts]
        size, count = self.base.memory_size, len(self.base.packed_settings)
        before, after = [], []
        for number, addition in enumerate(self.additions, 1):
            memory = f"memory[{size}:{size + ADDITION_MEMORY}]"
            settings = f"settings[{count}:{count + len(addition.settings)}]"
            size, count = size + ADDITION_MEMORY, count + len(addition.settings)
            if addition.changes == "readings":
                before.append(f"readings = part_{number}(readings, {memory}, {settings})")
            else:
                after.append(f"calls = part_{number}(readings, {memory}, calls, {settings})")
        own = f"memory[:{self.base.memory_size}], settings[:{len(self.base.packed_settings)}]"
        lines = [*before, f"calls = part_0(readings, {own})", *after, "return calls"]
        source = "def packed(readings, memory, settings):\n" + "".join(f"    {x}\n" for x in lines)
        scope: dict[str, Any] = {f"part_{i}": part for i, part in enumerate(parts)}
        exec(compile(source, f"<strategy {self.name}>", "exec"), scope)
        packed: Callable[..., CallSet] = compiled(scope["packed"], cache=False, signature=SIGNATURE)
        _combined[parts] = packed
        return packed


_combined: dict[tuple[Callable[..., Any], ...], Callable[..., CallSet]] = {}


def _of(part: Strategy | Addition, settings: dict[str, float]) -> dict[str, float]:
    return {name: settings[name] for name in part.settings}


@overload
def addition(function: Callable[..., Any]) -> Addition: ...
@overload
def addition(
    *, check: Callable[[dict[str, float]], None] | None = ..., needs: tuple[str, ...] = ...
) -> Callable[[Callable[..., Any]], Addition]: ...
def addition(
    function: Callable[..., Any] | None = None,
    *,
    check: Callable[[dict[str, float]], None] | None = None,
    needs: tuple[str, ...] = (),
) -> Any:
    """Make an addition to strategies of a plain function.

    Parameters
    ----------
    function : callable
        ``f(readings, memory, *, setpoint=default, ...)`` that returns `Readings` and so changes
        what a strategy sees, or ``f(readings, memory, calls, *, setpoint=default, ...)`` that
        returns the calls and so changes what it called for. ``readings._replace(...)`` and
        ``calls._replace(...)`` make changed ones. `memory` is an array of 4 floats of its own,
        zero at the start. Additions to the calls see the readings as additions have changed them.
    check : callable, optional
        Called with all setpoints of a combination when they are changed; raises InputError.
    needs : tuple of str
        Setpoints without which a strategy is refused.

    Returns
    -------
    Addition

    Raises
    ------
    InputError
        If the function is neither of the two kinds.

    Examples
    --------
    >>> from moistsim.controls.strategies import temperature_only
    >>> @addition
    ... def fan_at_noon(readings, memory, calls, *, begins: float = 12.0):
    ...     return calls._replace(fan=1.0 if begins <= readings.hour < begins + 1.0 else calls.fan)
    >>> (temperature_only + fan_at_noon).name
    'temperature_only + fan_at_noon'
    """

    def make(function: Callable[..., Any]) -> Addition:
        name = function.__name__
        where = f"addition {name}"
        parameters = [*inspect.signature(function).parameters.values()]
        leading = [p.name for p in parameters if p.kind is p.POSITIONAL_OR_KEYWORD]
        changes = next((k for k, (names, _) in _KINDS.items() if names == ", ".join(leading)), None)
        if changes is None:
            raise InputError(
                where,
                str(inspect.signature(function)),
                "a function of (readings, memory, *, setpoints with defaults) or of "
                "(readings, memory, calls, *, setpoints with defaults)",
            )
        settings, units = setpoints_of(function, where, len(leading))
        return Addition(name, function, changes, settings, units, check, needs)

    return make if function is None else make(function)
