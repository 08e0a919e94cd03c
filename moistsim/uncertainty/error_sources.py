"""Error budget of a verdict: the error that each source adds, in kWh and in money.

Each source moves alone, one standard deviation to either side, with the same house, weather and
prices otherwise. Half the difference of the two results is its error. A cause that options share, such
as their humidity sensor, moves in both options alike. Sources are assumed to be independent, so the
errors add up as the root of the sum of squares. An input without a range moves by our own round
number: a stand-in of `stand_ins`, not a finding. The table marks it.
"""

from collections.abc import Iterator, Mapping
from concurrent.futures import Executor
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.display import Show, Units, number, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import to_si
from moistsim.economics import weigh
from moistsim.prices import Purchase, Terms, YearlyEnergy
from moistsim.sensitivity import DISTRIBUTIONS
from moistsim.study import Comparison, Study
from moistsim.uncertainty.cases import energy_of, yearly_cases
from moistsim.uncertainty.certainty import check_pair, usual_pair
from moistsim.uncertainty.measured import measured_draws, spread_out
from moistsim.uncertainty.ranges import (
    MEASURED,
    SOURCES,
    Inputs,
    find_input,
    in_words,
    is_price,
    priced,
    restricted,
    rounded,
    source_of,
    uncertain_inputs,
)
from moistsim.uncertainty.stand_ins import ENERGY, ENERGY_PRICE, YEARS_APART, other_years
from moistsim.uncertainty.stand_ins import stand_ins as stand_ins_of

SIDES = (0.158655, 0.841345)
"""Shares of a normal distribution below one standard deviation to either side of its mean."""

MEASURES = ("kWh", "USD", "net_savings_USD")
NAMED = 4
"""Measured values that the budget names."""
MOST_DRAWS = 32
"""Draws of a measured house that the budget simulates."""


_Numbers = NDArray[np.float64]
"""The measures of a verdict, in the order of `MEASURES`."""


class _Move(NamedTuple):
    """An input that moves alone."""

    source: str
    of: str
    sides: list[dict[str, Any]]
    """Values that differ from the study, to either side, by dotted name."""
    said: str

    @property
    def is_money(self) -> bool:
        """Whether the move changes prices alone, which needs no simulation."""
        return all(is_price(name) for side in self.sides for name in side)


