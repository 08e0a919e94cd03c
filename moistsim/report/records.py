"""What stands on the page, before it is laid out."""

from collections.abc import Mapping
from typing import NamedTuple

import attrs

from moistsim.study import Units


class Row(NamedTuple):
    """A measure, and its value for each option."""

    label: str
    cells: tuple[str, ...]


class Table(NamedTuple):
    """Options as columns; on a phone, each row becomes a block."""

    corner: str
    """What the rows are."""
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


class Picture(NamedTuple):
    """A picture that holds itself."""

    source: str
    """A data address."""
    alternative: str
    """What it shows, for who cannot see it."""
    caption: str


class Value(NamedTuple):
    """A value that went in."""

    key: str
    """As a scenario's file has it, within the table of its option."""
    text: str
    help: str
    group: str = ""
    """Its option; empty for what all share."""


class Sure(NamedTuple):
    """How sure the answer is, where ranges were given."""

    sentences: tuple[str, ...]
    budget: Table | None = None
    """What each source of error may move, in kWh and in money."""
    picture: Picture | None = None


@attrs.frozen(kw_only=True)
class Years:
    """What the options cost over the years."""

    title: str
    picture: Picture
    table: Table
    sentences: tuple[str, ...]
    bridge_title: str = ""
    bridge: Table | None = None
    """For who cannot pay at once: by the seasons for which the cheaper machine is run first."""
    bridge_text: str = ""
    notes: tuple[str, ...]


@attrs.frozen(kw_only=True)
class Report:
    """A page about one study."""

    title: str
    note: str
    units: Units
    facts: tuple[tuple[str, str], ...]
    """House, weather, season and price, each a name and a text."""
    answer: tuple[str, str, str]
    humidity: Picture
    months: Picture
    months_table: Table
    as_set: Table
    as_matched: Table | None
    """None where there is but one option."""
    matched_text: str
    cannot: tuple[str, ...]
    """By option that does not hold the common humidity, why, a sentence."""
    years: Years | None
    """None where no purchases are described."""
    risks: Table
    sure: Sure | None
    measured: tuple[Value, ...]
    stated: tuple[Value, ...]
    assumed: tuple[Value, ...]
    cautions: tuple[str, ...]
    deeper: tuple[tuple[str, str], ...]
    """Files beside the page, each with what it holds."""
    made_by: Mapping[str, str]
    """Versions and checksums."""
