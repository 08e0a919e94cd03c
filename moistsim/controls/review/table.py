"""A rule table at points of readings: which rows hold, are released, can be on or must be."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.review.readings import OWN_TIMES, SIDES, USUAL, air_around, values_around
from moistsim.controls.rules.rows import SETPOINTS, Condition
from moistsim.controls.rules.rules import RuleTable
from moistsim.equipment import Equipment, Sensor

MOST_POINTS = 100_000
"""Maximum number of points that the review tries for a pair of rows.

Beyond it, every second value of the longest axis is dropped.
"""

Points = Mapping[str, NDArray[np.float64]]
Truth = NDArray[np.bool_]


class Table:
    """A rule table at points of readings."""

    def __init__(self, strategy: RuleTable, machines: Equipment | None) -> None:
        self.rows, self.settings, self.machines = strategy.rows, strategy.settings, machines
        self.sensor = Sensor() if machines is None else machines.sensor
        self.unfit: set[int] = set()
        """Rows, from 0, whose release is on the wrong side of their condition.

        The first check fills the set, and later checks skip these rows.
        """

    def threshold(self, condition: Condition) -> float:
        """Threshold of a condition, SI; next to a setpoint, the setpoint plus its offset."""
        at = self.settings[condition.key]
        return at + self.settings[condition.right] if condition.right in SETPOINTS else at

    def compared(self, condition: Condition) -> tuple[str, str]:
        """Readings on the left and right of a condition; '' for a quantity or a setpoint."""
        return condition.left, "" if condition.right in SETPOINTS else condition.right

    # ------------------------------------------------------------------ releases of a row

    def bands(self, k: int) -> Iterator[tuple[Condition, bool, float]]:
        """Releases of a row that compare the same readings as its `when`.

        Yields each release, whether its direction is opposite to that of `when`, and the distance
        by which it lies behind `when`, SI.
        """
        when = self.rows[k].when
        yield from self.band(when, self.rows[k].releases)

    def band(
        self, begin: Condition, releases: Iterable[Condition]
    ) -> Iterator[tuple[Condition, bool, float]]:
        """Releases that compare the same readings as a condition, as `bands` gives them."""
        for release in releases:
            if self.compared(release) == self.compared(begin):
                gap = self.threshold(begin) - self.threshold(release)
                yield release, release.above != begin.above, gap if begin.above else -gap

    # ------------------------------------------------------------------ truth at points

    def holds(self, condition: Condition, points: Points) -> Truth:
        left, right = self.compared(condition)
        difference = points[left] - (points[right] if right else 0.0)
        threshold = self.threshold(condition)
        if condition.or_equal:
            truth = difference >= threshold if condition.above else difference <= threshold
        else:
            truth = difference > threshold if condition.above else difference < threshold
        return np.asarray(truth)

    def when(self, k: int, points: Points) -> Truth:
        truths = [self.holds(it, points) for it in (self.rows[k].when, *self.rows[k].also)]
        return np.asarray(np.logical_and.reduce(truths))

    def released(self, k: int, points: Points) -> Truth:
        truths = [self.holds(it, points) for it in self.rows[k].releases]
        return np.asarray(np.logical_or.reduce(truths))

    def open(self, k: int, points: Points) -> Truth:
        """Whether all windows of hours and months of a row are open, at each point."""
        truth = np.ones(len(points["hour"]), dtype=bool)
        for window in self.rows[k].windows:
            begun, ended = points[window.of] >= window.first, points[window.of] >= window.end
            truth &= begun & ~ended if window.first < window.end else begun | ~ended
        return truth

    def can_be_on(
        self,
        k: int,
        points: Points,
        beside: frozenset[int] = frozenset(),
        wanted: frozenset[frozenset[int]] = frozenset(),
    ) -> Truth:
        """Whether a row that has been made can stay on.

        The rows in `beside` are assumed to be on already. At least one row of each set in `wanted`
        must be on too.
        """
        return ~self.released(k, points) & self.permitted(k, points, beside, wanted)

    def permitted(
        self,
        k: int,
        points: Points,
        beside: frozenset[int] = frozenset(),
        wanted: frozenset[frozenset[int]] = frozenset(),
    ) -> Truth:
        """Whether a row's windows are open and its `while` parts can be true, at each point."""
        truth = self.open(k, points)
        beside |= {k}
        wanted |= {frozenset({r}) for r in beside | self.needed(k)}
        wanted |= {frozenset(each.rows) for each in self.rows[k].whiles if each.on}
        for each in self.rows[k].whiles:
            if each.on:
                if not beside.intersection(each.rows):
                    others = [self.can_be_on(r, points, beside, wanted) for r in each.rows]
                    truth &= np.logical_or.reduce(others)
            elif any(group.issubset(each.rows) for group in wanted):
                truth &= False
            else:
                for r in each.rows:
                    truth &= ~self.must_be_on(r, points, frozenset())
        return truth

    def must_be_on(self, k: int, points: Points, asked: frozenset[int]) -> Truth:
        """Whether a row is surely on, once its `for` is over."""
        if k in asked or self.rows[k].limit:
            return np.zeros(len(points["hour"]), dtype=bool)
        truth = self.when(k, points) & ~self.released(k, points) & self.open(k, points)
        asked |= {k}
        for each in self.rows[k].whiles:
            surely = [self.must_be_on(r, points, asked) for r in each.rows]
            if each.on:
                truth &= np.logical_or.reduce(surely)
            else:
                # They are surely off only where nothing could have made them.
                for r in each.rows:
                    truth &= ~self.open(r, points) | self.released(r, points)
        return truth

    # ----------------------------------------------------------------------- points to look at

    def concerned(self, rows: Iterable[int]) -> list[int]:
        """The rows, and all rows that their `while` parts lead to."""
        known: list[int] = []
        waiting = list(rows)
        while waiting:
            k = waiting.pop()
            if k not in known:
                known.append(k)
                waiting += [r for each in self.rows[k].whiles for r in each.rows]
        return known

    def needed(self, k: int, asked: frozenset[int] = frozenset()) -> frozenset[int]:
        """The row, and the rows that must be on for it to be on."""
        if k in asked:
            return frozenset()
        own = frozenset({k})
        return own.union(
            *(self.needed(each.rows[0], asked | own)
              for each in self.rows[k].whiles if each.on and len(each.rows) == 1)
        )  # fmt: skip

    def points(
        self, rows: Iterable[int], more: Sequence[str] = ()
    ) -> dict[str, NDArray[np.float64]]:
        """Readings on either side of, and at, each threshold of the rows, in all combinations."""
        concerned = [self.rows[k] for k in self.concerned(rows)]
        conditions = [it for row in concerned for it in (row.when, *row.also, *row.releases)]
        marks: dict[str, set[float]] = {name: set() for name in more}
        for it in conditions:
            left, right = self.compared(it)
            marks.setdefault(left, set())
            if right:
                marks.setdefault(right, set())
            else:
                marks[left].add(self.threshold(it))
        for row in concerned:
            for window in row.windows:
                marks.setdefault(window.of, set()).update((window.first, window.end))
        for it in conditions:
            left, right = self.compared(it)
            if right:
                middle = USUAL.get(right, 1.0)
                offset = self.threshold(it)
                shifted = {mark + offset for mark in marks[right] or {middle}}
                marks[left] |= shifted
                marks[right] |= {mark - offset for mark in marks[left]}
        axes: list[tuple[tuple[str, ...], list[tuple[float, ...]]]] = []
        for side in SIDES:
            axes.append((side, air_around(side, marks)))
        marks.setdefault("hour", set())
        marks.setdefault("month", set())
        for name, at in marks.items():
            if not any(name in side for side in SIDES):
                axes.append(((name,), [(value,) for value in values_around(name, at)]))
        timed = {
            name for row in concerned for it in (row.when, *row.also) for name in self.compared(it)
        }
        for name in set(OWN_TIMES) - timed:
            # A time that no `when` compares can only end a call. It is tried at 0 s, before that.
            axes = [axis for axis in axes if axis[0] != (name,)]
            axes.append(((name,), [(0.0,)]))
        while math.prod(len(values) for _, values in axes) > MOST_POINTS:
            longest = max(range(len(axes)), key=lambda i: len(axes[i][1]))
            axes[longest] = (axes[longest][0], axes[longest][1][::2])
        every = np.indices([len(values) for _, values in axes]).reshape(len(axes), -1)
        return {
            name: np.array(values, dtype=float)[chosen, i]
            for (group, values), chosen in zip(axes, every, strict=True)
            for i, name in enumerate(group)
        }
