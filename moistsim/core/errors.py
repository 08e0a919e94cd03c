"""Errors of input: each message gives the problem, then the fix."""

import difflib
import itertools
import re
import reprlib
from collections.abc import Iterable
from typing import Any

_WHOLE, _CUT = 215, 150
"""Lengths of a list of words in a message, in characters: a longer one than the first is cut at the second."""


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
    wrong = str(found) if isinstance(found, Problem) else problem.replace("{}", brief(found))
    # "Use 55" and "Use a folder" read well; a range needs its noun.
    noun = re.match("(from|above|below) |(at least|at most) ", accepted)
    value = "" if noun is None else "a value " if noun[1] else "a value of "
    fix = str(accepted) if isinstance(accepted, Fix) else f"Use {value}{accepted}"
    text = f"{where}: {wrong}. {fix}" + ("" if fix.endswith((".", "?")) else ".")
    # A word that nobody reads to its end, such as a key of a thousand letters.
    return re.sub(r"\S{161,}", lambda word: f"{word[0][:80]}…{word[0][-20:]}", text)


class _Brief(reprlib.Repr):
    """Values as errors show them: the ends of a long text, the first items of a long list."""

    def __init__(self) -> None:
        super().__init__()
        self.maxstring = self.maxother = self.maxlong = 80
        self.maxlist = self.maxtuple = self.maxdict = 4
        self.maxlevel = 3

    def repr_dict(self, x: dict[Any, Any], level: int) -> str:
        # As written; reprlib would sort the keys.
        if x and level <= 0:
            return "{...}"
        first = itertools.islice(x.items(), self.maxdict)
        items = [f"{self.repr1(k, level - 1)}: {self.repr1(v, level - 1)}" for k, v in first]
        return f"{{{', '.join(items + ['...'] * (len(x) > self.maxdict))}}}"

    def repr_int(self, x: int, level: int) -> str:
        # Python writes no whole number of more than 4,300 digits.
        return (
            super().repr_int(x, level) if x.bit_length() < 10_000 else "a number of endless digits"
        )


_brief = _Brief()


def brief(value: object) -> str:
    """A value as an error shows it: as Python writes it, cut where it is long.

    Examples
    --------
    >>> brief("75 F"), brief([0.5] * 24)
    ("'75 F'", '[0.5, 0.5, 0.5, 0.5, ...]')
    >>> len(brief("9" * 100_000))
    80
    """
    text = _brief.repr(value)
    return text if len(text) <= 120 else f"{text[:50]} ... {text[-50:]}"


def listed(words: Iterable[object], whole: int = _WHOLE, cut: int = _CUT) -> str:
    """Words in quotes with commas; of a long list the first ones, and how many more there are.

    Examples
    --------
    >>> listed(["cheap", "dear"])
    "'cheap', 'dear'"
    >>> listed(range(100), 20, 20)
    '0, 1, 2, 3, 4, 5, 6 or 93 more'
    """
    texts = [brief(word) for word in words]
    if len(", ".join(texts)) <= whole:
        return ", ".join(texts)
    shown = texts[:1]
    while len(", ".join(shown)) + len(texts[len(shown)]) + 2 <= cut:
        shown.append(texts[len(shown)])
    return f"{', '.join(shown)} or {len(texts) - len(shown)} more"


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
    near = difflib.get_close_matches(
        word[:100].lower(), [k.lower() for k in known], n=1, cutoff=0.6
    )
    match = next((k for k in known if k.lower() in near), None)
    others = [k for k in known if k != match]
    if match is None:
        # A long word leaves less room for the others.
        room = _WHOLE - max(0, len(brief(word)) - 20)
        return (
            f"one of {listed(others, room)}"
            if others
            else "no name: there is nothing to choose from"
        )
    question = f"Did you mean {brief(match)}?"
    # A long list would hide the nearest word.
    if not 0 < len(others) <= 12 or len(listed(others)) > _CUT:
        return Fix(question)
    if len(others) == 1:
        return Fix(f"{question} The other choice is {brief(others[0])}.")
    return Fix(f"{question} Other choices: {listed(others)}.")
