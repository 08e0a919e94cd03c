"""What a review says: one finding, one sentence."""

import attrs


@attrs.frozen
class Finding:
    """One thing to look at in a rule table; its text is the sentence.

    Examples
    --------
    >>> import moistsim as ms
    >>> str(ms.Finding(2, "deadband", "Row 3: a deadband of 0.5 % is narrow."))
    'Row 3: a deadband of 0.5 % is narrow.'
    """

    row: int
    """Counted from 1; 0 for all of them."""
    kind: str
    """"release side", "deadband", "fight", "never acts", "strips alone", "strips above cooling"
    or "no end"."""
    sentence: str

    def __str__(self) -> str:
        return self.sentence
