"""Review of a rule table before any run: what a careful colleague would ask about its rows.

Findings come from the rows, the machines and their sensor alone. Where rows are held against each
other, the review looks for a point of readings, consistent in itself (a dew point is that of its
temperature and humidity), at which both are on, and names it.
"""

import calendar
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.equipment import Equipment, Sensor
from moistsim.strategies.interface import Strategy
from moistsim.strategies.interpreter import Output
from moistsim.strategies.rules import (
    READING_UNITS,
    SETPOINTS,
    Condition,
    Row,
    RuleTable,
    While,
    in_words,
)
from moistsim.units import InputError

TEMPERATURE_RATE = 0.1 / 60.0
"""K/s that a room moves by with strips or compressor on: our own round figure, 1 K in 10 min."""
HUMIDITY_RATE = 0.3 / 60.0
"""Per cent RH a second, likewise: our own round figure, 3 % in 10 min."""

POSSIBLE = {
    "temperature": (-10.0, 60.0),
    "relative_humidity": (0.0, 100.0),
    "dew_point": (-40.0, 60.0),
    "outdoor_temperature": (-50.0, 60.0),
    "outdoor_relative_humidity": (0.0, 100.0),
    "outdoor_dew_point": (-60.0, 60.0),
    "hour": (0.0, 24.0),
    "day": (1.0, 366.0),
    "month": (1.0, 12.0),
    "cooling_stage": (0.0, 9.0),
    "reheat_stage": (0.0, 9.0),
    "heating_stage": (0.0, 2.0),
    "dehumidifier_on": (0.0, 1.0),
    "airflow": (0.0, 1.0),
    "occupied": (0.0, 1.0),
    "cooling_stages": (1.0, 9.0),
    "variable_speed": (0.0, 1.0),
}
"""What readings can be, in their SI units; our own wide figures where nature sets no limit. Times
are from 0 up."""
MOST_POINTS = 100_000
"""That the review looks at for a pair of rows; of more, every second along the longest axis."""
_LONGEST = 366.0 * 86400.0
_USUAL = {
    "temperature": 23.0,
    "relative_humidity": 50.0,
    "dew_point": 12.0,
    "outdoor_temperature": 25.0,
    "outdoor_relative_humidity": 70.0,
    "outdoor_dew_point": 18.0,
    "hour": 12.0,
    "month": 7.0,
}
"""Of a reading that no row names, where it decides another."""
_WHOLE = ("day", "month", "cooling_stage", "reheat_stage", "heating_stage", "dehumidifier_on",
          "occupied", "cooling_stages", "variable_speed")  # fmt: skip
_SIDES = (
    ("temperature", "relative_humidity", "dew_point"),
    ("outdoor_temperature", "outdoor_relative_humidity", "outdoor_dew_point"),
)

_WRONG_WAY = {
    Output.DEHUMIDIFIER: (("relative_humidity", "dew_point"), False, "dry"),
    Output.COOLING: (("temperature",), False, "cold"),
    Output.STRIPS: (("temperature",), True, "warm"),
    Output.HEATING: (("temperature",), True, "warm"),
}
"""Readings and direction that an output itself drives further from its call, and of what air."""
_OWN_TIMES = ("message_age", "cooling_minutes", "heating_minutes", "dehumidifier_minutes")
"""Readings that go on without a message from the room's sensor."""

Points = Mapping[str, NDArray[np.float64]]
Truth = NDArray[np.bool_]


