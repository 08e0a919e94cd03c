"""Setpoints of a control, found by test: the readings at which it turns each machine on and off.

Readings move slowly up and down, and a control with its memory answers them. The sheet therefore
shows the behavior of the code, whoever wrote the control.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import CallSet, Readings, Strategy, carrying
from moistsim.core.units import Role
from moistsim.engine import leading
from moistsim.equipment import Equipment

HOLD = 60
"""Minutes for which a reading is held before the calls are recorded: longer than a timer."""
TEMPERATURE_STEP, RH_STEP = 0.1, 0.5
"""Steps of a sweep, K and percent RH. A call that starts and ends within one step is not seen."""
FINEST = 1.0 / 64.0
"""Resolution of a setpoint as a share of the sweep's step: 0.0016 K, 0.008 % RH."""
DRY, HUMID, VERY_HUMID = 30.0, 65.0, 75.0
"""Dry room, and humid rooms for a control that does not respond to humidity, percent RH."""
MILD_OUTDOORS, MILD_DEW_POINT = 27.0, 20.0
"""Outdoor dry bulb and dew point while the readings of the room move, degC."""
WARMEST = 27.0
"""Upper limit of a room that counts as satisfied, degC.

A call for cooling that turns off only above it is not a thermostat's call.
"""
COLDEST = 15.0
"""Lowest temperature in the sweep of a room without heating, degC."""
SILENCE = 24 * 60
"""Longest silence of a sensor that is tried, minutes."""
SAME = 0.02
"""Largest difference between two findings of one setpoint, K or percent RH."""


UNOCCUPIED = "house unoccupied"
"""Condition of a setpoint that applies only while nobody is at home."""


def strip_heat(machines: Equipment) -> str:
    """Name of strips that heat the house: auxiliary to a heat pump, or alone."""
    return "electric heat" if machines.heating is None else "auxiliary heat"


class Level(NamedTuple):
    """A call that counts as on from a certain value, such as a stage."""

    call: str
    """Field of `CallSet` that holds the call."""
    least: float
    """Value of the call from which the level is on. Reduced ventilation is on at and below it."""
    name: str
    held_back: bool = False
    graded: bool = False
    """Whether the call rises by degrees, so that it needs no deadband."""

    def on(self, calls: CallSet) -> bool:
        value = float(getattr(calls, self.call))
        return value <= self.least if self.held_back else value >= self.least


class Setpoint(NamedTuple):
    """Readings at which a level turns on and off, with the other readings held."""

    level: Level
    reading: str
    """Field of `Readings` that moved."""
    on: float
    off: float | None
    """Reading at which the level turned off; None if it stayed on for the whole sweep."""
    rising: bool
    """Whether the level turns on as the reading rises."""
    temperature: float | None
    """Dry bulb of the room during the sweep, degC; None if it is the reading that moved."""
    relative_humidity: float | None
    """RH of the room during the sweep, percent; None if it is the reading that moved."""
    when: str = ""
    """Further condition in words, such as the hours of the day; empty if there is none."""

    @property
    def restarts(self) -> bool:
        """Whether the level turns on and off at one reading, with no deadband."""
        same = self.off is not None and abs(self.on - self.off) <= SAME
        return same and not self.level.graded


def levels_of(machines: Equipment) -> tuple[Level, ...]:
    """List every level that a control can turn on in these machines."""
    return tuple(_levels(machines))


