"""Rows that work against each other, or against their own purpose."""

import itertools
from collections.abc import Iterator

import numpy as np

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.table import Points, Table, Truth
from moistsim.controls.review.words import call, example, said, title
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rows import Row

_WRONG_WAY = {
    Output.DEHUMIDIFIER: (("relative_humidity", "dew_point"), False, "dry"),
    Output.COOLING: (("temperature",), False, "cold"),
    Output.STRIPS: (("temperature",), True, "warm"),
    Output.HEATING: (("temperature",), True, "warm"),
}
"""Condition that calls an output at the wrong time: readings, True for above, state of the air."""


def wrong_way(table: Table) -> Iterator[Finding]:
    """Calls that drive their own reading in the wrong direction."""
    for k, row in enumerate(table.rows):
        readings, above, air_is = _WRONG_WAY.get(row.output, ((), False, ""))
        if (
            row.when.left in readings
            and not table.compared(row.when)[1]
            and row.when.above == above
        ):
            yield Finding(
                k + 1, "fight",
                f"{title(table, k)} is called by {said(table, row.when)}: it acts when the air is {air_is} "
                "already, and not when it is needed.",
            )  # fmt: skip


def _both(table: Table, a: int, b: int, points: Points) -> Truth:
    """Whether one of two rows is made while the other is on, at each point."""
    on = table.can_be_on(a, points, table.needed(b)) & table.can_be_on(b, points, table.needed(a))
    return on & (table.when(a, points) | table.when(b, points))


def against_each_other(table: Table) -> Iterator[Finding]:
    """Two rows on at the same time, where one undoes the work of the other."""
    found: set[tuple[int, int]] = set()
    pairs = itertools.combinations(range(len(table.rows)), 2)
    # Rows that others wait for come first, so a conflict that follows from theirs is not repeated.
    for a, b in sorted(pairs, key=lambda pair: sum(len(table.needed(k)) for k in pair)):
        waited = itertools.product(table.needed(a), table.needed(b))
        if table.unfit & {a, b} or any((min(pair), max(pair)) in found for pair in waited):
            continue
        first, second = table.rows[a], table.rows[b]
        more: tuple[str, ...] = ()
        if {first.output, second.output} == {Output.COOLING, Output.HEATING}:
            points = table.points((a, b))
            truth = _both(table, a, b, points)
            why = "one cools what the other heats"
        elif any(_dries(x) and _brings_in(table, y) for x, y in ((first, second), (second, first))):
            more = ("dew_point", "outdoor_dew_point")
            points = table.points((a, b), more)
            truth = _both(table, a, b, points) & (points[more[1]] > points[more[0]])
            why = "one dries what the other brings in, from outdoor air of a higher dew point"
        else:
            continue
        if truth.any():
            found.add((a, b))
            yield Finding(
                a + 1, "fight",
                f"{title(table, a)} and row {b + 1} ({call(table, b)}) can be on at "
                f"the same time, and {why}; for example at {example(table, (a, b), points, truth, more)}.",
            )  # fmt: skip


def _dries(row: Row) -> bool:
    by_humidity = row.when.left in ("relative_humidity", "dew_point") and row.when.above
    return row.output == Output.DEHUMIDIFIER or (row.output == Output.COOLING and by_humidity)


def _brings_in(table: Table, row: Row) -> bool:
    """Whether a row calls for more ventilation than the normal rate."""
    return row.output == Output.VENTILATION and table.settings[row.share] > 1.0


def same_output(table: Table) -> Iterator[Finding]:
    """Two rows of one output, where one calls and the other releases at the same readings."""
    for a, b in itertools.permutations(range(len(table.rows)), 2):
        caller, releaser = table.rows[a], table.rows[b]
        same = (
            caller.output == releaser.output
            and caller.level == releaser.level
            and caller.share == releaser.share == ""
            and table.compared(caller.when) == table.compared(releaser.when)
        )
        if not same or table.unfit & {a, b}:
            continue
        points = table.points((a, b))
        released = [it for it, opposite, _ in table.bands(b) if opposite]
        if not released:
            continue
        truth = table.when(a, points) & table.can_be_on(a, points) & table.open(b, points)
        truth &= np.logical_or.reduce([table.holds(it, points) for it in released])
        if truth.any():
            yield Finding(
                a + 1, "fight",
                f"{title(table, a)} calls what row {b + 1} releases in the same band; for example "
                f"at {example(table, (a, b), points, truth)}.",
            )  # fmt: skip
