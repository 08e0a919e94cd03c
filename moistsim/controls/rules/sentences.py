"""Reader of the sentences of a rule table, which makes rows of them."""

import math
import re
from collections.abc import Mapping
from typing import Any

import attrs

from moistsim.controls.interface import Readings
from moistsim.controls.rules.interpreter import MOST_ROWS, Output
from moistsim.controls.rules.rows import (
    MONTHS,
    OFFSETS,
    READING_UNITS,
    SETPOINTS,
    SHARES,
    USUAL,
    Condition,
    Row,
    While,
    Window,
    check_share,
)
from moistsim.controls.settings import Setting
from moistsim.core.errors import Fix, InputError, Problem, one_of
from moistsim.core.units import Role, ask_about, to_si

FIELDS = ("do", "when", "for", "within", "release_when", "at_most", "name")
"""Fields that a row may have."""

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
_ROLES = {"relative_humidity": Role.HUMIDITY, "dew_point": Role.DEW_POINT}
"""Role of a number, by the room reading that is compared with it."""
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
"""Calls that a row may make: an example, the pattern that reads them, and the output."""


def _absent(value: Any) -> bool:
    # pandas marks a missing cell as None, NaN or NA.
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
        raise InputError("rule_table", Problem(f"{len(rows)} rows"), f"{MOST_ROWS} rows at most")
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
    """Words in lower case and one spelling, without articles and hyphens.

    >>> _plain("the Cooling set-point"), _plain("outdoor dewpoint")
    ('cooling setpoint', 'outdoor dew point')
    """
    words = " ".join(words.lower().replace("-", " ").replace("_", " ").split())
    words = words.replace("set point", "setpoint").replace("dewpoint", "dew point")
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
    """The `while` of a row, with the rows that its words mean."""
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
        raise InputError(where, each.text, one_of(words, known), "{} names no other row or output")
    others = tuple(k for k in meant if k != own)
    if not others:
        raise InputError(where, each.text, "while another row is on or off, not the row itself")
    return attrs.evolve(each, words=words, rows=others)


def read_rows(
    rows: Any, settings: dict[str, float], declared: dict[str, Setting]
) -> tuple[Row, ...]:
    """Read rows, and add their thresholds, times and shares to `settings` and `declared`.

    Raises
    ------
    InputError
        One sentence: the row, its field, what was found, what is accepted.
    """
    given = _records(rows)
    names = _names(given)
    read = [_Reader(number, row, settings, declared).row() for number, row in enumerate(given, 1)]
    calls = [row.call(settings) for row in read]
    return tuple(
        attrs.evolve(
            row, whiles=tuple(_resolved(each, k, names, read, calls) for each in row.whiles)
        )
        for k, row in enumerate(read)
    )


