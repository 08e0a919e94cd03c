"""Options at one humidity: the setpoints of each are moved until all hold the same target."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cached_property
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.controls import Strategy, moved, reach, thresholds
from moistsim.core.display import Units, number, units_or_default
from moistsim.core.errors import InputError
from moistsim.core.measures import Measure, in_trade, line
from moistsim.core.progress import progress_bar
from moistsim.core.summary import Tabled, short
from moistsim.core.units import fahrenheit, to_si
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import column_catalog
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.season import Season, simulate
from moistsim.study.study import Comparison, Study

MOST_RUNS = 8
"""Maximum number of runs of an option with moved setpoints."""
FINEST = 0.05
"""Accuracy of a setpoint, percent RH; finer than any humidistat can be set."""
FLAT = 0.05
"""Share of the expected change below which a move counts as having no effect.

The search then goes to the end of the range.
"""

MEASURE = column_catalog.MEAN_DEW_POINT.phrases[0]
_STEADY = [measure for measure in column_catalog.MEASURES if measure.alike is not None]
ACCEPTED = (
    ", ".join(f"'{measure.phrases[0]}'" for measure in _STEADY[:-1])
    + f" or '{_STEADY[-1].phrases[0]}', which move steadily with the setpoints"
)


def read_measure(words: object) -> Measure:
    """The measure that all options should reach, by its words.

    Raises
    ------
    InputError
        If the words name no measure, or one that does not move steadily with the setpoints. Hours
        above a level are such a measure: they stay at zero in a dry house.

    Examples
    --------
    >>> read_measure("RH-hours over 55%").name
    'rh_hours_over_55'
    """
    found = column_catalog.said(words) if isinstance(words, str) else None
    if found is None or found.alike is None:
        raise InputError("matched measure", words, ACCEPTED)
    return found


def shown(measure: Measure, value: float) -> str:
    """A value of a measure in a sentence, in both units.

    >>> shown(read_measure("mean dew point"), 13.2)
    '13.2 °C (55.8 °F)'
    """
    if measure.unit == "degC":
        return f"{value:.1f} °C ({measure.in_trade(value):.1f} °F)"
    return f"{value:,.{measure.digits}f} {measure.sign('si')}"


def gap(measure: Measure, value: float) -> str:
    """A difference between two values of a measure in a sentence, in both units.

    >>> gap(read_measure("mean dew point"), -0.5), gap(read_measure("mean RH"), 1.0)
    ('0.50 K (0.90 °F)', '1.0 % RH')
    """
    if measure.unit == "degC":
        return f"{abs(value):.2f} K ({line('delta_degC')[0] * abs(value):.2f} °F)"
    sign = "% RH" if measure.unit == "percent" else measure.sign("si")
    return f"{abs(value):,.{measure.digits}f} {sign}"


def _amount(measure: Measure, value: float | str, where: str, *, difference: bool) -> float:
    unit = {"degC": "delta_degC" if difference else "degC", "percent": "percent"}
    if measure.unit in unit:
        return to_si(value, unit[measure.unit], where)
    return to_si(value.removesuffix("% h") if isinstance(value, str) else value, "count", where)


def read_within(within: float | str | None, measure: Measure) -> float:
    """The difference that counts as the same, in the measure's unit.

    Raises
    ------
    InputError
        If `within` is not such a difference, or not above zero.
    """
    if within is None:
        assert measure.alike is not None
        return measure.alike
    number = _amount(measure, within, "matched within", difference=True)
    if number <= 0.0:
        accepted = f"a difference above zero of {measure.phrases[0]}"
        raise InputError("matched within", within, accepted)
    return number


@attrs.frozen(eq=False)
class MatchedOption:
    """One option with its humidity setpoints moved until it is as close to a target as it can be."""

    equipment: Equipment
    strategy: Strategy
    season: Season
    shift: float
    """Shift of the option's humidity setpoints, percent RH."""
    as_set: float
    """Value of the measure with the setpoints as set."""
    reached: float
    """Value of the measure with the moved setpoints."""
    target: float
    within: float
    runs: int
    """Number of seasons simulated for the option."""
    why_not: str
    """Reason why the option does not hold the target, a sentence; empty where it does."""

    @property
    def matched(self) -> bool:
        """Whether the option holds the target."""
        return abs(self.reached - self.target) <= self.within

    @property
    def dry_enough(self) -> bool:
        """Whether the option keeps the house at least as dry as the target."""
        return self.reached <= self.target + self.within

    @property
    def setpoints(self) -> dict[str, float]:
        """Humidity setpoints after the move, in SI; a machine's own are named with the machine."""
        return {
            x.name if x.owner == "strategy" else f"{x.owner} {x.name}": x.value
            for x in thresholds(self.equipment, self.strategy)
        }


