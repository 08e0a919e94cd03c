"""TOML files read into tables, with one sentence for a file that cannot be read."""

import re
import tomllib
from pathlib import Path
from typing import Any

from moistsim.core.errors import Fix, Problem, brief
from moistsim.scenario.places import ScenarioError


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises
    ------
    ScenarioError
        If the file does not exist or is not TOML. The message has the line and the reason.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise ScenarioError(
            str(path), Problem("no such file"), "the path of a scenario file"
        ) from None
    except OSError as error:
        # Windows refuses to read a folder.
        found = "this is a folder" if path.is_dir() else f"cannot read the file ({error.strerror})"
        raise ScenarioError(str(path), Problem(found), "the path of a scenario file") from None
    except UnicodeDecodeError:
        raise ScenarioError(
            path.name, Problem("the file is not UTF-8 text"), "a TOML file"
        ) from None
    return tables_of(text, path)


def tables_of(text: str, path: Path) -> dict[str, Any]:
    """The tables of the text of a TOML file, whose path an error names.

    Raises
    ------
    ScenarioError
        If the text is not TOML. The message has the line and the reason.
    """
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _unread(path.name, text, str(error)) from None
    except RecursionError:
        raise _too_deep(path) from None
    except ValueError:
        # A whole number of thousands of digits, which Python does not read.
        found = Problem("a number of too many digits")
        raise ScenarioError(path.name, found, _FORM) from None
    _check_depth(read, path)
    return read


MOST_LEVELS = 20
"""Levels of tables and lists in each other: far more than any description has."""


def _too_deep(path: Path) -> ScenarioError:
    found = Problem("brackets within brackets, too deep to read")
    return ScenarioError(path.name, found, _FORM)


def _check_depth(table: dict[str, Any], path: Path) -> None:
    level: list[Any] = [table]
    for _ in range(MOST_LEVELS):
        inner = [x.values() if isinstance(x, dict) else x for x in level]
        level = [x for items in inner for x in items if isinstance(x, dict | list)]
        if not level:
            return
    raise _too_deep(path)


_FORM = "[table], key = number, or key = 'text with a unit'"


def _unread(file: str, text: str, reason: str) -> ScenarioError:
    """The error about a text that is not TOML, by the reason that the reader gives."""
    position = re.search(r" \(at line (\d+), column \d+\)$", reason)
    lines = text.splitlines()
    if position is None or int(position[1]) > len(lines):
        ends = Problem("the file ends within a table, a list or a text")
        return ScenarioError(file, ends, "a closing bracket or quote, or the missing rest")
    where, line = f"{file} line {position[1]}", lines[int(position[1]) - 1].strip()
    key, _, value = (part.strip() for part in line.partition("="))
    if reason.startswith("Cannot overwrite a value"):
        return ScenarioError(where, Problem(f"{brief(key)} once more"), "each key once in a table")
    if reason.startswith("Cannot declare"):
        return ScenarioError(where, Problem(f"{brief(line)} once more"), "each table once")
    found = Problem(f"cannot read {brief(line)}")
    if key.isidentifier() and re.fullmatch(r"[^\s\"'\[{][^\"'#\[{]*", value) and len(value) <= 60:
        return ScenarioError(where, found, Fix(f'Put a text in quotes: {key} = "{value}"'))
    said = reason.removesuffix(position[0])[:80]
    return ScenarioError(where, found, f"{_FORM} ({said[0].lower()}{said[1:]})")