def _levels(machines: Equipment) -> Iterator[Level]:
    cooling, strips = machines.cooling, machines.strips
    if cooling is not None:
        count = len(cooling.stages)
        if cooling.modulation == "variable" and count > 1:
            yield Level("cooling", 0.5, "cooling, lowest speed", graded=True)
            yield Level("cooling", count - 1e-6, "cooling, full speed", graded=True)
        else:
            for k in range(1, count + 1):
                yield Level("cooling", k - 0.5, f"cooling, stage {k}" if count > 1 else "cooling")
    if machines.hot_gas is not None:
        yield Level("hot_gas", 0.001, "hot-gas reheat, first", graded=True)
        yield Level("hot_gas", 0.999, "hot-gas reheat, full", graded=True)
    if strips is not None:
        count = len(strips.stages)
        if strips.proportional:
            yield Level("reheat", 0.001, "electric reheat, first", graded=True)
            yield Level("reheat", count - 1e-6, "electric reheat, full", graded=True)
        else:
            for k in range(1, count + 1):
                stage = f", stage {k}" if count > 1 else ""
                yield Level("reheat", k - 0.5, "electric reheat" + stage)
    if machines.furnace is not None:
        yield Level("heating", 0.5, "furnace")
    elif machines.room_heater is not None:
        yield Level("heating", 0.5, "room heater")
    elif machines.heating is not None:
        yield Level("heating", 0.5, "heat pump")
        if strips is not None:
            yield Level("heating", 1.5, strip_heat(machines))
    elif strips is not None:
        yield Level("heating", 0.5, strip_heat(machines))
    if machines.dehumidifier is not None and machines.dehumidifier.humidistat is None:
        yield Level("dehumidifier", 1e-12, "dehumidifier")
    if cooling is not None:
        yield Level("fan", 1e-12, "blower alone")
        yield Level("slow_down", 1e-6, "reduced airflow", graded=True)
    if machines.ventilation is not None:
        yield Level("ventilation", 0.999, "reduced ventilation", held_back=True)
        yield Level("ventilation", 1.001, "increased ventilation")


class Control:
    """A control with its memory, run on chosen readings.

    Its machines are taken to follow each call without delay, because their refusals are not part of
    the control.

    Parameters
    ----------
    strategy : Strategy
    machines : Equipment
    **fixed
        Readings that differ from a July noon with people at home.
    """

    def __init__(self, strategy: Strategy, machines: Equipment, **fixed: float) -> None:
        cooling = machines.cooling
        readings = dict.fromkeys(Readings._fields, 0.0) | {
            "temperature": 22.0,
            "relative_humidity": DRY,
            "outdoor_temperature": MILD_OUTDOORS,
            "outdoor_dew_point": MILD_DEW_POINT,
            "hour": 12.5,
            "day": 196.0,
            "month": 7.0,
            "cooling_minutes": 1440.0,
            "heating_minutes": 1440.0,
            "dehumidifier_minutes": 1440.0,
            "occupied": 1.0,
            "cooling_stages": float(len(cooling.stages)) if cooling else 0.0,
            "variable_speed": float(cooling is not None and cooling.modulation == "variable"),
            "step_minutes": 1.0,
        }
        self.strategy = strategy
        self.readings = Readings(**{**readings, **fixed})
        self.memory = np.zeros(strategy.memory_size)
        self._settings = strategy.packed_settings

    def lead(
        self, readings: list[dict[str, float]], minutes: int = HOLD, *, afresh: bool = False
    ) -> list[tuple[CallSet, "Control"]]:
        """Hold each row of readings for `minutes`; return the calls and the control after each.

        A reading that a row does not name keeps its present value. With `afresh`, every row starts
        with an empty memory instead of the memory after the row before it.
        """
        rows = [self.readings._replace(**row) for row in readings]
        table = np.array(rows, dtype=float)
        column = Readings._fields.index
        vapor = (
            0.01
            * table[:, column("relative_humidity")]
            * air.over(air.saturation_pressure, table[:, column("temperature")])
        )
        table[:, column("dew_point")] = air.over(air.dew_point, vapor)
        outdoors = air.over(air.saturation_pressure, table[:, column("outdoor_dew_point")])
        outdoors /= air.over(air.saturation_pressure, table[:, column("outdoor_temperature")])
        table[:, column("outdoor_relative_humidity")] = np.minimum(100.0 * outdoors, 100.0)
        calls = np.zeros((len(rows), len(CallSet._fields)))
        memories = np.zeros((len(rows), len(self.memory)))
        with carrying():
            leading()(
                self.strategy.compiled, table, self.memory, self._settings, minutes, int(afresh),
                calls, memories,
            )  # fmt: skip
        self.readings = Readings(*table[-1].tolist())
        return [
            (CallSet(*called), self._as(Readings(*after), memory))
            for called, after, memory in zip(calls.tolist(), table.tolist(), memories, strict=True)
        ]

    def _as(self, readings: Readings, memory: NDArray[np.float64]) -> "Control":
        other = object.__new__(Control)
        other.__dict__ = {**self.__dict__, "readings": readings, "memory": memory.copy()}
        return other

    def copy(self) -> "Control":
        """Copy the control with its readings and its memory."""
        return self._as(self.readings, self.memory)

    def at(self, **readings: float) -> CallSet:
        """Calls of the control after an hour at these readings; other readings stay the same."""
        return self.lead([readings])[0][0]


