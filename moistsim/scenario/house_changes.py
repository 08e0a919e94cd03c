"""What an option changes in the house: a table that is merged over ``[house]``, and written back."""

from typing import Any

import attrs

from moistsim.core.errors import one_of
from moistsim.house import House, one_leakage, replaced
from moistsim.scenario.descriptions import as_table, house_of
from moistsim.scenario.places import Place

ABSENT = "absent"
"""Key with a list of other keys: the option's house lacks what ``[house]`` has there."""


def changed_house(base: dict[str, Any], own: Any, described: House, place: Place) -> House:
    """The house of an option.

    Parameters
    ----------
    base : dict
        The table ``[house]``.
    own
        The option's table, which is merged over it, tables within tables too.
    described : House
        The house that `base` describes.
    place : Place
        The place of the option's table.

    Raises
    ------
    ScenarioError
    """
    if not isinstance(own, dict):
        raise place.error("", own, "a table of keys and values")
    if "typical" not in base:
        # A space that the ducts imply stays, wherever an option moves the ducts.
        base = {**{name: {} for name in described.spaces}, **base}
    given = _given(own)
    return house_of(replaced(one_leakage(_ready(base, own, described, place), given), given), place)


def _given(own: dict[str, Any]) -> dict[str, Any]:
    """An option's table without its lists of absent keys."""
    return {
        key: _given(value) if isinstance(value, dict) else value
        for key, value in own.items()
        if key != ABSENT
    }


def _ready(base: dict[str, Any], own: dict[str, Any], part: Any, place: Place) -> dict[str, Any]:
    """The table of the house, ready to be merged: without what is absent, and parts as tables."""
    absent = _absent(base, own, place)
    ready = {key: value for key, value in base.items() if key not in absent}
    for key, value in own.items():
        if isinstance(value, dict):
            inner, before = getattr(part, key, None), ready.get(key)
            if before is not None and not isinstance(before, dict) and attrs.has(type(inner)):
                # One number stands for a part, such as one window-to-wall ratio for all walls.
                before = as_table(inner)
            if isinstance(before, dict) or ABSENT in value:
                before = before if isinstance(before, dict) else {}
                ready[key] = _ready(before, value, inner, place.inside(key))
    return ready


def _absent(base: dict[str, Any], own: dict[str, Any], place: Place) -> list[str]:
    names = own.get(ABSENT, [])
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise place.error(ABSENT, names, 'a list of keys of the house, such as ["window_opening"]')
    for name in names:
        if name not in base:
            raise place.error(
                ABSENT, name, one_of(name, base) if base else "no key: [house] has none here"
            )
    return names


def changes_as_table(before: Any, after: Any) -> dict[str, Any]:
    """The fields of a description that differ from another one, as a table for `changed_house`."""
    whole, table, absent = as_table(after), {}, []
    for field in attrs.fields(type(after)):
        one, other = getattr(before, field.name), getattr(after, field.name)
        if one == other:
            continue
        if other is None:
            absent.append(field.name)
        elif type(one) is type(other) and attrs.has(type(other)):
            table[field.name] = changes_as_table(one, other)
        else:
            table[field.name] = whole[field.name]
    return {**({ABSENT: absent} if absent else {}), **table}
