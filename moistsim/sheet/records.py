"""What the sheet says, row by row: what a page only lays out."""

import attrs

NOTHING = "–"
COLUMN_NAMES = {
    "cooling": "Cooling",
    "hot_gas": "Hot gas",
    "reheat": "Strips as reheat",
    "heating": "Heating",
    "backup": "Strips as heat",
    "dehumidifier": "Dehumidifier",
    "blower": "Blower",
    "ventilation": "Ventilation",
}


@attrs.frozen
class Cell:
    """A value to be read off an instrument, with its pass band and a box to write in."""

    value: str
    band: str = ""


@attrs.frozen
class Reading:
    """A thing that is made to run, and its cells in the order of the table's columns."""

    name: str
    detail: str = ""
    """Airflow, and outdoors where they are not those entered."""
    cells: tuple[Cell, ...] = ()
    refused: str = ""
    """Why it would not run today; then it has no cells."""


@attrs.frozen
class SetpointRow:
    """A setpoint in words."""

    name: str
    on: str
    off: str
    where: str


@attrs.frozen
class StateRow:
    """A situation in words, and what it leads to, call by call."""

    name: str
    room: str
    outdoors: str
    cells: tuple[str, ...]
    note: str = ""


@attrs.frozen
class WinterRow:
    """A figure of the coldest week, with this control, with the plain thermostat, and between."""

    name: str
    option: str
    thermostat: str
    difference: str


@attrs.frozen
class Sheet:
    """All that the page holds, in the words and units in which it is read."""

    option: str
    scenario: str
    note: str
    purpose: tuple[str, str]
    facts: tuple[tuple[str, str], ...]
    version: str
    setpoints: tuple[SetpointRow, ...]
    setpoint_notes: tuple[str, ...]
    state_columns: tuple[str, ...]
    states: tuple[StateRow, ...]
    never: str
    """Machines that no situation calls: they have no column."""
    picture: str
    """SVG."""
    picture_title: str
    picture_text: str
    """What it shows, for who cannot see it."""
    times: tuple[tuple[str, str], ...]
    today: str
    gauges: tuple[str, ...]
    """Columns of `readings`."""
    readings: tuple[Reading, ...]
    drying: Reading | None
    """The dehumidifier: condensate, watts, amps."""
    dehumidifier_volts: str
    reading_notes: tuple[str, ...]
    winter: tuple[WinterRow, ...]
    winter_text: str
    winter_steps: tuple[str, ...]
    amps_together: str
    cautions: tuple[str, ...]