def match_option(
    study: Study,
    option: str,
    target: float | str,
    within: float | str | None = None,
    *,
    measure: str = MEASURE,
    as_set: Season | None = None,
) -> MatchedOption:
    """Move all humidity setpoints of one option together until it holds a humidity.

    On/off controls respond in small jumps. The result is therefore a run within the tolerance, or
    the closest run. The search uses brackets and Brent's method (scipy.optimize.brentq).

    Parameters
    ----------
    study : Study
    option : str
        The option with the setpoints to move.
    target : float or str
        The humidity to be held: a number in SI or a text with its unit.
    within : float or str, optional
        Tolerance of the target; default: 0.2 K, 0.5 % RH or 20 % h.
    measure : str
        As for `Study.matched`.
    as_set : Season, optional
        The option's season with its setpoints as they are, where it has been run.

    Returns
    -------
    MatchedOption

    Raises
    ------
    InputError
        If the option does not exist, or the measure, the target or the tolerance cannot be used.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {"Dehumidifier": (machines, ms.strategies.with_dehumidifier(target_rh=52))},
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-12",
    ... )
    >>> found = ms.match_option(study, "Dehumidifier", "50 %", "0.5 %", measure="mean RH")
    >>> found.matched
    True
    """
    if option not in study.options:
        raise InputError("matched option", option, "one of " + ", ".join(study.options))
    of = read_measure(measure)
    return _matched(
        study,
        option,
        _amount(of, target, "matched target", difference=False),
        read_within(within, of),
        of,
        as_set,
    )


