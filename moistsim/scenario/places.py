"""Where something stands in a scenario's or a sweep's file, and what is wrong with it there."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.scenario.names import quoted


class ScenarioError(InputError):
    """A scenario file that cannot be used.

    `where` names the file, the table and the key, as in ``house.toml [house] floor_area``.
    """


class Place(NamedTuple):
    """A table of a file, for the words of an error."""

    file: str
    table: str = ""
    number: int = 0
    """Counts from 1 in a list of tables; 0 where there is no list."""
    folder: Path = Path()
    """Of the scenario, from which it sees other files."""

    def inside(self, key: str, number: int = 0) -> "Place":
        """A table within this one; with a number, one of a list of tables."""
        table = f"{self.table}.{quoted(key)}" if self.table else quoted(key)
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
        """What is wrong with a key here; ``""`` is the table itself."""
        return ScenarioError(self.at(key), found, accepted, problem)

    def moved(self, error: InputError, owner: str, table: dict[str, Any]) -> ScenarioError:
        """The error of a description, in the words of the file that it was made from.

        Parameters
        ----------
        error : InputError
            Names the place as ``owner``, ``owner.key`` or ``owner.key[0].key``.
        owner : str
            The description's class, or the strategy.
        table : dict
            What the file holds, to tell what the user wrote from what the library says of it.
        """
        place, key = self, error.where.removeprefix(owner).removeprefix(".")
        item = re.fullmatch(r"(\w+)\[(\d+)\]\.(\w+)", key)
        if item is not None:
            place, key = self.inside(item[1], int(item[2]) + 1), item[3]
        found = error.found
        if item is None and key in table and not isinstance(found, str | list | tuple):
            # A number is what the library made of the user's text.
            found = table[key]
        return place.error(key, found, error.accepted, error.problem)


def check_keys(table: Any, known: Iterable[str], place: Place) -> dict[str, Any]:
    """The table, if it is one and has no key but those that are known.

    Raises
    ------
    ScenarioError
        Of a key that is not known, with the one that is near it.
    """
    if not isinstance(table, dict):
        raise place.error("", table, "a table of keys and values")
    known = list(known)
    for key in table:
        if key not in known:
            raise place.error("", Problem(f"unknown key {key!r}"), one_of(key, known))
    return table


def text_of(table: dict[str, Any], key: str, place: Place, default: str = "") -> str:
    """What a key has for a text, or the default.

    Raises
    ------
    ScenarioError
        If it is no text.
    """
    value = table.get(key, default)
    if not isinstance(value, str):
        raise place.error(key, value, "a text in quotation marks")
    return value


def line_of(table: dict[str, Any], key: str, place: Place, default: str = "") -> str:
    """A text on one line: those that it has are the file's own, not the reader's; as `text_of`."""
    return " ".join(text_of(table, key, place, default).split())
