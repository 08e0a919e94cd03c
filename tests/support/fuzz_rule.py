"""The rule of the fuzz, and its counts.

An input is refused in one sentence that names the place, or it gives a result whose balances close,
whose humidity is possible, and which is finite.
"""

import os
import re
import traceback
from collections.abc import Callable, Iterable
from typing import Any

import attrs
import numpy as np
import pandas as pd
from hypothesis import Phase, settings

import moistsim as ms

LONG = float(os.environ.get("MOISTSIM_FUZZ", "0"))
"""How many times as many inputs as in the gate are tried; 0 is the gate itself."""
LONGEST = 300
"""A message is shorter than this, in characters."""
CLOSES = 1.0e-9
"""Largest residual of a balance over its gross flow."""
HELD = 1.0e-6
"""What rounding may add to a humidity, percent or K."""


@attrs.define
class Counts:
    """What one part of the fuzz tried, and what came of it."""

    tried: int = 0
    refused: int = 0
    accepted: int = 0
    messages: dict[str, str] = attrs.field(factory=dict)
    """One input for each sentence."""
    failures: dict[str, str] = attrs.field(factory=dict)
    """The shortest input for each way in which the rule was broken."""


COUNTS: dict[str, Counts] = {}
"""Counts by part of the fuzz."""


def examples(count: int) -> Any:
    """Settings of a fuzz test: so many inputs in the gate, more and other ones by hand."""
    if not LONG:
        # A failure is shown as found: to make it smaller may take minutes.
        return settings(max_examples=count, phases=[Phase.explicit, Phase.generate])
    return settings(max_examples=int(count * LONG), derandomize=False, database=None)


def tried(part: str, given: Any, use: Callable[[], Any], places: Iterable[str]) -> None:
    """Give an input to the program, and hold what comes of it against the rule.

    Parameters
    ----------
    part : str
        The part of the fuzz, for the counts.
    given
        The input, for the report.
    use : callable
        Uses the input and checks an accepted one; raises `ms.InputError` for a refused one.
    places : iterable of str
        Words of which the sentence must contain one, so that the place is found.
    """
    counts = COUNTS.setdefault(part, Counts())
    counts.tried += 1
    try:
        try:
            use()
        except ms.InputError as error:
            sentence = str(error)
            counts.messages.setdefault(sentence, shown(given))
            check_sentence(sentence, places)
            counts.refused += 1
        else:
            counts.accepted += 1
    except Exception as failure:
        way, text = _way(failure), shown(given)
        if len(text) < len(counts.failures.get(way, text + " ")):
            counts.failures[way] = text
        if not LONG:
            raise


def shown(given: Any) -> str:
    """An input as the report shows it."""
    return given if isinstance(given, str) else repr(given)


def _way(failure: Exception) -> str:
    """What was broken and where, alike for inputs that break the same."""
    ours = [frame for frame in traceback.extract_tb(failure.__traceback__)
            if f"{os.sep}moistsim{os.sep}" in frame.filename]  # fmt: skip
    at = ""
    if ours and not isinstance(failure, AssertionError):
        at = f" at {ours[-1].filename.rpartition('moistsim' + os.sep)[2]}:{ours[-1].lineno}"
    words = str(failure).splitlines()[0] if str(failure) else ""
    words = re.sub(r"'[^']*'|\d[\d.,e+-]*", "#", re.sub(r"^\w+\.__init__", "", words))
    return f"{type(failure).__name__}{at}: {words[:70]}"


def check_sentence(sentence: str, places: Iterable[str]) -> None:
    """Hold a refusal against the rule."""
    assert len(sentence.splitlines()) == 1, f"more than a line: {sentence!r}"
    assert sentence.isprintable(), f"unprintable: {sentence!r}"
    assert len(sentence) < LONGEST, f"{len(sentence)} characters: {sentence}"
    assert sentence.endswith((".", "?")), f"no sentence: {sentence}"
    assert any(place in sentence for place in places), f"no place: {sentence}"


def check_season(season: ms.Season) -> None:
    """Hold an accepted run against the rule."""
    hourly = season.hourly
    assert np.isfinite(hourly.to_numpy()).all(), "a number that is not finite"
    off = season.balance["relative"].abs()
    assert (off <= CLOSES).all(), f"open balance: {off.idxmax()}"
    check_humidity(hourly)


def check_humidity(hourly: pd.DataFrame) -> None:
    """No air and no material holds more vapor than it can; a sensor may err."""
    for name in hourly:
        if name.endswith("_rh_pct") and "sensed" not in name:
            assert hourly[name].max() <= 100.0 + HELD, f"{name} above 100"
            assert hourly[name].min() >= -HELD, f"{name} below 0"
    wetter = (hourly["indoor_dew_point_C"] - hourly["indoor_temperature_C"]).max()
    assert wetter <= 0.02, "dew point above the dry bulb"


def check_finite(table: pd.DataFrame) -> None:
    """Hold a table of results against the rule; what is missing on purpose is NA."""
    for name, column in table.items():
        if pd.api.types.is_float_dtype(column):
            values = column.dropna() if str(column.dtype) == "Float64" else column
            assert np.isfinite(values.to_numpy(dtype=float)).all(), f"{name} is not finite"


def report() -> list[str]:
    """Counts by part, the longest messages, and what broke the rule."""
    lines = [f"{'fuzz':22}{'tried':>8}{'refused':>9}{'accepted':>10}{'failures':>10}"]
    total = Counts()
    for part, counts in sorted(COUNTS.items()):
        lines.append(_row(part, counts))
        total.tried += counts.tried
        total.refused += counts.refused
        total.accepted += counts.accepted
        total.failures |= {f"{part}: {way}": given for way, given in counts.failures.items()}
        total.messages |= counts.messages
    lines.append(_row("all", total))
    if LONG:
        lines += ["", f"{len(total.messages)} messages; the longest:"]
        longest = sorted(total.messages, key=len, reverse=True)[:40]
        lines += [f"{len(message):4}  {message}" for message in longest]
        for way, given in total.failures.items():
            lines += ["", f"FAILURE {way}", given[:3000]]
    return lines


def _row(part: str, counts: Counts) -> str:
    return (
        f"{part:22}{counts.tried:8,}{counts.refused:9,}{counts.accepted:10,}"
        f"{counts.tried - counts.refused - counts.accepted:10,}"
    )
