"""Faults of controls and machines, each with a start date and, where it is random, a seed."""

from typing import Any, ClassVar

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.fields import choice, description, quantity

LINKS = ("readings", "calls")
RELAYS = ("compressor", "second stage", "strips", "heat", "dehumidifier", "blower")
"""Relays that may stick; strips as reheat."""


def _start() -> Any:
    """Make the field with the start of a fault."""
    return attrs.field(
        default=None,
        metadata={"help": "first minute, 'MM-DD' or 'MM-DD HH:MM', local standard time; None "
                  "for the start of the season"},
    )  # fmt: skip


def _lasts() -> Any:
    """Make the field with the duration of a fault, s."""
    return quantity(
        "s", "duration; None for the rest of the season", default=None, above=0.0,
        optional=True,
    )  # fmt: skip


@description
class LostMessages(Evolving):
    """Each message is lost with a probability, by one random draw a minute.

    Without a reading the control keeps the last one. Without a call the relays keep their last
    position.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.LostMessages(probability="20 %", link="calls").probability
    0.2
    """

    words: ClassVar[str] = "messages lost"
    probability: float = quantity(
        "fraction", "share of messages that is lost", at_least=0.0, at_most=1.0
    )
    link: str = choice(
        "link: readings of the sensor, or calls to the relays", *LINKS, default="readings"
    )
    seed: float = quantity(
        "count", "seed of the random draws", default=1.0, at_least=0.0, at_most=2.0**53
    )
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class LateMessages(Evolving):
    """Every message arrives late.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.LateMessages(by="15 min").by
    900.0
    """

    words: ClassVar[str] = "messages late"
    by: float = quantity("s", "delay", above=0.0, at_most=86400.0)
    link: str = choice(
        "link: readings of the sensor, or calls to the relays", *LINKS, default="readings"
    )
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class LostLink(Evolving):
    """No message arrives.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.LostLink(link="readings", start="07-01", lasts="2 day").lasts
    172800.0
    """

    words: ClassVar[str] = "link lost"
    link: str = choice(
        "link: readings of the sensor, or calls to the relays", *LINKS, default="calls"
    )
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class StuckRelay(Evolving):
    """A control relay is stuck on or off. A second stage stuck on runs only with the first stage.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.StuckRelay(relay="compressor").position
    'on'
    """

    words: ClassVar[str] = "relay stuck"
    relay: str = choice("relay", *RELAYS)
    position: str = choice("position", "on", "off", default="on")
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class WeldedStrips(Evolving):
    """A welded strip contactor: all strips are on, without a call, an enable or airflow.

    Only the limit switch of the strips acts. Caution: a welded contactor is a fire hazard. It is
    work for licensed trades only.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.WeldedStrips(start="06-15").start
    '06-15'
    """

    words: ClassVar[str] = "strip contactor welded"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FailedBlower(Evolving):
    """The indoor blower does not run, whatever its relay calls.

    The coil's protection stops the compressor. Heat pump and furnace stop too. Strips that take the
    blower relay as airflow proof turn on in still air: only their limit switch acts.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.FailedBlower(start="06-15", lasts="1 day").lasts
    86400.0
    """

    words: ClassVar[str] = "blower failed"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FrozenSensor(Evolving):
    """The room's sensor repeats its last measurement.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.FrozenSensor(start="06-15 14:00").words
    'sensor frozen'
    """

    words: ClassVar[str] = "sensor frozen"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class PowerCut(Evolving):
    """Machines and controls lose power, and the controls restart after it.

    Machines and controls draw nothing. The household's gains continue unchanged.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.PowerCut(start="06-15 14:00", lasts="6 hour").wakes
    'with nothing'
    """

    words: ClassVar[str] = "power cut"
    wakes: str = choice(
        "whether the control restarts with its memory or without", "as it was", "with nothing",
        default="with nothing",
    )  # fmt: skip
    relays: str = choice(
        "position of the relays until the control calls again", "open",
        "as they were", default="open",
    )  # fmt: skip
    controls_after: float = quantity(
        "s", "time that the control needs to restart once power is back", default=0.0,
        at_least=0.0, at_most=864000.0, usual=(10.0, 864000.0), meant=("{} min", "{} h"),
    )  # fmt: skip
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class StoppedDehumidifier(Evolving):
    """The dehumidifier does not run, whatever is called.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.StoppedDehumidifier(start="07-04").start
    '07-04'
    """

    words: ClassVar[str] = "dehumidifier stopped"
    start: str | None = _start()
    lasts: float | None = _lasts()


@description
class FouledCoil(Evolving):
    """Dirt on coil and filter: the blower moves less air at unchanged power.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.faults.FouledCoil(airflow=0.7).airflow
    0.7
    """

    words: ClassVar[str] = "coil fouled"
    airflow: float = quantity(
        "fraction",
        "airflow as a fraction of that of the clean coil",
        default=0.7,
        at_least=0.3,
        below=1.0,
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
    """A set of usual faults to try a control with, each by a name in words.

    Parameters
    ----------
    start, lasts : str
        Start of the faults that come at one moment, and time until somebody repairs them.

    Examples
    --------
    >>> import moistsim as ms
    >>> list(ms.faults.usual())[:2]
    ['a fifth of readings lost', 'a fifth of calls lost']
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