@attrs.frozen
class Finding:
    """One thing to look at in a rule table; its text is the sentence."""

    row: int
    """Counted from 1; 0 for all of them."""
    kind: str
    """"release side", "deadband", "fight", "never acts", "strips alone", "strips above cooling"
    or "no end"."""
    sentence: str

    def __str__(self) -> str:
        return self.sentence


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
    that moves by `TEMPERATURE_RATE` or `HUMIDITY_RATE`, our own round figures, has moved on by rate
    times lag when the sensor says so. Rows are held against each other as conditions of the moment;
    how fast a house gets from one to the other the review does not know.

    Examples
    --------
    >>> from moistsim.strategies import rule_table
    >>> table = rule_table([{"do": "dehumidifier", "when": "humidity > 55 %",
    ...     "release_when": ["humidity < 60 %", "message age > 15 min"]}])
    >>> [finding.kind for finding in review(table)]
    ['release side']
    """
    strategy = getattr(strategy, "base", strategy)
    if not isinstance(strategy, RuleTable):
        raise InputError(
            "review", getattr(strategy, "name", strategy), "a rule table, as rule_table makes it"
        )
    table = _Table(strategy, machines)
    checks = (
        _release_side, _deadband, _wrong_way, _against_each_other, _same_output, _never,
        _strips_alone, _strips_above_cooling, _no_end,
    )  # fmt: skip
    found = [finding for check in checks for finding in check(table)]
    return sorted(found, key=lambda finding: finding.row)


class _Table:
    """A rule table at points of readings."""

    def __init__(self, strategy: RuleTable, machines: Equipment | None) -> None:
        self.rows, self.settings, self.machines = strategy.rows, strategy.settings, machines
        self.sensor = Sensor() if machines is None else machines.sensor
        self.unfit: set[int] = set()
        """Rows whose release is on the wrong side, of which no more need be said."""

    def title(self, k: int) -> str:
        """A row at the beginning of a sentence."""
        row = self.rows[k]
        name = f"{row.name!r}, " if row.name else ""
        return f"Row {k + 1} ({name}{self.call(k)})"

    def call(self, k: int) -> str:
        """What a row does."""
        return self.rows[k].call(self.settings, _number)

    def threshold(self, condition: Condition) -> float:
        """Of a condition, that of a set-point as a quantity."""
        at = self.settings[condition.key]
        return at + self.settings[condition.right] if condition.right in SETPOINTS else at

    def compared(self, condition: Condition) -> tuple[str, str]:
        """What is compared with what: '' for a quantity."""
        return condition.left, "" if condition.right in SETPOINTS else condition.right

    def said(self, condition: Condition) -> str:
        """A condition in words, in both systems of units."""
        words = f"{in_words(condition.left)} {'above' if condition.above else 'below'} "
        if not condition.right:
            return words + _number(self.settings[condition.key], condition.unit)
        offset, words = self.settings[condition.key], words + in_words(condition.right)
        if offset == 0.0:
            return words
        return f"{words} {'+' if offset > 0.0 else '-'} {_number(abs(offset), condition.unit)}"

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
        return self.holds(self.rows[k].when, points)

    def released(self, k: int, points: Points) -> Truth:
        truths = [self.holds(it, points) for it in self.rows[k].releases]
        return np.asarray(np.logical_or.reduce(truths))

    def open(self, k: int, points: Points) -> Truth:
        """Its windows of hours and months."""
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

        The rows `beside` it are on, as was looked at already; of each set that is `wanted` one must be on too.
        """
        truth = self.open(k, points) & ~self.released(k, points)
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
                # That they are off is sure only where nothing could have made them.
                for r in each.rows:
                    truth &= ~self.open(r, points) | self.released(r, points)
        return truth

    # ----------------------------------------------------------------------- points to look at

    def concerned(self, rows: Iterable[int]) -> list[int]:
        """Rows and all that their whiles lead to."""
        known: list[int] = []
        waiting = list(rows)
        while waiting:
            k = waiting.pop()
            if k not in known:
                known.append(k)
                waiting += [r for each in self.rows[k].whiles for r in each.rows]
        return known

    def needed(self, k: int, asked: frozenset[int] = frozenset()) -> frozenset[int]:
        """The row and those that must be on for it to be."""
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
        conditions = [it for row in concerned for it in (row.when, *row.releases)]
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
                middle = _USUAL.get(right, 1.0)
                offset = self.threshold(it)
                shifted = {mark + offset for mark in marks[right] or {middle}}
                marks[left] |= shifted
                marks[right] |= {mark - offset for mark in marks[left]}
        axes: list[tuple[tuple[str, ...], list[tuple[float, ...]]]] = []
        for side in _SIDES:
            axes.append((side, _air(side, marks)))
        marks.setdefault("hour", set())
        marks.setdefault("month", set())
        for name, at in marks.items():
            if not any(name in side for side in _SIDES):
                axes.append(((name,), [(value,) for value in _around(name, at)]))
        timed = {name for row in concerned for name in self.compared(row.when)}
        for name in set(_OWN_TIMES) - timed:
            # Which only ends calls, as it must have begun: a moment at which it does not.
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

    def example(
        self, rows: Iterable[int], points: Points, truth: Truth, more: Sequence[str] = ()
    ) -> str:
        """The most usual point at which something is true, by the readings that the rows name."""
        unusual = np.zeros(len(truth))
        for name, usual in _USUAL.items():
            low, high = POSSIBLE[name]
            unusual += np.abs(points[name] - usual) / (high - low)
        at = int(np.argmin(np.where(truth, unusual, np.inf)))
        named: dict[str, None] = {}
        for k in self.concerned(rows):
            row = self.rows[k]
            for it in (row.when, *row.releases):
                named |= dict.fromkeys(name for name in self.compared(it) if name)
            named |= dict.fromkeys(window.of for window in row.windows)
        named |= dict.fromkeys(more)
        shown = [name for name in named if name not in _OWN_TIMES]
        texts = (f"{in_words(name)} {_shown(name, float(points[name][at]))}" for name in shown)
        return ", ".join(texts) or "any readings"


