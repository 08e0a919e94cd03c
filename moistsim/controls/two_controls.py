"""The controls of two systems as one strategy: each has a function and settings of its own."""

from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import CallSet, Strategy
from moistsim.controls.settings import Documented, doc_of
from moistsim.core.errors import InputError, Problem, brief, one_of

SECOND = "second_"
"""Beginning of the names of the second control's settings."""


@attrs.frozen(repr=False)
class TwoControls(Strategy):
    """The controls of two systems; `Strategy.with_second` makes one."""

    main: Strategy = attrs.field(kw_only=True)
    second: Strategy = attrs.field(kw_only=True)

    __doc__ = Documented(__doc__, doc_of)

    def __repr__(self) -> str:
        return f"{self.main!r}.with_second({self.second!r})"

    def __call__(self, **changes: Any) -> "TwoControls":
        """A copy with changed settings; see `Strategy`."""
        for name in changes:
            if name not in self.settings:
                unknown = Problem(f"unknown setpoint {brief(name)}")
                raise InputError(f"strategy {self.name}", unknown, one_of(name, self.settings))
        of_second = {
            name.removeprefix(SECOND): value
            for name, value in changes.items()
            if name not in self.main.settings
        }
        of_main = {name: value for name, value in changes.items() if name in self.main.settings}
        return two_controls(self.main(**of_main), self.second(**of_second))

    def __add__(self, addition: Any) -> Any:
        raise InputError(
            f"strategy {self.name}",
            Problem("an addition on top of two controls"),
            "the addition on one of them or on each, before with_second",
        )

    @property
    def about(self) -> str:
        """Description of both controls."""
        return f"{self.main.about}\n\nSecond system, {self.second.name}: {self.second.about}"

    @property
    def base(self) -> Strategy:
        """The first system's strategy without its additions."""
        return self.main.base

    @property
    def additions(self) -> tuple[Any, ...]:
        """Additions on top of the first system's strategy."""
        return self.main.additions

    @property
    def description(self) -> dict[str, Any]:
        """Record of both controls in a result."""
        second = self.second.description
        return {
            **self.main.description,
            **{f"{SECOND}{key}": value for key, value in second.items()},
        }

    @property
    def memory_size(self) -> int:
        """Number of floats of memory that a run keeps for the first system's control."""
        return self.main.memory_size

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """Settings of the first system's control."""
        return self.main.packed_settings

    @property
    def compiled(self) -> Callable[..., CallSet]:
        """Function of the first system's control."""
        return self.main.compiled


def two_controls(main: Strategy, second: Strategy) -> TwoControls:
    """The controls of two systems as one strategy.

    Raises
    ------
    InputError
        If one of the two is no strategy or has a second control already.
    """
    for each in (main, second):
        if not isinstance(each, Strategy):
            raise InputError("with_second", each, "a strategy, made by @ms.strategy")
        if isinstance(each, TwoControls):
            raise InputError(
                "with_second",
                Problem(f"{each.name} has a second control already"),
                "two strategies of one system each",
            )
    return TwoControls(
        f"{main.name} / {second.name}",
        main.function,
        {**main.settings, **{f"{SECOND}{key}": value for key, value in second.settings.items()}},
        {**main.declared, **{f"{SECOND}{key}": value for key, value in second.declared.items()}},
        None,
        main.reads_dew_point,
        main=main,
        second=second,
    )
