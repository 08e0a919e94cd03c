"""Options at the owner's goal: each at the setpoints that keep it, and no drier or colder."""

import math
from functools import cached_property
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd

from moistsim.controls import Strategy, moved, reach, thresholds
from moistsim.core.abandoning import Threads
from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.core.measures import Measure, in_trade
from moistsim.core.progress import progress_bar
from moistsim.core.summary import Tabled, short
from moistsim.core.units import Role, fahrenheit
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import column_catalog
from moistsim.equipment import Equipment
from moistsim.season import Season, simulate
from moistsim.study.comfort import Comfort, comfort_of
from moistsim.study.goal import SHARE, Goal
from moistsim.study.study import Comparison, Study

HALF_DEGREE = 5.0 / 18.0
"""Step of a room setpoint, K: half a degree Fahrenheit, as thermostats are set."""
SAME = 0.2
"""Largest difference of mean room temperatures that counts as the same, K."""
MOST_WARMER = 2.0
"""Largest move of a cooling setpoint, K. A colder room is another comfort, not another setting."""
MARGIN = 5.0
"""Distance of a humidity setpoint below the goal's RH, percent, unless it is set closer.

A common sensor errs by 3 %, and a control dries from about 2 % above its setpoint (common practice,
no source).
"""
DRIEST = 40.0
"""Lowest humidity setpoint that an owner is asked to set, percent."""
COOLS = 0.01
"""Electricity of the compressor from which an hour counts as one with cooling, kWh."""
ROUNDS = 3
"""Most times that an option's temperature is moved; each move needs a new humidity setpoint."""


class Move(NamedTuple):
    """A move of an option's setpoints."""

    rh: float
    """Of all humidity setpoints together, percent RH."""
    temperature: float
    """Of the cooling setpoint, K."""


@attrs.frozen(eq=False)
class OptionAtGoal:
    """One option, with its setpoints where they keep the goal."""

    equipment: Equipment
    strategy: Strategy
    season: Season
    moved_rh: float
    """Move of all humidity setpoints, percent RH; positive is damper."""
    moved_temperature: float
    """Move of the cooling setpoint, K; positive is warmer."""
    hours_as_set: float
    """Humid hours with the setpoints as set."""
    hours: float
    """Humid hours with the moved setpoints."""
    most_hours: float
    """Humid hours that the goal allows in this season."""
    warmer: float
    """Mean room temperature less the base option's, K, over the hours in which the base cools."""
    runs: int
    """Number of seasons simulated for the option."""
    comfort: Comfort
    """Hours too warm and too cold at the moved setpoints."""
    why_not: str
    """Why the option does not keep the goal at the same comfort; empty where it does."""

    @property
    def meets(self) -> bool:
        """Whether the option keeps the goal, which is about humidity."""
        return self.hours <= self.most_hours

    @property
    def comparable(self) -> bool:
        """Whether its room is no colder than the base option's."""
        return self.warmer >= -SAME

    @property
    def fits(self) -> bool:
        """Whether it keeps the goal in a room that is neither colder nor beyond its setpoints."""
        return self.meets and self.comparable and self.comfort.holds

    @property
    def setpoints(self) -> dict[str, float]:
        """Humidity setpoints after the move, in SI; a machine's own are named with the machine."""
        return {
            x.name if x.owner == "strategy" else f"{x.owner} {x.name}": x.value
            for x in thresholds(self.equipment, self.strategy)
        }

    @property
    def cooling_setpoint(self) -> float | None:
        """Cooling setpoint after the move, degC; None for a control without one."""
        return self.strategy.setpoint(Role.COOLING)


def warmer_room(season: Season, base: Season) -> float:
    """Mean room temperature above the base option's, K, over the hours in which the base cools.

    0 where it never cools. A base option that is too warm for its cooling setpoint is no standard
    for that: of its hours, only those at or below the setpoint count.
    """
    cools = base.hourly["compressor_kWh"].to_numpy() > COOLS
    setpoint = base.strategy.setpoint(Role.COOLING)
    if (
        setpoint is not None
        and base.meter.of(column_catalog.TOO_WARM) > SHARE * len(base.quarters) / 4
    ):
        cools &= base.hourly["indoor_temperature_C"].to_numpy() <= setpoint
    mine, its = (x.hourly["indoor_temperature_C"].to_numpy()[cools] for x in (season, base))
    return float((mine - its).mean()) if cools.any() else 0.0