def error_budget(
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
    ranges: Mapping[str, Any],
    *,
    options: tuple[str, str] | None = None,
    stand_ins: bool = True,
    measured: Any = None,
    as_set: Comparison | None = None,
    executor: Executor | Literal["threads", "processes"] | None = None,
    workers: int | None = None,
    progress: bool = True,
    units: Units | None = None,
) -> pd.DataFrame:
    """Calculate the error that each source adds to the verdict between two options.

    Parameters
    ----------
    study, purchases, terms, ranges, options, stand_ins, measured, as_set, executor, workers, progress
        As for `how_sure`. Without ranges, all sources are stand-ins.
    units : {"us", "si"}, optional
        Units of the text in `basis`.

    Returns
    -------
    pandas.DataFrame
        One standard deviation of the difference between the two options, by `source`: time step,
        a measured house, then the sources of `SOURCES` in which something moves, and all together. Columns are `kWh` of electricity in a year, `USD` of energy and
        maintenance in a year, and `net_savings_USD` over the study period. `basis` describes the
        inputs that moved and their shift. ``attrs`` has `option` and `against`, the verdict itself
        under the three column names, and the number of simulated `cases`.

    Raises
    ------
    InputError
        For the same reasons as `how_sure`, or if a source can move to neither side.

    Notes
    -----
    The error of the time step is twice the change with half the step, as for a first-order method.
    The error of the weather is the standard deviation over the years in ``ranges["weather"]``, and
    that of a measured house the standard deviation over at most `MOST_DRAWS` of its draws.
    Without such a list, the year is made warmer and moister, and then cooler and drier, by
    `YEARS_APART`. The other stand-ins and their reasons are in `stand_ins`. All humidity setpoints of
    both options move together, as do their sensors, deadbands, fan-off delays and ventilation. A
    humidistat that belongs to a machine has an error of its own.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> budget = ms.error_budget(
    ...     study,
    ...     demo.purchases,
    ...     demo.terms,
    ...     {"tariff.price": ms.uniform(0.1, 0.3)},
    ...     options=("Stand-alone dehumidifier", "Staged compressor with strip reheat"),
    ...     progress=False,
    ... )
    >>> len(budget) >= 5
    True
    """
    where = "error_budget"
    units = units_or_default(units, f"{where} units")
    terms = Terms() if terms is None else terms
    draws = measured_draws(measured, study, purchases, terms, where)
    known = uncertain_inputs(study, purchases, terms, ranges, where).with_draws(draws)
    check_pair(study, purchases, options, where)
    as_set = study.run(progress=progress, workers=workers) if as_set is None else as_set
    pair = options or usual_pair(as_set, purchases, terms)
    own, purchases = restricted(study, pair), {option: purchases[option] for option in pair}
    seasons = Comparison(own, {option: as_set.seasons[option] for option in pair})
    # A range of an option that is not of the pair moves nothing.
    named = {
        name: of
        for name, of in known.ranges.items()
        if name == MEASURED or _is_of(own, purchases, terms, name)
    }
    inputs = Inputs(named, known.units, draws=draws.within(own) if draws is not None else None)
    years = known.weathers()
    weathers = years or (other_years(study.weather, many=False) if stand_ins else {})
    how: dict[str, Any] = {"executor": executor, "workers": workers, "progress": progress}
    verdict = _Verdict(purchases, terms, *pair)
    here = yearly_cases(own, _table([{}]), {}, seasons, **how)
    center = verdict.of(here, [{}])[0]
    halved = attrs.evolve(own, step=0.5 * to_si(study.step, "s", f"{where} step"))
    run = halved.run(progress=progress, workers=workers)
    finer = verdict.of(yearly_cases(halved, _table([{}]), {}, run, **how), [{}])[0]
    assert center is not None and finer is not None
    rows = {"time step": 2.0 * np.abs(finer - center)}
    basis = {"time step": [f"twice the change with half the step of {study.step}"]}

    inputs_moved = [
        *_moves(own, inputs, purchases, weathers, Show(units), with_stand_ins=stand_ins)
    ]
    simulated = [move for move in inputs_moved if not move.is_money]
    billed = [move for move in inputs_moved if move.is_money]
    results: dict[int, list[_Numbers | None]] = {}
    for group in filter(None, (simulated, billed)):
        values = [side for move in group for side in move.sides]
        frame = yearly_cases(
            own, _table(values), {**inputs.labels, "weather": weathers}, seasons, **how
        )
        found = iter(verdict.of(frame, values))
        results |= {id(move): [next(found) for _ in move.sides] for move in group}
    for move in inputs_moved:
        spread = _spread(results[id(move)], center, move, of_many=move.of in ("weather", MEASURED))
        rows[move.source] = np.hypot(rows.get(move.source, 0.0), spread)
        basis.setdefault(move.source, []).append(move.said)
    if stand_ins and not any(name.startswith("tariff.") for name in named):
        energy = {option: energy_of(here.loc[(0, option)]) for option in pair}
        low, high = (
            verdict.weighed(
                {o: _dearer(e, 1.0 + side * ENERGY_PRICE) for o, e in energy.items()}, {}
            )
            for side in (-1.0, 1.0)
        )
        rows["prices"] = np.hypot(rows.get("prices", 0.0), 0.5 * np.abs(high - low))
        basis.setdefault("prices", []).append(f"energy by {100.0 * ENERGY_PRICE:g} % (a stand-in)")
    order = ("time step", MEASURED, *SOURCES)
    rows = {source: rows[source] for source in order if source in rows}
    rows["together"] = np.sqrt(sum(row**2 for row in rows.values()))
    basis["together"] = ["root of the sum of squares: the sources are assumed to be independent"]
    table = pd.DataFrame.from_dict(rows, orient="index", columns=[*MEASURES])
    table.index.name = "source"
    table["basis"] = ["; ".join(basis[str(source)]) for source in table.index]
    table.attrs = {
        "option": pair[0],
        "against": pair[1],
        **dict(zip(MEASURES, map(float, center), strict=True)),
        "cases": 1 + sum(len(move.sides) for move in simulated),
    }
    return table


def budget_words(table: pd.DataFrame) -> str:
    """The verdict with its error, in a sentence.

    Parameters
    ----------
    table : DataFrame
        The result of `error_budget`.
    """
    all_of = table.loc["together"]
    numbers: dict[str, float] = {name: table.attrs[name] for name in MEASURES}
    kwh, usd, saved = (
        f"{number(numbers[name], sign=True)} ± {number(all_of[name])}" for name in MEASURES
    )
    return (
        f"{table.attrs['option']!r} instead of {table.attrs['against']!r}: electricity {kwh} kWh a year, "
        f"running cost {usd} USD a year, net savings over the study period {saved} USD in today’s money "
        "(± one standard deviation)"
    )