@cache
def _saturation(temperature: float) -> float:
    return float(air.saturation_pressure(temperature))


def _air(side: Sequence[str], marks: Mapping[str, set[float]]) -> list[tuple[float, ...]]:
    """Temperature, relative humidity and dew point of the air of a side, consistent."""
    temperature, humidity, dew_point = side
    found: list[tuple[float, ...]] = []
    dew_points = _around(dew_point, marks[dew_point]) if dew_point in marks else []
    temperatures = _around(temperature, marks.get(temperature, set()) | set(dew_points))
    for t in temperatures:
        by_dew = [100.0 * _saturation(d) / _saturation(t) for d in dew_points if d <= t]
        humidities = _around(humidity, marks.get(humidity, set())) if humidity in marks else []
        for rh in [*humidities, *by_dew] or [_USUAL[humidity]]:
            if 0.0 <= rh <= 100.0:
                pressure = max(rh, 0.01) / 100.0 * _saturation(t)
                found.append((t, rh, float(air.dew_point(pressure))))
    return found


def _around(name: str, marks: set[float]) -> list[float]:
    """Values at and between the marks that a reading can have, the usual one first."""
    low, high = _possible(name)
    inside = sorted({min(max(mark, low), high) for mark in marks} | {low, high})
    if not marks and name in _USUAL:
        return [_USUAL[name]]
    # Beyond the outermost marks, readings near them rather than half way to the end of the world.
    values = [
        min(max(0.5 * (a + b), b - 1.0 if a == low else a), a + 1.0 if b == high else b)
        for a, b in itertools.pairwise(inside)
    ] + inside
    if name in _WHOLE:
        values = sorted({float(v) for mark in inside for v in (
            np.floor(mark), np.ceil(mark), mark - 1.0, mark + 1.0)
            if low <= v <= high and v == np.floor(v)})  # fmt: skip
    if name == "hour":
        values = [value for value in values if value < 24.0]
    return list(dict.fromkeys(values))


def _possible(name: str) -> tuple[float, float]:
    return POSSIBLE.get(name, (0.0, _LONGEST))


