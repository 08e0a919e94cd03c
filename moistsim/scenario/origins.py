"""Origins of the values of a file: stated by its author, read from a label, and measured.

A file that a run wrote has every value. Its ``[provenance]`` notes which of them were given, and a
digest of each value, so that a value changed later counts as stated.
"""

import hashlib
import json
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from moistsim.core.errors import one_of
from moistsim.scenario.names import covers, keys_of, quoted
from moistsim.scenario.places import Place


class Changes(NamedTuple):
    """Names of values that somebody changed in a file that a run wrote."""

    changed: frozenset[str]
    """Names of values that differ or are new."""
    gone: frozenset[str]


def stated_in(table: dict[str, Any], since: Changes) -> frozenset[str]:
    """Names of the values that the author of a file stated, without defaults that a run wrote.

    Parameters
    ----------
    table : dict
        The file's tables, without ranges.
    since : Changes
        The result of `changes_since_the_run`.
    """
    given = frozenset(keys_of(table))
    before = _before(table, "stated")
    if before is not None:
        return (before - since.gone) | since.changed
    own = set(given)
    for key in given:
        # A table states the stages, and a label what else stands in it; typical values are
        # nobody's statement.
        stem, _, rest = key.partition(".cooling.table.")
        if rest:
            own.add(f"{stem}.cooling.stages")
        stem, _, rest = key.partition(".cooling.label.")
        if rest in _BESIDE_THE_RATING:
            own.add(f"{stem}.cooling.stages.{rest}")
        if ".table." in key:
            own.add(key.partition(".table.")[0] + ".values")
        if ".rules[" in key:
            own.add(key.partition(".rules[")[0] + ".rules")
        if key.startswith("house.typical.") or ".house.typical." in key:
            own.add(key.replace("house.typical.", "house.", 1))
    return frozenset(own)


def measured_in(table: dict[str, Any], place: Place, since: Changes) -> frozenset[str]:
    """Names of the values that the file, or the file before its run, lists as measured.

    Raises
    ------
    ScenarioError
        If a name is not in the file.
    """
    names = table.get("measured", [])
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise place.error("measured", names, 'a list of names such as ["house.ach50"]')
    given = [key for key in keys_of(table) if key != "measured"]
    for name in names:
        if not any(covers(name, key) for key in given):
            raise place.error("measured", name, one_of(name, given))
    before = _before(table, "measured") or frozenset()
    return frozenset(names) | (before - since.changed - since.gone)


def labels_in(table: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Labels of the file, or of the file before its run: by the name of the machine."""
    run = table.get("provenance", {})
    before = run.get("labels") if isinstance(run, dict) else None
    if isinstance(before, dict):
        return {str(stem): dict(of) for stem, of in before.items() if isinstance(of, dict)}
    return dict(_labels({key: value for key, value in table.items() if key != "provenance"}))


def _labels(table: dict[str, Any], stem: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    for key, value in table.items():
        if not isinstance(value, dict):
            continue
        name = f"{stem}.{quoted(key)}" if stem else quoted(key)
        if key == "cooling" and isinstance(value.get("label"), dict):
            yield name, value["label"]
        else:
            yield from _labels(value, name)


def is_from_label(name: str, labels: dict[str, dict[str, Any]]) -> bool:
    """Whether a value follows from what stands on a label."""
    return any(
        name.startswith((f"{stem}.stages[", f"{stem}.label."))
        and name.rpartition(".")[2] not in _BESIDE_THE_RATING
        for stem in labels
    )


_BESIDE_THE_RATING = ("shr", "airflow")
"""Values in the table of a label that stand on no label."""


def digests(table: dict[str, Any]) -> dict[str, str]:
    """A digest of each value of a file, by its name."""
    return {
        name: hashlib.sha256(json.dumps(value, default=str).encode()).hexdigest()[:8]
        for name, value in _values(table)
    }


def _values(table: dict[str, Any], stem: str = "") -> Iterator[tuple[str, Any]]:
    """Names as by `keys_of`, with the values."""
    for key, value in table.items():
        name = f"{stem}.{quoted(key)}" if stem else quoted(key)
        if isinstance(value, dict):
            yield from _values(value, name)
        elif isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
            for number, row in enumerate(value, 1):
                yield from _values(row, f"{name}[{number}]")
        else:
            yield name, value


def changes_since_the_run(table: dict[str, Any]) -> Changes:
    """The values that were changed since a run wrote the file, by its tables with their ranges."""
    run = table.get("provenance", {})
    noted = run.get("as_run") if isinstance(run, dict) else None
    if not isinstance(noted, dict):
        return Changes(frozenset(), frozenset())
    now = digests({k: v for k, v in table.items() if k not in ("provenance", "measured")})
    changed = {name for name, digest in now.items() if noted.get(name) != digest}
    gone = {name for name in noted if name not in now}
    # A range is a value with parts.
    for names in (changed, gone):
        names |= {re.sub(r"\.(low|likely|high|scale)$", "", name) for name in names}
    return Changes(frozenset(changed), frozenset(gone - changed))


def _before(table: dict[str, Any], key: str) -> frozenset[str] | None:
    """Names that the run noted in the file, if a run wrote it."""
    run = table.get("provenance", {})
    names = run.get(key) if isinstance(run, dict) else None
    return frozenset(map(str, names)) if isinstance(names, list) else None
