"""Input that cannot be used, said in one sentence."""

import difflib
from collections.abc import Iterable


class InputError(ValueError):
    """Input that cannot be used: where it stands, what was found, what is accepted.

    Parameters
    ----------
    where : str
        The class and field, or file, table and key.
    found : object
        What was given.
    accepted : str
        What would have been taken.
    """

    def __init__(self, where: str, found: object, accepted: str) -> None:
        super().__init__(where, found, accepted)
        self.where, self.found, self.accepted = where, found, accepted

    def __str__(self) -> str:
        return f"{self.where}: found {self.found!r}; accepted: {self.accepted}"


def one_of(word: str, known: Iterable[str]) -> str:
    """What is accepted in place of a word that is not known: the near one first."""
    known = list(known)
    near = difflib.get_close_matches(word.lower(), [k.lower() for k in known], n=1, cutoff=0.6)
    match = next((k for k in known if k.lower() in near), None)
    others = [repr(k) for k in known if k != match]
    if match is None:
        return "one of " + (", ".join(others) or "none")
    # A long list would bury the near one.
    listed = f", or another of {', '.join(others)}" if 0 < len(others) <= 12 else ""
    return f"{match!r}, which is near it{listed}"
