"""The content of the sheet, row by row, before the page lays it out."""

import attrs

COLUMN_NAMES = {
    "cooling": "Cooling",
    "hot_gas": "Hot-gas reheat",
    "reheat": "Electric reheat",
    "heating": "Heating",
    "backup": "Auxiliary heat",
    "dehumidifier": "Dehumidifier",
    "blower": "Blower",
    "ventilation": "Ventilation",
}


@attrs.frozen
class Cell:
    """A reading to expect, with its pass band and a box to write in."""

    value: str
    band: str = ""


@attrs.frozen
class Reading:
    """One mode of operation, and its cells in the order of the table's columns."""

    name: str
    detail: str = ""
    """Airflow, and the outdoor temperature if it is not the one entered."""
    cells: tuple[Cell, ...] = ()
    refused: str = ""
    """Reason why the mode would not run today. A mode with a reason has no cells."""


@attrs.frozen
class Installed:
    """A machine of the option and its size, with fields for model and serial number."""

    name: str
    size: str


@attrs.frozen
class Check:
    """Something to test or measure, with the names of its boxes to write in."""

    name: str
    text: str
    boxes: tuple[str, ...]


@attrs.frozen
class SetpointRow:
    """A setpoint in words."""

    name: str
    on: str
    off: str
    where: str
    warning: str = ""


@attrs.frozen
class StateRow:
    """A situation in words, and the state of each machine in it."""

    name: str
    room: str
    outdoors: str
    cells: tuple[str, ...]
    note: str = ""


@attrs.frozen
class WinterRow:
    """A number of the coldest week with this control and with a plain thermostat, and the difference."""

    name: str
    option: str
    thermostat: str
    difference: str


@attrs.frozen
class Sheet:
    """The whole content of the page, in the reader's words and units."""

    option: str
    scenario: str
    note: str
    purpose: tuple[str, str]
    facts: tuple[tuple[str, str], ...]
    version: str
    settings: tuple[tuple[str, str], ...]
    """Settings to enter at the control and at the machines, by name."""
    settings_note: str
    """Where the settings come from: the file, or the owner's goal."""
    setpoints: tuple[SetpointRow, ...]
    setpoint_notes: tuple[str, ...]
    doubts: tuple[str, ...]
    """Findings of the review of a rule table."""
    state_columns: tuple[str, ...]
    states: tuple[StateRow, ...]
    never: str
    """Names of machines that no situation calls, which have no column."""
    picture: str
    """The picture of one day, as SVG."""
    picture_title: str
    picture_text: str
    """The picture in words, for readers who cannot see it."""
    times: tuple[tuple[str, str], ...]
    today: str
    entered: tuple[tuple[str, str], ...]
    """Air of the expected readings, each with a box for the air that was measured."""
    installed: tuple[Installed, ...]
    checks: tuple[Check, ...]
    gauges: tuple[str, ...]
    """Columns of `readings`."""
    readings: tuple[Reading, ...]
    reading_notes: tuple[str, ...]
    winter: tuple[WinterRow, ...]
    winter_text: str
    winter_steps: tuple[str, ...]
    amps_together: str
    cautions: tuple[str, ...]
    paper: str
    """Size of paper for which the sheet is laid out, as CSS names it."""
