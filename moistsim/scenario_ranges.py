"""Ranges in a scenario file: taken out of its tables for the study, and put back when it is written.

A number may be a text ``"1.5 ± 0.4"`` (or ``+-``; with a unit ``"80 ± 15 cfm"``): about the first,
with the second as the standard deviation. Or a table ``{ low = , high = }``, all values between as
likely (``scale = "log"``: their logarithms), or ``{ low = , likely = , high = }``, a triangle. The
study itself has the middle: the number before ±, the likely one, half way between the ends.
"""

import math
import re
from collections.abc import Callable, Mapping
from typing import Any

import attrs

from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.purchase import Purchase, Terms
from moistsim.sampling import Distribution, Normal, Range, Triangular, plus_minus
from moistsim.tariff import Tariff
from moistsim.units import InputError

Path = tuple[str | int, ...]
"""Keys, and positions in lists, down to a value in the file."""

_KEYS = ("low", "likely", "high", "scale")
_NUMBER = re.compile(r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


def taken_out(
    tables: Mapping[str, Any], refused: Callable[[Path, Any, str], Exception]
) -> tuple[dict[str, Any], dict[Path, Distribution]]:
    """The tables with the middle of each range in its place, and the ranges by where they stood.

    Parameters
    ----------
    tables : dict
        What a scenario holds.
    refused : callable
        The error for a path, what stands there, and what would be accepted.
    """
    found: dict[Path, Distribution] = {}

    def walked(value: Any, path: Path, kind: Any) -> Any:
        if not _may_vary(path):
            return value
        # Tables that are something else may have keys that are called so.
        is_number = not kind and len(path) >= (4 if path[0] == "options" else 2)
        is_table = isinstance(value, dict) and is_number and value and not value.keys() - {*_KEYS}
        if isinstance(value, str) or is_table:
            try:
                of = plus_minus(value, "") if isinstance(value, str) else _of_table(value)
                if of is None:
                    return value
                middle = _middle(of)
            except InputError as error:
                raise refused(path, value, error.accepted) from None
            found[path] = of
            return middle
        return inner(value, path, kind)

    def inner(value: Any, path: Path, kind: Any) -> Any:
        if isinstance(value, dict):
            return {
                key: walked(item, (*path, key), _kind((*path, key), kind))
                for key, item in value.items()
            }
        if isinstance(value, list):
            return [walked(item, (*path, k), kind) for k, item in enumerate(value)]
        return value

    return inner(tables, (), None), found


def _kind(path: Path, owner: Any) -> Any:
    """The description that a table is read as, if any, within that of its owner."""
    if path[0] == "options" and len(path) == 3:
        return {"equipment": Equipment, "purchase": Purchase}.get(str(path[2]))
    if len(path) == 1:
        return {"house": House, "tariff": Tariff, "equipment": Equipment, "economics": Terms}.get(
            str(path[0])
        )
    field = attrs.fields_dict(owner).get(str(path[-1])) if owner else None
    return None if field is None else field.metadata.get("part")


def _may_vary(path: Path) -> bool:
    """Whether numbers at or below a place in the file may be ranges."""
    if path[0] != "options":
        return path[0] in ("house", "tariff", "equipment", "economics")
    return len(path) < 3 or path[2] in ("set_points", "equipment", "purchase")


def _of_table(table: Mapping[str, Any]) -> Distribution:
    scale = table.get("scale", "linear")
    if "low" not in table or "high" not in table or scale not in ("linear", "log"):
        raise InputError("", table, "{ low = ..., high = ... }, with likely = ... or scale = 'log'")
    if "likely" not in table:
        return Range(table["low"], table["high"], scale == "log")
    if scale == "log":
        raise InputError("", table, "likely = ... without a scale")
    return Triangular(table["low"], table["likely"], table["high"])


def _middle(of: Distribution) -> Any:
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


def dotted(path: Path) -> str:
    """The name of a value (see `uncertain`) by where it stands in a file."""
    keys = [str(key + 1) if isinstance(key, int) else key for key in path]
    if keys[0] == "options" and keys[2] == "set_points":
        keys[2] = "strategy"
    return ".".join(keys)


def put_in(
    tables: dict[str, Any], name: str, of: Distribution, written: Callable[[float], float | str]
) -> None:
    """Write a range where its middle stands.

    Parameters
    ----------
    tables : dict
        What is to be written, which is changed: house, tariff, economics, equipment and options.
    name : str
        Dotted.
    of : Range, Triangular or Normal
        In SI.
    written : callable
        A number in SI as the file has it.

    Raises
    ------
    InputError
        If the value has another middle, or options that differ share the range of a machine.
    """
    owner, key = _owner(tables, name)
    centre, here = written(of.centre), owner.get(key) if isinstance(owner, dict) else None
    if here is None or not math.isclose(_plain(here), _plain(centre), rel_tol=1.0e-9):
        raise InputError(
            f"write_scenario ranges[{name!r}]",
            centre,
            f"the study's own value, {here!r}, as its middle",
        )
    if isinstance(of, Normal):
        unit = str(here).partition(" ")[2] if isinstance(here, str) else ""
        owner[key] = f"{_plain(here)!r} ± {of.deviation!r} {unit}".strip()
    elif isinstance(of, Triangular):
        owner[key] = dict(zip(_KEYS, map(written, of), strict=False))
    else:
        owner[key] = {"low": written(of.low), "high": written(of.high)}
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
            rest = "set_points." + rest.removeprefix("strategy.")
        machine = rest.split(".")[1]
        if rest.startswith("equipment.") and machine in tables["equipment"]:
            # What one option is uncertain in cannot stand in the table of all.
            shared = tables["equipment"].pop(machine)
            for own in tables["options"].values():
                own.setdefault("equipment", {})[machine] = _copy(shared)
    elif name.startswith("strategy."):
        raise InputError(
            f"write_scenario ranges[{name!r}]",
            name,
            "set-points by option: options.NAME.strategy...",
        )
    keys = rest.split(".")
    for key in keys[:-1]:
        owner = owner[int(key) - 1] if isinstance(owner, list) else owner.get(key, {})
    return owner, keys[-1]


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(item) for key, item in value.items()}
    return [_copy(item) for item in value] if isinstance(value, list) else value
