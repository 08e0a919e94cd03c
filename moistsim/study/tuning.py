"""The cheapest setpoints that keep a house dry enough, and the cost of other humidities."""

import re
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cached_property
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.controls import Strategy
from moistsim.core.display import Units, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.core.progress import progress_bar
from moistsim.core.summary import Tabled, short
from moistsim.core.units import as_written, to_si
from moistsim.core.whole_numbers import seed_of, worker_count
from moistsim.engine import column_catalog
from moistsim.season import Season, simulate
from moistsim.study.study import Study

MEMBERS = 5
"""Points of a generation for each setpoint that is varied.

It is the smallest number that differential evolution accepts, so a small budget has many
generations.
"""
MUTATION, RECOMBINATION = (0.3, 0.8), 0.9
"""Mutation and recombination of differential evolution, for budgets of dozens of runs.

They converge faster than scipy's defaults, which suit thousands of runs. With 80 runs of four
setpoints in the two weeks of the tests, the results of six seeds differ by 3 %. With scipy's
defaults, they differ by 9 %.
"""
FINENESS = 50
"""Minimum number of steps in the range of a setpoint.

A step is a power of ten in the unit of the bounds as written.
"""
PATIENCE = 3
"""Generations without a new point after which the search is over."""
# Both are above any cost, so a run that holds all limits always wins. A point that the strategy
# refuses is worse than a run that misses a limit (feasibility first: Deb 2000, Computer Methods in
# Applied Mechanics and Engineering 186, from memory).
_DAMP, _REFUSED = 1.0e9, 1.0e12


class Bounds(NamedTuple):
    """Bounds of a setpoint, as the user wrote them."""

    low: float
    high: float
    unit: str
    """Unit of the two bounds, as written."""
    kept: str
    """SI unit of the setpoint in its strategy."""

    @property
    def digits(self) -> int:
        """Number of decimals of the setpoint's step."""
        return int(-np.floor(np.log10((self.high - self.low) / FINENESS) + 1.0e-9))

    def rounded(self, number: float) -> float:
        """Round a number to the setpoint's step, within the bounds."""
        return min(max(round(float(number), self.digits), self.low), self.high)

    def si(self, number: float) -> float:
        """Convert a number from the written unit to the SI unit of the setpoint."""
        return number if self.unit == self.kept else to_si(f"{number!r} {self.unit}", self.kept, "")

    def written(self, si: float) -> float:
        """Convert a setpoint from its SI unit to the written unit; the reverse of `si`."""
        low, high = self.si(self.low), self.si(self.high)
        number = self.low + (si - low) / (high - low) * (self.high - self.low)
        # Without the last bits of the conversion, or one point would be two.
        near = self.rounded(number)
        return near if abs(near - number) < 1.0e-9 * (self.high - self.low) else number


class Hold(NamedTuple):
    """A limit on a measure of humidity, comfort or wear."""

    text: str
    measure: str
    """A column of `Tuned.runs`."""
    limit: float
    scale: float
    """Scale of the measure, by which shortfalls of several limits are added up."""

    def short(self, row: Any) -> float:
        """Shortfall of a run in units of `scale`; 0 where it holds the limit."""
        return max(float(row[self.measure]) - self.limit, 0.0) / self.scale


_HELD = tuple(measure for measure in column_catalog.MEASURES if measure.phrases)
_EXAMPLE = column_catalog.RH_HOURS_OVER_55
ACCEPTED = f"'{_EXAMPLE.phrases[0]} <= 200', or a limit in the same form on " + ", ".join(
    f"'{measure.phrases[0]}'" for measure in _HELD if measure is not _EXAMPLE
)
"""Limits that `tune` accepts, in words. Hours beyond a setpoint count from 1 K beyond it."""


