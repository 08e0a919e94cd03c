"""Places in scenario and sweep files, and errors that name them."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.scenario.names import quoted


class ScenarioError(InputError):
    """A scenario file that cannot be used.

    `where` names the file, the table and the key, as in ``house.toml [house] floor_area``.
    """


class Place(NamedTuple):
    """A table of a file, which errors name."""

    file: str
    table: str = ""
    number: int = 0
    """Position in a list of tables, from 1; 0 outside a list."""
    folder: Path = Path()
    """Folder of the scenario, to which paths in the file are relative."""

    def inside(self, key: str, number: int = 0) -> "Place":
        """An inner table; with a number, one of a list of tables."""
        name = quoted(key if len(key) <= 60 else f"{key[:57]}...")
        table = f"{self.table}.{name}" if self.table else name
        return self._replace(table=table, number=number)

    def at(self, key: str = "") -> str:
        """File, table and key, such as ``house.toml [house] floor_area``."""
        words = [self.file]
        if self.table:
            words.append(f"[{self.table}]")
        if self.number:
            words.append(f"number {self.number}")
        if key:
            words.append(key)
        return " ".join(words)

    def error(
        self, key: str, found: object, accepted: str, problem: str = "cannot use {}"
    ) -> ScenarioError:
        """An error about a key of this table; ``""`` stands for the table itself."""
        return ScenarioError(self.at(key), found, accepted, problem)

    def moved(self, error: InputError, owner: str, table: dict[str, Any]) -> ScenarioError:
        """The error of a description, with the place in the file instead of the field.

        Parameters
        ----------
        error : InputError
            Names the place as ``owner``, ``owner.key`` or ``owner.key[0].key``.
        owner : str
            The description's class, or the strategy.
        table : dict
            The table of the file, whose value the error shows as the user wrote it.
        """
        place, key = self, error.where.removeprefix(owner).removeprefix(".")
        item = re.fullmatch(r"(\w+)\[(\d+)\]\.(\w+)", key)
        if item is not None:
            place, key = self.inside(item[1], int(item[2]) + 1), item[3]
        found = error.found
        if item is None and key in table and not isinstance(found, str | list | tuple):
            # The number was converted from the text of the user.
            found = table[key]
        return place.error(key, found, error.accepted, error.problem)


def check_keys(table: Any, known: Iterable[str], place: Place) -> dict[str, Any]:
    """Check that a value is a table without unknown keys, and return it.

    Raises
    ------
    ScenarioError
        If a key is unknown. The message suggests a key with nearly the same name.
    """
    if not isinstance(table, dict):
        raise place.error("", table, "a table of keys and values")
    known = list(known)
    for key in table:
        if key not in known:
            raise place.error("", Problem(f"unknown key {brief(key)}"), one_of(key, known))
    return table


def text_of(table: dict[str, Any], key: str, place: Place, default: str = "") -> str:
    """The text of a key, or the default.

    Raises
    ------
    ScenarioError
        If the value is not a text.
    """
    value = table.get(key, default)
    if not isinstance(value, str):
        raise place.error(key, value, "a text in quotation marks")
    return value


def line_of(table: dict[str, Any], key: str, place: Place, default: str = "") -> str:
    """The text of a key without line breaks, or the default; errors as `text_of`."""
    return " ".join(text_of(table, key, place, default).split())
