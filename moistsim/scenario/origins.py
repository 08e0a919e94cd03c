"""Origins of the values of a file: stated by its author, and measured."""

from typing import Any

from moistsim.core.errors import one_of
from moistsim.scenario.names import covers, keys_of
from moistsim.scenario.places import Place


def stated_in(table: dict[str, Any]) -> frozenset[str]:
    """Names of the values that the author of a file stated, without defaults that a run wrote."""
    given = frozenset(keys_of(table))
    before = _before(table, "stated")
    if before is not None:
        return before
    own = set(given)
    for key in given:
        # A certificate or a table states the stages; typical values are nobody's statement.
        for way in ("label", "table"):
            stem, _, rest = key.partition(f".cooling.{way}.")
            if rest:
                own.add(f"{stem}.cooling.stages")
        if ".table." in key:
            own.add(key.partition(".table.")[0] + ".values")
        if ".rules[" in key:
            own.add(key.partition(".rules[")[0] + ".rules")
        if key.startswith("house.typical.") or ".house.typical." in key:
            own.add(key.replace("house.typical.", "house.", 1))
    return frozenset(own)


def measured_in(table: dict[str, Any], place: Place) -> frozenset[str]:
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
    return frozenset(names) | (_before(table, "measured") or frozenset())


def _before(table: dict[str, Any], key: str) -> frozenset[str] | None:
    """Names that the run noted in the file, if a run wrote it."""
    run = table.get("provenance", {})
    names = run.get(key) if isinstance(run, dict) else None
    return frozenset(map(str, names)) if isinstance(names, list) else None
