"""What a careless user writes into a field, found from the fields' own declarations."""

import math
import sys
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

import attrs
from hypothesis import strategies as st
from support.damaged import NONSENSE, damaged

from moistsim.core.units import KINDS

FACTORS = (
    1000.0, 3412.142, 3.412142, 3517.0, 0.3048, 10.7639, 2118.88, 4.7195e-4, 3.6e6, 86400.0, 3600.0,
    60.0, 100.0, 1.8, 4.1868, 0.45359, 7000.0, 2.0, 1.01, 1.0e9,
)  # fmt: skip
"""Factors between units of the trade and SI, and slips of a hand."""
EXTREMES = (
    0.0, -0.0, -1.0, 1.0e-9, 5.0e-324, 1.0e-313, 1.0e30, 1.0e308, math.nan, math.inf, -math.inf, 0, 1, -7,
    10**20,
)  # fmt: skip


def descriptions() -> list[type]:
    """Every description of the package, by name: classes with a field that has a help."""
    found = {
        thing
        for name, module in [*sys.modules.items()]
        if name.split(".")[0] == "moistsim"
        for thing in vars(module).values()
        if isinstance(thing, type)
        and attrs.has(thing)
        and any("help" in field.metadata for field in attrs.fields(thing))
    }
    # A class that others extend is theirs.
    bases = {base for kind in found for base in kind.__mro__[1:]}
    return sorted(found - bases, key=lambda kind: (kind.__module__, kind.__name__))


class At(NamedTuple):
    """Where a description stands: a root, and the fields that lead from it to the description."""

    root: type
    path: tuple[str, ...]


@lru_cache(maxsize=1)
def places() -> dict[type, At]:
    """Where each description stands in one that is no part of another."""
    kinds = descriptions()
    parts = {part for kind in kinds for _, part in _parts(kind)}
    found = {kind: At(kind, ()) for kind in kinds if kind not in parts}
    ahead = [*found]
    while ahead:
        kind = ahead.pop(0)
        for name, part in _parts(kind):
            if part not in found:
                at = found[kind]
                found[part] = At(at.root, (*at.path, name))
                ahead.append(part)
    return found


def _parts(kind: type) -> Iterator[tuple[str, type]]:
    for field in attrs.fields(kind):
        if "part" in field.metadata:
            yield field.name, field.metadata["part"]


# ------------------------------------------------------------------ one field

TEXTS: dict[str, Any] = {
    "day": "06-10",
    "name": "evening",
    "days": ["01-01 to 12-31"],
    "hours": ["14:00 to 20:00"],
    "values": [1.0] * 24,
    "vacations": ["06-10 to 06-12"],
    "stays": ["06-01 to 06-09"],
    "start": "06-02 10:00",
    "construction_from": "06-01",
    "holidays": ["07-04"],
    "zone": "America/New_York",
    "season": "summer",
    "cuts": ["strips"],
    "year": 2026,
}
"""An ordinary value of a field whose declaration gives none."""


ALSO: dict[str, dict[str, Any]] = {
    "Emissions": {"electricity": 0.4},
    "Loan": {"term": "5 years"},
    "RateSeason": {"price": "15 cent/kWh"},
    "Surface": {"area": "200 ft2"},
    "Window": {"area": "20 ft2"},
}
"""What an ordinary description has besides, or in place of, ordinary values of what it must have."""


def example(unit: str) -> float:
    """A number of a kind of quantity in SI."""
    low, high = KINDS[unit].usual
    return float(KINDS[unit].si.split()[0]) if not math.isfinite(low + high) else 0.5 * (low + high)