def _unit(name: str) -> str:
    return READING_UNITS.get(name, "count")


def _shown(name: str, value: float) -> str:
    """A reading in words."""
    if name == "month":
        return calendar.month_name[int(value)]
    if name == "hour":
        return f"{int(value):02d}:{int(60.0 * value) % 60:02d}"
    return _number(value, _unit(name))


def _number(value: float, unit: str) -> str:
    """A quantity in words, in both systems where they differ."""
    if unit == "degC":
        return f"{value:.4g} degC ({1.8 * value + 32.0:.4g} degF)"
    if unit == "delta_degC":
        return f"{value:.3g} K ({1.8 * value:.3g} degF)"
    if unit == "s":
        return f"{value / 60.0:.6g} min"
    if unit == "fraction":
        return f"{100.0 * value:.4g} %"
    return f"{value:.4g} %" if unit == "percent" else f"{value:.4g}"


# --------------------------------------------------------------------------------- the checks


def _pairs(table: _Table, k: int) -> Iterator[tuple[Condition, bool, float]]:
    """Releases that compare what the row's condition compares: whether in the opposite direction,
    and by how much the release lies behind the condition."""
    when = table.rows[k].when
    for release in table.rows[k].releases:
        if table.compared(release) == table.compared(when):
            gap = table.threshold(when) - table.threshold(release)
            yield release, release.above != when.above, gap if when.above else -gap


def _release_side(table: _Table) -> Iterator[Finding]:
    for k, row in enumerate(table.rows):
        pairs = list(_pairs(table, k))
        others = len(row.releases) > len(pairs)
        for release, opposite, gap in pairs:
            if opposite and gap < 0.0:
                text = "holds already where the condition begins, and wins"
            elif not opposite and gap >= 0.0:
                text = "holds wherever the condition does, and wins: the row is never on"
            elif not opposite and not others and not any(way for _, way, _ in pairs):
                text = "lies beyond the condition, so that the call stays on when the reading goes back"
            else:
                continue
            table.unfit.add(k)
            yield Finding(
                k + 1, "release side",
                f"{table.title(k)}: its release, {table.said(release)}, is on the wrong side of its "
                f"condition, {table.said(row.when)}: it {text}.",
            )  # fmt: skip


def _carried(table: _Table, reading: str) -> tuple[float, float]:
    """Resolution of a room reading, and what the sensor's lag carries it by."""
    sensor = table.sensor
    if reading == "temperature":
        return sensor.temperature_resolution, TEMPERATURE_RATE * sensor.temperature_lag
    if reading == "relative_humidity":
        return sensor.humidity_resolution, HUMIDITY_RATE * sensor.humidity_lag
    if reading == "dew_point":
        lag = max(sensor.temperature_lag, sensor.humidity_lag)
        return sensor.temperature_resolution, TEMPERATURE_RATE * lag
    return 0.0, 0.0


def _deadband(table: _Table) -> Iterator[Finding]:
    for k, row in enumerate(table.rows):
        unit = _unit(row.when.left)
        if unit not in ("degC", "percent"):
            continue
        unit = "delta_degC" if unit == "degC" else unit
        resolution, carried = _carried(table, row.when.left)
        for _, opposite, gap in _pairs(table, k):
            if not opposite or gap < 0.0:
                continue
            band = f"{table.title(k)}: its deadband of {_number(gap, unit)}"
            if gap < resolution:
                text = f"is narrower than the sensor's resolution of {_number(resolution, unit)}"
            elif gap < carried:
                rate = TEMPERATURE_RATE if unit == "delta_degC" else HUMIDITY_RATE
                text = (
                    "is narrower than what the sensor's lag will carry, "
                    f"{_number(carried, unit)}: a room that moves by {_number(60.0 * rate, unit)} a "
                    "minute (a round figure) times the lag"
                )
            elif gap == 0.0:
                text = "lets the call chatter"
            else:
                continue
            yield Finding(k + 1, "deadband", f"{band} {text}.")