def _run(study: Study, house: House, machines: Equipment, strategy: Strategy) -> Season:
    return simulate(
        house, machines, strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def _matched(
    study: Study, option: str, target: float, within: float, measure: Measure, as_set: Season | None
) -> MatchedOption:
    machines, strategy, house = study.resolved[option]
    first = as_set or _run(study, house, machines, strategy)
    low, high = reach(machines, strategy)
    # Only the best is kept: a season holds every hour.
    best: list[tuple[float, Season]] = [(0.0, first)]

    def away(shift: float) -> float:
        season = _run(study, house, *moved(machines, strategy, shift))
        miss = season.meter.of(measure) - target
        if abs(miss) < abs(best[0][1].meter.of(measure) - target):
            best[0] = shift, season
        return miss

    miss = first.meter.of(measure) - target
    tried = _search(away, miss, (low, high), within, measure.per_rh)
    shift, season = best[0]
    reached = season.meter.of(measure)
    why = ""
    if abs(reached - target) > within:
        now = f"{option}: {measure.phrases[0]} {shown(measure, reached)}, "
        now += f"{gap(measure, reached - target)} {'above' if reached > target else 'below'} the target, "
        why = now + _why_not(tried, shift, within, movable=low != high)
    return MatchedOption(
        *moved(machines, strategy, shift), season, shift, first.meter.of(measure), reached, target,
        within, len(tried) - (as_set is not None), why,
    )  # fmt: skip


def _search(
    away: Callable[[float], float],
    gap: float,
    limits: tuple[float, float],
    within: float,
    step: float | None,
) -> dict[float, float]:
    """Search for the shift that closes the gap to the target; return the gap of each shift tried.

    The search brackets the target outward from no shift, and then uses Brent's method.

    Parameters
    ----------
    away : callable
        Gap to the target at a shift; it rises with the shift.
    gap : float
        Gap without a shift.
    limits : tuple
        Smallest and largest shift.
    within : float
        Largest gap that counts as closed.
    step : float, optional
        Largest change of the gap for a unit of shift.
    """
    from scipy.optimize import brentq

    tried = {0.0: gap}

    def once(shift: float) -> float:
        if shift not in tried:
            tried[shift] = away(shift)
        return 0.0 if abs(tried[shift]) <= within else tried[shift]

    limit = limits[0] if gap > 0.0 else limits[1]
    if abs(gap) <= within or limit == 0.0:
        return tried
    slope = expected = step or abs(gap) / 3.0
    at, here = 0.0, gap
    while len(tried) <= MOST_RUNS:
        # Steps overshoot by 20 %, because a point beyond the target closes the bracket.
        nearer, further = at, at - 1.2 * here / slope
        at = max(further, limit) if limit < 0.0 else min(further, limit)
        if len(tried) > MOST_RUNS // 2 or slope < FLAT * expected:
            at = limit
        before, here = here, once(at)
        if here == 0.0 or (at == limit and here * gap > 0.0):
            break
        if here * gap < 0.0:
            left = MOST_RUNS + 1 - len(tried)
            if left > 0:
                brentq(once, nearer, at, xtol=FINEST, maxiter=left, disp=False)
            break
        slope = max((here - before) / (at - nearer), 0.01 * expected)
    return tried


def _why_not(tried: dict[float, float], best: float, within: float, *, movable: bool) -> str:
    """Reason why the closest run misses the target, as the end of a sentence."""
    if not movable:
        return "because it has no humidity setpoint to move"
    gaps = [*tried.values()]
    if min(gaps) < 0.0 < max(gaps):
        return f"in the closest of {len(tried)} runs: it jumps over the target when it turns on and off"
    furthest = max(tried, key=abs)
    if max(gaps) - min(gaps) < FLAT * within:
        return "because its humidity setpoints change nothing here"
    if best != furthest:
        return f"and moving its setpoints further, up to {number(furthest, sign=True)} % RH, brings it no closer"
    return f"with its setpoints moved to their limit ({number(furthest, sign=True)} % RH)"


_BESIDE = (
    column_catalog.TOTAL,
    column_catalog.COST,
    column_catalog.MEAN_RH,
    column_catalog.TOO_COOL,
)
"""Measures that a table of matched options shows as set and as matched."""
_MATCHED = (
    Measure("moved_pct_RH", "percent", "shift of the humidity setpoints", digits=1),
    Measure("setpoints", "text", "humidity setpoints"),
    Measure("matched", "yes or no", "whether the option reaches the target"),
    Measure("why_not", "text", "why the option does not reach the target"),
)


@attrs.frozen(eq=False)
class Matched(Tabled):
    """The options of a study as set, and with their setpoints moved to one humidity.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {
    ...         "48 %": (machines, ms.strategies.with_dehumidifier(target_rh=48)),
    ...         "55 %": (machines, ms.strategies.with_dehumidifier(target_rh=55)),
    ...     },
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-12",
    ... )
    >>> matched = study.matched("mean RH", "0.5 %", progress=False)
    >>> matched.cannot, bool(matched.options["55 %"].shift < 0.0)
    ({}, True)
    """

    as_set: Comparison
    options: dict[str, MatchedOption]
    measure: Measure
    target: float
    """Target of all options, in the unit of `measure`."""
    within: float

    @cached_property
    def comparison(self) -> Comparison:
        """Comparison of the matched options; an option that cannot match is in its closest run."""
        given = self.as_set.study.options
        options: Any = {
            name: (x.equipment, x.strategy, *given[name][2:]) for name, x in self.options.items()
        }
        study = attrs.evolve(self.as_set.study, options=options)
        return Comparison(study, {name: x.season for name, x in self.options.items()})

    def __repr__(self) -> str:
        return short(self, self.options)

    @property
    def cannot(self) -> dict[str, str]:
        """Options that do not hold the target, each with a sentence that says why."""
        return {name: x.why_not for name, x in self.options.items() if not x.matched}

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Table with one row for each option, as set and as matched, with units in the names.

        Parameters
        ----------
        units : {"us", "si"}, optional

        Returns
        -------
        DataFrame
            `moved_pct_RH` is the shift of the setpoints, missing where there are none, and
            `setpoints` are the moved ones in words. The measure has `as_set`, `reached` and
            `target`, and `matched` tells whether the option holds the target. `total_kWh`,
            `cost_USD`, `mean_rh_pct` and `below_cooling_setpoint_h` are given as set and as matched.
            The last two show a house that holds a dew point because it is cold. Hours below a
            setpoint are missing without a setpoint. `why_not` is the reason for a missed target.

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "table units")
        as_set, reached, target = map(self.measure.called, ("as_set", "reached", "target"))
        before, after = self.as_set.table("si"), self.comparison.table("si")
        shown = [m for m in _BESIDE if m.name in before and m.name in after]
        rows = {}
        for name, x in self.options.items():
            points = thresholds(x.equipment, x.strategy)
            rows[name] = {
                "moved_pct_RH": x.shift if points else np.nan,
                "setpoints": ", ".join(
                    f"{point} {_said(value, kind, units)}"
                    for (point, value), kind in zip(
                        x.setpoints.items(), (p.unit for p in points), strict=True
                    )
                ),
                as_set.name: x.as_set,
                reached.name: x.reached,
                target.name: x.target,
                "matched": x.matched,
                **{
                    measure.called(when).name: frame.loc[name, measure.name]
                    for measure in shown
                    for when, frame in (("as_set", before), ("matched", after))
                },
                "why_not": x.why_not,
            }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "option"
        beside = [measure.called(when) for measure in shown for when in ("as_set", "matched")]
        for measure in beside:
            if measure.needs:
                table[measure.name] = table[measure.name].astype("Float64")
        if units == "si":
            return table
        return in_trade(table, (as_set, reached, target, *beside, *_MATCHED))


