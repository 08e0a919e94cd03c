"""Rule tables: a strategy written as rows, each one sentence about one output."""

import calendar
import math
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls.interface import CallSet, Readings, Strategy
from moistsim.controls.parts import LIMITS
from moistsim.controls.rules.interpreter import (
    COOLING_SETPOINT,
    HEATING_SETPOINT,
    IN_MINUTES,
    MOST_ROWS,
    NOTHING,
    ROW,
    STATES,
    Output,
    compiled_interpreter,
    interpret,
)
from moistsim.core.errors import InputError, one_of
from moistsim.core.units import to_si

FIELDS = ("do", "when", "for", "within", "release_when", "at_most", "name")
"""What a row may say."""

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
"""Units of the readings that have one; the others are counts."""
_UNSEEN = ("step_minutes", "cooling_set_back", "heating_set_back")
READINGS = {
    name.replace("_", " "): name for name in Readings._fields if name not in _UNSEEN
} | {
    "humidity": "relative_humidity",
    "rh": "relative_humidity",
    "outdoor humidity": "outdoor_relative_humidity",
    "outdoor rh": "outdoor_relative_humidity",
}  # fmt: skip
"""Readings by the words of a row."""
SETPOINTS = {
    "cooling_setpoint": (COOLING_SETPOINT, "cooling setpoint"),
    "heating_setpoint": (HEATING_SETPOINT, "heating setpoint"),
}
"""What a reading may also be compared with: place in the memory, and its words."""

_OFFSETS = {"degC": "delta_degC"}
_OPERATORS = {
    **dict.fromkeys((">", "above", "over"), (True, False)),
    **dict.fromkeys(("<", "below", "under"), (False, False)),
    **dict.fromkeys((">=", "≥", "at least"), (True, True)),
    **dict.fromkeys(("<=", "≤", "at most"), (False, True)),
}
_COMPARISON = re.compile(
    r"(?P<left>.+?)\s*(?:(?P<sign>>=|<=|≥|≤|>|<)|\s(?:is\s+)?"
    r"(?P<word>at\s+least|at\s+most|above|over|below|under)\s)\s*(?P<right>.+)",
    re.IGNORECASE,
)
_OFFSET = re.compile(r"(?P<reading>.+?)(?:\s*(?P<sign>[+-])\s*(?P<offset>[\d.].*))?")
_HOURS = re.compile(
    r"(\d{1,2})(?::(\d{2}))?\s*([ap]m)?\s+to\s+(\d{1,2})(?::(\d{2}))?\s*([ap]m)?", re.IGNORECASE
)
_MONTHS = tuple(calendar.month_name)[1:]
_WHILE = re.compile(r"while\s+(.+?)\s+(?:is|are)\s+(on|off)", re.IGNORECASE)

_CALLS = (
    ("cooling stage 1", r"cooling stage ([1-9])", Output.COOLING),
    ("strips stage 1", r"strips stage ([1-9])", Output.STRIPS),
    ("heating", r"heating", Output.HEATING),
    ("heating with strips", r"heating with strips", Output.HEATING),
    ("dehumidifier", r"dehumidifier", Output.DEHUMIDIFIER),
    ("blower", r"blower", Output.BLOWER),
    ("blower at 60 %", r"blower at (.+)", Output.BLOWER_SPEED),
    ("slow the blower by 20 %", r"slow (?:the )?blower by (.+)", Output.SLOW_DOWN),
    ("ventilation at 30 %", r"ventilation at (.+)", Output.VENTILATION),
    ("hot gas", r"hot gas", Output.HOT_GAS),
    ("hot gas at 50 %", r"hot gas at (.+)", Output.HOT_GAS),
)
"""What a row may do: as it is written, how it is read, and the output."""
_SHARES = {
    Output.BLOWER_SPEED: (False, 1.0, "blower at {}"),
    Output.SLOW_DOWN: (False, 0.5, "slow the blower by {}"),
    Output.VENTILATION: (True, 3.0, "ventilation at {}"),
    Output.HOT_GAS: (False, 1.0, "hot gas at {}"),
}
"""Outputs that are called by a share: whether by none too, at most what, and their words."""


def _written(value: float, unit: str) -> str:
    return f"{value!r}" if unit in ("count", "fraction") else f"{value!r} {unit}"


