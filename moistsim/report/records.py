"""The content of the page, before it is laid out."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import attrs

from moistsim.core.display import Units


class Answer(NamedTuple):
    """The answer to a study, one or more sentences for each question."""

    do: str
    costs: str
    sure: str

    @property
    def lines(self) -> Iterator[tuple[str, str]]:
        """Each line with its label."""
        return zip(("What to do", "What it costs", "How sure"), self, strict=True)


class Row(NamedTuple):
    """A measure, and its value for each option."""

    label: str
    cells: tuple[str, ...]


class Table(NamedTuple):
    """A table with options as columns. On a phone, each row becomes a block."""

    corner: str
    """Title of the rows."""
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    caption: str
    zeros: tuple[str, ...] = ()
    """Labels of rows that are not shown, because they are zero in every column."""


class Picture(NamedTuple):
    """A picture with its data, its text and its caption."""

    source: str
    """Data address of the picture."""
    narrow: str
    """Data address of the same picture for a phone."""
    alternative: str
    """The picture in words, for readers who cannot see it."""
    caption: str


class Value(NamedTuple):
    """One input of a study, in words."""

    key: str
    """Name of the input in a scenario file, within the table of its option."""
    text: str
    help: str
    group: str = ""
    """Option of the input; empty for inputs that all options share."""


class Sure(NamedTuple):
    """Certainty of the answer: sentences, an error budget and a picture."""

    sentences: tuple[str, ...]
    budget: Table | None = None
    """Error by source, in kWh and in money."""
    picture: Picture | None = None


class AcrossYears(NamedTuple):
    """The advice in other weather years: sentences, a table by option, a note and a picture."""

    sentences: tuple[str, ...]
    table: Table
    note: str
    picture: Picture


class Space(NamedTuple):
    """A space next to the house, such as a crawl space."""

    title: str
    sentences: tuple[str, ...]
    picture: Picture | None
    """Moisture content of its wood; None without wood."""
    table: Table


@attrs.frozen(kw_only=True)
class Years:
    """Cost of the options over the years."""

    title: str
    picture: Picture
    table: Table
    sentences: tuple[str, ...]
    bridge_title: str = ""
    bridge: Table | None = None
    """Cost by the season in which the more expensive option is bought."""
    bridge_text: str = ""
    notes: tuple[str, ...]


@attrs.frozen(kw_only=True)
class Report:
    """The content of a page about one study."""

    title: str
    note: str
    units: Units
    facts: tuple[tuple[str, str], ...]
    """House, weather, season and price, each a name and a text."""
    answer: Answer
    reasons: tuple[str, str, str]
    """Present humidity, best option and payback, in sentences."""
    changes: tuple[tuple[str, tuple[str, ...]], ...]
    """What each option changes in the house: its name, and a line for each part of the house."""
    advised: Picture | None
    """Humidity as it is and as advised; None where nothing changes."""
    humidity: Picture
    months: Picture
    months_table: Table
    as_set: Table
    cures: Table | None
    """Free and low-cost cures; None where none applies."""
    cures_notes: tuple[str, ...]
    """Cautions for the cures that are advised, and what their prices are."""
    at_goal: Table
    """Options at the owner's goal."""
    goal_text: tuple[str, ...]
    """How the options were brought there, in paragraphs."""
    proposed: tuple[str, ...]
    """The proposed machines, and why they have their sizes."""
    three_ways: Table | None
    """Cost as set, at the goal and at one dew point; None for a single option."""
    three_ways_text: str
    cannot: tuple[str, ...]
    """For each option that misses the goal, the reason as a sentence."""
    helps: tuple[str, ...]
    """For each option that misses the goal but helps for less money, what it achieves."""
    years: Years | None
    """Cost of the options over the years; None without described purchases."""
    across_years: AcrossYears | None
    """The advice in other weather years; None for a scenario without them."""
    risks: Table
    spaces: tuple[Space, ...]
    """The spaces next to the houses; empty for houses without."""
    leakage_text: tuple[str, ...]
    """Blower-door result and natural infiltration, in sentences."""
    leakage: Table
    """Natural infiltration by month, for each house among the options."""
    sure: Sure | None
    measured: tuple[Value, ...]
    stated: tuple[Value, ...]
    assumed: tuple[Value, ...]
    cautions: tuple[str, ...]
    deeper: tuple[tuple[str, str], ...]
    """Files next to the page, each with its name and content."""
    made_by: Mapping[str, str]
    """Versions and checksums that make the page reproducible, by name."""
