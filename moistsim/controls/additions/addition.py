"""Additions on top of a strategy, so combinations need no files of their own."""

import inspect
import types
from collections.abc import Callable
from typing import Any, overload

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import SIGNATURE, CallSet, Form, Readings, Strategy
from moistsim.controls.packing import pack
from moistsim.controls.replacing import teach
from moistsim.controls.settings import (
    Documented,
    Setting,
    check_roles,
    declared_by,
    doc_of,
    read,
    repr_of,
    signature_of,
)
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.core.units import Role

teach()

ADDITION_MEMORY = 4
"""Floats that an addition's function may keep from one step to the next; all zero at the start."""

_SEES = (("readings", Readings), ("memory", np.ndarray))
FORMS = {
    "readings": Form(_SEES, Readings),
    "calls": Form((*_SEES, ("calls", CallSet)), CallSet),
}
"""Arguments and result of an addition's function, by the kind of value that it changes."""


@attrs.frozen(repr=False)
class Addition:
    """A plain function that changes what any strategy sees or calls, and its settings.

    ``strategy + addition`` is a strategy. Settings are changed on the sum, or on the addition.
    ``help`` on an addition lists its settings.

    Examples
    --------
    >>> import moistsim as ms
    >>> own = ms.strategies
    >>> both = own.staged_reheat + own.set_back(cooling_set_back="4 K")
    >>> both.name, both.settings["cooling_set_back"]
    ('staged_reheat + set_back', 4.0)
    """

    name: str
    function: Callable[..., Any]
    changes: str
    """Kind of value that the function changes: "readings" or "calls"."""
    settings: dict[str, float]
    """Values by name, in the SI units that `declared` gives."""
    declared: dict[str, Setting]
    """Unit, role, limits and meaning of each setting."""
    check: Callable[[dict[str, float]], None] | None = None
    reads_dew_point: bool = True
    """Whether the loop calculates the room's dew point for the addition."""
    needs: tuple[str, ...] = ()
    """Settings that a strategy must have for the addition to make sense."""
    replaces: tuple[Role, ...] = ()
    """Roles whose settings only scale the addition's own setpoint once it is added."""
    given: tuple[str, ...] = ()
    """Settings that were changed from their defaults."""
    machines: tuple[str, ...] = ()
    """Fields of `Equipment` without which a study refuses the addition."""

    __doc__ = Documented(__doc__, doc_of)
    __signature__ = Documented(None, signature_of)
    __repr__ = repr_of

    def __call__(self, **changes: Any) -> "Addition":
        """A copy with changed settings, each a number in SI or a text with its unit.

        Raises
        ------
        InputError
            If there is no such setting or its unit is of another kind. Limits are checked when
            the addition is put on a strategy.
        """
        settings = dict(self.settings)
        for name, value in changes.items():
            where = f"addition {self.name}"
            if name not in settings:
                unknown = Problem(f"unknown setpoint {brief(name)}")
                raise InputError(where, unknown, one_of(name, settings))
            settings[name] = read(f"{where}.{name}", value, self.declared[name])
        return attrs.evolve(self, settings=settings, given=(*self.given, *changes))

    @property
    def about(self) -> str:
        """Description of the addition: its function's docstring."""
        return inspect.cleandoc(self.function.__doc__ or f"The addition {self.name}.")

    @property
    def units(self) -> dict[str, str]:
        """SI unit of each setting."""
        return {name: setting.unit for name, setting in self.declared.items()}

    def __radd__(self, strategy: Strategy) -> "Combination":
        """The strategy with this addition on top.

        A setpoint of the same name is the same setpoint, at the strategy's value.

        Raises
        ------
        InputError
            If the strategy has this addition already or lacks a setpoint that it needs. Also if
            both have a setpoint of one name with different units or values, or if the settings
            contradict each other.
        """
        if not isinstance(strategy, Strategy):
            return NotImplemented
        base, before = strategy, tuple[Addition, ...]()
        if isinstance(strategy, Combination):
            base, before = strategy.base, strategy.additions
        name = f"{strategy.name} + {self.name}"
        where = f"strategy {name}"
        if self.name in [addition.name for addition in before]:
            raise InputError(where, Problem(f"{self.name} twice"), f"{self.name} once")
        for need in self.needs:
            if need not in strategy.settings:
                raise InputError(
                    where,
                    Problem(f"no setpoint {need} in {strategy.name}"),
                    f"a strategy with the setpoint {need}, which {self.name} works on",
                )
        settings = {**strategy.settings}
        declared = {**strategy.declared}
        for name_of, setting in self.declared.items():
            settings.setdefault(name_of, self.settings[name_of])
            other = declared.setdefault(name_of, setting)
            declared[name_of] = other.or_of(setting)
            roles = [it.role and it.role.value for it in (setting, other)]
            for word, mine, its in (("unit", setting.unit, other.unit), ("role", *roles)):
                if mine != its and mine is not None and its is not None:
                    raise InputError(
                        f"{where}.{name_of}",
                        Problem(f"{mine} in {self.name} and {its} in {strategy.name}"),
                        f"one {word}, since a setpoint of the same name is the same setpoint",
                    )
        check_roles(where, declared)
        for shared in self.settings.keys() & strategy.settings.keys():
            if shared in self.given and self.settings[shared] != strategy.settings[shared]:
                raise InputError(
                    f"{where}.{shared}",
                    Problem(
                        f"{self.settings[shared]:g} in {self.name} and "
                        f"{strategy.settings[shared]:g} in {strategy.name}"
                    ),
                    "one value, since a setpoint of the same name is the same setpoint",
                )
        parts = (*before, self)
        whole = Combination(
            name, strategy.function, settings, declared, strategy.check,
            base.reads_dew_point or any(part.reads_dew_point for part in parts),
            tuple(dict.fromkeys((*base.machines, *(m for part in parts for m in part.machines)))),
            base=base, additions=parts,
        )  # fmt: skip
        # Calling the combination runs the checks of all parts.
        return whole()

    @property
    def compiled(self) -> Callable[..., Any]:
        """The function as a combination calls it, its setpoints in one array."""
        return pack(self, FORMS[self.changes], ADDITION_MEMORY, f"addition {self.name}")


