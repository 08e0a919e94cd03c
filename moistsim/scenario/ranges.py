"""Ranges in a scenario file: separated from the study, and put back when a scenario is written.

A text ``"1.5 ± 0.4"`` or ``"80 ± 15 cfm"`` (also ``+-``) is a normal distribution with its standard
deviation. A table ``{ low = , high = }`` is a uniform distribution (of the logarithm with ``scale =
"log"``), and ``{ low = , likely = , high = }`` a triangle. The study uses the middle: the number
before ±, the likely value, or the mean of the ends.
"""

import copy
import math
import re
from collections.abc import Mapping
from typing import Any

import attrs

from moistsim.controls import SECOND
from moistsim.core.errors import InputError, Problem, brief
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Purchase, Tariff, Terms
from moistsim.scenario.descriptions import as_text
from moistsim.scenario.places import Place, ScenarioError
from moistsim.sensitivity import Distribution, FromScipy, Normal, Range, Triangular, plus_minus
from moistsim.study import Study
from moistsim.uncertainty import Uncertain, uncertain_inputs

Keys = tuple[str | int, ...]
"""Keys and list positions that lead to a value in the file."""

_KEYS = ("low", "likely", "high", "scale")
_NUMBER = re.compile(r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


def taken_out(
    tables: Mapping[str, Any], place: Place
) -> tuple[dict[str, Any], dict[Keys, Distribution]]:
    """Replace each range in the tables by its middle, and return the ranges by their place.

    Parameters
    ----------
    tables : dict
        The tables of a scenario.
    place : Place
        The scenario.

    Raises
    ------
    ScenarioError
        If a range cannot be used.
    """
    found: dict[Keys, Distribution] = {}

    def walked(value: Any, keys: Keys, kind: Any) -> Any:
        if not _may_vary(keys):
            return value
        # Other tables may have keys with these names.
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
    """The error of a range, with the range as the file has it."""
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
    """The ranges from `taken_out` by dotted name and in SI, as in `how_sure`.

    Parameters
    ----------
    ranges, tables, place
        The result and the arguments of `taken_out`.
    study, purchases, terms
        The descriptions made from the tables without ranges.

    Raises
    ------
    ScenarioError
        If a value cannot have a range, or an option replaces the machine.
    """
    named: dict[str, Uncertain] = {}
    for keys, of in ranges.items():
        if keys[0] == "equipment" and len(keys) > 1:
            for option, own in tables["options"].items():
                if keys[1] in own.get("equipment", {}):
                    accepted = (
                        f"a number, since option {brief(option)} has another one in its place; "
                    )
                    accepted += "ranges in the options' own tables"
                    raise refused(tables, keys, place, accepted)
        try:
            named |= uncertain_inputs(study, purchases, terms, {_dotted(keys): of}, "").ranges
        except InputError as error:
            raise refused(tables, keys, place, error.accepted) from None
    return named


def _kind(keys: Keys, owner: Any) -> Any:
    """The description that a table belongs to, if any, by that of its owner."""
    if keys[0] == "options" and len(keys) == 3:
        return {"equipment": Equipment, "house": House, "purchase": Purchase}.get(str(keys[2]))
    if len(keys) == 1:
        return {"house": House, "tariff": Tariff, "equipment": Equipment, "economics": Terms}.get(
            str(keys[0])
        )
    field = attrs.fields_dict(owner).get(str(keys[-1])) if owner else None
    return None if field is None else field.metadata.get("part")


def _may_vary(keys: Keys) -> bool:
    """Whether numbers at a place in the file, or below it, may be ranges."""
    if keys[0] != "options":
        return keys[0] in ("house", "tariff", "equipment", "economics")
    if keys[2:3] == ("second",):
        return len(keys) < 4 or keys[3] == "setpoints"
    return len(keys) < 3 or keys[2] in ("setpoints", "equipment", "house", "purchase")


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
    """The middle of a range, as a file would have it."""
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
    """The dotted name of a value, from its place in a file."""
    names = [str(key + 1) if isinstance(key, int) else key for key in keys]
    if names[0] == "options" and names[2] == "setpoints":
        names[2] = "strategy"
    if names[0] == "options" and names[2:4] == ["second", "setpoints"]:
        names[2:] = ["strategy", SECOND + names[4]]
    return ".".join(names)


def put_in(tables: dict[str, Any], name: str, of: Distribution, unit: str) -> None:
    """Put a range into the tables, in place of its middle.

    Parameters
    ----------
    tables : dict
        The tables of the scenario, which are changed.
    name : str
        Dotted name of the value.
    of : Range, Triangular or Normal
        In SI.
    unit : str
        That SI unit, a key of `units.KINDS`.

    Raises
    ------
    InputError
        If the value is not the middle of the range, or the file cannot hold the range.
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
    """The table that contains a named value, and its key there."""
    rest, owner = name, tables
    if name.startswith("options."):
        option = max((o for o in tables["options"] if name.startswith(f"options.{o}.")), key=len)
        owner, rest = tables["options"][option], name.removeprefix(f"options.{option}.")
        if rest.startswith("strategy."):
            rest = "setpoints." + rest.removeprefix("strategy.")
            if "second" in owner and rest.startswith(f"setpoints.{SECOND}"):
                rest = "second." + rest.replace(SECOND, "", 1)
        machine = rest.split(".")[1]
        if rest.startswith("equipment.") and machine in tables["equipment"]:
            # A range of one option cannot stand in the table of all options.
            shared = tables["equipment"].pop(machine)
            for own in tables["options"].values():
                own.setdefault("equipment", {})[machine] = copy.deepcopy(shared)
        if rest.startswith("house."):
            _copied(tables["house"], owner.setdefault("house", {}), rest.split(".")[1:])
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


def _copied(shared: dict[str, Any], own: dict[str, Any], keys: list[str]) -> None:
    """Copy a value of the house into the table of an option that does not change it."""
    key, *rest = keys
    if key not in own and key in shared:
        part = rest and isinstance(shared[key], dict)
        own[key] = {} if part else copy.deepcopy(shared[key])
    if rest and isinstance(shared.get(key), dict) and isinstance(own.get(key), dict):
        _copied(shared[key], own[key], rest)
