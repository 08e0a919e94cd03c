"""A cure: one change of an option's settings or house, in words, with its price and its cautions."""

from collections.abc import Callable
from typing import Any, cast

import attrs

from moistsim.controls import Strategy
from moistsim.core.display import Show
from moistsim.equipment import Cooling, Equipment
from moistsim.house import House
from moistsim.study import Option


def free(house: House) -> float:
    """First cost of a setting, USD: none."""
    return 0.0


@attrs.frozen(eq=False)
class Cure:
    """One thing to do to a house before a machine is bought.

    Examples
    --------
    >>> import moistsim as ms
    >>> from moistsim.cures.settings import FAN_AUTO
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="2 ton")], fan="on")
    >>> here = (ms.strategies.temperature_only, ms.House(floor_area="1500 ft2"))
    >>> FAN_AUTO.change(ms.Equipment(cooling=unit), *here).equipment.cooling.fan
    'auto'
    >>> FAN_AUTO.change(ms.Equipment(cooling=unit.evolve(fan="auto")), *here) is None
    True
    """

    name: str
    change: Callable[[Equipment, Strategy, House], Option | None]
    """The option with the cure, or None where the cure does not apply or is done already."""
    say: Callable[[Option, Option, Show], str]
    """What to do, one sentence, from the option without and with the cure."""
    cautions: tuple[str, ...] = ()
    price: Callable[[House], float] = free
    """First cost, USD: a stand-in of our own (common practice, no source)."""
    price_key: str = ""
    """Field of `CurePrices` with a first cost of the user's; empty for a setting."""
    life: float = 20.0
    """Years until the work must be done again (common practice, no source)."""


def coolings(machines: Equipment) -> tuple[Cooling, ...]:
    """Air conditioners of a house: that of a second system too."""
    return tuple(x.cooling for x in machines.systems if x.cooling is not None)


def with_cooling(machines: Equipment, **changes: Any) -> Equipment:
    """Machines whose air conditioners, that of a second system too, have other values."""
    changed: dict[str, Any] = {}
    if machines.cooling is not None:
        changed["cooling"] = attrs.evolve(cast(Any, machines.cooling), **changes)
    second = machines.second_system
    if second is not None and second.cooling is not None:
        unit = attrs.evolve(cast(Any, second.cooling), **changes)
        changed["second_system"] = attrs.evolve(cast(Any, second), cooling=unit)
    whole: Equipment = attrs.evolve(cast(Any, machines), **changed)
    return whole


def with_part(house: House, part: str, **changes: Any) -> House:
    """A house with other values in one of its parts."""
    changed: House = attrs.evolve(
        cast(Any, house), **{part: attrs.evolve(getattr(house, part), **changes)}
    )
    return changed
