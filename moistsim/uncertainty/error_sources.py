"""Error budget of a verdict: the error that each source adds, in kWh and in money.

Each source moves alone, one standard deviation to either side, with the same house, weather and
prices otherwise. Half the difference of the two results is its error. Sources are assumed to be
independent, so the errors add up as the root of the sum of squares. An input without a range moves by
our own round number: a stand-in, not a finding. The table marks it.
"""

from collections.abc import Iterator, Mapping
from concurrent.futures import Executor
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.display import Show, Units, number
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import to_si
from moistsim.economics import weigh
from moistsim.house import House
from moistsim.prices import Purchase, Terms, YearlyEnergy
from moistsim.sensitivity import DISTRIBUTIONS
from moistsim.study import Comparison, Study
from moistsim.sweep import varied
from moistsim.uncertainty.cases import energy_of, yearly_cases
from moistsim.uncertainty.certainty import check_pair, usual_pair
from moistsim.uncertainty.ranges import (
    find_input,
    in_words,
    is_price,
    priced,
    restricted,
    rounded,
    source_of,
    uncertain_inputs,
)

SIDES = (0.158655, 0.841345)
"""Shares of a normal distribution below one standard deviation to either side of its mean."""

YEARS_APART = 1.0
"""Difference of dry bulb and dew point between years, K: a stand-in."""
MACHINE = {"capacity": 0.05, "cop": 0.05, "energy_factor": 0.10}
"""Standard deviations of machine ratings, as shares: stand-ins."""
SENSIBLE_RATIO = 0.02
"""Standard deviation of a rated sensible heat ratio: a stand-in."""
HOUSE = {"house.ach50": 0.2, "house.gains.moisture": 0.25, "house.gains.appliances_and_lights": 0.2}
"""Standard deviations of a house description, as shares: stand-ins."""
HOUSE_CHANGE = 0.2
"""Standard deviation of what an option changes in the house, as a share of the change: a stand-in."""
ENERGY_PRICE, FIRST_COST = 0.10, 0.10
"""Standard deviations of prices, as shares: stand-ins."""