class _Runs:
    """Seasons of one option by the move of its setpoints; the last few are kept."""

    def __init__(self, study: Study, option: str, base: Season, as_set: Season | None) -> None:
        self.study, self.name = study, option
        self.option = study.resolved[option]
        self.base = base
        self.hours: dict[Move, float] = {}
        self.warmer: dict[Move, float] = {}
        self.at: tuple[Move, Season] | None = None
        self.known = {} if as_set is None else {Move(0.0, 0.0): as_set}
        self.many = 0

    def shifted(self, move: Move) -> tuple[Equipment, Strategy]:
        """Machines and strategy of the option with moved setpoints."""
        machines, strategy = moved(self.option.equipment, self.option.strategy, move.rh)
        name = strategy.name_of(Role.COOLING)
        if move.temperature and name is not None:
            warmer = strategy.settings[name] + move.temperature
            strategy = strategy(**{name: warmer})
        return machines, strategy

    def season(self, move: Move) -> Season:
        """The season with moved setpoints."""
        if self.at is not None and self.at[0] == move:
            return self.at[1]
        found = self.known.get(move)
        if found is None:
            machines, strategy = self.shifted(move)
            study = self.study
            found = simulate(
                self.option.house, machines, strategy, study.weather,
                start=study.start, end=study.end, step=study.step,
            )  # fmt: skip
            self.many += 1
        self.at = move, found
        return found

    def humid(self, move: Move) -> float:
        """Humid hours with moved setpoints."""
        if move not in self.hours:
            season = self.season(move)
            self.hours[move] = self.study.goal.humid_hours(season)
            self.warmer[move] = warmer_room(season, self.base)
        return self.hours[move]


def bring_to_goal(
    study: Study, option: str, base: Season, as_set: Season | None = None
) -> OptionAtGoal:
    """Move an option's setpoints to where they just keep the study's goal.

    All humidity setpoints move together, in steps of one percent RH, to the dampest setting with no
    more humid hours than the goal allows. They stay above `DRIEST` and `MARGIN` below the goal's RH. A cooling
    setpoint moves up, in steps of half a degree Fahrenheit, until the room is no colder than the
    base option's, on average over the hours in which the base cools. A colder room holds less water
    at the same relative humidity, and costs more to keep.

    Parameters
    ----------
    study : Study
    option : str
    base : Season
        The season of the base option, whose room temperature all options share.
    as_set : Season, optional
        The option's season with its setpoints as they are, where it has been run.

    Returns
    -------
    OptionAtGoal
        At the goal, or as near as it comes.

    Raises
    ------
    InputError
        If there is no such option.
    """
    if option not in study.options:
        raise InputError("at_goal option", option, one_of(option, study.options))
    runs = _Runs(study, option, base, as_set)
    most = study.goal.most_hours(len(base.quarters) / 4)
    as_set_hours = runs.humid(Move(0.0, 0.0))
    steps = _steps(study.goal, *runs.option[:2])
    move = Move(_dampest(runs, steps, 0.0, 0.0, most), 0.0)
    role = runs.option.strategy.name_of(Role.COOLING)
    for _ in range(ROUNDS):
        cold = -runs.warmer[move]
        if cold <= SAME or role is None:
            break
        at = min(_warmer(runs.option.strategy, move.temperature, cold), MOST_WARMER)
        if at <= move.temperature:
            break
        before = move
        move = Move(_dampest(runs, steps, move.rh, at, most), at)
        if -runs.warmer[move] > cold - 0.25 * (at - before.temperature):
            # Its own rows decide the temperature, not this setpoint.
            move = before
            break
    season = runs.season(move)
    machines, strategy = runs.shifted(move)
    hours, warmer = runs.humid(move), runs.warmer[move]
    comfort = comfort_of(study, season)
    return OptionAtGoal(
        machines, strategy, season, *move, as_set_hours, hours, most, warmer, runs.many, comfort,
        _why_not(study.goal, hours, most, warmer, steps, move, comfort),
    )  # fmt: skip


def _steps(goal: Goal, machines: Equipment, strategy: Strategy) -> list[float]:
    """Moves of the humidity setpoints that may be tried, percent RH, the driest first.

    The first humidity setpoint ends on a whole percent. Without a setpoint, the only move is none.
    """
    found = [x for x in thresholds(machines, strategy) if x.unit == "percent"]
    low, high = reach(machines, strategy)
    if found:
        low = max(low, min(DRIEST - min(x.value for x in found), 0.0))
        high = min(high, max(goal.above_rh - MARGIN - max(x.value for x in found), 0.0))
    first = found[0].value if found else 0.0
    whole = range(math.ceil(first + low - 1e-9), math.floor(first + high + 1e-9) + 1)
    return sorted({0.0, *(at - first for at in whole)}) if (low, high) != (0.0, 0.0) else [0.0]