def _said(value: float, unit: str, units: Units) -> str:
    if unit == "percent":
        return f"{value:.1f} %"
    return f"{value:.1f} °C" if units == "si" else f"{fahrenheit(value):.1f} °F"


def match(
    study: Study,
    measure: str = MEASURE,
    within: float | str | None = None,
    *,
    target: float | str | None = None,
    as_set: Comparison | None = None,
    workers: int | None = None,
    progress: bool = True,
) -> Matched:
    """Options of a study at the same humidity; see `Study.matched`."""
    of = read_measure(measure)
    near = read_within(within, of)
    wanted = None
    if target is not None and target not in study.options:
        try:
            wanted = _amount(of, target, "matched target", difference=False)
        except InputError as error:
            options = ", ".join(study.options)
            accepted = f"an option ({options}), or a level. {error.accepted}"
            raise InputError("matched target", target, accepted) from None
    before = study.comparison_of(as_set, progress=progress, workers=workers)
    if wanted is None:
        value = {name: season.meter.of(of) for name, season in before.seasons.items()}
        if target is None:
            movable = [
                name
                for name, option in study.resolved.items()
                if reach(option.equipment, option.strategy) != (0.0, 0.0)
            ]
            wanted = min(value[name] for name in movable or value)
        else:
            wanted = value[str(target)]

    def one(name: str) -> MatchedOption:
        return _matched(study, name, wanted, near, of, before.seasons[name])

    with (
        progress_bar(len(study.options), "matching", "option", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "Study.matched workers")) as pool,
    ):
        matched: dict[str, MatchedOption] = {}
        for name, moved_one in zip(study.options, pool.map(one, study.options), strict=True):
            matched[name] = moved_one
            bar.update()
    return Matched(before, matched, of, wanted, near)
