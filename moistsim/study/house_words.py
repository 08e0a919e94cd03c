"""What an option changes in the house, in the trade's words."""

from collections.abc import Iterator
from typing import Any

import attrs

from moistsim.core.changes import Change, inner
from moistsim.core.display import Show
from moistsim.house import House
from moistsim.study.study import Study

_PARTS = {
    (): "House",
    ("leakage",): "Air leakage",
    ("moisture_store",): "Moisture storage",
    ("contents_store",): "Moisture storage of contents",
    ("exhausts",): "Exhaust fans",
}
"""Names of parts that are not plain English; others are their fields' names."""
_FIELDS = {
    "window_to_wall_ratio": "window-to-wall ratio",
    "window_shading": "sun let through by blinds and screens",
    "window_shgc": "solar heat gain coefficient of the windows",
    "window_incidence": "panes of the windows",
    "fast_mass": "light thermal mass",
    "light_contents": "furniture and textiles that follow the air",
    "slow_mass": "heavy thermal mass",
    "outer_u": "U-value of walls, door and roof",
    "wall_u": "U-value of the walls",
    "ground_u": "conductance to the ground",
    "leak_share": "leaks to the house over all leaks",
}
"""Names of fields that are not plain English."""
_LEAKAGE = {("ach50",), ("leakage", "cfm50"), ("leakage", "effective_area")}


def house_words(study: Study, option: str, show: Show) -> tuple[str, ...]:
    """What an option changes in the house, a line for each part; empty if it changes nothing.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO).study
    >>> machines, control = demo.options[demo.base]
    >>> sealed = demo.house.evolve(ach50=1.5)
    >>> study = demo.evolve(options={**demo.options, "Air sealing": (machines, control, sealed)})
    >>> house_words(study, "Air sealing", Show("us"))
    ('House: air leakage 2 ACH50 → 1.5 ACH50',)
    """
    parts: dict[str, list[str]] = {}
    for part, text in _changes(study, option, show):
        parts.setdefault(part, []).append(text)
    return tuple(f"{part}: {', '.join(texts)}" for part, texts in parts.items())


def _changes(study: Study, option: str, show: Show) -> Iterator[tuple[str, str]]:
    before, after = (
        house.changes_at_50_pa for house in (study.house, study.resolved[option].house)
    )
    if f"{before:.3g}" != f"{after:.3g}":
        # However the two were stated, a reader compares air changes.
        yield _PARTS[()], f"air leakage {before:.3g} ACH50 → {after:.3g} ACH50"
    houses = (study.house, study.resolved[option].house)
    around_ducts = (houses[1].ducts.location.replace(" ", "_"),)
    for change in study.changes(option):
        # Ducts bring the space around them into the description, with its defaults.
        implied = change.path == around_ducts and change.after == type(change.after)()
        follows = all(_follows(house, change.path) for house in houses)
        if change.path not in _LEAKAGE and not implied and not follows:
            yield _change(change, houses, show)


def _follows(house: House, path: tuple[str, ...]) -> bool:
    """Whether a value follows from others of its part, such as duct leakage from the location."""
    owner: Any = house
    for key in path[:-1]:
        owner = inner(owner, key)
    if not attrs.has(type(owner)):
        return False
    default: Any = attrs.fields_dict(type(owner))[path[-1]].default
    follows = getattr(default, "takes_self", False)
    return bool(follows and getattr(owner, path[-1]) == default.factory(owner))


def _change(change: Change, houses: tuple[House, House], show: Show) -> tuple[str, str]:
    *owner, name = change.path
    if _is_part(change.before) or _is_part(change.after):
        part = _part(change.path)
        if change.before is None:
            return part, "added"
        return part, "removed" if change.after is None else "replaced"
    values = [
        _by_kind(house, change.path) if value is None else value
        for house, value in zip(houses, (change.before, change.after), strict=True)
    ]
    texts = [
        "none" if value is None else show.field(value, change.metadata.get("unit"), name)
        for value in values
    ]
    field = _FIELDS.get(name) or _u_value(name) or name.replace("_", " ")
    return _part(tuple(owner)), f"{field} {' → '.join(texts)}"


def _by_kind(house: House, path: tuple[str, ...]) -> Any:
    """The value that a space's kind gives where none is stated; None if there is none."""
    owner: Any = house
    for key in path[:-1]:
        owner = inner(owner, key)
    return getattr(getattr(owner, "practice", None), path[-1], None)


def _u_value(name: str) -> str:
    element, _, is_u = name.rpartition("_u")
    return f"U-value of the {element.replace('_', ' ')}" if element and not is_u else ""


def _part(path: tuple[str, ...]) -> str:
    text = _PARTS.get(path) or ", ".join(_FIELDS.get(key, key.replace("_", " ")) for key in path)
    return text[:1].upper() + text[1:]


def _is_part(value: Any) -> bool:
    items = value if isinstance(value, tuple) else (value,)
    return any(attrs.has(type(item)) for item in items)
