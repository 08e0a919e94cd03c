"""The control of an option: a named strategy or rule rows, additions and setpoints."""

import re
from typing import Any

from moistsim.controls import (
    ADDITIONS,
    BUILT_IN,
    SETPOINTS,
    RuleTable,
    Strategy,
    TwoControls,
    rule_table,
)
from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.scenario.descriptions import as_text
from moistsim.scenario.places import Place, check_keys

CONTROL = ("strategy", "rules", "additions", "setpoints")
"""Keys of a control."""


def control_of(table: dict[str, Any], place: Place) -> Strategy:
    """Build the strategy of an option, with that of a second system if the table has one.

    A second control without a strategy or rules is the first one, with other setpoints.

    Raises
    ------
    ScenarioError
    """
    main = _control(table, place)
    if "second" not in table:
        return main
    inner = place.inside("second")
    own = check_keys(table["second"], CONTROL, inner)
    if "strategy" not in own and "rules" not in own:
        shared = {key: table[key] for key in CONTROL if key in table}
        points = {**table.get("setpoints", {}), **own.get("setpoints", {})}
        own = {**shared, **own, **({"setpoints": points} if points else {})}
    return main.with_second(_control(own, inner))


def _control(table: dict[str, Any], place: Place) -> Strategy:
    """Build one strategy.

    Raises
    ------
    ScenarioError
    """
    given = [key for key in ("strategy", "rules") if key in table]
    if len(given) != 1:
        found = "both strategy and rules" if given else "neither strategy nor rules"
        accepted = f"strategy, {one_of('', BUILT_IN)}; or rules, a list of rows"
        raise place.error("", Problem(found), accepted)
    points, names = table.get("setpoints", {}), table.get("additions", [])
    inner = place.inside("setpoints")
    if "rules" in table:
        # Rows contain their own thresholds. Unknown keys are reported before the rows are read.
        known = [*SETPOINTS]
        for name in names if isinstance(names, list) else []:
            known += [*ADDITIONS[name].settings] if name in list(ADDITIONS) else []
        base: Strategy = _rules(table["rules"], check_keys(points, known, inner), place)
        strategy = _with_additions(base, names, place)
    else:
        name = table["strategy"]
        if name not in list(BUILT_IN):
            raise place.error("strategy", name, one_of(str(name), BUILT_IN))
        strategy = _with_additions(BUILT_IN[name], names, place)
        check_keys(points, strategy.settings, inner)
    try:
        return strategy(**points)
    except InputError as error:
        # The error names the part whose check failed.
        raise inner.moved(error, error.where.partition(".")[0], points) from None


def _with_additions(strategy: Strategy, names: Any, place: Place) -> Strategy:
    if not isinstance(names, list):
        raise place.error("additions", names, 'a list of names: ["set_back"]')
    for name in names:
        if name not in list(ADDITIONS):
            raise place.error("additions", name, one_of(str(name), ADDITIONS))
        try:
            strategy = strategy + ADDITIONS[name]
        except InputError as error:
            raise place.error("additions", error.found, error.accepted, error.problem) from None
    return strategy


def _rules(rows: Any, points: dict[str, Any], place: Place) -> Strategy:
    """Build a strategy from rule rows."""
    given = {key: value for key, value in points.items() if key in SETPOINTS}
    try:
        return rule_table(rows, name="rules", **given)
    except InputError as error:
        at = re.fullmatch(
            r"rule_table(?: row (\d+))?(?: (\w+))?|strategy rules\.(\w+)", error.where
        )
        row, field, setting = at.groups() if at is not None else (None, None, None)
        key = setting or field or ""
        inner = place.inside("rules", int(row or 0))
        if key in SETPOINTS:
            inner = place.inside("setpoints")
        found = error.found
        if row and not key and not isinstance(found, Problem):
            found = Problem(f"unknown key {brief(found)}")
        if key and not isinstance(found, str | list | tuple):
            found = given.get(key, found) if key in SETPOINTS else found
        raise inner.error(key, found, error.accepted, error.problem) from None


def control_as_table(strategy: Strategy) -> dict[str, Any]:
    """The table of a strategy: its name or rows, additions and setpoints, and a second control."""
    if isinstance(strategy, TwoControls):
        return {
            **control_as_table(strategy.main),
            "second": control_as_table(strategy.second),
        }
    points = {
        key: as_text(value, strategy.units.get(key, "count"))
        for key, value in strategy.settings.items()
    }
    base, additions = strategy.base, strategy.additions
    said: dict[str, Any] = {"strategy": base.name}
    if isinstance(base, RuleTable):
        said = {"rules": base.sentences}
        known = [*SETPOINTS, *(key for addition in additions for key in addition.settings)]
        points = {key: value for key, value in points.items() if key in known}
    if additions:
        said["additions"] = [addition.name for addition in additions]
    return {**said, **({"setpoints": points} if points else {})}
