"""Between the control and the machines: relays that are told by messages, and a hard-wired enable."""

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import description, quantity

CUTS = ("strips", "hot gas", "second stage", "cooling", "dehumidifier")
"""What a hard-wired enable may cut; strips as reheat, not as heat."""


@description
class Relays:
    """The relays that a control calls the machines with.

    The control sends a message when a call changes, and repeats it every `repeat_every`. A relay
    stays as it was last told. One with a `release_after` of its own drops out when no message has
    come for so long.
    """

    repeat_every: float = quantity(
        "s", "time between repeated messages; 0 sends changes only", default="5 min", at_least=0.0
    )
    release_after: float | None = quantity(
        "s", "time without a message after which relays drop out; None for never", default=None,
        above=0.0, optional=True,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if self.release_after is None:
            return
        if self.repeat_every == 0.0 or self.release_after <= self.repeat_every:
            raise InputError(
                f"{type(self).__name__}.release_after",
                f"{self.release_after:g} s with repeat_every {self.repeat_every:g} s",
                "a time longer than repeat_every, and that not 0: a steady call would drop out",
            )


def _cuts(values: object, instance: object) -> tuple[str, ...]:
    where = f"{type(instance).__name__}.cuts"
    accepted = "a list of " + ", ".join(repr(word) for word in CUTS) + ", each once"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, accepted)
    words = tuple(values)
    if not words or len(set(words)) != len(words) or any(word not in CUTS for word in words):
        raise InputError(where, values, accepted)
    return words


@description
class Enable:
    """A humidistat of its own whose contact stands in series with a group of relays.

    It is wired, not told: no message, no control and no stuck relay gets round it. It hears the
    room with the lag of the house's sensor and none of that sensor's errors. Its contact closes below
    the control's own band and opens below it, so that it acts only when something has failed: the
    defaults suit a control that dries from some 55 to 50 % RH. Cautions: such a
    contact carries the low-voltage coils of relays, never mains; local codes and licensed trades
    come first.
    """

    on_above: float = quantity(
        "percent", "RH above which the contact closes", default=52.0, at_least=5.0, at_most=95.0
    )
    off_below: float = quantity(
        "percent", "RH below which it opens", default=47.0, at_least=5.0, at_most=95.0
    )
    cuts: tuple[str, ...] = attrs.field(
        default=("strips", "hot gas"),
        converter=attrs.Converter(_cuts, takes_self=True),
        metadata={"help": "what is cut while the contact is open", "words": CUTS},
    )

    def __attrs_post_init__(self) -> None:
        if self.off_below >= self.on_above:
            raise InputError(
                f"{type(self).__name__}.off_below",
                f"{self.off_below:g} % with on_above {self.on_above:g} %",
                f"a value below {self.on_above:g} %",
            )