# ---------------------------------------------------------------------- inputs that move


def _is_of(study: Study, purchases: Mapping[str, Purchase], terms: Terms, name: str) -> bool:
    try:
        find_input(study, purchases, terms, name)
    except InputError:
        return False
    return True


def _moves(
    study: Study,
    inputs: Inputs,
    purchases: Mapping[str, Purchase],
    weathers: Mapping[str, Any],
    show: Show,
    *,
    with_stand_ins: bool,
) -> Iterator[_Move]:
    """All inputs except the time step and the stand-in for the energy price."""
    if inputs.weathers():
        said = f"the spread of {len(weathers)} years"
        yield _Move("weather year", "weather", [{"weather": label} for label in weathers], said)
    elif with_stand_ins:
        said = f"± {show(YEARS_APART, 'difference')} of dry bulb and dew point, for other years (a stand-in)"
        yield _Move("weather year", "other years", [{"weather": label} for label in weathers], said)
    if with_stand_ins:
        known = {**inputs.ranges, **dict.fromkeys(inputs.drawn_together)}
        for name, made in stand_ins_of(study, purchases, known).items():
            if name != ENERGY:
                yield _Move(made.source, name, made.sides, made.said)
    if inputs.draws is not None:
        sides = [*spread_out(inputs.draws.table, MOST_DRAWS)]
        words = [in_words(name) for name in inputs.drawn_together if inputs.units.get(name)]
        more = f" and {len(words) - NAMED} more" if len(words) > NAMED else ""
        said = (
            f"the spread of {len(sides)} of the {len(inputs.draws.table):,} draws of "
            f"{', '.join(words[:NAMED])}{more}"
        )
        yield _Move(MEASURED, MEASURED, sides, said)
    for name, of in inputs.ranges.items():
        if isinstance(of, DISTRIBUTIONS):
            kept = inputs.units[name] or None
            spread = "delta_degC" if kept == "degC" else kept
            middle, error = (
                show.field(of.center, kept, name),
                show.field(of.deviation, spread, name),
            )
            unit = error.partition(" ")[2]
            said = f"{in_words(name)} {middle.removesuffix(f' {unit}')} ± {error}"
            yield _Move(
                source_of(name), name, [{name: rounded(name, of.at(side))} for side in SIDES], said
            )


# ---------------------------------------------------------------------- effect on the verdict


def _table(values: list[dict[str, Any]]) -> pd.DataFrame:
    return pd.DataFrame(values, index=pd.RangeIndex(len(values), name="case"))


def _dearer(energy: YearlyEnergy, times: float) -> YearlyEnergy:
    return energy._replace(electricity=energy.electricity * times, gas=energy.gas * times)


class _Verdict(NamedTuple):
    """The verdict on one option instead of another."""

    purchases: Mapping[str, Purchase]
    terms: Terms
    option: str
    against: str

    def of(self, frame: pd.DataFrame, values: list[dict[str, Any]]) -> list[_Numbers | None]:
        """Measures of the verdict in each case; None for a case without a result."""
        by = frame.to_dict("index")
        found: list[_Numbers | None] = []
        for case, case_values in enumerate(values):
            rows = {name: by[case, name] for name in (self.option, self.against)}
            energy = {name: energy_of(row) for name, row in rows.items()}
            try:
                ran = all(row["status"] == "ok" for row in rows.values())
                found.append(self.weighed(energy, case_values) if ran else None)
            except InputError:
                found.append(None)
        return found

    def weighed(self, energy: Mapping[str, YearlyEnergy], values: Mapping[str, Any]) -> _Numbers:
        """Measures of the verdict for a year's energy, with the values in purchases and terms."""
        bought, terms = priced(self.purchases, self.terms, values)
        level = dict.fromkeys(energy, 0.0)
        pair = weigh(self.option, self.against, bought, energy, terms, level)
        more = energy[self.option].kwh - energy[self.against].kwh
        return np.array([more, -pair.yearly_saving, pair.net_savings])


def _spread(
    sides: list[_Numbers | None], center: _Numbers, move: _Move, *, of_many: bool
) -> _Numbers:
    """One standard deviation of the error from an input."""
    ran = [side for side in sides if side is not None]
    if not ran:
        raise InputError(
            f"error_budget {move.of}", Problem("no result to either side of what the study has"),
            "a range that the descriptions take",
        )  # fmt: skip
    if len(ran) == 1:
        return np.abs(ran[0] - center)
    if of_many:
        spread: _Numbers = np.std(ran, axis=0, ddof=1)
        return spread
    return 0.5 * np.abs(ran[1] - ran[0])