class Change(NamedTuple):
    """A level that turned on or off in a sweep."""

    level: Level
    at: float
    became: bool
    rising: bool


def sweep(
    control: Control,
    reading: str,
    turns: tuple[float, ...],
    step: float,
    levels: tuple[Level, ...],
    *,
    hold_dew_point: bool = False,
    seen: list[CallSet] | None = None,
) -> list[Change]:
    """Move one reading from turn to turn in small steps, and record each level that changes.

    Parameters
    ----------
    control : Control
        The control, in any state. Its readings end at the last turn.
    reading : str
        Field of `Readings` that moves.
    turns : tuple of float
        First value of the reading, the values at which it turns back, and its last value.
    step : float
        Step of the reading. Each change is then narrowed to the share `FINEST` of a step.
    hold_dew_point : bool
        Keep the room's dew point, not its RH, as its temperature moves.
    seen : list, optional
        The calls of every step are appended to it.

    Returns
    -------
    list of Change
        Changes in the order in which they happened. A level that is on at the first turn has no
        change there.
    """
    humid = control.readings
    vapor = 0.01 * humid.relative_humidity * air.saturation_pressure(humid.temperature)

    def readings(value: float) -> dict[str, float]:
        if not hold_dew_point:
            return {reading: value}
        return {
            reading: value,
            "relative_humidity": min(100.0 * vapor / air.saturation_pressure(value), 100.0),
        }

    changes: list[Change] = []
    points, ways = [turns[0]], [True]
    for start, end in zip(turns, turns[1:], strict=False):
        leg = np.linspace(start, end, max(round(abs(end - start) / step), 1) + 1)[1:].tolist()
        points += leg
        ways += [end > start] * len(leg)
    led = control.lead([readings(point) for point in points])
    for k in range(1, len(points)):
        (calls, before), (after, _) = led[k - 1], led[k]
        if seen is not None:
            seen.append(after)
        if after != calls:
            found = [
                Change(
                    level, _narrowed(before, level, readings, points[k - 1], points[k]),
                    level.on(after), ways[k],
                )
                for level in levels
                if level.on(calls) != level.on(after)
            ]  # fmt: skip
            changes += sorted(found, key=lambda change: change.at, reverse=not ways[k])
    return changes


def _narrowed(before: Control, level: Level, readings: Any, low: float, high: float) -> float:
    """Reading at which a level changes between `low` and `high`, found by bisection from `low`."""
    was = before.copy()
    on = level.on(was.copy().at(**readings(low)))
    least = FINEST * abs(high - low)
    while abs(high - low) > least:
        middle = 0.5 * (low + high)
        there = was.copy()
        if level.on(there.at(**readings(middle))) == on:
            was, low = there, middle
        else:
            high = middle
    return 0.5 * (low + high)


