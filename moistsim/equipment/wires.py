"""Wiring between the control and the machines: relays, and a hard-wired enable."""

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, quantity

CUTS = ("strips", "hot gas", "second stage", "cooling", "dehumidifier")
"""Machines that a hard-wired enable may cut; strips as reheat, not as auxiliary heat."""


@description
class Relays(Evolving):
    """Relays through which the control calls the machines.

    The control sends a message when a call changes, and repeats it every `repeat_every`. A relay
    stays in its state until the next message. With `release_after`, a relay drops out if no message
    arrives for that time.

    Examples
    --------
    >>> relays = Relays(repeat_every="2 min", release_after="10 min")
    >>> relays.release_after
    600.0
    """

    repeat_every: float = quantity(
        "s",
        "time between repeated messages; 0 for messages on changes only",
        default="5 min",
        at_least=0.0,
        at_most=86400.0,
        usual=(5.0, 86400.0),
        meant=("{} min",),
    )
    release_after: float | None = quantity(
        "s", "time without a message after which relays drop out; default: never", default=None,
        above=0.0, optional=True, at_most=86400.0, usual=(5.0, 86400.0), meant=("{} min",),
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if self.release_after is None:
            return
        if self.repeat_every == 0.0 or self.release_after <= self.repeat_every:
            raise InputError(
                f"{type(self).__name__}.release_after",
                Problem(
                    f"{self.release_after:g} s is too short for repeat_every {self.repeat_every:g} s"
                ),
                "a time longer than repeat_every, and repeat_every above 0",
            )


def _cuts(values: object, instance: object) -> tuple[str, ...]:
    where = f"{type(instance).__name__}.cuts"
    accepted = "a list of " + ", ".join(repr(word) for word in CUTS) + ", each once"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, accepted)
    words = tuple(values)
    if not words or any(word not in CUTS for word in words) or len(set(words)) != len(words):
        raise InputError(where, values, accepted)
    return words


@description
class Enable(Evolving):
    """A separate humidistat whose contact is wired in series with a group of relays.

    The contact works without messages, so no control and no stuck relay can bypass it. It senses the
    room with the lag of the house's sensor, without that sensor's errors. Its thresholds lie below
    those of the control, so it acts only after a failure. The defaults suit a control that dries
    from about 54 to 50 % RH.

    Safety: such a contact carries the low-voltage coils of relays, never line voltage. Local codes
    and licensed trades come first.

    Examples
    --------
    >>> enable = Enable(on_above=53, off_below=48, cuts=["strips"])
    >>> enable.cuts
    ('strips',)
    """

    on_above: float = quantity(
        "percent",
        "RH above which the enable contact closes",
        default=52.0,
        at_least=5.0,
        at_most=95.0,
    )
    off_below: float = quantity(
        "percent",
        "RH below which the enable contact opens",
        default=47.0,
        at_least=5.0,
        at_most=95.0,
    )
    cuts: tuple[str, ...] = attrs.field(
        default=("strips", "hot gas"),
        converter=attrs.Converter(_cuts, takes_self=True),
        metadata={
            "help": "machines that cannot run while the enable contact is open",
            "words": CUTS,
        },
    )

    def __attrs_post_init__(self) -> None:
        if self.off_below >= self.on_above:
            raise InputError(
                f"{type(self).__name__}.off_below",
                Problem(f"{self.off_below:g} % is not below on_above"),
                f"a value below {self.on_above:g} %",
            )