@attrs.frozen(repr=False)
class Combination(Strategy):
    """A strategy and its additions, each with settings and memory of its own."""

    base: Strategy = attrs.field(kw_only=True)
    additions: tuple[Addition, ...] = attrs.field(kw_only=True)

    __doc__ = Documented(__doc__, doc_of)

    @property
    def about(self) -> str:
        """Description of the strategy and its additions: their functions' docstrings."""
        return "\n\n".join(
            [self.base.about, *(f"{part.name}: {part.about}" for part in self.additions)]
        )

    def __call__(self, **changes: Any) -> "Combination":
        """A copy with changed setpoints; see `Strategy`."""
        changed = super().__call__(**changes)
        assert isinstance(changed, Combination)
        settings = changed.settings
        for addition in self.additions:
            if addition.check is not None:
                addition.check(settings)
        # Each part gets the combination's setpoints, so controls that act alike compare equal.
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
        """Record of the combination in a result: its setpoints, and the rows of a rule table."""
        return {**self.base.description, **self.settings}

    @property
    def memory_size(self) -> int:
        """The strategy's own floats, then four for each addition."""
        return self.base.memory_size + ADDITION_MEMORY * len(self.additions)

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """Setpoints of all parts, one part after the other."""
        return np.concatenate(
            [
                self.base.packed_settings,
                *(np.array([*a.settings.values()], dtype=float) for a in self.additions),
            ]
        )

    def _packed(self) -> Callable[..., CallSet]:
        """Compile additions to the readings, the strategy and additions to the calls, in order."""
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
    *,
    check: Callable[[dict[str, float]], None] | None = ...,
    reads_dew_point: bool = ...,
    needs: tuple[str, ...] = ...,
    replaces: tuple[Role, ...] = ...,
    machines: tuple[str, ...] = ...,
) -> Callable[[Callable[..., Any]], Addition]: ...
def addition(
    function: Callable[..., Any] | None = None,
    *,
    check: Callable[[dict[str, float]], None] | None = None,
    reads_dew_point: bool = True,
    needs: tuple[str, ...] = (),
    replaces: tuple[Role, ...] = (),
    machines: tuple[str, ...] = (),
) -> Any:
    """Make an addition to strategies of a plain function.

    Parameters
    ----------
    function : callable
        Either ``f(readings, memory, *, setpoint=default, ...)``, which returns the `Readings` that
        the strategy sees, or ``f(readings, memory, calls, *, setpoint=default, ...)``, which
        returns changed calls. ``readings._replace(...)`` and ``calls._replace(...)`` make changed
        copies. `memory` is an array of 4 floats for this addition, zero at the start. Additions to
        the calls see the readings that other additions have changed.
    check : callable, optional
        Called with all settings of a combination when they are changed; raises InputError.
    reads_dew_point : bool
        Whether the function reads ``readings.dew_point``; see `strategy`.
    needs : tuple of str
        Settings without which a strategy is refused.
    replaces : tuple of units.Role
        Roles whose settings only scale the addition's own setpoint: `matched` does not move them.
    machines : tuple of str
        Fields of `Equipment` that the addition calls; see `strategy`.

    Returns
    -------
    Addition

    Raises
    ------
    InputError
        If the function is neither of the two kinds.

    Examples
    --------
    >>> import moistsim as ms
    >>> @ms.addition
    ... def fan_at_noon(readings, memory, calls, *, begins: float = 12.0):
    ...     return calls._replace(fan=1.0 if begins <= readings.hour < begins + 1.0 else calls.fan)
    >>> (ms.strategies.temperature_only + fan_at_noon).name
    'temperature_only + fan_at_noon'
    """

    def make(function: Callable[..., Any]) -> Addition:
        if not isinstance(function, types.FunctionType):
            raise InputError("addition", function, "a plain function of (readings, memory, calls)")
        name = function.__name__.strip("<>")
        where = f"addition {name}"
        parameters = [*inspect.signature(function).parameters.values()]
        leading = [p.name for p in parameters if p.kind is p.POSITIONAL_OR_KEYWORD]
        changes = next((k for k, form in FORMS.items() if form.leading == ", ".join(leading)), None)
        if changes is None:
            raise InputError(
                where,
                str(inspect.signature(function)),
                "a function of (readings, memory, *, setpoints with defaults) or of "
                "(readings, memory, calls, *, setpoints with defaults)",
            )
        settings, declared = declared_by(function, where, len(leading))
        return Addition(
            name, function, changes, settings, declared, check, reads_dew_point, needs, replaces,
            machines=machines,
        )  # fmt: skip

    return make if function is None else make(function)