def setpoints_of(changes: list[Change], reading: str, control: Control) -> list[Setpoint]:
    """One setpoint for each level: the readings at which it first turned on, and then off.

    A level that is on at the start of the sweep turns off first.
    """
    r = control.readings
    t = None if reading == "temperature" else r.temperature
    rh = None if reading == "relative_humidity" else r.relative_humidity
    found = []
    for level in dict.fromkeys(change.level for change in changes):
        own = [change for change in changes if change.level == level]
        ons = [k for k, change in enumerate(own) if change.became]
        if not ons:
            # The level was on at the start and turned off only: both edges are this reading.
            change = own[0]
            found.append(Setpoint(level, reading, change.at, change.at, not change.rising, t, rh))
            continue
        later = [change.at for change in own[ons[0] :] if not change.became]
        earlier = [change.at for change in own[: ons[0]] if not change.became]
        off = later[0] if later else earlier[-1] if earlier else None
        found.append(Setpoint(level, reading, own[ons[0]].at, off, own[ons[0]].rising, t, rh))
    return found


@attrs.frozen
class Probe:
    """Findings about a control: its setpoints, and the rooms that lie between them."""

    setpoints: tuple[Setpoint, ...]
    satisfied: float
    """Dry bulb just below the one at which cooling stops, degC. Temperature calls for nothing."""
    humid: float
    """RH at which the first humidity call is on and the last, if there are several, is off, percent."""
    very_humid: float
    """RH at which all humidity calls are on, percent."""
    together: dict[tuple[int, int], CallSet]
    """Calls with strips on while the compressor runs, by cooling stage and number of strip stages."""
    hot_gas: bool
    """Whether the control ever calls for hot gas during cooling."""
    hour: float
    """Hour of the day of the tests. Where hours matter, the one with the most setpoints."""
    month: float
    lost: tuple[float, CallSet] | None
    """Minutes of sensor silence after which the calls change, and the calls a day after it began.

    The room is humid and cool. None if the calls do not change.
    """

    @property
    def restarts(self) -> tuple[Setpoint, ...]:
        """Setpoints of the room's own air that have no deadband."""
        room = ("temperature", "relative_humidity")
        return tuple(p for p in self.setpoints if p.restarts and p.reading in room)

    def of(self, call: str, reading: str | None = None) -> list[Setpoint]:
        """Setpoints of a call, for one reading or for all."""
        return [
            point
            for point in self.setpoints
            if point.level.call == call and reading in (None, point.reading)
        ]


def probe(strategy: Strategy, machines: Equipment) -> Probe:
    """Find all setpoints of a control by test.

    The tests run as on a July noon with people at home. The control may call differently at other
    hours, in other months, or in an empty house. A grid of half a kelvin and 2 % RH looks for that,
    and the tests are then repeated under those conditions. Setpoints that differ name their
    condition. Hours are compared in July and months at noon, so a difference that only one hour of
    one month shows is not seen.

    Parameters
    ----------
    strategy : Strategy
        A strategy that is built in, combined, made of rules, or a user's own.
    machines : Equipment
        The machines that the strategy can call. Their refusals are ignored.
    """
    variants = list(_variants(strategy, machines))
    asked = [(when, fixed, _ask(strategy, machines, fixed)) for when, fixed in variants]
    # The sheet shows the condition with the most setpoints; noon comes first if all are alike.
    at_home = [one for one in asked if one[1].get("occupied", 1.0) == 1.0]
    first = max(at_home, key=lambda one: len(one[2].setpoints))
    points = [
        point._replace(when=first[0] if len(at_home) > 1 else "") for point in first[2].setpoints
    ]
    for when, _, other in asked:
        if when != first[0]:
            points += [
                point._replace(when=when)
                for point in other.setpoints
                if not any(_same(point, known) for known in first[2].setpoints)
            ]
    return attrs.evolve(first[2], setpoints=tuple(points))