def _wrong_way(table: _Table) -> Iterator[Finding]:
    for k, row in enumerate(table.rows):
        readings, above, air_is = _WRONG_WAY.get(row.output, ((), False, ""))
        if (
            row.when.left in readings
            and not table.compared(row.when)[1]
            and row.when.above == above
        ):
            yield Finding(
                k + 1, "fight",
                f"{table.title(k)} is called by {table.said(row.when)}: on air that is {air_is} "
                "already, and not when it is needed.",
            )  # fmt: skip


def _both(table: _Table, a: int, b: int, points: Points) -> Truth:
    """Where one of two rows is made while the other is on."""
    on = table.can_be_on(a, points, table.needed(b)) & table.can_be_on(b, points, table.needed(a))
    return on & (table.when(a, points) | table.when(b, points))


def _against_each_other(table: _Table) -> Iterator[Finding]:
    found: set[tuple[int, int]] = set()
    pairs = itertools.combinations(range(len(table.rows)), 2)
    # Those that others wait for come first: what follows from them need not be said.
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
                f"{table.title(a)} and row {b + 1} ({table.call(b)}) can be on at "
                f"once, and {why}; for example at {table.example((a, b), points, truth, more)}.",
            )  # fmt: skip


def _dries(row: Row) -> bool:
    by_humidity = row.when.left in ("relative_humidity", "dew_point") and row.when.above
    return row.output == Output.DEHUMIDIFIER or (row.output == Output.COOLING and by_humidity)


def _brings_in(table: _Table, row: Row) -> bool:
    """Ventilation beyond its rate."""
    return row.output == Output.VENTILATION and table.settings[row.share] > 1.0


def _same_output(table: _Table) -> Iterator[Finding]:
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
        released = [it for it, opposite, _ in _pairs(table, b) if opposite]
        if not released:
            continue
        truth = table.when(a, points) & table.can_be_on(a, points) & table.open(b, points)
        truth &= np.logical_or.reduce([table.holds(it, points) for it in released])
        if truth.any():
            yield Finding(
                a + 1, "fight",
                f"{table.title(a)} calls what row {b + 1} releases in the same band; for example "
                f"at {table.example((a, b), points, truth)}.",
            )  # fmt: skip


def _stages(count: int) -> str:
    return f"only {count} stage" + "s" * (count > 1)


def _missing(row: Row, machines: Equipment) -> str:
    """The machine that a row calls and the house lacks; '' if it is there."""
    cooling, strips = machines.cooling, machines.strips
    stages = 0 if cooling is None else len(cooling.stages)
    powers = 0 if strips is None else len(strips.powers)
    heats = (machines.heating, machines.furnace, machines.strips)
    if row.output == Output.COOLING and row.level > stages:
        return f"the air conditioner has {_stages(stages)}" if stages else "nothing cools"
    if row.output == Output.STRIPS and row.level > powers:
        return f"the strips have {_stages(powers)}" if powers else "there are no strips"
    if row.output == Output.HEATING and all(machine is None for machine in heats):
        return "there is nothing that heats"
    if row.output == Output.HEATING and row.level > 1.0 and strips is None:
        return "there are no strips"
    lacking = {
        Output.DEHUMIDIFIER: (machines.dehumidifier, "dehumidifier"),
        Output.HOT_GAS: (machines.hot_gas, "hot-gas reheat"),
        Output.VENTILATION: (machines.ventilation, "mechanical ventilation"),
        **dict.fromkeys(
            (Output.BLOWER, Output.BLOWER_SPEED, Output.SLOW_DOWN), (cooling, "air handler")
        ),
    }
    machine, name = lacking.get(row.output, (machines, ""))
    return f"there is no {name}" if machine is None else ""