@st.composite
def numbers(draw: st.DrawFn, field: Any) -> Any:
    """A number for a field: within its limits, at them, or off by a unit."""
    unit, limits = field.metadata["unit"], field.metadata.get("limits", {})
    bounds = [limit for limit in limits.values() if limit is not None]
    known = [*bounds, example(unit)]
    if isinstance(field.default, int | float):
        known.append(float(field.default))
    base = draw(st.sampled_from(known))
    how = draw(st.integers(0, 9))
    if how <= 2 and len(bounds) > 1:
        number = draw(st.floats(min(bounds), max(bounds)))
    elif how <= 4:
        number = base * draw(st.floats(0.3, 3.0))
    elif how <= 7:
        number = base * draw(st.sampled_from(FACTORS)) ** draw(st.sampled_from([1, -1]))
    elif how == 8:
        number = base
    else:
        number = draw(st.sampled_from(EXTREMES))
    return number


@st.composite
def quantities(draw: st.DrawFn, field: Any) -> Any:
    """A quantity for a field: bare, with a unit of its kind, or with that of another kind."""
    number, unit = draw(numbers(field)), field.metadata["unit"]
    how = draw(st.integers(0, 9))
    if how <= 4:
        return number
    kinds = [KINDS[unit]] if how <= 8 else [*KINDS.values()]
    written = draw(st.sampled_from([text for kind in kinds for text in (kind.si, kind.trade)]))
    if how <= 6:
        return written
    _, _, after = written.partition(" ")
    return f"{number:.6g} {after}".strip()


@st.composite
def legal(draw: st.DrawFn, field: Any) -> Any:
    """A value that the declaration of a field allows."""
    metadata, default = field.metadata, field.default
    if "options" in metadata:
        return draw(st.sampled_from(metadata["options"]))
    if isinstance(default, bool):
        return draw(st.booleans())
    if "limits" in metadata:
        limits = metadata["limits"]
        low = limits["at_least"] if limits["above"] is None else limits["above"]
        high = limits["at_most"] if limits["below"] is None else limits["below"]
        unit = metadata["unit"]
        low = min(0.0, example(unit)) if low is None else low
        high = max(3.0 * example(unit), 3.0 * low) if high is None else high
        if isinstance(default, int | float) and draw(st.booleans()):
            low, high = max(low, default / 3.0), min(high, max(3.0 * default, low))
        return draw(st.floats(min(low, high), max(low, high)))
    if metadata.get("profile") and isinstance(default, tuple):
        return draw(st.lists(st.floats(0.0, 2.0), min_size=len(default), max_size=len(default)))
    if "part" in metadata:
        table = draw(any_table(metadata["part"], careless=False))
        return [table] if metadata.get("many") else table
    return ordinary(field)


def ordinary(field: Any) -> Any:
    """A value that a field has in most houses."""
    metadata = field.metadata
    if metadata.get("list") and field.default is attrs.NOTHING:
        return [KINDS[metadata["unit"]].trade]
    if "part" in metadata:
        table = needed(metadata["part"])
        return [table] if metadata.get("many") else table
    if "options" in metadata:
        return metadata["options"][0]
    if "unit" in metadata and not metadata.get("list"):
        return KINDS[metadata["unit"]].trade
    if field.name in TEXTS:
        return TEXTS[field.name]
    return field.default


def needed(kind: type) -> dict[str, Any]:
    """The fields that an ordinary description of a kind has."""
    must = (field for field in attrs.fields(kind) if field.default is attrs.NOTHING)
    return {field.name: ordinary(field) for field in must} | ALSO.get(kind.__name__, {})


@st.composite
def careless_value(draw: st.DrawFn, field: Any) -> Any:
    """A value as a careless user would write it."""
    metadata = field.metadata
    if draw(st.integers(0, 9)) == 0:
        return draw(nonsense())
    if "limits" in metadata:
        return draw(quantities(field))
    if "options" in metadata:
        return draw(damaged(draw(st.sampled_from(metadata["options"]))))
    if isinstance(field.default, bool):
        return draw(st.sampled_from([True, False, 0, 1, "true", "yes", "no", "on"]))
    if "part" in metadata:
        own = draw(any_table(metadata["part"], careless=True))
        if metadata.get("many"):
            return draw(st.sampled_from([[own], [own, own], [], own, [own] * 30, [None]]))
        return draw(st.sampled_from([own, [own], {}]))
    value = ordinary(field)
    if isinstance(value, str):
        return draw(damaged(value))
    if isinstance(value, list | tuple):
        return draw(careless_list([*value]))
    return draw(st.sampled_from([value, 0, -1, 10**9, 1.5, str(value)]))


