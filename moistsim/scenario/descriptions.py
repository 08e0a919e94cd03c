"""Descriptions made from tables, and written as tables.

The keys of a table are the fields of the description.
"""

import inspect
from typing import Any

import attrs

from moistsim.core.errors import Fix, InputError, Problem, brief
from moistsim.core.fields import missing
from moistsim.core.units import KINDS, WITHOUT_UNIT
from moistsim.equipment import Cooling
from moistsim.house import House, TypicalHouse, one_leakage, replaced
from moistsim.prices import HourlyProfile
from moistsim.scenario.places import Place, ScenarioError, check_keys, text_of

_OTHER_WAYS: dict[type, dict[str, tuple[str, tuple[str, ...]]]] = {
    Cooling: {
        "label": (
            "from_label",
            ("capacity", "seer2", "eer2", "seer", "kind", "shr", "airflow", "lower_stages"),
        ),
        "table": ("from_table", ("file", "airflow", "capacities", "inputs", "tolerance")),
        "typical": ("typical", ("capacity", "kind", "year", "shr", "airflow", "lower_stages")),
    },
    HourlyProfile: {"table": ("from_table", ("file", "column"))},
}
"""Other ways to describe: the name of an inner table, the method that reads it, and its keys."""


QUESTIONS = {
    "capacity": Fix("How large is the air conditioner? Write capacity = '2.5 ton'"),
}
"""Questions about the keys of `_OTHER_WAYS` that an owner can answer."""
EXAMPLES = {"capacity": "'2.5 ton'", "seer2": "14.3", "year": "2004", "file": "'table.csv'"}
"""Values as an owner would write them, for several keys that are missing together."""


def _in_file(argument: str) -> str:
    """Key of a file for an argument of a method."""
    return "file" if argument == "source" else argument


def fields_in(kind: Any, table: Any, place: Place) -> dict[str, Any]:
    """The values of a table for the fields of a description, with parts built.

    Parameters
    ----------
    kind : class of a description
        The description.
    table
        The table of the file.
    place : Place
        The place of the table.

    Raises
    ------
    ScenarioError
    """
    fields = attrs.fields_dict(kind)
    for key in table if isinstance(table, dict) else ():
        if key not in fields and (inner := _part_with(kind, key)):
            where = f"[{place.inside(inner).table}]"
            fix = Fix(f"Did you mean {key!r} in {where}?")
            raise place.error("", Problem(f"unknown key {key!r}"), fix)
    check_keys(table, [*_OTHER_WAYS.get(kind, ()), *fields], place)
    values = {}
    for name, value in table.items():
        metadata = fields[name].metadata
        number = metadata.get("part_or_number") and not isinstance(value, dict)
        if "part" not in metadata or number:
            values[name] = value
        elif metadata.get("many"):
            if not isinstance(value, list):
                raise place.error(name, value, f"a list of tables: {metadata['help']}")
            values[name] = [
                build(metadata["part"], row, place.inside(name, number))
                for number, row in enumerate(value, 1)
            ]
        else:
            values[name] = build(metadata["part"], value, place.inside(name))
    return values


def _part_with(kind: Any, key: str) -> str:
    """The part of a description that has a field of this name; empty if no part has."""
    for name, field in attrs.fields_dict(kind).items():
        part = field.metadata.get("part")
        if part and not field.metadata.get("many") and key in attrs.fields_dict(part):
            return str(name)
    return ""


def build(kind: Any, table: Any, place: Place) -> Any:
    """Build a description from a table. Errors name the file, the table and the key.

    Parameters
    ----------
    kind : class of a description
        The description.
    table
        The table of the file: fields, or one of `_OTHER_WAYS` with further fields.
    place : Place
        The place of the table.

    Raises
    ------
    ScenarioError
    """
    if isinstance(table, dict) and any(way in table for way in _OTHER_WAYS.get(kind, ())):
        return _build_by_way(kind, table, place)
    values = fields_in(kind, table, place)
    lacking = {
        name: field.metadata
        for name, field in attrs.fields_dict(kind).items()
        if field.default is attrs.NOTHING and name not in values
    }
    if len(lacking) == 1:
        raise place.error(next(iter(lacking)), Problem("missing"), missing(lacking)[1])
    if lacking:
        raise place.error("", *missing(lacking))
    try:
        return kind(**values)
    except InputError as error:
        raise place.moved(error, kind.__name__, table) from None


