"""Review of a rule table before any run: what a careful colleague would ask about its rows.

Findings come from the rows, the machines and their sensor alone. Where rows are held against each
other, the review looks for a point of readings, consistent in itself (a dew point is that of its
temperature and humidity), at which both are on, and names it.
"""

from moistsim.controls.interface import Strategy
from moistsim.controls.review.deadbands import deadband, release_side
from moistsim.controls.review.endless_calls import no_end
from moistsim.controls.review.fights import against_each_other, same_output, wrong_way
from moistsim.controls.review.finding import Finding
from moistsim.controls.review.idle_rows import never_acts
from moistsim.controls.review.strips import strips_above_cooling, strips_alone
from moistsim.controls.review.table import Table
from moistsim.controls.rules.rules import RuleTable
from moistsim.core.errors import InputError
from moistsim.equipment import Equipment

__all__ = ["Finding", "review"]


def review(strategy: Strategy, machines: Equipment | None = None) -> list[Finding]:
    """What is doubtful in a rule table, found before any run.

    Parameters
    ----------
    strategy : Strategy
        A rule table as `rule_table` makes it, with its settings as they are now, and with additions
        or without, of which the review knows nothing.
    machines : Equipment, optional
        Whose sensor and machines the rows meet; left out, a usual sensor and every machine.

    Returns
    -------
    list of Finding
        By row; empty for a table in which nothing was found.

    Raises
    ------
    InputError
        If the strategy is no rule table.

    Notes
    -----
    A deadband is held against the sensor's resolution and against what its lag will carry: a room
    that moves by `deadbands.TEMPERATURE_RATE` or `HUMIDITY_RATE`, our own round figures, has moved
    on by rate times lag when the sensor says so. Rows are held against each other as conditions of
    the moment; how fast a house gets from one to the other the review does not know.

    Examples
    --------
    >>> from moistsim import rule_table
    >>> table = rule_table([{"do": "dehumidifier", "when": "humidity > 54 %",
    ...     "release_when": ["humidity < 58 %", "message age > 15 min"]}])
    >>> [finding.kind for finding in review(table)]
    ['release side']
    """
    strategy = getattr(strategy, "base", strategy)
    if not isinstance(strategy, RuleTable):
        raise InputError(
            "review", getattr(strategy, "name", strategy), "a rule table, as rule_table makes it"
        )
    table = Table(strategy, machines)
    checks = (
        release_side, deadband, wrong_way, against_each_other, same_output, never_acts,
        strips_alone, strips_above_cooling, no_end,
    )  # fmt: skip
    found = [finding for check in checks for finding in check(table)]
    return sorted(found, key=lambda finding: finding.row)