@st.composite
def careless_list(draw: st.DrawFn, items: list[Any]) -> Any:
    """A list with one thing wrong."""
    items = [*items]
    how = draw(st.integers(0, 6))
    if how == 0:
        return items[: draw(st.integers(0, len(items)))]
    if how == 1:
        return items + items[:1] * draw(st.integers(1, 40))
    if how == 2:
        return draw(
            st.sampled_from([" ".join(map(str, items)), items[:1] and items[0], {}, [items]])
        )
    k = draw(st.integers(0, max(0, len(items) - 1)))
    if not items:
        return [draw(nonsense())]
    if how == 3 and isinstance(items[k], str):
        items[k] = draw(damaged(items[k]))
    elif how <= 5 and isinstance(items[k], int | float):
        items[k] = draw(st.sampled_from([-1.0, 0.0, math.nan, math.inf, 1e300, 1e-320, 100.0]))
    else:
        items[k] = draw(nonsense())
    return items


def nonsense() -> st.SearchStrategy[Any]:
    """Values of another type, which a file may hold too, and texts that mean nothing."""
    return st.one_of(
        st.sampled_from(NONSENSE),
        st.sampled_from(
            [True, False, [], {}, [1, 2], {"low": 1, "high": 3}, {"low": 3, "high": 1}]
        ),
        st.sampled_from(EXTREMES),
        st.text(max_size=8),
    )


# ------------------------------------------------------------------ whole tables


@st.composite
def any_table(draw: st.DrawFn, kind: type, *, careless: bool) -> dict[str, Any]:
    """The fields of a description by name: some legal, and one or two as a careless user writes."""
    fields = [field for field in attrs.fields(kind) if field.init]
    table = needed(kind)
    few = draw(st.sampled_from([0, 0, 1, 2, 4]))
    for field in draw(st.lists(st.sampled_from(fields), max_size=few, unique=True)):
        table[field.name] = draw(legal(field))
    if careless:
        wrong = draw(st.lists(st.sampled_from(fields), min_size=1, max_size=2, unique=True))
        for field in wrong:
            table[field.name] = draw(careless_value(field))
        slip = draw(st.integers(0, 19))
        if slip == 0 and table:
            table.pop(draw(st.sampled_from(sorted(table))))
        elif slip == 1:
            table[draw(misspelled(draw(st.sampled_from(fields)).name))] = 1.0
    return table


def misspelled(name: str) -> st.SearchStrategy[str]:
    """A name with a letter lost, doubled or swapped, or another name."""
    slips = [name[:k] + name[k + 1 :] for k in range(len(name))]
    slips += [name[:k] + name[k] + name[k:] for k in range(len(name))]
    slips += [name.upper(), name.replace("_", ""), name + "s", "zzz", "x" * 60]
    return st.sampled_from([slip for slip in slips if slip and slip != name])


def words_for(kind: type, table: Any) -> set[str]:
    """Words of which the refusal of a table names one: its class and fields, and those of its parts."""
    words = {kind.__name__}
    for name, part in _parts(kind):
        inner = table.get(name) if isinstance(table, dict) else None
        for item in inner if isinstance(inner, list) else [inner]:
            if isinstance(item, dict):
                words |= words_for(part, item)
    return words


def made(kind: type, table: Any) -> Any:
    """The description of a table, with its parts made from theirs."""
    if not isinstance(table, dict):
        return table
    values = {}
    fields = attrs.fields_dict(kind)
    for name, value in table.items():
        part = fields[name].metadata.get("part") if name in fields else None
        if part is not None and isinstance(value, dict):
            value = made(part, value)
        elif part is not None and isinstance(value, list):
            value = [made(part, item) for item in value]
        values[name] = value
    return kind(**values)
