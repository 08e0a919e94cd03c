"""Rows packed into the floats that the interpreter reads."""

import math
from collections.abc import Iterable, Mapping

from moistsim.controls.interface import Readings
from moistsim.controls.rules.interpreter import NOTHING, ROW
from moistsim.controls.rules.rows import SETPOINTS, Condition, Row


def packed(rows: Iterable[Row], settings: Mapping[str, float]) -> list[float]:
    """Rows and settings in the layout of `interpreter`, in SI."""

    def condition(it: Condition) -> list[float]:
        right = NOTHING
        if it.right:
            right = SETPOINTS[it.right][0] if it.right in SETPOINTS else _place(it.right)
        sign = 1.0 if it.above else -1.0
        limit = sign * settings[it.key]
        # "At least a number" is the same as "above the next smaller float".
        limit = math.nextafter(limit, -math.inf) if it.or_equal else limit
        return [_place(it.left), right, sign, limit]

    rows = list(rows)
    floats = [len(rows), *(settings.get(key, 0.0) for key in SETPOINTS)]
    for row in rows:
        following = [number for it in (*row.also, *row.releases) for number in condition(it)]
        for window in row.windows:
            following += [_place(window.of), window.first, window.end]
        for each in row.whiles:
            following += [each.on, sum(1 << k for k in each.rows)]
        floats += [
            ROW + len(following),
            row.output,
            settings[row.share] if row.share else row.level,
            settings[row.delay] if row.delay else 0.0,
            settings[row.limit] if row.limit else math.inf,
            *condition(row.when),
            len(row.also), len(row.releases), len(row.windows), len(row.whiles),
            *following,
        ]  # fmt: skip
    return [float(number) for number in floats]


def _place(field: str) -> int:
    """Place of a reading in the memory."""
    return Readings._fields.index(field)
