"""Review of a rule table before any run: questions that a careful colleague would ask.

Findings come only from the rows, the machines and their sensor. To compare two rows, the review
looks for readings at which both are on, and names them. Such readings are consistent: the dew point
follows from temperature and humidity.
"""

from moistsim.controls.interface import Strategy
from moistsim.controls.review.deadbands import deadband, release_side
from moistsim.controls.review.endless_calls import no_end
from moistsim.controls.review.fights import against_each_other, same_output, wrong_way
from moistsim.controls.review.finding import Finding
from moistsim.controls.review.idle_rows import never_acts
from moistsim.controls.review.restarts import one_way, restarts
from moistsim.controls.review.strips import strips_above_cooling, strips_alone
from moistsim.controls.review.table import Table
from moistsim.controls.rules.rules import RuleTable
from moistsim.core.errors import InputError
from moistsim.equipment import Equipment

__all__ = ["Finding", "review"]


def review(strategy: Strategy, equipment: Equipment | None = None) -> list[Finding]:
    """Doubtful rows of a rule table, found before any run.

    Parameters
    ----------
    strategy : Strategy
        A rule table as `rule_table` makes it, with its present settings. The review ignores
        additions.
    equipment : Equipment, optional
        Machines and sensor that the rows control. Default: every machine and a usual sensor.

    Returns
    -------
    list of Finding
        Findings in the order of their rows; empty if nothing was found.

    Raises
    ------
    InputError
        If the strategy is not a rule table.

    Notes
    -----
    A deadband is compared with the sensor's resolution and with the room's change within the
    sensor's lag, which is `deadbands.TEMPERATURE_RATE` or `HUMIDITY_RATE` times the lag (our own
    round figures). Rows are compared at one moment: the review does not know how fast a house moves
    from one condition to another.

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
    table = Table(strategy, equipment)
    checks = (
        release_side, deadband, restarts, one_way, wrong_way, against_each_other, same_output, never_acts,
        strips_alone, strips_above_cooling, no_end,
    )  # fmt: skip
    found = [finding for check in checks for finding in check(table)]
    return sorted(found, key=lambda finding: finding.row)
