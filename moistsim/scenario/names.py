"""Dotted names of the values in a scenario file, such as ``house.ach50``."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any


def quoted(key: str) -> str:
    """A key as TOML writes it."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key, ensure_ascii=False)


def keys_of(table: Mapping[str, Any], stem: str = "") -> Iterator[str]:
    """Dotted names of all values of a table, such as ``equipment.cooling.stages[1].capacity``."""
    for key, value in table.items():
        name = f"{stem}.{quoted(key)}" if stem else quoted(key)
        if isinstance(value, dict):
            yield from keys_of(value, name)
        elif isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
            for number, row in enumerate(value, 1):
                yield from keys_of(row, f"{name}[{number}]")
        else:
            yield name


def covers(stem: str, key: str) -> bool:
    """Whether a name equals a key or names a table that contains it."""
    return key == stem or key.startswith((f"{stem}.", f"{stem}["))
