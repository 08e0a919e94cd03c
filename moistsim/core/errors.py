"""Errors of input: each message gives the problem, then the fix."""

import difflib
import re
from collections.abc import Iterable


class Problem(str):
    """Problem with an input, as a phrase of our own; an error shows it without quotes."""


class Fix(str):
    """Fix of an input, as a whole sentence of our own; an error shows it unchanged."""


class InputError(ValueError):
    """Input that cannot be used. The message gives the place, the problem and the fix.

    Parameters
    ----------
    where : str
        The class and field, or file, table and key.
    found : object
        The given value, or a `Problem` in words.
    accepted : str
        The accepted input as a noun phrase, or a `Fix` as a whole sentence.
    problem : str
        The problem with the value; the value replaces ``{}``.

    Examples
    --------
    >>> print(InputError("House.stories", "two", "1, 2 or 3"))
    House.stories: cannot use 'two'. Use 1, 2 or 3.
    >>> print(InputError("House", Problem("no floor_area"), "a floor_area, such as '2000 ft2'"))
    House: no floor_area. Use a floor_area, such as '2000 ft2'.
    """

    def __init__(
        self, where: str, found: object, accepted: str, problem: str = "cannot use {}"
    ) -> None:
        super().__init__(where, found, accepted, problem)
        self.where, self.found, self.accepted, self.problem = where, found, accepted, problem

    def __str__(self) -> str:
        return sentences(self.where, self.found, self.accepted, self.problem)


def sentences(where: str, found: object, accepted: str, problem: str = "cannot use {}") -> str:
    """The message of an error: the place, the problem, then the fix.

    Parameters
    ----------
    where, found, accepted, problem
        As for `InputError`.

    Examples
    --------
    >>> sentences("house.toml [house]", Problem("unknown key 'ach5'"), one_of("ach5", ["ach50"]))
    "house.toml [house]: unknown key 'ach5'. Did you mean 'ach50'?"
    """
    wrong = str(found) if isinstance(found, Problem) else problem.replace("{}", repr(found))
    # "Use 55" and "Use a folder" read well; a range needs its noun.
    noun = re.match("(from|above|below) |(at least|at most) ", accepted)
    value = "" if noun is None else "a value " if noun[1] else "a value of "
    fix = str(accepted) if isinstance(accepted, Fix) else f"Use {value}{accepted}"
    return f"{where}: {wrong}. {fix}" + ("" if fix.endswith((".", "?")) else ".")


def one_of(word: str, known: Iterable[str]) -> str:
    """Accepted words in place of an unknown one, in words. The nearest word comes first.

    Parameters
    ----------
    word : str
        The unknown word.
    known : iterable of str
        All words that can be used.

    Examples
    --------
    >>> one_of("cheep", ["cheap", "dear"])
    "Did you mean 'cheap'? The other choice is 'dear'."
    >>> one_of("zzz", ["cheap", "dear"])
    "one of 'cheap', 'dear'"
    """
    known = list(known)
    near = difflib.get_close_matches(word.lower(), [k.lower() for k in known], n=1, cutoff=0.6)
    match = next((k for k in known if k.lower() in near), None)
    others = [repr(k) for k in known if k != match]
    if match is None:
        return (
            "one of " + ", ".join(others) if others else "no name: there is nothing to choose from"
        )
    question = f"Did you mean {match!r}?"
    # A long list would hide the nearest word.
    if not 0 < len(others) <= 12:
        return Fix(question)
    rest = (
        f"The other choice is {others[0]}"
        if len(others) == 1
        else f"Other choices: {', '.join(others)}"
    )
    return Fix(f"{question} {rest}.")
