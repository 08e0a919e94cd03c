"""Review of a log: all checks, and what the log cannot tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moistsim.loggers.checks.clock import clock
from moistsim.loggers.checks.drift import drift_and_steps
from moistsim.loggers.checks.placement import placement
from moistsim.loggers.checks.stuck import stuck
from moistsim.loggers.checks.swapped import swapped
from moistsim.loggers.findings import LogReview, Reading

if TYPE_CHECKING:
    from moistsim.loggers.log import HouseLog

CHECKS = (stuck, swapped, clock, drift_and_steps, placement)


def review(log: HouseLog) -> LogReview:
    """Return all findings of a log, and what it cannot tell."""
    reading = Reading(log)
    findings = tuple(finding for check in CHECKS for finding in check(reading))
    return LogReview(findings=findings, limits=tuple(_limits(reading)))


def _limits(reading: Reading) -> list[str]:
    out = []
    rooms = [str(room) for room in reading.ratios]
    if len(rooms) == 1:
        grams = reading.of_points(rooms[0], 2.0)
        out.append(
            f"One sensor cannot tell its own drift or replacement from the house's seasons. {reading.moves(grams).replace('That', 'Two points of RH')} "
            "Hang a second sensor next to it for a day at the start and at the end."
        )
    elif len(rooms) > 1:
        grams = reading.of_points(rooms[0], 2.0)
        out.append(
            f"An error that all sensors share does not show. {reading.moves(grams).replace('That', 'Two points of RH')}"
        )
        out.append(
            "RH columns of two rooms under each other's names show only where one room's temperature moves much more than the other's. The mean of the rooms hardly changes."
        )
    out.append(
        "A clock that is wrong by less than 3 h, such as daylight saving called standard time, does not show in the weather alone."
    )
    if reading.column("outdoor_rh") is not None or reading.column("outdoor_dew_point") is not None:
        out.append(
            "One outdoor sensor cannot tell its own drift. Compare it with a station for a day."
        )
    return out