def _build_by_way(kind: Any, table: dict[str, Any], place: Place) -> Any:
    """Build a description by one of its `_OTHER_WAYS`, with the further fields of the table."""
    given = [way for way in _OTHER_WAYS[kind] if way in table]
    rest = {key: value for key, value in table.items() if key not in given}
    # These fields are required unless the table uses another way.
    plain = [f.name for f in attrs.fields(kind) if f.default is attrs.NOTHING]
    both = [*given, *(key for key in plain if key in rest)]
    if len(both) > 1:
        raise place.error(
            "",
            Problem(" and ".join(both) + " together"),
            "one of " + ", ".join([*_OTHER_WAYS[kind], *plain]),
        )
    name, known = _OTHER_WAYS[kind][given[0]]
    inner, method = place.inside(given[0]), getattr(kind, name)
    told = dict(check_keys(table[given[0]], known, inner))
    needed = [p.name for p in inspect.signature(method).parameters.values()
              if p.default is p.empty and p.kind is p.POSITIONAL_OR_KEYWORD]  # fmt: skip
    lacking = [key for key in map(_in_file, needed) if key not in told]
    if name == "from_label" and lacking and not {"seer2", "seer"} & {*told}:
        lacking.append("seer2")
    if len(lacking) == 1:
        key = lacking[0]
        raise inner.error(key, Problem("missing"), QUESTIONS.get(key, "a value for " + key))
    if lacking:
        every = " and ".join((", ".join(lacking[:-1]), lacking[-1]))
        written = ", ".join(f"{key} = {EXAMPLES.get(key, '...')}" for key in lacking)
        raise inner.error("", Problem(f"{every} missing"), Fix(f"Write {written}"))
    if "file" in told:
        file = place.folder / text_of(told, "file", inner)
        if not file.is_file():
            accepted = "the path of a CSV file, relative to the folder of the scenario"
            raise inner.error("file", Problem(f"{brief(told['file'])} is not a file"), accepted)
        told["source"] = file
        del told["file"]
    try:
        return method(**told, **fields_in(kind, rest, place))
    except ScenarioError:
        raise
    except InputError as error:
        owner = f"{kind.__name__}.{name}"
        if error.where.startswith(owner):
            raise inner.moved(error, owner, told) from None
        if error.where.split(".")[0] == kind.__name__:
            raise place.moved(error, kind.__name__, rest) from None
        raise inner.error(error.where, error.found, error.accepted, error.problem) from None


def house_of(table: Any, place: Place) -> House:
    """Build a house from its fields, or from `typical` fields and others that replace them."""
    if isinstance(table, dict) and "typical" in table:
        typical = build(TypicalHouse, table["typical"], place.inside("typical"))
        given = {key: value for key, value in table.items() if key != "typical"}
        table = replaced(one_leakage(typical.fields(), given), given)
    house: House = build(House, table, place)
    return house


def as_text(value: float, unit: str) -> float | str:
    """A number in SI as a text with its unit, or as a number if it has no unit."""
    return value if unit in WITHOUT_UNIT else f"{value!r} {unit}"


def as_table(described: Any) -> dict[str, Any]:
    """A description as a table of all its fields, without those that are None."""
    table: dict[str, Any] = {}
    for field in attrs.fields(type(described)):
        value, metadata = getattr(described, field.name), field.metadata
        if value is None:
            continue
        if "part" in metadata:
            table[field.name] = (
                [as_table(item) for item in value] if metadata.get("many") else as_table(value)
            )
        elif metadata.get("list"):
            table[field.name] = [as_text(item, metadata["unit"]) for item in value]
        elif metadata.get("profile"):
            table[field.name] = list(value)
        else:
            unit = metadata.get("unit")
            table[field.name] = as_text(value, unit) if unit in KINDS else value
    return table
