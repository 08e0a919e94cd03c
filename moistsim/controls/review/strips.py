"""Strips without a compressor, so without airflow; strips that would call the compressor."""

from collections.abc import Iterator

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.table import Table
from moistsim.controls.review.words import example, number, title
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rows import While


def strips_alone(table: Table) -> Iterator[Finding]:
    """Strips that can be on while no row holds the compressor."""
    cooling = {k for k, row in enumerate(table.rows) if row.output == Output.COOLING}

    def with_compressor(k: int, asked: frozenset[int] = frozenset()) -> bool:
        def does(each: While) -> bool:
            return each.on and all(
                r in cooling or (r not in asked and with_compressor(r, asked | {k}))
                for r in each.rows
            )

        return any(does(each) for each in table.rows[k].whiles)

    for k, row in enumerate(table.rows):
        if row.output != Output.STRIPS or k in table.unfit or with_compressor(k):
            continue
        points = table.points((k, *cooling))
        made, stays = table.when(k, points) & table.can_be_on(k, points), table.can_be_on(k, points)
        if not made.any():
            continue
        alone = stays.copy()
        if "cooling_stage" in points:
            # The row itself compares a reading of running machines.
            alone &= points["cooling_stage"] == 0.0
        for c in cooling:
            begins = ~made | (table.when(c, points) & table.can_be_on(c, points))
            goes_on = ~stays | table.can_be_on(c, points)
            sooner = not table.rows[c].limit and _delay(table, c) <= _delay(table, k)
            if begins.all() and goes_on.all() and sooner:
                alone &= False
        if alone.any():
            yield Finding(
                k + 1, "strips alone",
                f"{title(table, k)} can be on with no compressor, and so with no airflow over the "
                f"elements; for example at {example(table, (k,), points, alone)}. Add a 'within' such "
                "as 'while cooling stage 1 is on'.",
            )  # fmt: skip


def _delay(table: Table, k: int) -> float:
    row = table.rows[k]
    return table.settings[row.delay] if row.delay else 0.0


def strips_above_cooling(table: Table) -> Iterator[Finding]:
    """Strips that turn on or off above the point at which something cools."""
    points = {}
    if "cooling_setpoint" in table.settings:
        points["the cooling setpoint"] = table.settings["cooling_setpoint"]
    for k, row in enumerate(table.rows):
        cools = row.output == Output.COOLING and row.when.above
        if cools and table.compared(row.when) == ("temperature", ""):
            points[f"the point at which row {k + 1} cools"] = table.threshold(row.when)
    if not points:
        return
    name = min(points, key=lambda each: points[each])
    for k, row in enumerate(table.rows):
        if row.output != Output.STRIPS:
            continue
        for word, it in (
            *(("on", begin) for begin in (row.when, *row.also)),
            *(("off", release) for release in row.releases),
        ):
            at = table.threshold(it)
            if table.compared(it) == ("temperature", "") and at > points[name]:
                yield Finding(
                    k + 1, "strips above cooling",
                    f"{title(table, k)}: the point at which it turns {word}, "
                    f"{number(at, 'degC')}, is above {name}, {number(points[name], 'degC')}: "
                    "strips would call the compressor.",
                )  # fmt: skip
                break
