"""Descriptions with other values, and the values in which two descriptions differ.

A path leads to a value through the fields of a description. Items of a list have numbers from 1:
``("cooling", "stages", "1", "capacity")``.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import InputError, Problem


class Change(NamedTuple):
    """One value in which two descriptions differ."""

    path: tuple[str, ...]
    before: Any
    """The value of the first description; a whole part where only one of the two has it."""
    after: Any
    metadata: Mapping[str, Any]
    """Metadata of the field: its unit, if it is a quantity, and its help."""


def differences(
    before: Any, after: Any, path: tuple[str, ...] = (), metadata: Mapping[str, Any] | None = None
) -> Iterator[Change]:
    """Yield the values in which two descriptions of one kind differ, down through their parts.

    Lists of different lengths, and a part that only one of them has, differ as a whole.
    """
    if before == after:
        return
    lists = isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after)
    if lists and all(map(attrs.has, map(type, before))):
        for number, (one, other) in enumerate(zip(before, after, strict=True), 1):
            yield from differences(one, other, (*path, str(number)), metadata)
    elif type(before) is type(after) and attrs.has(type(before)):
        for field in attrs.fields(type(before)):
            one, other = getattr(before, field.name), getattr(after, field.name)
            yield from differences(one, other, (*path, field.name), field.metadata)
    else:
        yield Change(path, before, after, metadata or {})


def rebased(own: Any, base: Any, other: Any, where: str) -> Any:
    """Apply what `own` changes in `base` to another description of that kind.

    Parameters
    ----------
    own, base, other : description
    where : str
        Name of the changes, for an error.

    Raises
    ------
    InputError
        If `other` lacks a part in which `own` changes something, or refuses the values.
    """
    changes = {change.path: change.after for change in differences(base, own)}
    for path in changes:
        whole = other
        for position, key in enumerate(path[:-1], 1):
            whole = inner(whole, key)
            if whole is None:
                raise InputError(
                    where,
                    Problem(
                        f"a change of {'.'.join(path)}, but this case has no {'.'.join(path[:position])}"
                    ),
                    "a part that all cases have",
                )
    return changed(other, changes)


def inner(whole: Any, key: str) -> Any:
    """The value of a field, or an item of a list by its number; None if there is none."""
    if isinstance(whole, tuple):
        return whole[int(key) - 1] if int(key) <= len(whole) else None
    return getattr(whole, key)


# ---------------------------------------------------------------------- with other values

_SAME = object()


@attrs.define
class _Node:
    """Changes at one place in a description: its own value, and changes inside it."""

    value: Any = _SAME
    within: dict[str, "_Node"] = attrs.field(factory=dict)


def changed(whole: Any, changes: Mapping[tuple[str, ...], Any]) -> Any:
    """Replace several values of a description at the same time, by their paths.

    Changes inside a part that the description does not have are without effect.

    Raises
    ------
    InputError
        If the description's checks refuse the values.
    """
    root = _Node()
    for path, value in changes.items():
        node = root
        for key in path:
            node = node.within.setdefault(key, _Node())
        node.value = value
    return _changed(whole, root)


def _changed(whole: Any, node: _Node) -> Any:
    """Apply all changes to a description in one step, because its checks compare fields."""
    if node.value is not _SAME:
        whole = node.value
    if whole is None or not node.within:
        return whole
    new = {key: _changed(inner(whole, key), n) for key, n in node.within.items()}
    if isinstance(whole, tuple):
        return tuple(new.get(str(k), item) for k, item in enumerate(whole, 1))
    return attrs.evolve(whole, **new)
