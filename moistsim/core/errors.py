"""Input that cannot be used: what is wrong, then what to do about it."""

import difflib
import re
from collections.abc import Iterable


class Problem(str):
    """What is wrong, as a phrase of our own: an error shows it as it stands, without quotes."""


class Fix(str):
    """What to do, as a sentence of our own: an error shows it as it stands."""


class InputError(ValueError):
    """Input that cannot be used. The message says where, what is wrong, and how to fix it.

    Parameters
    ----------
    where : str
        The class and field, or file, table and key.
    found : object
        What was given, or a `Problem`: what is wrong, in words.
    accepted : str
        What can be used instead, as a noun phrase, or a `Fix`: a whole sentence.
    problem : str
        What is wrong with a value, which stands in the place of ``{}``.

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
    """The message of an error: where, what is wrong, then the fix.

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
    """What can be used in place of an unknown word. A word that is nearly the same comes first.

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
    # A long list would hide the near one.
    if not 0 < len(others) <= 12:
        return Fix(question)
    rest = (
        f"The other choice is {others[0]}"
        if len(others) == 1
        else f"Other choices: {', '.join(others)}"
    )
    return Fix(f"{question} {rest}.")
