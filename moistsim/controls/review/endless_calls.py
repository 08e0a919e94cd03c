"""Calls that continue without end if messages stop."""

from collections.abc import Iterator

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.readings import OWN_TIMES
from moistsim.controls.review.table import Table
from moistsim.controls.review.words import title
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rows import Row


def no_end(table: Table) -> Iterator[Finding]:
    """Rows that continue, and relays that remain on, once messages have stopped."""
    machines = table.machines
    enable = machines.enable if machines is not None else None
    cut = enable.cuts if enable is not None else ()

    def wired(row: Row) -> bool:
        second = row.output == Output.COOLING and row.level >= 2.0 and "second stage" in cut
        return second or row.output.name.lower().replace("_", " ") in cut

    def ends(k: int, asked: frozenset[int] = frozenset()) -> bool:
        row = table.rows[k]
        if row.limit or wired(row):
            return True
        if any(release.left in OWN_TIMES and release.above for release in row.releases):
            return True
        return any(
            each.on and all(r not in asked and ends(r, asked | {k}) for r in each.rows)
            for each in row.whiles
        )

    endless = [k for k in range(len(table.rows)) if not ends(k)]
    for k in endless:
        # The row that another one waits for is the one to fix.
        if table.needed(k).intersection(endless) > {k}:
            continue
        yield Finding(
            k + 1, "no end",
            f"{title(table, k)}: nothing ends its call if messages from the sensor stop. Add 'at_most' "
            "or a release such as 'message age > 15 min'.",
        )  # fmt: skip
    if machines is not None and machines.relays.release_after is None:
        held = [row for row in table.rows if not wired(row)]
        if held:
            yield Finding(
                0, "no end",
                "All rows: the relays keep their last call if messages from the control stop. Use "
                "relays with 'release_after', or a hard-wired enable that cuts them.",
            )  # fmt: skip