def _never(table: _Table) -> Iterator[Finding]:
    reasons: dict[int, str] = {}
    rest: list[int] = []
    for k, row in enumerate(table.rows):
        points = table.points((k,))
        when = table.when(k, points)
        if not when.any():
            left, right = table.compared(row.when)
            reasons[k] = f"{table.said(row.when)} is beyond what can be read"
            if not right:
                low, high = (_number(end, _unit(left)) for end in _possible(left))
                reasons[k] += f", which is from {low} to {high}"
        elif not table.open(k, points).any():
            reasons[k] = "its hours and months have no moment in common"
        elif not (when & ~table.released(k, points)).any():
            reasons[k] = "its release holds wherever its condition does"
        elif not (when & table.can_be_on(k, points)).any():
            rest.append(k)
    _wait_for(table, reasons)
    for k in rest:
        if k not in reasons:
            reasons[k] = "its condition, its release and its 'within' leave no moment"
    _wait_for(table, reasons)
    for k, reason in reasons.items():
        if k not in table.unfit:
            yield Finding(k + 1, "never acts", f"{table.title(k)} can never act: {reason}.")
    if table.machines is not None:
        for k, row in enumerate(table.rows):
            if lack := _missing(row, table.machines):
                yield Finding(k + 1, "never acts", f"{table.title(k)} can never act: {lack}.")


def _wait_for(table: _Table, reasons: dict[int, str]) -> None:
    """A row that waits for one that never acts does not act either."""
    for _ in table.rows:
        for k, row in enumerate(table.rows):
            for each in row.whiles:
                if k not in reasons and each.on and all(r in reasons for r in each.rows):
                    reasons[k] = f"{each.text!r} waits for what can never be on"


def _strips_alone(table: _Table) -> Iterator[Finding]:
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
            # The row reads for itself what runs.
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
                f"{table.title(k)} can be on with no compressor, and so with no airflow over the "
                f"elements; for example at {table.example((k,), points, alone)}. A 'within' such as "
                "'while cooling stage 1 is on' ties it to the compressor.",
            )  # fmt: skip


def _delay(table: _Table, k: int) -> float:
    row = table.rows[k]
    return table.settings[row.delay] if row.delay else 0.0


def _strips_above_cooling(table: _Table) -> Iterator[Finding]:
    points = {}
    if "cooling_setpoint" in table.settings:
        points["the cooling set-point"] = table.settings["cooling_setpoint"]
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
        for word, it in (("on", row.when), *(("off", release) for release in row.releases)):
            at = table.threshold(it)
            if table.compared(it) == ("temperature", "") and at > points[name]:
                yield Finding(
                    k + 1, "strips above cooling",
                    f"{table.title(k)}: the point at which it turns {word}, "
                    f"{_number(at, 'degC')}, is above {name}, {_number(points[name], 'degC')}: "
                    "strips would call the compressor.",
                )  # fmt: skip
                break


def _no_end(table: _Table) -> Iterator[Finding]:
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
        if any(release.left in _OWN_TIMES and release.above for release in row.releases):
            return True
        return any(
            each.on and all(r not in asked and ends(r, asked | {k}) for r in each.rows)
            for each in row.whiles
        )

    endless = [k for k in range(len(table.rows)) if not ends(k)]
    for k in endless:
        # The row that another waits for is the one to be mended.
        if table.needed(k).intersection(endless) > {k}:
            continue
        yield Finding(
            k + 1, "no end",
            f"{table.title(k)}: nothing ends its call if messages from the sensor stop; 'at_most', "
            "or a release such as 'message age > 15 min', would.",
        )  # fmt: skip
    if machines is not None and machines.relays.release_after is None:
        held = [row for row in table.rows if not wired(row)]
        if held:
            yield Finding(
                0, "no end",
                "All rows: the relays keep their last call if messages from the control stop; "
                "relays with 'release_after', or a hard-wired enable that cuts them, would end it.",
            )  # fmt: skip
