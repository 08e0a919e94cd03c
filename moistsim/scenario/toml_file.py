"""TOML files read into tables, with one sentence for a file that cannot be read."""

import re
import tomllib
from pathlib import Path
from typing import Any

from moistsim.core.errors import Problem
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
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)
        position = re.search(r" \(at line (\d+), column \d+\)$", reason)
        where, found = f"{path.name}, at its end", "the text is not TOML"
        if position is not None:
            reason = reason.removesuffix(position[0])
            where = f"{path.name} line {position[1]}"
            lines = text.splitlines()
            if int(position[1]) <= len(lines):
                found = f"cannot read {lines[int(position[1]) - 1].strip()!r} as TOML"
        raise ScenarioError(
            where,
            Problem(found),
            "TOML: [table], key = number or key = 'text with a unit', each key once "
            f"(the reader of TOML says: {reason.removesuffix(' (at end of document)')})",
        ) from None