def _dampest(
    runs: _Runs, steps: list[float], near: float, temperature: float, most: float
) -> float:
    """The dampest move that keeps the goal, or that with the fewest humid hours.

    Humid hours rise with the setpoints. The search doubles its steps away from `near` until one
    side keeps the goal and the other does not, and then halves them.
    """

    def keeps(k: int) -> bool:
        return runs.humid(Move(steps[k], temperature)) <= most

    at = steps.index(near)
    stride, dry, damp = 1, at, at
    if keeps(at):
        while damp < len(steps) - 1:
            damp = min(damp + stride, len(steps) - 1)
            if not keeps(damp):
                break
            dry, stride = damp, 2 * stride
        if dry == damp:
            return steps[dry]
    else:
        while dry > 0:
            dry = max(dry - stride, 0)
            if keeps(dry):
                break
            damp, stride = dry, 2 * stride
        if dry == damp:
            tried = [step for step in steps if Move(step, temperature) in runs.hours]
            return min(tried, key=lambda step: (runs.hours[Move(step, temperature)], -step))
    while damp - dry > 1:
        middle = (dry + damp) // 2
        dry, damp = (middle, damp) if keeps(middle) else (dry, middle)
    return steps[dry]


def _warmer(strategy: Strategy, before: float, cold: float) -> float:
    """Move of the cooling setpoint, K, that ends `cold` K warmer on a half degree Fahrenheit."""
    as_set = strategy.setpoint(Role.COOLING)
    assert as_set is not None
    halves = math.ceil(2.0 * fahrenheit(as_set + before + cold - 0.5 * SAME) - 1e-6)
    return float((0.5 * halves - fahrenheit(as_set)) / 1.8)


def _why_not(
    goal: Goal,
    hours: float,
    most: float,
    warmer: float,
    steps: list[float],
    move: Move,
    comfort: Comfort,
) -> str:
    """Why an option does not keep the goal at the same comfort; empty where it does."""
    reasons = (_too_humid(goal, hours, most, steps, move), _too_cold(warmer), comfort.words())
    return "; ".join(reason for reason in reasons if reason)


def _too_humid(goal: Goal, hours: float, most: float, steps: list[float], move: Move) -> str:
    if hours > most:
        text = (
            f"it is above {goal.above_rh:g} % for {number(hours)} hours, {number(most)} are allowed"
        )
        if len(steps) == 1:
            return f"{text}, and it has no humidity setpoint to move"
        if move.rh == steps[0]:
            return f"{text}, with its humidity setpoint as low as it goes"
        return f"{text}, and no lower humidity setpoint brings fewer"
    return ""


def _too_cold(warmer: float) -> str:
    if warmer < -SAME:
        return (
            f"its room is {number(-warmer, 1)} K ({number(-1.8 * warmer, 1)} °F) colder while the house is "
            "cooled, and its cooling setpoint cannot make up for it"
        )
    return ""


_AT_GOAL = (
    Measure("moved_pct_RH", "percent", "move of the humidity setpoints", digits=1),
    Measure("moved_K", "delta_degC", "move of the cooling setpoint", digits=1),
    Measure("setpoints", "text", "setpoints at the goal"),
    Measure("humid_as_set_h", "hour", "humid hours as set"),
    Measure("humid_h", "hour", "humid hours at the goal"),
    Measure("warmer_K", "delta_degC", "mean room temperature above the base option's", digits=1),
    Measure("keeps_goal", "yes or no", "whether the option keeps the goal"),
    Measure("too_warm_h", "hour", "hours above the cooling setpoint at the goal"),
    Measure("too_cold_h", "hour", "hours below the heating setpoint at the goal"),
    Measure("holds_setpoints", "yes or no", "whether the option holds its setpoints"),
    Measure("why_not", "text", "why the option does not keep the goal or hold its setpoints"),
)
_BESIDE = (column_catalog.TOTAL, column_catalog.COST)
_AFTER = (column_catalog.MEAN_DEW_POINT, column_catalog.MEAN_RH)


