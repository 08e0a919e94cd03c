"""Rows of a rule table, and how each is written as a sentence."""

import calendar
from collections.abc import Callable, Mapping
from typing import Any

import attrs

from moistsim.controls.parts import CoolingPoint, HeatingPoint
from moistsim.controls.rules.interpreter import (
    COOLING_SETPOINT,
    HEATING_SETPOINT,
    IN_MINUTES,
    Output,
)
from moistsim.controls.settings import Setting
from moistsim.core.errors import InputError

READING_UNITS = {
    "temperature": "degC",
    "relative_humidity": "percent",
    "dew_point": "degC",
    "outdoor_temperature": "degC",
    "outdoor_relative_humidity": "percent",
    "outdoor_dew_point": "degC",
    "airflow": "fraction",
    **dict.fromkeys(IN_MINUTES, "s"),
}
"""SI units of the readings; readings without an entry are counts."""
USUAL = {"temperature": (-5.0, 45.0), "dew_point": (-40.0, 35.0), "relative_humidity": (1.0, 100.0),
         "outdoor_relative_humidity": (1.0, 100.0), "outdoor_dew_point": (-60.0, 35.0)}  # fmt: skip
"""Range of a reading in its unit, if narrower than `Kind.usual`: a bare threshold beyond it, such as a
humidity of 0.55, was probably meant in another unit."""
SETPOINTS = {
    "cooling_setpoint": (COOLING_SETPOINT, "cooling setpoint"),
    "heating_setpoint": (HEATING_SETPOINT, "heating setpoint"),
}
"""Setpoints that a reading may be compared with: place in the memory, and words."""
DECLARED = {
    "cooling_setpoint": Setting.of(CoolingPoint, "rule_table"),
    "heating_setpoint": Setting.of(HeatingPoint, "rule_table"),
}
"""Declarations of the thermostat's setpoints in a table: unit, role, limits and meaning."""

OFFSETS = {"degC": "delta_degC"}
MONTHS = tuple(calendar.month_name)[1:]

SHARES = {
    Output.BLOWER_SPEED: (False, 1.0, "blower at {}"),
    Output.SLOW_DOWN: (False, 0.5, "slow the blower by {}"),
    Output.VENTILATION: (True, 3.0, "ventilation at {}"),
    Output.HOT_GAS: (False, 1.0, "hot gas at {}"),
}
"""Outputs that are called by a share: whether 0 % is allowed, the maximum, and their words."""


def _written(value: float, unit: str) -> str:
    return f"{value!r}" if unit in ("count", "fraction") else f"{value!r} {unit}"


@attrs.frozen
class Condition:
    """A comparison of a reading with a quantity or another reading; the threshold is a setting."""

    left: str
    """Reading on the left, a field of `Readings`."""
    right: str
    """Reading or setpoint on the right, to which the threshold is added; '' for none."""
    above: bool
    or_equal: bool
    key: str
    """Key of the threshold in the settings."""

    @property
    def unit(self) -> str:
        """Unit of the threshold."""
        unit = READING_UNITS.get(self.left, "count")
        return OFFSETS.get(unit, unit) if self.right else unit

    def text(self, settings: Mapping[str, float]) -> str:
        """The condition as a row may say it."""
        value = settings[self.key]
        words = f"{in_words(self.left)} {'>' if self.above else '<'}{'=' * self.or_equal} "
        if not self.right:
            return words + _written(value, self.unit)
        words += in_words(self.right)
        if value == 0.0:
            return words
        return f"{words} {'-' if value < 0.0 else '+'} {_written(abs(value), self.unit)}"


@attrs.frozen
class Window:
    """Hours of the day or months of the year; a window may span midnight or New Year."""

    of: str
    """Reading that the window limits: ``"hour"`` or ``"month"``."""
    first: float
    end: float
    """Hour or month at which the window ends, not part of it."""

    @property
    def text(self) -> str:
        """The window as a row may say it."""
        if self.of == "month":
            return f"{MONTHS[int(self.first) - 1]} to {MONTHS[int(self.end) - 2]}"
        first, end = (round(60.0 * hour) for hour in (self.first, self.end))
        return f"{first // 60:02d}:{first % 60:02d} to {end // 60:02d}:{end % 60:02d}"


@attrs.frozen
class While:
    """Condition that other rows are on, or that they are off."""

    words: str
    rows: tuple[int, ...]
    """Positions of these rows in the table, counted from 0."""
    on: bool
    """Whether at least one of the rows must be on; if False, all must be off."""

    @property
    def text(self) -> str:
        """The words as a row may say them."""
        return f"while {self.words} is {'on' if self.on else 'off'}"


@attrs.frozen
class Row:
    """One row of a rule table."""

    name: str
    """Name of the row; '' for a row without a name."""
    label: str
    """Name of the row, or 'row 2'; the names of its setpoints begin with it."""
    output: Output
    level: float
    """Stage that the row calls, or 1; unused in a row that calls a share."""
    share: str
    """Key of the share in the settings; '' for a row that does not call a share."""
    when: Condition
    """First condition of the row's `when`."""
    also: tuple[Condition, ...]
    """Further conditions of its `when`. All must hold for the call to begin, and not for it to last."""
    releases: tuple[Condition, ...]
    windows: tuple[Window, ...]
    whiles: tuple[While, ...]
    delay: str
    """Key of `for` in the settings; '' for a row without it."""
    limit: str
    """Key of `at_most` in the settings; '' for a row without it."""

    def call(
        self, settings: Mapping[str, float], written: Callable[[float, str], str] = _written
    ) -> str:
        """Call of the row in the words of its `do`."""
        if self.share:
            return SHARES[self.output][2].format(written(settings[self.share], "fraction"))
        if self.output in (Output.COOLING, Output.STRIPS):
            return f"{self.output.name.lower()} stage {self.level:g}"
        if self.output == Output.HEATING:
            return "heating with strips" if self.level > 1.0 else "heating"
        return self.output.name.lower().replace("_", " ")

    def sentence(self, settings: Mapping[str, float]) -> dict[str, Any]:
        """The row as it may be given to `rule_table`."""
        said: dict[str, Any] = {"name": self.name} if self.name else {}
        begins = [it.text(settings) for it in (self.when, *self.also)]
        said |= {"do": self.call(settings), "when": begins if self.also else begins[0]}
        if self.delay:
            said["for"] = _written(settings[self.delay], "s")
        within = [window.text for window in self.windows] + [each.text for each in self.whiles]
        if within:
            said["within"] = within
        said["release_when"] = [release.text(settings) for release in self.releases]
        if self.limit:
            said["at_most"] = _written(settings[self.limit], "s")
        return said


def in_words(field: str) -> str:
    """A field of `Readings`, or a setpoint, as a row says it."""
    return SETPOINTS[field][1] if field in SETPOINTS else field.replace("_", " ")


def check_share(output: Output, value: float, where: str, found: Any) -> None:
    none, high, _ = SHARES[output]
    if not 0.0 <= value <= high or (value == 0.0 and not none):
        least = "from 0 %" if none else "above 0 %"
        raise InputError(where, found, f"a share {least} up to {100.0 * high:g} %")