def _same(a: Setpoint, b: Setpoint) -> bool:
    def near(x: float | None, y: float | None) -> bool:
        return x == y or (x is not None and y is not None and abs(x - y) <= SAME)

    alike = a.level == b.level and a.reading == b.reading and a.rising == b.rising
    return alike and near(a.on, b.on) and near(a.off, b.off)


def _variants(strategy: Strategy, machines: Equipment) -> Iterator[tuple[str, dict[str, float]]]:
    """Conditions for the tests: noon in July, and each one under which the control differs."""
    known: dict[tuple[CallSet, ...], tuple[str, dict[str, float]]] = {}
    hours = {h: _answers(strategy, machines, hour=h + 0.5) for h in range(24)}
    for noon in (12, *(h for h in range(24) if h != 12)):
        alike = [h for h in hours if hours[h] == hours[noon]]
        if hours[noon] not in known:
            known[hours[noon]] = (
                f"during hours {_runs(alike)}" if len(alike) < 24 else "",
                {"hour": noon + 0.5},
            )
    months = {
        m: _answers(strategy, machines, month=float(m), day=30.4 * m - 15.0) for m in range(1, 13)
    }
    for m in months:
        if months[m] not in known:
            alike = [k for k in months if months[k] == months[m]]
            known[months[m]] = (
                f"in months {_runs(alike)}",
                {"month": float(m), "day": 30.4 * m - 15.0},
            )
    away = _answers(strategy, machines, occupied=0.0)
    if away not in known:
        known[away] = (UNOCCUPIED, {"occupied": 0.0})
    yield from known.values()