@attrs.frozen
class Condition:
    """A comparison of a reading with a quantity, or of two; the threshold is a setpoint."""

    left: str
    """Field of `Readings`."""
    right: str
    """Another field or a setpoint, to which the threshold is added; '' for none."""
    above: bool
    or_equal: bool
    key: str
    """Of the threshold in the settings."""

    @property
    def unit(self) -> str:
        """Unit of the threshold."""
        unit = READING_UNITS.get(self.left, "count")
        return _OFFSETS.get(unit, unit) if self.right else unit

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
    """Hours of the day or months of the year, over midnight and new year or not."""

    of: str
    """``"hour"`` or ``"month"``."""
    first: float
    end: float
    """Where it ends, itself no longer in it."""

    @property
    def text(self) -> str:
        """The window as a row may say it."""
        if self.of == "month":
            return f"{_MONTHS[int(self.first) - 1]} to {_MONTHS[int(self.end) - 2]}"
        first, end = (round(60.0 * hour) for hour in (self.first, self.end))
        return f"{first // 60:02d}:{first % 60:02d} to {end // 60:02d}:{end % 60:02d}"


@attrs.frozen
class While:
    """That rows are on, or off."""

    words: str
    rows: tuple[int, ...]
    """Counted from 0."""
    on: bool
    """One of them at least is on; else none is."""

    @property
    def text(self) -> str:
        """The words as a row may say them."""
        return f"while {self.words} is {'on' if self.on else 'off'}"


@attrs.frozen
class Row:
    """One row of a rule table."""

    name: str
    """'' if it has none."""
    label: str
    """Its name, or 'row 2': how its setpoints are named."""
    output: Output
    level: float
    """Stage, or 1; not of a row that calls a share."""
    share: str
    """Key of the share in the settings; '' if it calls none."""
    when: Condition
    releases: tuple[Condition, ...]
    windows: tuple[Window, ...]
    whiles: tuple[While, ...]
    delay: str
    """Key of `for` in the settings; '' if it has none."""
    limit: str
    """Key of `at_most` in the settings; '' if it has none."""

    def call(
        self, settings: Mapping[str, float], written: Callable[[float, str], str] = _written
    ) -> str:
        """What it does, as a row may say it."""
        if self.share:
            return _SHARES[self.output][2].format(written(settings[self.share], "fraction"))
        if self.output in (Output.COOLING, Output.STRIPS):
            return f"{self.output.name.lower()} stage {self.level:g}"
        if self.output == Output.HEATING:
            return "heating with strips" if self.level > 1.0 else "heating"
        return self.output.name.lower().replace("_", " ")

    def sentence(self, settings: Mapping[str, float]) -> dict[str, Any]:
        """The row as it may be given to `rule_table`."""
        said: dict[str, Any] = {"name": self.name} if self.name else {}
        said |= {"do": self.call(settings), "when": self.when.text(settings)}
        if self.delay:
            said["for"] = _written(settings[self.delay], "s")
        within = [window.text for window in self.windows] + [each.text for each in self.whiles]
        if within:
            said["within"] = within
        said["release_when"] = [release.text(settings) for release in self.releases]
        if self.limit:
            said["at_most"] = _written(settings[self.limit], "s")
        return said


@attrs.frozen
class RuleTable(Strategy):
    """A strategy of rows; `rule_table` makes one.

    Its settings are the thresholds, times and shares of the rows by readable names ("row 2 when",
    "drying release", "row 3 release 2", "row 1 for", "row 1 at most", "row 4 at") and, where they
    are given, `cooling_setpoint` and `heating_setpoint`.
    """

    rows: tuple[Row, ...] = ()

    def __call__(self, **changes: Any) -> "RuleTable":
        """A copy with changed settings, each a number or a text with its unit."""
        changed = cast(RuleTable, super().__call__(**changes))
        _check(changed)
        return changed

    @property
    def sentences(self) -> list[dict[str, Any]]:
        """The rows as `rule_table` takes them, with the settings as they are now, in SI."""
        return [row.sentence(self.settings) for row in self.rows]

    @property
    def description(self) -> dict[str, Any]:
        """What a result tells of it: its setpoints and its rows."""
        return {**self.settings, "rules": self.sentences}

    @property
    def memory_size(self) -> int:
        """Floats of memory that a run keeps for it."""
        return STATES + 2 * len(self.rows)

    @property
    def packed_settings(self) -> NDArray[np.float64]:
        """The rows and their settings as the interpreter reads them."""
        return np.array(_packed(self.rows, self.settings))

    @property
    def compiled(self) -> Callable[..., CallSet]:
        """The interpreter, compiled once for all tables."""
        return compiled_interpreter()


