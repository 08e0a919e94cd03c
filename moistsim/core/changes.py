"""Descriptions with other values, and the values in which two descriptions differ.

A path leads to a value through the fields of a description. Items of a list have numbers from 1:
``("cooling", "stages", "1", "capacity")``.
"""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple, Self

import attrs

from moistsim.core.errors import Fix, InputError, Problem, one_of


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


class Evolving:
    """A description that gives a copy of itself with other values."""

    __slots__ = ()

    def evolve(self, changes: Mapping[str, Any] | None = None, /, **fields: Any) -> Self:
        """Copy this description with other values, checked as when it was made.

        All other values stay, also those that once followed from another one, such as the airflow
        of a stage from its capacity. A sweep does the same.

        Parameters
        ----------
        changes : dict, optional
            Values inside parts by dotted name, such as ``{"envelope.wall_u": 0.4}``; items of a list
            have numbers from 1: ``{"cooling.stages.2.shr": 0.7}``.
        **fields
            Values of its own fields.

        Raises
        ------
        InputError
            If a name is unknown or inside a part that is not there, or a value is refused.

        Examples
        --------
        >>> import moistsim as ms
        >>> house = ms.House(floor_area="1900 ft2", ach50=6)
        >>> tight = house.evolve({"envelope.window_shgc": 0.25}, ach50=2, bedrooms=4)
        >>> tight.ach50, tight.bedrooms, tight.envelope.window_shgc, house.ach50
        (2.0, 4.0, 0.25, 6.0)
        """
        made: Self = evolved(self, {**(changes or {}), **fields}, f"{type(self).__name__}.evolve")
        return made


def evolved(whole: Any, changes: Mapping[str, Any], where: str) -> Any:
    """Replace values of a description by their dotted names.

    Raises
    ------
    InputError
        If a name is unknown or inside a part that is not there, or a value is refused.
    """
    paths = {}
    for name, value in changes.items():
        if not isinstance(name, str):
            raise InputError(where, name, "names of fields, such as 'ach50'")
        paths[tuple(name.split("."))] = value
        _check_name(whole, name, where, changes)
    return changed(whole, paths)


def lacks(whole: Any, name: str) -> bool:
    """Whether a part on the way of a dotted name is not there.

    >>> import moistsim as ms
    >>> lacks(ms.Equipment(), "cooling.fan"), lacks(ms.Equipment(), "cooling")
    (True, False)
    """
    for key in name.split(".")[:-1]:
        if not _known(whole, key):
            return False
        whole = inner(whole, key)
        if whole is None:
            return True
    return False


def _known(owner: Any, key: str) -> bool:
    """Whether a description can have such a part, or a list such an item."""
    return key.isdecimal() if isinstance(owner, tuple) else hasattr(owner, key)


def _check_name(whole: Any, name: str, where: str, changes: Mapping[str, Any]) -> None:
    """Refuse a dotted name that leads nowhere."""
    *parts, last = name.split(".")
    owner, path = whole, ""
    for key in (*parts, last):
        if owner is None:
            example = f"as in evolve({path}=...)" if "." not in path else "with its part"
            raise InputError(
                where, Problem(f"{name!r} without {path}"), Fix(f"Give {path} itself, {example}")
            )
        if isinstance(owner, tuple):
            known = [str(number) for number in range(1, len(owner) + 1)]
        else:
            known = [f.name for f in attrs.fields(type(owner))] if attrs.has(type(owner)) else []
        inside = f" of {path}" if path else ""
        if not known:
            raise InputError(where, Problem(f"{name!r} names a part{inside}"), f"{path} alone")
        if key not in known:
            kind = "item" if isinstance(owner, tuple) else "field"
            raise InputError(where, Problem(f"unknown {kind} {key!r}{inside}"), one_of(key, known))
        path = f"{path}.{key}" if path else key
        # A part that comes with the same call counts as there.
        owner = changes.get(path, inner(owner, key))
