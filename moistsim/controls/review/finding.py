"""A finding of the review: one sentence about a row."""

import attrs


@attrs.frozen
class Finding:
    """One finding in a rule table; its text is the sentence.

    Examples
    --------
    >>> import moistsim as ms
    >>> table = ms.rule_table([{"do": "dehumidifier", "when": "humidity > 54 %",
    ...     "release_when": "humidity < 50 %"}])
    >>> [finding] = ms.review(table)
    >>> finding.row, finding.kind
    (1, 'no end')
    """

    row: int
    """Number of the row, from 1; 0 for all rows."""
    kind: str
    """"release side", "deadband", "fight", "never acts", "strips alone", "strips above cooling"
    or "no end"."""
    sentence: str

    def __str__(self) -> str:
        return self.sentence