def rule_table(
    rows: Any,
    *,
    name: str = "rules",
    cooling_setpoint: float | str | None = None,
    heating_setpoint: float | str | None = None,
) -> RuleTable:
    """Make a strategy of rows, each one sentence about one output.

    Parameters
    ----------
    rows : list of dict, or DataFrame
        Each row has

        ``do``
            "cooling stage 1", "strips stage 2", "heating", "heating with strips", "dehumidifier",
            "blower", "blower at 60 %" (its speed while it runs; it does not start it), "slow the
            blower by 20 %" (in cooling), "ventilation at 30 %", "hot gas", "hot gas at 50 %".
        ``when``
            A comparison of a reading with a quantity, or of two, with an offset or not: "humidity
            > 55 %", "temperature below 73 degF", "outdoor dew point > dew point", "temperature >
            outdoor temperature + 2 K", "temperature > cooling setpoint + 1 degF". Readings are
            the fields of `Readings` in plain words; a number without a unit is in SI, that of
            "cooling minutes" and "message age" in minutes. "occupied" and "not occupied" are
            comparisons too.
        ``release_when``
            One such comparison or a list, any of which ends the call.
        ``for``
            How long `when` must have held before the call is made, "5 min" or a number of seconds.
        ``within``
            One or a list, all of which must be true: hours ("22:00 to 06:00"), months ("May to
            October", both included), and "while cooling stage 1 is on", "while heating is off",
            "while NAME is on".
        ``at_most``
            The longest call.
        ``name``
            What other rows and the settings call it by.

        What is None or NaN is left out. `do`, `when` and `release_when` must be given.
    name : str
        Of the strategy.
    cooling_setpoint, heating_setpoint : float or str, optional
        What comfort is measured against, and what a row may compare with as "cooling setpoint";
        while the readings say that the thermostat is set back, a row sees it so. degC.

    Returns
    -------
    RuleTable
        A strategy, ready to run. Its settings are described at `RuleTable`.

    Raises
    ------
    InputError
        One sentence: the row, its field, what was found, what is accepted.

    Notes
    -----
    The rows are gone through from top to bottom in every step of the simulation.

    1. A row is made when its `when` has held without a break for `for` (a row that first holds at
       8:00 "for 5 min" is made at 8:05), and stays on until a `release_when` holds. The gap
       between the two is the deadband.
    2. Release wins: while a `release_when` holds the row is off, and the time of `for` begins
       anew after it.
    3. While its `within` is not true the row is off, and must then be made anew.
    4. A row that has been on for `at_most` is off until its `when` has been false once.
    5. A `while` sees the rows above as they are in this step and those below as they were in the
       last one. An output means the rows that call it ("cooling" those of any stage, "cooling
       stage 1" those of that stage alone), the row itself excepted.
    6. An output is called at the highest level among its rows that are on, ventilation and
       "blower at" at the lowest; without a row that is on, ventilation is left alone.

    Examples
    --------
    >>> table = rule_table([
    ...     {"do": "cooling stage 1", "when": "temperature > 77 degF",
    ...      "release_when": "temperature < 75 degF"},
    ...     {"do": "dehumidifier", "when": "humidity > 55 %", "for": "5 min", "name": "drying",
    ...      "release_when": ["humidity < 50 %", "message age > 15 min"]},
    ... ])
    >>> table.settings["drying when"], table.settings["drying for"]
    (55.0, 300.0)
    >>> table(**{"drying when": "58 %"}).sentences[1]["when"]
    'relative humidity > 58.0 percent'
    """
    settings: dict[str, float] = {}
    units: dict[str, str] = {}
    for key, value in (
        ("cooling_setpoint", cooling_setpoint),
        ("heating_setpoint", heating_setpoint),
    ):
        if value is not None:
            settings[key], units[key] = to_si(value, "degC", f"rule_table {key}"), "degC"
    given = _records(rows)
    names = _names(given)
    read = [_Reader(number, row, settings, units).row() for number, row in enumerate(given, 1)]
    calls = [row.call(settings) for row in read]
    finished = tuple(
        attrs.evolve(
            row, whiles=tuple(_resolved(each, k, names, read, calls) for each in row.whiles)
        )
        for k, row in enumerate(read)
    )
    table = RuleTable(name, interpret, settings, units, None, finished)
    _check(table)
    return table