def read_hold(text: Any, strategy: Strategy) -> Hold:
    """A text such as ``"RH-hours above 55 % <= 200"`` as a limit on a measure.

    Raises
    ------
    InputError
        If the text names no measure, or the limit is not a quantity of that measure.
    """
    where = "tune hold"
    sides = re.split(r"<=|≤", text) if isinstance(text, str) else []
    if len(sides) != 2:
        raise InputError(where, text, ACCEPTED)
    measure, amount = column_catalog.said(sides[0]), sides[1].strip()
    if measure is None or measure not in _HELD:
        raise InputError(where, text, ACCEPTED)
    if measure.unit == "percent hour":
        amount = re.sub(r"\s*%\s*h$", "", amount)
    scale = None
    if measure.unit in ("degC", "percent"):
        limit, scale = to_si(amount, measure.unit, f"{where} {text!r}"), 1.0
    elif measure.unit == "hour" and not re.fullmatch(r"[\d.eE+-]+", amount):
        limit = to_si(amount, "s", f"{where} {text!r}") / 3600.0
    else:
        limit = to_si(amount, "count", f"{where} {text!r}")
    if measure.needs is not None and strategy.setpoint(measure.needs) is None:
        raise InputError(where, text, f"a strategy that declares a {measure.needs.value}")
    return Hold(" ".join(text.split()), measure.name, limit, scale or max(limit, 1.0))


def _bounds(name: str, pair: Any, strategy: Strategy) -> Bounds:
    where = f"tune vary[{name!r}]"
    if name not in strategy.settings:
        problem = f"{strategy.name} has no setpoint {{}}"
        raise InputError("tune vary", name, one_of(str(name), strategy.settings), problem)
    if isinstance(pair, str) or not hasattr(pair, "__len__") or len(pair) != 2:
        raise InputError(where, pair, "a pair of bounds, the lower one first")
    kept = strategy.units.get(name, "count")
    (low, unit), (high, other) = (as_written(bound, kept, where) for bound in pair)
    if other != unit:
        low, high, unit = to_si(pair[0], kept, where), to_si(pair[1], kept, where), kept
    if not low < high:
        raise InputError(where, pair, "a lower bound that is below the upper one")
    return Bounds(low, high, unit, kept)


@attrs.frozen(eq=False)
class Tuned(Tabled):
    """The result of a search for the cheapest setpoints, with every point that was tried.

    `tune` makes it, and shows an example.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> tuned = ms.tune(
    ...     study,
    ...     "Stand-alone dehumidifier",
    ...     vary={"target_rh": (48, 56)},
    ...     hold="RH-hours above 55 % <= 20",
    ...     most_runs=11,
    ...     progress=False,
    ... )
    >>> 48 <= tuned.strategy.settings["target_rh"] <= 56
    True
    """

    study: Study
    option: str
    vary: dict[str, Bounds]
    holds: tuple[Hold, ...]
    seed: int
    strategy: Strategy
    """The option's strategy with the cheapest setpoints that hold."""
    runs: pd.DataFrame
    """Points in the order of their runs, the option's own setpoints first.

    A row has the varied setpoints (in SI), `cost_USD`, electricity and gas (kWh), and humidity,
    comfort and starts as in `Comparison.table`. `holds` tells whether the point holds all limits.
    `refused` is the reason why the strategy refused the point, which was then not run."""
    best: int
    """Row of `runs` that is the result."""
    others: pd.DataFrame
    """The study's other options, by name, in the columns of `runs`."""

    def __repr__(self) -> str:
        return short(self, [self.option])

    @property
    def settings(self) -> dict[str, float]:
        """Tuned values of the varied setpoints, in SI."""
        return {name: self.strategy.settings[name] for name in self.vary}

    @property
    def default(self) -> pd.Series:
        """The row of the option's own setpoints."""
        return self.runs.iloc[0]

    @property
    def tuned(self) -> pd.Series:
        """The row of the tuned setpoints."""
        return self.runs.iloc[self.best]

    @property
    def objective(self) -> str:
        """Column of `runs` that was minimized: cost, or energy where energy is free."""
        return _objective(self.study)

    @cached_property
    def season(self) -> Season:
        """The season with the tuned setpoints, run again."""
        return _simulate(self.study, self.option, self.strategy)

    @property
    def envelope(self) -> pd.DataFrame:
        """Points that no other point beats in both humidity and cost.

        Rows of `runs`, dampest last, by the measure of the first `hold`.
        """
        measure, cost = self.holds[0].measure, self.objective
        tried = self.runs[self.runs["refused"] == ""].sort_values([measure, cost], kind="stable")
        return tried[tried[cost] < tried[cost].cummin().shift(fill_value=np.inf)]

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Setpoints and results, the option's own and the tuned ones side by side.

        Parameters
        ----------
        units : {"us", "si"}, optional
            Units of the mean dew point. Setpoints have the unit of their bounds as written.

        Returns
        -------
        DataFrame
            Columns `unit`, `default` and `tuned`.

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "table units")
        rows: dict[str, tuple[str, float, float]] = {}
        for name, bounds in self.vary.items():
            own, found = (bounds.written(float(row[name])) for row in (self.default, self.tuned))
            rows[name] = (shown_unit(bounds), own, round(found, bounds.digits + 2))
        for name in self.runs.columns[len(self.vary) : -2]:
            own, found = float(self.default[name]), float(self.tuned[name])
            measure = column_catalog.MEASURE[name]
            # End uses that the option does not have.
            if own == found == 0.0 and measure.unit == "kWh":
                continue
            rows[measure.stem] = (
                measure.sign(units), measure.shown(own, units), measure.shown(found, units)
            )  # fmt: skip
        return pd.DataFrame.from_dict(rows, orient="index", columns=["unit", "default", "tuned"])


