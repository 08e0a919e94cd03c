"""The fitted house with the machines before and after, draw by draw, in the same weather."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.calibration import Fitted, carried
from moistsim.core.progress import progress_bar
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import DEW_POINT
from moistsim.savings.meter_readings import MeterReadings
from moistsim.savings.period import MeteredPeriod
from moistsim.savings.scaling import draw_weights, effective_number
from moistsim.season import Season, simulate
from moistsim.study import MARKS, Goal
from moistsim.weather import Weather

Array = NDArray[np.float64]
Span = tuple[pd.Timestamp, pd.Timestamp]

TRIED, COARSE = 256, "300 s"
"""Most draws that are tried on the meter before, and the time step for it."""


class Ran(NamedTuple):
    """What is kept of one season."""

    kwh: "pd.Series[float]"
    """Electricity of the machines by day, kWh."""
    dew_point: "pd.Series[float]"
    """Indoor dew point by hour, degC."""
    humid: "pd.Series[float]"
    """Hours above the goal's mark, by month."""
    humid_hours: float
    """Hours above the goal's mark in the more humid zone."""


@attrs.frozen(eq=False)
class Simulated:
    """Seasons of all draws: before in its weather, and both in the weather after."""

    before: tuple[Ran, ...]
    """Machines before, weather before; empty without a meter or logger before."""
    unchanged: tuple[Ran, ...]
    """Machines before, weather after."""
    changed: tuple[Ran, ...]
    """Machines after, weather after."""
    middle: tuple[Season, Season]
    """One draw's seasons in the weather after, with the machines before and after, for prices."""
    counts: Array | None
    """How often the meter chose each draw; None where draws were not chosen by it."""
    effective: float | None
    """Number of draws that the meter leaves of all that were tried; None where none were."""

    @property
    def dew_point_rise(self) -> Array:
        """Mean indoor dew point after less before in the weather after, K, by draw."""
        return np.array(
            [
                new.dew_point.mean() - old.dew_point.mean()
                for old, new in zip(self.unchanged, self.changed, strict=True)
            ]
        )

    @property
    def humid_hours(self) -> tuple[Array, Array]:
        """Hours above the mark by draw: with the machines before, and after."""
        old, new = (
            np.array([run.humid_hours for run in runs]) for runs in (self.unchanged, self.changed)
        )
        return old, new


def run_draws(
    fit: Fitted,
    before: MeteredPeriod,
    after: MeteredPeriod,
    spans: tuple[Span | None, Span],
    goal: Goal,
    n: int,
    seed: int,
    step: float | str,
    workers: int | None,
    progress: bool,
    meter: MeterReadings | None = None,
) -> Simulated:
    """Simulate draws of a fit in the two weathers.

    Loggers of temperature and humidity leave airflows that a meter does not. So with a meter before,
    many draws are tried on it first, at a coarse step, and those that follow it go on.

    Parameters
    ----------
    spans : (before, after)
        First and last day of each; None leaves the seasons in the weather before out.
    n : int
        Number of draws, or all if the fit has fewer.
    meter : MeterReadings, optional
        The meter before.
    """
    draws, counts, effective = fit.draws, None, None
    if len(draws) > (n if meter is None else TRIED):
        draws = draws.sample(n if meter is None else TRIED, random_state=seed)
    if meter is not None and spans[0] is not None and len(draws) > n:
        tried = _tried(fit, draws, before, spans[0], meter, workers, progress)
        effective = effective_number(tried)
        chosen, times = _resampled(tried, n, seed)
        draws, counts = draws.iloc[chosen], times
    rows = draws.to_dict("records")
    middle = _middle(draws)

    def seasons(values: dict[Any, Any]) -> Iterator[Season]:
        for period, weather, span in (
            (before, before.weather, spans[0]),
            (before, after.weather, spans[1]),
            (after, after.weather, spans[1]),
        ):
            if span is not None:
                yield _season(fit, values, period, weather, span, step)

    def one(number: int) -> tuple[list[Ran], list[Season]]:
        ran, kept = [], []
        for season in seasons(rows[number]):
            ran.append(_kept(season, goal))
            if number == middle:
                kept.append(season)
        return ran, kept

    with (
        progress_bar(len(rows), "draws", "draw", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "savings workers")) as pool,
    ):
        tasks = {pool.submit(one, number): number for number in range(len(rows))}
        done: dict[int, tuple[list[Ran], list[Season]]] = {}
        for task in as_completed(tasks):
            done[tasks[task]] = task.result()
            bar.update()
    by_run = [*zip(*(done[number][0] for number in range(len(rows))), strict=True)]
    of_before = by_run[0] if spans[0] is not None else ()
    old, new = done[middle][1][-2:]
    return Simulated(of_before, by_run[-2], by_run[-1], (old, new), counts, effective)


def _tried(
    fit: Fitted,
    draws: pd.DataFrame,
    before: MeteredPeriod,
    span: Span,
    meter: MeterReadings,
    workers: int | None,
    progress: bool,
) -> Array:
    """Weights of draws by the meter before."""

    def one(values: dict[Any, Any]) -> "pd.Series[float]":
        season = _season(fit, values, before, before.weather, span, COARSE)
        return season.quarters.resample("D").sum() / 4.0

    rows = draws.to_dict("records")
    with (
        progress_bar(len(rows), "draws on the meter", "draw", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "savings workers")) as pool,
    ):
        found = []
        for use in pool.map(one, rows):
            found.append(use)
            bar.update()
    return draw_weights(by_reading(found, meter), meter)


def _resampled(weights: Array, n: int, seed: int) -> tuple[NDArray[np.intp], Array]:
    """Draws chosen by weight, evenly spaced over their running sum, and how often each is."""
    offset = np.random.default_rng(seed).random()
    places = (np.arange(n) + offset) / n
    picked = np.minimum(np.searchsorted(np.cumsum(weights), places), len(weights) - 1)
    chosen, times = np.unique(picked, return_counts=True)
    return chosen, times.astype(float)


def by_reading(uses: Sequence["pd.Series[float]"], readings: MeterReadings) -> Array:
    """Daily electricity of several runs in the periods of a meter, kWh, shape (runs, periods)."""
    day = pd.DatetimeIndex(uses[0].index)
    first, after = day.searchsorted(readings.start), day.searchsorted(readings.end)
    sums = np.cumsum(np.stack([np.r_[0.0, use.to_numpy()] for use in uses]), axis=1)
    return np.asarray(sums[:, after] - sums[:, first])


def _middle(draws: pd.DataFrame) -> int:
    """The draw closest to the means of all, in standard deviations."""
    numbers = draws.select_dtypes("number")
    # A value that only some structures have is missing in the others.
    away = ((numbers - numbers.mean()) / numbers.std(ddof=0).replace(0.0, 1.0)).fillna(0.0)
    return int(np.argmin((away.to_numpy(float) ** 2).sum(axis=1)))


def _season(
    fit: Fitted,
    values: dict[Any, Any],
    period: MeteredPeriod,
    weather: Weather,
    span: Span,
    step: float | str,
) -> Season:
    house, machines = carried(fit, values, period.equipment, period.house)
    first, last = (f"{day:%Y-%m-%d}" for day in span)
    return simulate(house, machines, period.strategy, weather, start=first, end=last, step=step)


def _kept(season: Season, goal: Goal) -> Ran:
    hourly = season.hourly
    column = MARKS[goal.above_rh].columns[0]
    return Ran(
        season.quarters.resample("D").sum() / 4.0,
        hourly[DEW_POINT],
        hourly[column].resample("MS").sum(),
        goal.humid_hours(season),
    )