def in_words(field: str) -> str:
    """A field of `Readings`, or a setpoint, as a row says it."""
    return SETPOINTS[field][1] if field in SETPOINTS else field.replace("_", " ")


# ------------------------------------------------------------------------------ sentences read


def _absent(value: Any) -> bool:
    # pandas marks what a row of a frame lacks by one of several things that are not themselves.
    return value is None or type(value).__name__ == "NAType" or (
        isinstance(value, float) and math.isnan(value)
    )  # fmt: skip


def _records(rows: Any) -> list[dict[str, Any]]:
    if hasattr(rows, "to_dict"):
        rows = rows.to_dict("records")
    accepted = "a list of rows, each with do, when and release_when, or a DataFrame of them"
    if not isinstance(rows, list | tuple) or not rows:
        raise InputError("rule_table", rows, accepted)
    if len(rows) > MOST_ROWS:
        raise InputError("rule_table", f"{len(rows)} rows", f"{MOST_ROWS} rows at most")
    records = []
    for number, row in enumerate(rows, 1):
        where = f"rule_table row {number}"
        if not isinstance(row, Mapping):
            raise InputError(where, row, accepted)
        for key in row:
            if key not in FIELDS:
                raise InputError(where, key, one_of(str(key), FIELDS))
        records.append({key: value for key, value in row.items() if not _absent(value)})
    return records


def _plain(words: str) -> str:
    """Words in small letters without article, hyphens and more than one blank between them."""
    words = " ".join(words.lower().replace("-", " ").replace("_", " ").split())
    return re.sub(r"^(?:(?:the|room|indoor|zone) )+", "", words)


_OUTPUT_WORDS = ("cooling", "strips", "heating", "heating with strips", "dehumidifier", "blower",
                 "hot gas")  # fmt: skip


def _names(rows: list[dict[str, Any]]) -> dict[str, int]:
    names: dict[str, int] = {}
    for k, row in enumerate(rows):
        if "name" not in row:
            continue
        name, where = row["name"], f"rule_table row {k + 1} name"
        plain = _plain(name) if isinstance(name, str) else ""
        if not plain or not name.isprintable():
            raise InputError(where, name, "a word or a few")
        taken = plain in _OUTPUT_WORDS or re.match(r"(cooling stage|strips stage|row) ", plain)
        if plain in names or taken:
            raise InputError(where, name, "a name that no other row has and that is no output")
        names[plain] = k
    return names


def _resolved(
    each: While, own: int, names: dict[str, int], rows: list[Row], calls: list[str]
) -> While:
    """With the rows that its words mean."""
    where = f"rule_table row {own + 1} within"
    words = _plain(each.words)
    if words in names:
        meant = [names[words]]
    else:
        meant = [k for k, call in enumerate(calls)
                 if call == words or rows[k].output.name.lower().replace("_", " ") == words]  # fmt: skip
    if not meant:
        known = dict.fromkeys([*names, *calls, *(c for c in _OUTPUT_WORDS if c in
                               {row.output.name.lower().replace("_", " ") for row in rows})])  # fmt: skip
        raise InputError(
            where, each.text, f"while the output or the name of another row, {one_of(words, known)}"
        )
    others = tuple(k for k in meant if k != own)
    if not others:
        raise InputError(where, each.text, "while another row is on or off, not the row itself")
    return attrs.evolve(each, words=words, rows=others)