def shown_unit(bounds: Bounds) -> str:
    """Unit of a setpoint's bounds as a reader writes it."""
    plain = {"percent": "%", "delta_degC": "K", "fraction": "", "count": ""}
    plain |= {"degC": "°C", "degF": "°F", "delta_degF": "°F"}
    return plain.get(bounds.unit, bounds.unit)


def _objective(study: Study) -> str:
    return (column_catalog.TOTAL if study.tariff.is_free else column_catalog.COST).name


def _simulate(study: Study, option: str, strategy: Strategy) -> Season:
    machines, _, house = study.resolved[option]
    return simulate(
        house, machines, strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def _row(study: Study, season: Season) -> dict[str, Any]:
    """Keep only the measures of a run, because 200 hourly tables would not fit in memory."""
    meter = season.meter
    return {
        column_catalog.COST.name: study.bill(season).unrounded,
        column_catalog.TOTAL.name: meter.total_kwh,
        column_catalog.GAS.name: meter.gas_kwh,
        **{measure.name: meter.of(measure) for measure in _KEPT if meter.holds(measure)},
    }


_KEPT = tuple(
    measure for measure in column_catalog.MEASURES if measure.part == "kwh" or measure in _HELD
)
"""Measures of a run besides cost and energy: end uses, and all that a limit may name.

Starts are included, because a narrow deadband dries at the price of many starts.
"""


class _Search:
    """Search that runs each point once, one generation at a time on threads, and keeps all rows."""

    def __init__(
        self, study: Study, option: str, vary: dict[str, Bounds], holds: tuple[Hold, ...],
        most: int, pool: ThreadPoolExecutor, bar: Any,
    ) -> None:  # fmt: skip
        self.study, self.option, self.vary, self.holds = study, option, vary, holds
        self.most, self.pool, self.bar = most, pool, bar
        self.rows: dict[tuple[float, ...], dict[str, Any]] = {}
        self.idle = 0

    def strategy(self, point: tuple[float, ...]) -> Strategy:
        """The option's strategy with the setpoints of a point."""
        pairs = zip(self.vary.items(), point, strict=True)
        return self.study.resolved[self.option].strategy(**{n: b.si(x) for (n, b), x in pairs})

    def one(self, point: tuple[float, ...]) -> dict[str, Any]:
        """Run a point; return its row in the table of runs, or its refusal by the strategy."""
        try:
            strategy = self.strategy(point)
        except InputError as error:
            pairs = zip(self.vary.items(), point, strict=True)
            return {**{n: b.si(x) for (n, b), x in pairs}, "holds": False, "refused": str(error)}
        return self.of(strategy)

    def of(self, strategy: Strategy) -> dict[str, Any]:
        """Run a strategy; return its row in the table of runs."""
        row = _row(self.study, _simulate(self.study, self.option, strategy))
        held = all(hold.short(row) == 0.0 for hold in self.holds)
        settings = {name: strategy.settings[name] for name in self.vary}
        return {**settings, **row, "holds": held, "refused": ""}

    def energies(self, numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values that the optimizer compares, for a whole generation: one column of `numbers` per point."""
        points = [
            tuple(b.rounded(x) for b, x in zip(self.vary.values(), column, strict=True))
            for column in np.atleast_2d(numbers.T)
        ]
        new = [p for p in dict.fromkeys(points) if p not in self.rows]
        new = new[: self.most - len(self.rows)]
        self.idle = 0 if new else self.idle + 1
        for point, row in zip(new, self.pool.map(self.one, new), strict=True):
            self.rows[point] = row
            self.bar.update()
        # A point beyond the budget does not run, and an infinite cost never wins.
        return np.array([self.energy(self.rows[p]) if p in self.rows else np.inf for p in points])

    def energy(self, row: dict[str, Any]) -> float:
        """Cost of a run that holds all limits; for others a number above all costs, by their shortfall."""
        if row["refused"]:
            return _REFUSED
        short = sum(hold.short(row) for hold in self.holds)
        return _DAMP + short if short > 0.0 else float(row[_objective(self.study)])

    def over(self, *_: Any) -> bool:
        """Whether the search is over."""
        return len(self.rows) >= self.most or self.idle >= PATIENCE


def tune(
    study: Study,
    option: str,
    vary: Mapping[str, tuple[Any, Any]],
    hold: str | Iterable[str],
    *,
    most_runs: int = 200,
    seed: int = 0,
    workers: int | None = None,
    progress: bool = True,
) -> Tuned:
    """Find the cheapest setpoints of an option that keep the house dry enough.

    The search is differential evolution (scipy.optimize) over whole seasons. Setpoints move in
    practical steps, and each point runs once. The option's own setpoints run too. If they lie within
    the bounds and hold the limits, the result is never more expensive. The result is the cheapest
    of the points that ran, which need not be the cheapest of all. Another `seed` or more runs show
    how much cheaper it may get.

    Parameters
    ----------
    study : Study
        The study, whose tariff gives the cost. Where energy is free, the search minimizes kWh.
    option : str
        The option with the setpoints to vary.
    vary : dict of str to (low, high)
        Setpoints of the option's strategy, with bounds as numbers in SI or texts with a unit.
        Combinations that the strategy refuses count as setpoints that do not hold.
    hold : str or list of str
        Limits over the season, such as ``"RH-hours above 55 % <= 200"`` (see `ACCEPTED`). The
        search sacrifices any measure without a limit: a colder room is cheaper if strips may start
        later, and a narrow deadband dries with many starts. Limit comfort and starts too.
    most_runs : int
        Maximum number of points; the search stops earlier if it finds no new ones. The study's
        other options also run once each, for comparison.
    seed : int
        The same seed gives the same result, on any number of workers.
    workers : int, optional
        Number of threads; default: one for each core.
    progress : bool
        Show a progress bar.

    Returns
    -------
    Tuned

    Raises
    ------
    InputError
        Before any run, if an argument cannot be used. After the runs, if no point holds all limits;
        the error describes the closest point.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {"Dehumidifier": (machines, ms.strategies.with_dehumidifier(target_rh=48))},
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-11",
    ... )
    >>> tuned = ms.tune(
    ...     study, "Dehumidifier", {"target_rh": (45, 60)}, "mean RH <= 55 %",
    ...     most_runs=11, progress=False,
    ... )
    >>> tuned.settings["target_rh"] > 48.0
    True
    """
    from scipy import optimize

    if option not in study.options:
        raise InputError("tune option", option, "one of " + ", ".join(study.options))
    own = study.resolved[option].strategy
    if not isinstance(vary, Mapping) or not vary:
        accepted = "a table of one setpoint or more, each with its two bounds, of: "
        raise InputError("tune vary", vary, accepted + ", ".join(own.settings))
    bounds = {str(name): _bounds(name, pair, own) for name, pair in vary.items()}
    texts = [hold] if isinstance(hold, str) else hold
    if not isinstance(texts, Iterable) or not (texts := [*texts]):
        raise InputError("tune hold", hold, ACCEPTED)
    holds = tuple(read_hold(text, own) for text in texts)
    least = 2 * MEMBERS * len(bounds) + 1
    if not isinstance(most_runs, int) or most_runs < least:
        accepted = f"a whole number from {least}: the setpoints as they are, and two generations"
        raise InputError("tune most_runs", most_runs, accepted)
    seed = seed_of(seed, "tune seed")

    here = np.array([b.written(own.settings[name]) for name, b in bounds.items()])
    sides = np.array([(b.low, b.high) for b in bounds.values()])
    within = bool(((sides[:, 0] <= here) & (here <= sides[:, 1])).all())
    names = [name for name in study.options if name != option]
    with (
        progress_bar(most_runs + len(names), "tuning", "season", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "tune workers")) as pool,
    ):
        search = _Search(study, option, bounds, holds, most_runs, pool, bar)
        # The first run is alone, because it computes the forcing that the others share.
        search.rows[tuple(here)] = search.of(own)
        bar.update()
        others = {}
        for name, row in zip(
            names,
            pool.map(lambda n: _row(study, _simulate(study, n, study.resolved[n].strategy)), names),
            strict=True,
        ):
            others[name] = row
            bar.update()
        # Untyped: the types of scipy know no function of a whole generation.
        evolve: Any = optimize.differential_evolution
        evolve(
            search.energies, [*sides], popsize=MEMBERS, maxiter=most_runs, tol=0.0, polish=False,
            mutation=MUTATION, recombination=RECOMBINATION,
            seed=np.random.default_rng(seed), callback=search.over, x0=here if within else None,
            updating="deferred", vectorized=True,
        )  # fmt: skip
    runs = pd.DataFrame([*search.rows.values()])
    runs = runs[[c for c in runs if c not in ("holds", "refused")] + ["holds", "refused"]]
    energies = np.array([search.energy(row) for row in search.rows.values()])
    best = int(energies.argmin())
    point = [*search.rows][best]
    if energies[best] >= _DAMP:
        raise _nothing_holds(bounds, holds, runs, point, best)
    found = search.strategy(point) if best else own
    table = pd.DataFrame.from_dict(others, orient="index")
    table.index.name = "option"
    return Tuned(study, option, bounds, holds, seed, found, runs, best, table)


def _nothing_holds(
    vary: dict[str, Bounds],
    holds: tuple[Hold, ...],
    runs: pd.DataFrame,
    point: tuple[float, ...],
    best: int,
) -> InputError:
    """Error for a search without a point that holds all limits; it describes the closest point."""
    settings = ", ".join(
        f"{name} = {x:.10g} {shown_unit(b)}".rstrip()
        for (name, b), x in zip(vary.items(), point, strict=True)
    )
    row = runs.iloc[best]
    if row["refused"]:
        return InputError("tune vary", row["refused"], "bounds with setpoints that it takes")
    reached = " and ".join(
        f"{row[h.measure]:,.4g} in the place of '{h.text}'" for h in holds if h.short(row) > 0.0
    )
    return InputError(
        "tune hold",
        " and ".join(h.text for h in holds),
        f"what the option can reach within its bounds: the nearest of {len(runs)} points tried "
        f"gives {reached}, at {settings}",
    )