@attrs.frozen
class _Reader:
    """Reader of one row, which adds its thresholds, times and shares to `settings`."""

    number: int
    given: dict[str, Any]
    settings: dict[str, float]
    declared: dict[str, Setting]

    def row(self) -> Row:
        given = self.given
        needed = {
            "do": "what to call, such as 'cooling stage 1'",
            "when": "a comparison, such as 'humidity > 54 %'",
            "release_when": "what ends the call, such as 'humidity < 50 %'",
        }
        lacking = [field for field in needed if field not in given]
        if len(lacking) == 1:
            raise self.error(lacking[0], Problem("missing"), needed[lacking[0]])
        if lacking:
            told = " and ".join(filter(None, (", ".join(lacking[:-1]), lacking[-1])))
            fix = "; ".join(f"{field}: {needed[field]}" for field in lacking)
            raise InputError(f"rule_table row {self.number}", Problem(f"{told} missing"), fix)
        output, level, share = self.call(self.text("do", given["do"]))
        begins = self.listed("when")
        keys = [f"{self.label} when" + (f" {k}" if len(begins) > 1 else "")
                for k in range(1, len(begins) + 1)]  # fmt: skip
        when, *also = (
            self.condition("when", text, key) for text, key in zip(begins, keys, strict=True)
        )
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
            given.get("name", ""), self.label, output, level, share, when, tuple(also), released,
            tuple(windows), tuple(whiles),
            self.time("for", "for"), self.time("at_most", "at most"),
        )  # fmt: skip

    @property
    def label(self) -> str:
        return str(self.given.get("name", f"row {self.number}"))

    def where(self, field: str) -> str:
        return f"rule_table row {self.number} {field}"

    def error(
        self, field: str, found: Any, accepted: str, problem: str = "cannot use {}"
    ) -> InputError:
        return InputError(self.where(field), found, accepted, problem)

    def text(self, field: str, value: Any) -> str:
        if not isinstance(value, str) or not value.strip():
            raise self.error(field, value, "a text in plain words")
        return " ".join(value.split())

    def listed(self, field: str) -> list[Any]:
        value = self.given[field]
        listed = list(value) if isinstance(value, list | tuple) else [value]
        if not listed and field in ("when", "release_when"):
            does = "begins" if field == "when" else "ends"
            raise self.error(field, value, f"at least one comparison that {does} the call")
        return listed

    def keep(self, key: str, value: float, unit: str, reading: str = "") -> str:
        self.settings[key] = value
        self.declared[key] = Setting(unit, _ROLES.get(reading))
        return key

    def time(self, field: str, word: str) -> str:
        if field not in self.given:
            return ""
        given, where = self.given[field], self.where(field)
        value = to_si(given, "s", where)
        if not isinstance(given, str) or re.fullmatch(r"[\d.]+", given.strip()):
            ask_about(given, value, "s", where, (30.0, 864000.0), meant=("{} min", "{} h"))
        return self.keep(f"{self.label} {word}", value, "s")

    def call(self, text: str) -> tuple[Output, float, str]:
        plain = _plain(text)
        for words, pattern, output in _CALLS:
            match = re.fullmatch(pattern, plain)
            if match is None:
                continue
            if output not in SHARES:
                level = float(match[1]) if match.groups() else 1.0
                return output, 2.0 if words == "heating with strips" else level, ""
            share = match[1] if match.groups() else "100 %"
            value = to_si(share, "fraction", self.where("do"))
            check_share(output, value, self.where("do"), text)
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
            accepted = "a comparison, such as 'humidity > 54 %' or 'outdoor dew point > dew point'"
            raise self.error(field, text, accepted)
        word = match["sign"] or " ".join(match["word"].lower().split())
        above, or_equal = _OPERATORS[word]
        left = self.reading(field, match["left"], READINGS)
        unit = READING_UNITS.get(left, "count")
        right = match["right"].strip()
        if re.match(r"[+-]?[\d.]", right):
            if unit == "s" and re.fullmatch(r"[+-]?[\d.]+", right):
                right += " min"
            value = to_si(right, unit, self.where(field))
            if re.fullmatch(r"[+-]?[\d.]+", right):
                ask_about(right, value, unit, self.where(field), USUAL.get(left))
            self.keep(key, value, unit, left)
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
        unit = OFFSETS.get(unit, unit)
        if parts is not None and parts["offset"]:
            offset = to_si(parts["offset"], unit, self.where(field))
            offset = -offset if parts["sign"] == "-" else offset
        self.keep(key, offset, unit)
        return Condition(left, other, above, or_equal, key)

    def reading(self, field: str, words: str, known: Mapping[str, str]) -> str:
        plain = _plain(words)
        if plain not in known:
            raise self.error(field, words.strip(), one_of(plain, known), "{} is not a reading")
        return known[plain]

    def window(self, text: str) -> Window | While:
        match = _WHILE.fullmatch(text)
        if match is not None:
            return While(match[1], (), match[2].lower() == "on")
        months = [word.capitalize() for word in re.split(r"\s+to\s+", text, flags=re.IGNORECASE)]
        if len(months) <= 2 and all(word in MONTHS for word in months):
            first, last = (MONTHS.index(word) + 1 for word in (months[0], months[-1]))
            return Window("month", float(first), float(last + 1))
        match = _HOURS.fullmatch(text)
        if match is not None:
            first_hour, end = _hour(match[1], match[2], match[3]), _hour(*match.groups()[3:])
            if first_hour < 24.0 and 0.0 <= end <= 24.0 and first_hour >= 0.0 != first_hour - end:
                return Window("hour", first_hour, end)
        near = one_of(text, MONTHS) if text.isalpha() else ""
        accepted = (
            "two different hours such as '22:00 to 06:00', months such as 'May to October', or "
            "'while heating is off'"
        )
        if isinstance(near, Fix):
            accepted = Fix(f"{near} Or use {accepted}.")
        raise self.error("within", text, accepted)


def _hour(hour: str, minutes: str | None, half: str | None) -> float:
    """Hour of the day, 0 to 24; -1 if there is no such hour."""
    value, past = float(hour), float(minutes or 0.0) / 60.0
    if half is not None:
        if not 1.0 <= value <= 12.0:
            return -1.0
        value = value % 12.0 + (12.0 if half.lower() == "pm" else 0.0)
    return value + past if past < 1.0 and value + past <= 24.0 else -1.0