@attrs.frozen
class _Reader:
    """Reads one row; its thresholds go into `settings`."""

    number: int
    given: dict[str, Any]
    settings: dict[str, float]
    units: dict[str, str]

    def row(self) -> Row:
        given = self.given
        for field, accepted in (
            ("do", "what to call, such as 'cooling stage 1'"),
            ("when", "a comparison, such as 'humidity > 55 %'"),
            ("release_when", "what ends the call, such as 'humidity < 50 %'"),
        ):
            if field not in given:
                raise self.error(field, "nothing, though it must be given", accepted)
        output, level, share = self.call(self.text("do", given["do"]))
        when = self.condition("when", given["when"], self.label + " when")
        releases = self.listed("release_when")
        keys = [f"{self.label} release" + (f" {k}" if len(releases) > 1 else "")
                for k in range(1, len(releases) + 1)]  # fmt: skip
        released = tuple(
            self.condition("release_when", text, key)
            for text, key in zip(releases, keys, strict=True)
        )
        windows, whiles = [], []
        for text in self.listed("within") if "within" in given else ():
            part = self.window(self.text("within", text))
            if isinstance(part, While):
                whiles.append(part)
            else:
                windows.append(part)
        return Row(
            given.get("name", ""), self.label, output, level, share, when, released,
            tuple(windows), tuple(whiles),
            self.time("for", "for"), self.time("at_most", "at most"),
        )  # fmt: skip

    @property
    def label(self) -> str:
        return str(self.given.get("name", f"row {self.number}"))

    def where(self, field: str) -> str:
        return f"rule_table row {self.number} {field}"

    def error(self, field: str, found: Any, accepted: str) -> InputError:
        return InputError(self.where(field), found, accepted)

    def text(self, field: str, value: Any) -> str:
        if not isinstance(value, str) or not value.strip():
            raise self.error(field, value, "a text in plain words")
        return " ".join(value.split())

    def listed(self, field: str) -> list[Any]:
        value = self.given[field]
        listed = list(value) if isinstance(value, list | tuple) else [value]
        if not listed and field == "release_when":
            raise self.error(field, value, "at least one comparison that ends the call")
        return listed

    def keep(self, key: str, value: float, unit: str) -> str:
        self.settings[key], self.units[key] = value, unit
        return key

    def time(self, field: str, word: str) -> str:
        if field not in self.given:
            return ""
        value = to_si(self.given[field], "s", self.where(field))
        return self.keep(f"{self.label} {word}", value, "s")

    def call(self, text: str) -> tuple[Output, float, str]:
        plain = _plain(text)
        for words, pattern, output in _CALLS:
            match = re.fullmatch(pattern, plain)
            if match is None:
                continue
            if output not in _SHARES:
                level = float(match[1]) if match.groups() else 1.0
                return output, 2.0 if words == "heating with strips" else level, ""
            share = match[1] if match.groups() else "100 %"
            value = to_si(share, "fraction", self.where("do"))
            _check_share(output, value, self.where("do"), text)
            return output, 1.0, self.keep(f"{self.label} at", value, "fraction")
        raise self.error("do", text, one_of(plain, [words for words, _, _ in _CALLS]))

    def condition(self, field: str, value: Any, key: str) -> Condition:
        text = self.text(field, value)
        plain = _plain(text)
        if plain in ("occupied", "not occupied"):
            self.keep(key, 0.5, "count")
            return Condition("occupied", "", plain == "occupied", False, key)
        match = _COMPARISON.fullmatch(text)
        if match is None:
            accepted = "a comparison, such as 'humidity > 55 %' or 'outdoor dew point > dew point'"
            raise self.error(field, text, accepted)
        word = match["sign"] or " ".join(match["word"].lower().split())
        above, or_equal = _OPERATORS[word]
        left = self.reading(field, match["left"], READINGS)
        unit = READING_UNITS.get(left, "count")
        right = match["right"].strip()
        if re.match(r"[+-]?[\d.]", right):
            if unit == "s" and re.fullmatch(r"[+-]?[\d.]+", right):
                right += " min"
            self.keep(key, to_si(right, unit, self.where(field)), unit)
            return Condition(left, "", above, or_equal, key)
        parts = _OFFSET.fullmatch(right)
        known = READINGS | {words.replace("-", " "): point
                            for point, (_, words) in SETPOINTS.items()}  # fmt: skip
        other = self.reading(field, parts["reading"] if parts else right, known)
        if other in SETPOINTS and other not in self.settings:
            raise self.error(field, text, f"a {other} given beside the rows, or a quantity")
        of_other = "degC" if other in SETPOINTS else READING_UNITS.get(other, "count")
        if of_other != unit or other == left:
            raise self.error(field, text, "two different readings of one kind, or a quantity")
        offset = 0.0
        unit = _OFFSETS.get(unit, unit)
        if parts is not None and parts["offset"]:
            offset = to_si(parts["offset"], unit, self.where(field))
            offset = -offset if parts["sign"] == "-" else offset
        self.keep(key, offset, unit)
        return Condition(left, other, above, or_equal, key)

    def reading(self, field: str, words: str, known: Mapping[str, str]) -> str:
        plain = _plain(words).replace("setpoint", "setpoint")
        if plain not in known:
            raise self.error(field, words.strip(), "a reading: " + one_of(plain, known))
        return known[plain]

    def window(self, text: str) -> Window | While:
        match = _WHILE.fullmatch(text)
        if match is not None:
            return While(match[1], (), match[2].lower() == "on")
        months = [word.capitalize() for word in re.split(r"\s+to\s+", text, flags=re.IGNORECASE)]
        if len(months) <= 2 and all(word in _MONTHS for word in months):
            first, last = (_MONTHS.index(word) + 1 for word in (months[0], months[-1]))
            return Window("month", float(first), float(last + 1))
        match = _HOURS.fullmatch(text)
        if match is not None:
            first_hour, end = _hour(match[1], match[2], match[3]), _hour(*match.groups()[3:])
            if first_hour < 24.0 and 0.0 <= end <= 24.0 and first_hour >= 0.0 != first_hour - end:
                return Window("hour", first_hour, end)
        near = one_of(text.lower(), _MONTHS).split(",")[0] if text.isalpha() else ""
        accepted = (
            "two different hours such as '22:00 to 06:00', months such as 'May to October', or "
            "'while heating is off'"
        )
        if near.startswith("'"):
            accepted = f"{near}, which is near it, or {accepted}"
        raise self.error("within", text, accepted)


