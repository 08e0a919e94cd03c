"""Ranges in a scenario file: taken out of its tables for the study, and put back when it is written.

A number may be a text ``"1.5 ± 0.4"`` (or ``+-``; with a unit ``"80 ± 15 cfm"``): about the first,
with the second as the standard deviation. Or a table ``{ low = , high = }``, all values between as
likely (``scale = "log"``: their logarithms), or ``{ low = , likely = , high = }``, a triangle. The
study itself has the middle: the number before ±, the likely one, half way between the ends.
"""

import copy
import math
import re
from collections.abc import Mapping
from typing import Any

import attrs

from moistsim.core.errors import InputError, Problem
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Purchase, Tariff, Terms
from moistsim.scenario.descriptions import as_text
from moistsim.scenario.places import Place, ScenarioError
from moistsim.sensitivity import Distribution, FromScipy, Normal, Range, Triangular, plus_minus
from moistsim.study import Study
from moistsim.uncertainty import Uncertain, uncertain_inputs

Keys = tuple[str | int, ...]
"""Keys, and positions in lists, down to a value in the file."""

_KEYS = ("low", "likely", "high", "scale")
_NUMBER = re.compile(r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


def taken_out(
    tables: Mapping[str, Any], place: Place
) -> tuple[dict[str, Any], dict[Keys, Distribution]]:
    """The tables with the middle of each range in its place, and the ranges by where they stood.

    Parameters
    ----------
    tables : dict
        What a scenario holds.
    place : Place
        The scenario.

    Raises
    ------
    ScenarioError
        Of a range that is none.
    """
    found: dict[Keys, Distribution] = {}

    def walked(value: Any, keys: Keys, kind: Any) -> Any:
        if not _may_vary(keys):
            return value
        # Tables that are something else may have keys that are called so.
        is_number = not kind and len(keys) >= (4 if keys[0] == "options" else 2)
        is_table = isinstance(value, dict) and is_number and value and not value.keys() - {*_KEYS}
        if isinstance(value, str) or is_table:
            try:
                of = plus_minus(value, "") if isinstance(value, str) else _of_table(value)
                if of is None:
                    return value
                middle = _middle(of)
            except InputError as error:
                raise refused(tables, keys, place, error.accepted) from None
            found[keys] = of
            return middle
        return inner(value, keys, kind)

    def inner(value: Any, keys: Keys, kind: Any) -> Any:
        if isinstance(value, dict):
            return {
                key: walked(item, (*keys, key), _kind((*keys, key), kind))
                for key, item in value.items()
            }
        if isinstance(value, list):
            return [walked(item, (*keys, k), kind) for k, item in enumerate(value)]
        return value

    return inner(tables, (), None), found


def refused(tables: Any, keys: Keys, place: Place, accepted: str) -> ScenarioError:
    """The error of a range, which names it as the file has it."""
    for key in keys[:-1]:
        place = place._replace(number=key + 1) if isinstance(key, int) else place.inside(key)
    for key in keys:
        tables = tables[key]
    return place.error(str(keys[-1]), tables, accepted)


def by_name(
    ranges: Mapping[Keys, Distribution],
    tables: Mapping[str, Any],
    place: Place,
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
) -> dict[str, Uncertain]:
    """The ranges that were taken out, by dotted name and in SI, as `how_sure` takes them.

    Parameters
    ----------
    ranges, tables, place
        From `taken_out`, and what it was given.
    study, purchases, terms
        What the tables without them describe.

    Raises
    ------
    ScenarioError
        Of a range that means nothing there, or whose machine an option has another one of.
    """
    named: dict[str, Uncertain] = {}
    for keys, of in ranges.items():
        if keys[0] == "equipment" and len(keys) > 1:
            for option, own in tables["options"].items():
                if keys[1] in own.get("equipment", {}):
                    accepted = f"a number, since option {option!r} has another one in its place; "
                    accepted += "ranges in the options' own tables"
                    raise refused(tables, keys, place, accepted)
        try:
            named |= uncertain_inputs(study, purchases, terms, {_dotted(keys): of}, "").ranges
        except InputError as error:
            raise refused(tables, keys, place, error.accepted) from None
    return named


def _kind(keys: Keys, owner: Any) -> Any:
    """The description that a table is read as, if any, within that of its owner."""
    if keys[0] == "options" and len(keys) == 3:
        return {"equipment": Equipment, "purchase": Purchase}.get(str(keys[2]))
    if len(keys) == 1:
        return {"house": House, "tariff": Tariff, "equipment": Equipment, "economics": Terms}.get(
            str(keys[0])
        )
    field = attrs.fields_dict(owner).get(str(keys[-1])) if owner else None
    return None if field is None else field.metadata.get("part")


def _may_vary(keys: Keys) -> bool:
    """Whether numbers at or below a place in the file may be ranges."""
    if keys[0] != "options":
        return keys[0] in ("house", "tariff", "equipment", "economics")
    return len(keys) < 3 or keys[2] in ("setpoints", "equipment", "purchase")


def _of_table(table: Mapping[str, Any]) -> Range | Triangular:
    scale = table.get("scale", "linear")
    if "low" not in table or "high" not in table or scale not in ("linear", "log"):
        raise InputError("", table, "{ low = ..., high = ... }, with likely = ... or scale = 'log'")
    if "likely" not in table:
        return Range(table["low"], table["high"], scale == "log")
    if scale == "log":
        raise InputError("", table, "likely = ... without a scale")
    return Triangular(table["low"], table["likely"], table["high"])


def _middle(of: Range | Triangular | Normal) -> Any:
    """What stands in the study, as it would be written in the file."""
    if isinstance(of, Normal):
        return of.mean
    if isinstance(of, Triangular):
        return of.likely
    ends, units = [], []
    for end in (of.low, of.high):
        match = _NUMBER.match(str(end))
        if isinstance(end, bool) or match is None:
            raise InputError("", end, "numbers, or texts with units, at both ends")
        ends.append(float(match[1].replace(",", "")))
        units.append(match[2])
    if units[0] != units[1]:
        raise InputError("", units, "the same unit at both ends")
    if of.logarithmic and not min(ends) > 0.0:
        raise InputError("", ends, "ends above zero where scale = 'log'")
    middle = math.sqrt(ends[0] * ends[1]) if of.logarithmic else 0.5 * (ends[0] + ends[1])
    return f"{middle!r} {units[0]}" if units[0] else middle


def _dotted(keys: Keys) -> str:
    """The name of a value (see `uncertain`) by where it stands in a file."""
    names = [str(key + 1) if isinstance(key, int) else key for key in keys]
    if names[0] == "options" and names[2] == "setpoints":
        names[2] = "strategy"
    return ".".join(names)


def put_in(tables: dict[str, Any], name: str, of: Distribution, unit: str) -> None:
    """Write a range where its middle stands.

    Parameters
    ----------
    tables : dict
        What is to be written, which is changed: house, tariff, economics, equipment and options.
    name : str
        Dotted.
    of : Range, Triangular or Normal
        In SI.
    unit : str
        That SI unit, a key of `units.KINDS`.

    Raises
    ------
    InputError
        If the value has another middle, or options that differ share the range of a machine.
    """
    if isinstance(of, FromScipy):
        raise InputError(
            f"write_scenario ranges[{name!r}]",
            Problem(f"{of.words} of scipy.stats, which no file can hold"),
            "ms.normal, ms.uniform, ms.log_uniform or ms.triangular",
        )
    owner, key = _owner(tables, name)
    center, here = as_text(of.center, unit), owner.get(key) if isinstance(owner, dict) else None
    if here is None or not math.isclose(_plain(here), _plain(center), rel_tol=1.0e-9):
        raise InputError(
            f"write_scenario ranges[{name!r}]",
            center,
            f"the study's own value, {here!r}, as its middle",
        )
    if isinstance(of, Normal):
        after = str(here).partition(" ")[2] if isinstance(here, str) else ""
        owner[key] = f"{_plain(here)!r} ± {of.deviation!r} {after}".strip()
    elif isinstance(of, Triangular):
        owner[key] = dict(zip(_KEYS, (as_text(value, unit) for value in of), strict=False))
    else:
        owner[key] = {"low": as_text(of.low, unit), "high": as_text(of.high, unit)}
        owner[key] |= {"scale": "log"} if of.logarithmic else {}


def _plain(written: float | str) -> float:
    return float(str(written).partition(" ")[0])


def _owner(tables: dict[str, Any], name: str) -> tuple[Any, str]:
    """The table in which a named value stands, and its key there."""
    rest, owner = name, tables
    if name.startswith("options."):
        option = max((o for o in tables["options"] if name.startswith(f"options.{o}.")), key=len)
        owner, rest = tables["options"][option], name.removeprefix(f"options.{option}.")
        if rest.startswith("strategy."):
            rest = "setpoints." + rest.removeprefix("strategy.")
        machine = rest.split(".")[1]
        if rest.startswith("equipment.") and machine in tables["equipment"]:
            # What one option is uncertain in cannot stand in the table of all.
            shared = tables["equipment"].pop(machine)
            for own in tables["options"].values():
                own.setdefault("equipment", {})[machine] = copy.deepcopy(shared)
    elif name.startswith("strategy."):
        raise InputError(
            f"write_scenario ranges[{name!r}]",
            name,
            "setpoints by option: options.NAME.strategy...",
        )
    keys = rest.split(".")
    for key in keys[:-1]:
        owner = owner[int(key) - 1] if isinstance(owner, list) else owner.get(key, {})
    return owner, keys[-1]