def _runs(numbers: list[int]) -> str:
    """Numbers as a text of ranges: [0, 1, 2, 5] gives '0–2, 5'."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def _answers(strategy: Strategy, machines: Equipment, **fixed: float) -> tuple[CallSet, ...]:
    """Calls of the control with an empty memory, over a grid of rooms."""
    rooms = [(t, rh) for rh in (DRY, HUMID, VERY_HUMID) for t in np.arange(13.0, 32.0, 0.5)]
    rooms += [(t, rh) for t in (22.0, 24.0) for rh in np.arange(32.0, 86.0, 2.0)]
    readings = [{"temperature": float(t), "relative_humidity": float(rh)} for t, rh in rooms]
    rest = Control(strategy, machines, **fixed)
    return tuple(calls for calls, _ in rest.lead(readings, afresh=True))


def _ask(strategy: Strategy, machines: Equipment, fixed: dict[str, float]) -> Probe:
    """Run all sweeps under one condition, such as an hour of the day."""
    levels = levels_of(machines)
    found: list[Setpoint] = []
    seen: list[CallSet] = []

    def gain(points: list[Setpoint]) -> None:
        found.extend(point for point in points if not any(_same(point, one) for one in found))

    def swept(
        control: Control, reading: str, turns: tuple[float, ...], step: float, **how: Any
    ) -> list[Setpoint]:
        changes = sweep(control, reading, turns, step, levels, seen=seen, **how)
        return setpoints_of(changes, reading, control)

    start = _mild(strategy)
    dry = Control(strategy, machines, **fixed)
    gain(swept(dry, "temperature", (start, 40.0, 5.0, start), TEMPERATURE_STEP))
    cooling = [p for p in found if p.level.call == "cooling"]
    heating = [p for p in found if p.level.call == "heating"]
    warmest_off = [p.off for p in cooling if p.off is not None]
    # The thermostat is off in this room, so any call for cooling comes from humidity.
    satisfied = min(min(warmest_off) - 0.1, WARMEST) if warmest_off else start

    room = Control(strategy, machines, **fixed, temperature=satisfied)
    by_rh = swept(room, "relative_humidity", (20.0, 95.0, 20.0), RH_STEP)
    gain(by_rh)
    on_at = sorted({round(p.on, 1) for p in by_rh if p.rising})
    humid, very_humid = HUMID, VERY_HUMID
    if on_at:
        first, last = on_at[0], on_at[-1]
        humid = 0.5 * (first + on_at[1]) if len(on_at) > 1 else min(first + 1.0, 97.0)
        very_humid = min(last + (2.0 if len(on_at) > 1 else 8.0), 99.0)

    coldest = max((p.on for p in heating), default=COLDEST) + 0.2
    coldest = min(coldest, satisfied - 1.0)
    # The reading falls twice, because a level that is on at first must turn off before it turns on.
    down = (satisfied, coldest, 40.0, coldest, satisfied)
    for how in ({}, {"hold_dew_point": True}):
        for rh in (humid, very_humid):
            wet = Control(strategy, machines, **fixed, temperature=satisfied, relative_humidity=rh)
            wet.at()
            points = swept(wet, "temperature", down, TEMPERATURE_STEP, **how)
            if how:
                # RH moves with the room here, so only levels without a setpoint so far are added.
                points = [p for p in points if all(p.level != one.level for one in found)]
            gain([p._replace(relative_humidity=rh) for p in points])

    reheat = [p.on for p in found if p.level.call in ("reheat", "hot_gas") and not p.rising]
    cool = max(min(reheat, default=satisfied - 1.0) - 0.3, coldest)
    outdoors: tuple[tuple[str, tuple[float, ...], float, float], ...] = (
        ("outdoor_dew_point", (0.0, 26.0, 0.0), satisfied, DRY),
        ("outdoor_dew_point", (0.0, 26.0, 0.0), satisfied, very_humid),
        ("outdoor_temperature", (20.0, 45.0, -25.0, 20.0), satisfied, DRY),
        ("outdoor_temperature", (20.0, 45.0, -25.0, 20.0), cool, very_humid),
        ("outdoor_temperature", (20.0, 45.0, -25.0, 20.0), coldest - 3.0, DRY),
    )
    for reading, turns, t, rh in outdoors:
        inside = Control(strategy, machines, **fixed, temperature=t, relative_humidity=rh)
        inside.at(**{reading: turns[0]})
        gain(swept(inside, reading, turns, 0.5))

    silent = Control(strategy, machines, **fixed, temperature=cool, relative_humidity=very_humid)
    return Probe(
        setpoints=tuple(found),
        satisfied=satisfied,
        humid=humid,
        very_humid=very_humid,
        together=_together(seen),
        hot_gas=any(calls.cooling > 0.0 and calls.hot_gas > 0.0 for calls in seen),
        hour=silent.readings.hour,
        month=silent.readings.month,
        lost=_silence(silent),
    )


def _mild(strategy: Strategy) -> float:
    """Dry bulb between the cooling and the heating setpoint, degC. A missing setpoint is assumed."""
    cooling, heating = strategy.setpoint(Role.COOLING), strategy.setpoint(Role.HEATING)
    cooling = 24.0 if cooling is None else cooling
    return 0.5 * (cooling + (cooling - 4.0 if heating is None else heating))


def _together(seen: list[CallSet]) -> dict[tuple[int, int], CallSet]:
    """First calls seen with strips on while the compressor runs, by stages."""
    together: dict[tuple[int, int], CallSet] = {}
    for calls in seen:
        key = (int(calls.cooling + 0.5), int(np.ceil(calls.reheat - 1e-9)))
        if key[0] > 0 and key[1] > 0:
            together.setdefault(key, calls)
    return together


def _silence(control: Control) -> tuple[float, CallSet] | None:
    """Minutes of sensor silence after which the calls change, and the calls a day after it began."""
    before = control.at()
    led = control.lead([{"message_age": float(age)} for age in range(1, SILENCE + 1)], minutes=1)
    changed = [age for age, (calls, _) in enumerate(led, 1) if calls != before]
    return (float(changed[0]), led[-1][0]) if changed else None