def _hour(hour: str, minutes: str | None, half: str | None) -> float:
    """Of the day; -1 if there is none."""
    value, past = float(hour), float(minutes or 0.0) / 60.0
    if half is not None:
        if not 1.0 <= value <= 12.0:
            return -1.0
        value = value % 12.0 + (12.0 if half.lower() == "pm" else 0.0)
    return value + past if past < 1.0 and value + past <= 24.0 else -1.0


def _check_share(output: Output, value: float, where: str, found: Any) -> None:
    none, high, _ = _SHARES[output]
    if not 0.0 <= value <= high or (value == 0.0 and not none):
        least = "from 0 %" if none else "above 0 %"
        raise InputError(where, found, f"a share {least} up to {100.0 * high:g} %")


def _check(table: RuleTable) -> None:
    """Refuse settings that no control could have."""
    settings, name = table.settings, table.name
    for row in table.rows:
        if row.share:
            value = settings[row.share]
            _check_share(row.output, value, f"strategy {name}.{row.share}", value)
        if row.delay and settings[row.delay] < 0.0:
            raise InputError(f"strategy {name}.{row.delay}", settings[row.delay], "0 s or more")
        if row.limit and settings[row.limit] <= 0.0:
            raise InputError(f"strategy {name}.{row.limit}", settings[row.limit], "more than 0 s")
    for key in SETPOINTS:
        low, high, unit = LIMITS[key]
        if not low <= settings.get(key, low) <= high:
            raise InputError(
                f"strategy {name}.{key}", f"{settings[key]:g} {unit}",
                f"from {low:g} to {high:g} {unit}",
            )  # fmt: skip
    cooling, heating = (settings.get(key) for key in SETPOINTS)
    if cooling is not None and heating is not None and cooling <= heating:
        raise InputError(
            f"strategy {name}.cooling_setpoint", f"{cooling:.1f} degC",
            f"a value above heating_setpoint, which is {heating:.1f} degC",
        )  # fmt: skip


# -------------------------------------------------------------------------------- rows packed


def _packed(rows: Iterable[Row], settings: Mapping[str, float]) -> list[float]:
    """Rows and settings as `interpreter` lays them out."""

    def condition(it: Condition) -> list[float]:
        right = NOTHING
        if it.right:
            right = SETPOINTS[it.right][0] if it.right in SETPOINTS else _place(it.right)
        sign = 1.0 if it.above else -1.0
        limit = sign * settings[it.key]
        # At least a number is above the next smaller one.
        limit = math.nextafter(limit, -math.inf) if it.or_equal else limit
        return [_place(it.left), right, sign, limit]

    rows = list(rows)
    floats = [len(rows), *(settings.get(key, 0.0) for key in SETPOINTS)]
    for row in rows:
        following = [number for release in row.releases for number in condition(release)]
        for window in row.windows:
            following += [_place(window.of), window.first, window.end]
        for each in row.whiles:
            following += [each.on, sum(1 << k for k in each.rows)]
        floats += [
            ROW + len(following),
            row.output,
            settings[row.share] if row.share else row.level,
            settings[row.delay] if row.delay else 0.0,
            settings[row.limit] if row.limit else math.inf,
            *condition(row.when),
            len(row.releases), len(row.windows), len(row.whiles),
            *following,
        ]  # fmt: skip
    return [float(number) for number in floats]


def _place(field: str) -> int:
    """Of a reading, in the memory."""
    return Readings._fields.index(field)