@attrs.frozen(eq=False)
class AtGoal(Tabled):
    """The options of a study as set, and with their setpoints moved to the owner's goal.

    `Study.at_goal` makes it.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {"Dehumidifier": (machines, ms.strategies.with_dehumidifier(target_rh=48))},
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-12",
    ...     goal=ms.Goal(above_rh="55 %", hours=0),
    ... )
    >>> found = study.at_goal(progress=False).options["Dehumidifier"]
    >>> found.meets, found.moved_rh > 0.0
    (True, True)
    """

    as_set: Comparison
    options: dict[str, OptionAtGoal]

    def __repr__(self) -> str:
        return short(self, self.options)

    @property
    def goal(self) -> Goal:
        """The owner's goal."""
        return self.as_set.study.goal

    @property
    def most_hours(self) -> float:
        """Humid hours that the goal allows in this season."""
        return next(iter(self.options.values())).most_hours

    @cached_property
    def study(self) -> Study:
        """The study with the setpoints at the goal."""
        given = self.as_set.study.options
        options: Any = {
            name: (x.equipment, x.strategy, *given[name][2:]) for name, x in self.options.items()
        }
        return attrs.evolve(self.as_set.study, options=options)

    @cached_property
    def comparison(self) -> Comparison:
        """Comparison of the options at the goal; one that cannot keep it is as near as it comes."""
        return Comparison(self.study, {name: x.season for name, x in self.options.items()})

    @property
    def cannot(self) -> dict[str, str]:
        """Options that do not keep the goal at the same comfort, each with the reason."""
        return {name: x.why_not for name, x in self.options.items() if x.why_not}

    def moved_words(self, option: str, units: Units | None = None) -> str:
        """What was moved in an option, in words; "nothing" where its setpoints stay.

        Raises
        ------
        InputError
            If there is no such option.
        """
        if option not in self.options:
            raise InputError("moved_words option", option, one_of(option, self.options))
        units = units_or_default(units)
        show, x = Show(units), self.options[option]
        moves = []
        for point in thresholds(x.equipment, x.strategy) if x.moved_rh else ():
            whose = "humidity setpoint" if point.unit == "percent" else "dew-point setpoint"
            as_set = point.at(-x.moved_rh)
            digits = 0 if units == "us" or point.unit == "percent" else 1
            before, after = (
                f"{value:.0f} %" if point.unit == "percent" else show(value, "temperature", digits)
                for value in (as_set, point.value)
            )
            moves.append(f"{whose} from {before} to {after}")
        if x.moved_temperature and x.cooling_setpoint is not None:
            digits = 1
            before = show(x.cooling_setpoint - x.moved_temperature, "temperature", digits)
            moves.append(
                f"cooling setpoint from {before} to {show(x.cooling_setpoint, 'temperature', digits)}"
            )
        return ", ".join(dict.fromkeys(moves)) or "nothing"

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Table with one row for each option, with units in the names.

        Parameters
        ----------
        units : {"us", "si"}, optional

        Returns
        -------
        DataFrame
            `moved_pct_RH` and `moved_K` are the moves of the setpoints, missing where there are
            none; `setpoints` says the moves in words. `humid_as_set_h` and `humid_h` are the humid hours.
            `warmer_K` is the room's mean temperature above the base option's while that cools.
            `total_kWh` and `cost_USD` are given as set and at the goal, mean dew point and mean RH at
            the goal. `too_warm_h` and `too_cold_h` are the hours of `Comfort`, missing where they
            cannot be judged. `why_not` is the reason why the goal is not kept or the setpoints are
            not held.

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "table units")
        before, after = self.as_set.table("si"), self.comparison.table("si")
        rows: dict[str, dict[str, Any]] = {}
        for name, x in self.options.items():
            rows[name] = {
                "moved_pct_RH": x.moved_rh if thresholds(x.equipment, x.strategy) else np.nan,
                "moved_K": np.nan if x.cooling_setpoint is None else x.moved_temperature,
                "setpoints": self.moved_words(name, units),
                "humid_as_set_h": x.hours_as_set,
                "humid_h": x.hours,
                "warmer_K": x.warmer,
                "keeps_goal": x.meets and x.comparable,
                "too_warm_h": np.nan if x.comfort.warm is None else x.comfort.warm,
                "too_cold_h": np.nan if x.comfort.cold is None else x.comfort.cold,
                "holds_setpoints": x.comfort.holds,
                **{
                    measure.called(when).name: frame.loc[name, measure.name]
                    for measure in _BESIDE
                    for when, frame in (("as_set", before), ("at_goal", after))
                },
                **{measure.name: after.loc[name, measure.name] for measure in _AFTER},
                "why_not": x.why_not,
            }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "option"
        if units == "si":
            return table
        beside = [measure.called(when) for measure in _BESIDE for when in ("as_set", "at_goal")]
        return in_trade(table, (*_AT_GOAL, *beside, *_AFTER))


def at_goal(
    study: Study,
    *,
    as_set: Comparison | None = None,
    workers: int | None = None,
    progress: bool = True,
) -> AtGoal:
    """Options of a study at the owner's goal; see `Study.at_goal`."""
    before = study.comparison_of(as_set, progress=progress, workers=workers)
    base = before.seasons[before.base]

    def one(name: str) -> OptionAtGoal:
        return bring_to_goal(study, name, base, before.seasons[name])

    with (
        progress_bar(len(study.options), "to the goal", "option", shown=progress) as bar,
        Threads(worker_count(workers, "Study.at_goal workers")) as pool,
    ):
        found: dict[str, OptionAtGoal] = {}
        for name, option in zip(study.options, pool.map(one, study.options), strict=True):
            found[name] = option
            bar.update()
    return AtGoal(before, found)