MEASURES = ("kWh", "USD", "net_savings_USD")


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
    as_set: Comparison | None = None,
    executor: Executor | Literal["threads", "processes"] | None = None,
    workers: int | None = None,
    progress: bool = True,
    units: Units = "si",
) -> pd.DataFrame:
    """Calculate the error that each source adds to the verdict between two options.

    Parameters
    ----------
    study, purchases, terms, ranges, options, as_set, executor, workers, progress
        As for `how_sure`. Ranges may be empty: then all sources are stand-ins.
    units : {"si", "us"}
        Units of the text in `basis`.

    Returns
    -------
    pandas.DataFrame
        One standard deviation of the difference between the two options, by `source`: time step,
        weather year, machine coefficients, house description, setpoints if they have ranges,
        prices, and all together. Columns are `kWh` of electricity in a year, `USD` of energy and
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
    The error of the weather is the standard deviation over the years in ``ranges["weather"]``.
    Without such a list, the year is made warmer and moister, and then cooler and drier, by
    `YEARS_APART`. For other sources, see `MACHINE`, `SENSIBLE_RATIO`, `HOUSE`, `HOUSE_CHANGE`,
    `ENERGY_PRICE` and `FIRST_COST`.

    Examples
    --------
    >>> import attrs
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = attrs.evolve(demo.study, start="05-01", end="05-02")
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
    terms = Terms() if terms is None else terms
    known = uncertain_inputs(study, purchases, terms, ranges, where)
    check_pair(study, purchases, options, where)
    as_set = study.run(progress=progress, workers=workers) if as_set is None else as_set
    pair = options or usual_pair(as_set, purchases, terms)
    own, purchases = restricted(study, pair), {option: purchases[option] for option in pair}
    seasons = Comparison(own, {option: as_set.seasons[option] for option in pair})
    # A range of an option that is not of the pair moves nothing.
    named = {k: of for k, of in known.ranges.items() if _is_of(own, purchases, terms, k)}
    years = known.weathers()
    weathers = years or {
        "warmer and moister": study.weather.shifted(temp_air=YEARS_APART, temp_dew=YEARS_APART),
        "cooler and drier": study.weather.shifted(temp_air=-YEARS_APART, temp_dew=-YEARS_APART),
    }
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

    moves = _moves(own, named, known.units, purchases, weathers, bool(years), Show(units))
    inputs_moved = [*moves]
    simulated = [move for move in inputs_moved if not move.is_money]
    billed = [move for move in inputs_moved if move.is_money]
    results: dict[int, list[_Numbers | None]] = {}
    for group in filter(None, (simulated, billed)):
        values = [side for move in group for side in move.sides]
        frame = yearly_cases(own, _table(values), {"weather": weathers}, seasons, **how)
        found = iter(verdict.of(frame, values))
        results |= {id(move): [next(found) for _ in move.sides] for move in group}
    for move in inputs_moved:
        spread = _spread(
            results[id(move)], center, move, of_years=move.of == "weather" and bool(years)
        )
        rows[move.source] = np.hypot(rows.get(move.source, 0.0), spread)
        basis.setdefault(move.source, []).append(move.said)
    if not any(name.startswith("tariff.") for name in named):
        energy = {option: energy_of(here.loc[(0, option)]) for option in pair}
        low, high = (
            verdict.weighed(
                {o: _dearer(e, 1.0 + side * ENERGY_PRICE) for o, e in energy.items()}, {}
            )
            for side in (-1.0, 1.0)
        )
        rows["prices"] = np.hypot(rows.get("prices", 0.0), 0.5 * np.abs(high - low))
        basis.setdefault("prices", []).append(f"energy by {100.0 * ENERGY_PRICE:g} % (a stand-in)")
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
    ranges: Mapping[str, Any],
    units: Mapping[str, str],
    purchases: Mapping[str, Purchase],
    weathers: Mapping[str, Any],
    of_years: bool,
    show: Show,
) -> Iterator[_Move]:
    """All inputs except the time step and the stand-in for the energy price."""
    said = f"± {show(YEARS_APART, 'difference')} of dry bulb and dew point, for other years (a stand-in)"
    if of_years:
        said = f"the spread of {len(weathers)} years"
    yield _Move("weather year", "weather", [{"weather": label} for label in weathers], said)
    yield from _machines(study, ranges)
    if not any(name.startswith("house") for name in ranges):
        yield from _house(study, ranges)
    yield from _house_changes(study, ranges)
    for name, of in ranges.items():
        if isinstance(of, DISTRIBUTIONS):
            kept = units[name] or None
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
    if not any(".purchase." in name for name in ranges):
        for option, purchase in purchases.items():
            if purchase.first_cost > 0.0:
                name = f"options.{option}.purchase.first_cost"
                yield _scaled("prices", {name: purchase.first_cost}, FIRST_COST)


def _scaled(source: str, values: Mapping[str, float], share: float, of: str = "") -> _Move:
    """A stand-in: all values move by the same share."""
    sides = [
        {name: value * (1.0 + sign * share) for name, value in values.items()}
        for sign in (-1.0, 1.0)
    ]
    of = of or next(iter(values))
    return _Move(source, of, sides, f"{in_words(of)} by {100.0 * share:g} % (a stand-in)")


def _machines(study: Study, ranges: Mapping[str, Any]) -> Iterator[_Move]:
    """Stand-ins for machine ratings without a range."""

    def is_known(machine: str, field: str) -> bool:
        return any(
            f"equipment.{machine}." in name and name.endswith(f".{field}") for name in ranges
        )

    source = "machine coefficients"
    for field in ("capacity", "cop", "shr"):
        values = {
            f"options.{option}.equipment.cooling.stages.{k}.{field}": getattr(stage, field)
            for option, (machines, _, _) in study.resolved.items() if machines.cooling is not None
            for k, stage in enumerate(machines.cooling.stages, 1)
        }  # fmt: skip
        if not values or is_known("cooling", field):
            continue
        of = f"equipment.cooling.{field}"
        if field == "shr":
            sides = [
                {name: value + sign * SENSIBLE_RATIO for name, value in values.items()}
                for sign in (-1.0, 1.0)
            ]
            said = f"{in_words(of)} by {SENSIBLE_RATIO:g} (a stand-in)"
            yield _Move(source, of, sides, said)
        else:
            yield _scaled(source, values, MACHINE[field], of)
    for fields in (("capacity",), ("energy_factor", "integrated_energy_factor")):
        # The one of the two factors that the machine was described with.
        values = {
            f"options.{option}.equipment.dehumidifier.{field}": value
            for option, (machines, _, _) in study.resolved.items()
            for field in fields
            if (value := getattr(machines.dehumidifier, field, None)) is not None
        }
        if values and not any(is_known("dehumidifier", field) for field in fields):
            of = f"equipment.dehumidifier.{fields[0]}"
            yield _scaled(source, values, MACHINE[fields[0]], of)


def _house(study: Study, ranges: Mapping[str, Any]) -> Iterator[_Move]:
    """Stand-ins for a house without ranges, with the same share in the house of each option."""
    for name, share in HOUSE.items():
        base = _of_house(study.house)[name]
        values = {name: base} if base else {}
        for option, described in study.resolved.items():
            own, its_name = _of_house(described.house)[name], f"options.{option}.{name}"
            if own and own != base and its_name not in ranges:
                values[its_name] = own
        if values:
            yield _scaled("house description", values, share, name)


def _of_house(house: House) -> dict[str, float | None]:
    return {
        "house.ach50": house.ach50,
        "house.gains.moisture": house.moisture_gain,
        "house.gains.appliances_and_lights": house.gains.appliances_and_lights,
    }


class _Number(NamedTuple):
    """A number of the house that an option changes."""

    path: tuple[str, ...]
    before: float
    after: float


def _house_changes(study: Study, ranges: Mapping[str, Any]) -> Iterator[_Move]:
    """Stand-ins for what work on the house achieves: somewhat less, or more.

    Options with the same work on a part of the house get the same result.
    """
    works: dict[tuple[_Number, ...], list[str]] = {}
    for option in study.options:
        parts: dict[tuple[str, ...], list[_Number]] = {}
        for change in study.changes(option):
            # A count, such as that of stories, is known.
            is_known = change.metadata.get("unit") in (None, "count")
            numbers = isinstance(change.before, float) and isinstance(change.after, float)
            if numbers and not is_known:
                number = _Number(change.path, change.before, change.after)
                parts.setdefault(change.path[:-1], []).append(number)
        for changes in parts.values():
            works.setdefault(tuple(changes), []).append(option)
    for work, options in works.items():
        sides = [
            {
                name: change.after + sign * HOUSE_CHANGE * (change.after - change.before)
                for option in options
                for change in work
                if (name := f"options.{option}.house.{'.'.join(change.path)}") not in ranges
            }
            for sign in (-1.0, 1.0)
        ]
        taken = [
            side
            for side in sides
            if side and not any(isinstance(made, InputError) for _, made in varied(study, side))
        ]
        if taken:
            of = work[0].path[0] if work[0].path[1:] else "house"
            who = " and ".join(map(repr, options))
            said = f"what {who} {'changes' if len(options) == 1 else 'change'} in the {of.replace('_', ' ')} "
            said += f"by {100.0 * HOUSE_CHANGE:g} % (a stand-in)"
            yield _Move("house description", options[0], taken, said)


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
    sides: list[_Numbers | None], center: _Numbers, move: _Move, *, of_years: bool
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
    if of_years:
        spread: _Numbers = np.std(ran, axis=0, ddof=1)
        return spread
    return 0.5 * np.abs(ran[1] - ran[0])
