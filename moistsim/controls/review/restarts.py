"""Releases by another quantity than the condition: no deadband, and no way back."""

from collections.abc import Iterator

import numpy as np

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.readings import OWN_TIMES
from moistsim.controls.review.table import Table
from moistsim.controls.review.words import number, said, title, unit_of
from moistsim.controls.rules.rows import Condition, Row

LONG_WAIT = 600.0
"""Shortest `for` that takes the place of a deadband, because the row waits so long after a release, s.

Our own round figure: twice a usual minimum off time of a compressor.
"""
BACK = {"degC": 1.5 / 1.8, "percent": 4.0}
"""Deadband that the review suggests, by unit: 1.5 degF and 4 % RH, our own round figures."""
_MOISTURE = ("relative_humidity", "dew_point")
_OUTDOOR_MOISTURE = ("outdoor_relative_humidity", "outdoor_dew_point")


def restarts(table: Table) -> Iterator[Finding]:
    """Releases that hold while the condition still does, with no deadband in their own quantity."""
    for k, row in enumerate(table.rows):
        if k in table.unfit or (row.delay and table.settings[row.delay] >= LONG_WAIT):
            continue
        own = {table.compared(it) for it in (row.when, *row.also)}
        crossed = [
            it for it in row.releases
            if unit_of(it.left) in BACK and table.compared(it) not in own
        ]  # fmt: skip
        if not crossed:
            continue
        points = table.points((k,))
        made = table.when(k, points) & table.permitted(k, points)
        for release in crossed:
            others = [it for it in row.releases if it is not release]
            free = made.copy()
            if others:
                free &= ~np.logical_or.reduce([table.holds(it, points) for it in others])
            ends = table.holds(release, points)
            if not ((free & ends).any() and (free & ~ends).any()):
                continue
            unit = unit_of(release.left)
            farther = -BACK[unit] if release.above else BACK[unit]
            yield Finding(
                k + 1, "restart",
                f"{title(table, k)}: its release, {said(table, release)}, has no deadband, because its "
                f"condition, {said(table, row.when)}, may still hold then. The call ends and begins again "
                "at this one reading, as often as the machine's minimum times allow, and other calls are "
                f"refused. Make 'when' a list with a second condition, such as "
                f"{said(table, release, farther, turned=True)}, or add a 'for' of "
                f"{number(1.5 * LONG_WAIT, 's')}.",
            )  # fmt: skip


def one_way(table: Table) -> Iterator[Finding]:
    """Calls that do not end when the quantity that began them goes back."""
    for k, row in enumerate(table.rows):
        timed = row.limit or any(
            it.left in OWN_TIMES and it.left != "message_age" for it in row.releases
        )
        if k in table.unfit or timed or unit_of(row.when.left) not in BACK:
            continue
        if any(each.on for each in row.whiles) or any(_ends(row, it) for it in row.releases):
            continue
        unit = unit_of(row.when.left)
        behind = -BACK[unit] if row.when.above else BACK[unit]
        until = " or ".join(said(table, it) for it in row.releases)
        yield Finding(
            k + 1, "one way",
            f"{title(table, k)} begins at {said(table, row.when)}, and does not end when this reading goes "
            f"back: it stays on until {until}. Add a release such as "
            f"{said(table, row.when, behind, turned=True)}.",
        )  # fmt: skip


def _ends(row: Row, release: Condition) -> bool:
    """Whether a release can end the call once the call has done its work."""
    if release.left != "message_age" and unit_of(release.left) not in BACK:
        return True
    began = {row.when.left, row.when.right} - {""}
    for family in (_MOISTURE, _OUTDOOR_MOISTURE):
        if began.intersection(family):
            began.update(family)
    return bool(began.intersection((release.left, release.right)))
