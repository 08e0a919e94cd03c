"""What may fail in controls and machines: each fault seeded and dated."""

from typing import Any, ClassVar

import attrs

from moistsim.core.fields import choice, description, quantity

LINKS = ("readings", "calls")
RELAYS = ("compressor", "second stage", "strips", "heat", "dehumidifier", "blower")
"""Relays that may stick; strips as reheat."""


def _start() -> Any:
    """A field: when a fault begins."""
    return attrs.field(
        default=None,
        metadata={"help": "its first minute, 'MM-DD' or 'MM-DD HH:MM', local standard time; None "
                  "for the season's own"},
    )  # fmt: skip


def _lasts() -> Any:
    """A field: for how long a fault stays."""
    return quantity(
        "s", "how long it lasts; None for the rest of the season", default=None, above=0.0,
        optional=True,
    )  # fmt: skip


@description
class LostMessages:
    """Each message is lost with a probability, by a draw a minute of its own.

    On the link of the readings the control keeps what it last heard; on that of the calls the
    relays keep what they were last told.
    """

    words: ClassVar[str] = "messages lost"
    probability: float = quantity("fraction", "share that is lost", at_least=0.0, at_most=1.0)
    link: str = choice("which messages", *LINKS, default="readings")
    seed: float = quantity("count", "of the draws", default=1.0, at_least=0.0)
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class LateMessages:
    """Every message arrives late."""

    words: ClassVar[str] = "messages late"
    by: float = quantity("s", "how late", above=0.0, at_most=86400.0)
    link: str = choice("which messages", *LINKS, default="readings")
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class LostLink:
    """No message arrives at all."""

    words: ClassVar[str] = "link lost"
    link: str = choice("which messages", *LINKS, default="calls")
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class StuckRelay:
    """A control relay stuck on or off. A second stage that is stuck on runs with the first only."""

    words: ClassVar[str] = "relay stuck"
    relay: str = choice("which", *RELAYS)
    position: str = choice("how", "on", "off", default="on")
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class WeldedStrips:
    """A welded contactor: all strips are on, with or without a call, an enable and air.

    Only their limit switch acts. Caution: a real one is a fire hazard; licensed trades only.
    """

    words: ClassVar[str] = "strip contactor welded"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FailedBlower:
    """The indoor blower stands still, whatever its relay says.

    The coil's own protection holds the compressor, as does that of a heat pump and of a furnace.
    Strips whose proof of air is the blower's relay come on in still air: only their limit switch
    acts.
    """

    words: ClassVar[str] = "blower failed"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FrozenSensor:
    """The room's sensor reports on, always what it last measured."""

    words: ClassVar[str] = "sensor frozen"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class PowerCut:
    """Machines and controls are without power; then the controls wake up.

    Machines and the controls' own draw stop; the household's gains go on as they are.
    """

    words: ClassVar[str] = "power cut"
    wakes: str = choice(
        "whether the control wakes up with its memory or with none", "as it was", "with nothing",
        default="with nothing",
    )  # fmt: skip
    relays: str = choice(
        "whether relays are then open, or as they were, until the control speaks", "open",
        "as they were", default="open",
    )  # fmt: skip
    controls_after: float = quantity(
        "s", "time that the control needs to wake up, once there is power", default=0.0,
        at_least=0.0, at_most=864000.0,
    )  # fmt: skip
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class StoppedDehumidifier:
    """The dehumidifier does not run, whatever it is called to."""

    words: ClassVar[str] = "dehumidifier stopped"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FouledCoil:
    """Dirt on coil and filter: the blower moves less air, at the power that it always drew."""

    words: ClassVar[str] = "coil fouled"
    airflow: float = quantity(
        "fraction", "airflow, of the clean one", default=0.7, at_least=0.3, below=1.0
    )
    start: str | None = _start()
    lasts: float | None = _lasts()


Fault = (
    LostMessages | LateMessages | LostLink | StuckRelay | WeldedStrips | FailedBlower
    | FrozenSensor | PowerCut | StoppedDehumidifier | FouledCoil
)  # fmt: skip
KINDS: tuple[type, ...] = (
    LostMessages, LateMessages, LostLink, StuckRelay, WeldedStrips, FailedBlower, FrozenSensor,
    PowerCut, StoppedDehumidifier, FouledCoil,
)  # fmt: skip


def usual(start: str = "06-15", lasts: str = "14 day") -> dict[str, Fault]:
    """A set of faults to try a control with, each by a name in words.

    Parameters
    ----------
    start, lasts : str
        When those begin that come at a moment, and how long they stay until somebody mends them.
    """
    at: dict[str, Any] = {"start": start, "lasts": lasts}
    return {
        "a fifth of readings lost": LostMessages(probability=0.2),
        "a fifth of calls lost": LostMessages(probability=0.2, link="calls"),
        "readings 15 min late": LateMessages(by=900.0),
        "calls 15 min late": LateMessages(by=900.0, link="calls"),
        "link of readings lost": LostLink(link="readings", **at),
        "link of calls lost": LostLink(link="calls", **at),
        "compressor relay stuck on": StuckRelay(relay="compressor", **at),
        "compressor relay stuck off": StuckRelay(relay="compressor", position="off", **at),
        "strip relay stuck on": StuckRelay(relay="strips", **at),
        "strip relay stuck off": StuckRelay(relay="strips", position="off", **at),
        "dehumidifier relay stuck on": StuckRelay(relay="dehumidifier", **at),
        "strip contactor welded": WeldedStrips(**at),
        "blower failed": FailedBlower(**at),
        "sensor frozen": FrozenSensor(**at),
        "power cut of 6 h": PowerCut(start=f"{start} 14:00", lasts=6.0 * 3600.0),
        "dehumidifier stopped": StoppedDehumidifier(**at),
        "coil fouled": FouledCoil(start=start),
    }
