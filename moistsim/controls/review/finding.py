"""A finding of the review: one sentence about a row."""

import attrs


@attrs.frozen
class Finding:
    """One finding in a rule table; its text is the sentence.

    Examples
    --------
    >>> import moistsim as ms
    >>> finding = ms.Finding(3, "deadband", "Row 3: its deadband of 0.5 % is too narrow.")
    >>> str(finding)
    'Row 3: its deadband of 0.5 % is too narrow.'
    """

    row: int
    """Number of the row, from 1; 0 for all rows."""
    kind: str
    """"release side", "deadband", "restart", "one way", "fight", "never acts", "strips alone",
    "strips above cooling" or "no end"."""
    sentence: str

    def __str__(self) -> str:
        return self.sentence
