"""Share of cases in which the more expensive option pays back, and the inputs that decide.

A case draws every uncertain input, independently of the others. All options of a case have the same
house, weather and prices (common random numbers), so errors that they share cancel out. So do one
thermostat's humidity sensor and the person who turns its setpoint: they move all options alike. A
machine with a humidistat of its own draws an error of its own. Inputs without a range move by the
stand-ins of `stand_ins`.

An option *pays back within its life* in a case if its net savings over its own life are above
zero. Net savings are the other option's life-cycle cost less its own, over as many years as it
lasts. They use the discount rate and the escalations of the terms, with replacements and residual
values. That is stricter than a simple payback (extra first cost over a year's saving) within its
life, which is counted too.
"""

from collections.abc import Mapping
from concurrent.futures import Executor
from functools import cached_property
from typing import Any, Literal, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.core.display import count, money
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.whole_numbers import case_count, seed_of
from moistsim.economics import economics, weigh
from moistsim.engine import column_catalog
from moistsim.prices import Purchase, Terms, cash_flow, kept
from moistsim.study import ALIKE, Comparison, Study
from moistsim.uncertainty.cases import HUMIDITY, energy_of, yearly_cases
from moistsim.uncertainty.measured import measured_draws
from moistsim.uncertainty.ranges import (
    MEASURED,
    SOURCES,
    Inputs,
    in_words,
    priced,
    uncertain_inputs,
)
from moistsim.uncertainty.stand_ins import ENERGY

FEWEST = 8
"""Smallest number of cases that gives a share."""

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)

PAIR = (
    "extra_first_cost_USD", "yearly_saving_USD", "life_years", "net_savings_USD",
    "study_net_savings_USD", "simple_payback_years", "pays_back", "pays_back_simply",
    column_catalog.DEW_POINT_GAP.name, "status",
)  # fmt: skip
"""Columns of `Certainty.cases` after the inputs."""

DECIDES = 0.05
"""Share of the spread from which an input is named in the verdict."""


@attrs.frozen(eq=False, kw_only=True)
class Certainty:
    """A verdict on one option over many cases, as `how_sure` returns it.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> sure = ms.how_sure(
    ...     study,
    ...     demo.purchases,
    ...     demo.terms,
    ...     {"house.ach50": ms.uniform(1, 4)},
    ...     options=("Stand-alone dehumidifier", "Staged compressor with strip reheat"),
    ...     n=8,
    ...     progress=False,
    ... )
    >>> sure.option
    'Stand-alone dehumidifier'
    """

    option: str
    """The option to judge."""
    against: str
    """The option that it replaces."""
    cases: pd.DataFrame
    """Values of the inputs in each case, with the costs and savings of the pair.

    Inputs are in SI (`units`) or by label; a stand-in is a shift, as a share for the unit
    "fraction". The pair has `extra_first_cost_USD`,
    `yearly_saving_USD`, `life_years`, `net_savings_USD` (over the option's life),
    `study_net_savings_USD` (over the study period), `simple_payback_years` (missing if there is
    none), `pays_back`, `pays_back_simply` and `dew_point_difference_K`. `status` is "ok" or the
    reason why the case has no result.
    """
    results: pd.DataFrame
    """Energy, cost and humidity of a year, by `case` and `option`.

    `running_USD` is energy and maintenance, and `life_cycle_cost_USD` is over the study period.
    """
    inputs: Inputs
    """The ranges of the inputs."""
    terms: Terms
    seed: int

    @property
    def units(self) -> dict[str, str]:
        """The SI unit of each input that is a number."""
        return self.inputs.units

    @property
    def known(self) -> list[str]:
        """Error sources of `SOURCES` in which nothing was uncertain, though something could be."""
        if self.inputs.stand_ins:
            return []
        moved = set().union(*map(self.inputs.sources_of, self.inputs.ranges))
        return [source for source in SOURCES if source not in moved]

    @cached_property
    def counted(self) -> pd.DataFrame:
        """The cases with a result."""
        return self.cases[self.cases["status"] == "ok"]

    @property
    def failed(self) -> "pd.Series[int]":
        """Number of cases without a result, by reason."""
        return self.cases.loc[self.cases["status"] != "ok", "status"].value_counts()

    @property
    def probability(self) -> float:
        """Share of the counted cases in which the option pays back within its life."""
        return float(self.counted["pays_back"].astype(float).mean())

    @property
    def band(self) -> tuple[float, float]:
        """95 % confidence interval of the share, for a random sample of this size (Wilson)."""
        from scipy.stats import binomtest

        many = int(self.counted["pays_back"].astype(bool).sum())
        found = binomtest(many, len(self.counted)).proportion_ci(0.95, method="wilson")
        return float(found.low), float(found.high)

    @property
    def simple_probability(self) -> float:
        """Share of the counted cases whose simple payback is no longer than the option's life."""
        return float(self.counted["pays_back_simply"].astype(float).mean())

    @cached_property
    def table(self) -> pd.DataFrame:
        """Quantiles over the counted cases, by `option` and `measure`; columns are the shares.

        Measures are `running_USD`, `life_cycle_cost_USD`, those of humidity and, of the option that
        is judged, `net_savings_USD` and `yearly_saving_USD`.
        """
        shares = list(QUANTILES)
        rows = {}
        ok = self.results[self.results.index.get_level_values("case").isin(self.counted.index)]
        for option in dict.fromkeys(self.results.index.get_level_values("option")):
            own = ok.xs(option, level="option")
            for measure in ("running_USD", "life_cycle_cost_USD", *HUMIDITY):
                rows[option, measure] = own[measure].astype(float).quantile(shares)
        for measure in ("yearly_saving_USD", "net_savings_USD"):
            rows[self.option, measure] = self.counted[measure].astype(float).quantile(shares)
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index = pd.MultiIndex.from_tuples([*rows], names=["option", "measure"])
        return table

    @cached_property
    def decides(self) -> pd.DataFrame:
        """Rank the inputs by their share in the variance of the net savings, the largest first.

        Returns
        -------
        pandas.DataFrame
            Indexed by `input`. `share` is the part of the variance that vanishes if this input is
            known (the first-order index), with its 95 % band from `share_low` to `share_high`:
            where the band begins at zero, the share may be chance. `correlation` is Spearman's, missing for weathers.
            `low_USD` and `high_USD` are the mean net savings in the lowest and the highest third
            of the input's values. For weathers, they are the lowest and the highest mean.

        Notes
        -----
        The index is estimated from these cases. It is R² of the net savings on a parabola in the
        input's rank, adjusted for its two terms and not below zero. For weathers, it is R² of their
        means. For a measured house, whose values are drawn together, it is R² on parabolas in the ranks
        of all of them. The band is that of the correlation of the savings with the fitted ones, by
        Fisher's z (from memory: Fisher, 1921; a standard error of 1/√(n - 3)). Shares are estimated one by one, each not below zero, so
        those of many inputs from few cases can add up to more than 1. It counts each input alone, and too little of an effect that bends more than once.
        `sobol_from` on a design of its own also counts interactions.
        """
        saved = self.counted["net_savings_USD"].to_numpy(float)
        rows = {
            name: _moved_together(self.counted[self.inputs.drawn_together], saved)
            if name == MEASURED
            else _moved_by(self.counted[name], saved, name in self.units)
            for name in self.inputs.ranges
        }
        columns = ["share", "correlation", "low_USD", "high_USD"]
        table = pd.DataFrame.from_dict(rows, orient="index", columns=columns)
        table.index.name = "input"
        low, high = _band_of(table["share"].to_numpy(float), len(saved))
        table.insert(1, "share_low", low)
        table.insert(2, "share_high", high)
        return table.sort_values("share", ascending=False, kind="stable")

    @property
    def verdict(self) -> str:
        """The result in a few sentences."""
        cases, low_high = self.counted, self.band
        n = len(cases)
        lives = cases["life_years"].astype(float)
        life = f"{'about ' if lives.nunique() > 1 else ''}{count(lives.median(), 'year')}"
        saved = cases["net_savings_USD"].astype(float)
        middle = float(saved.median())
        text = (
            f"{self.option!r} instead of {self.against!r} pays back within its life ({life}) in "
            f"{per_cent(self.probability)} of {n:,} cases (95 % confidence interval: "
            f"{per_cent(low_high[0])} to {per_cent(low_high[1])}). In the median case it "
            f"{'saves' if middle >= 0.0 else 'loses'} {money(abs(middle))} over its life, in today’s "
            "money"
        )
        named = self.decides[self.decides["share"] >= DECIDES].head(3)
        if len(named):
            text += ". Inputs that decide most: " + ", ".join(
                f"{in_words(str(name))} ({per_cent(share)} of the spread)"
                for name, share in named["share"].items()
            )
        gap = cases[column_catalog.DEW_POINT_GAP.name].astype(float)
        share = float((gap.abs() > ALIKE).mean())
        if share >= 0.005:
            text += f". In {per_cent(share)} of cases the two are not equally dry by dew point"
        if self.known:
            text += f". Assumed certain: {', '.join(self.known)}"
        if self.inputs.stand_ins:
            text += (
                f". Inputs without a range that moved by stand-ins: {len(self.inputs.stand_ins):,}"
            )
        lost = len(self.cases) - n
        if lost:
            text += (
                f". Not counted: {lost:,} of {len(self.cases):,} cases without a result, such as: "
                f"{self.failed.index[0]}"
            )
        return text


def per_cent(share: float) -> str:
    """A share in percent that never rounds to 0 or 100 %.

    Examples
    --------
    >>> per_cent(0.514), per_cent(0.998), per_cent(0.9999)
    ('51 %', '99.8 %', 'more than 99.9 %')
    """
    if 0.0 < share < 0.005 or 0.995 < share < 1.0:
        return f"{100.0 * share:.1f} %" if 0.0005 < share < 0.9995 else (
            "less than 0.1 %" if share < 0.5 else "more than 99.9 %"
        )  # fmt: skip
    return f"{100.0 * share:.0f} %"


def _band_of(share: Any, n: int) -> tuple[Any, Any]:
    """95 % band of a share of the variance, from n cases, by Fisher's z of its root."""
    z = np.arctanh(np.sqrt(np.minimum(share, 1.0 - 1e-12)))
    reach = 1.959964 / np.sqrt(max(n - 3.0, 1.0))
    return np.tanh(np.maximum(z - reach, 0.0)) ** 2, np.tanh(z + reach) ** 2


def _moved_by(
    values: "pd.Series[Any]", saved: Any, is_number: bool
) -> tuple[float, float, float, float]:
    """One row of `Certainty.decides`."""
    from scipy.stats import rankdata, spearmanr

    spread = float(((saved - saved.mean()) ** 2).sum())
    n = len(saved)
    if is_number:
        numbers = values.to_numpy(float)
        if np.ptp(numbers) == 0.0 or spread == 0.0:
            return 0.0, np.nan, float(saved.mean()), float(saved.mean())
        place = 2.0 * (rankdata(numbers) - 0.5) / n - 1.0
        columns = np.polynomial.legendre.legvander(place, 2)
        fitted = columns @ np.linalg.lstsq(columns, saved, rcond=None)[0]
        terms = 2
        correlation = float(spearmanr(numbers, saved).statistic)
        low, high = (float(saved[part].mean()) for part in (place < -1 / 3, place > 1 / 3))
    else:
        groups = pd.Series(saved).groupby(values.to_numpy(), sort=False)
        fitted = groups.transform("mean").to_numpy()
        terms = groups.ngroups - 1
        correlation = np.nan
        low, high = float(groups.mean().min()), float(groups.mean().max())
    if spread <= 1.0e-12 * float((saved**2).sum()) or n <= terms + 1:
        return 0.0, correlation, low, high
    left = float(((saved - fitted) ** 2).sum()) / (n - terms - 1)
    return max(1.0 - left / (spread / (n - 1)), 0.0), correlation, low, high


def _moved_together(values: pd.DataFrame, saved: Any) -> tuple[float, float, float, float]:
    """One row of `Certainty.decides` for values that are drawn together."""
    from scipy.stats import rankdata

    n, spread = len(saved), float(((saved - saved.mean()) ** 2).sum())
    # Draws of another structure lack a value: they are a group of their own.
    lacking = values.isna().to_numpy(float)
    values = values.fillna(values.median())
    ranks = 2.0 * (rankdata(values.to_numpy(float), axis=0) - 0.5) / n - 1.0
    terms = [np.polynomial.legendre.legvander(rank, 2)[:, 1:] for rank in ranks.T if np.ptp(rank)]
    terms.append(lacking)
    design = np.hstack([np.ones((n, 1)), *terms])
    found, _, rank, _ = np.linalg.lstsq(design, saved, rcond=None)
    fitted = design @ found
    places = rankdata(fitted) / (n + 1.0)
    low, high = (float(saved[part].mean()) for part in (places < 1 / 3, places > 2 / 3))
    if spread <= 1.0e-12 * float((saved**2).sum()) or n <= rank + 1:
        return 0.0, np.nan, low, high
    left = float(((saved - fitted) ** 2).sum()) / (n - rank)
    return max(1.0 - left / (spread / (n - 1)), 0.0), np.nan, low, high


def how_sure(
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
    ranges: Mapping[str, Any],
    *,
    options: tuple[str, str] | None = None,
    n: int = 256,
    seed: int = 0,
    stand_ins: bool = True,
    measured: Any = None,
    as_set: Comparison | None = None,
    executor: Executor | Literal["threads", "processes"] | None = None,
    workers: int | None = None,
    progress: bool = True,
) -> Certainty:
    """Share of cases in which one option pays back, and the inputs that decide it.

    Options are compared as set. Use ``study.matched().comparison.study`` to compare options that hold
    the same humidity.

    Parameters
    ----------
    study : Study
    purchases : dict of Purchase
        One for each option.
    terms : Terms, optional
        Default: the defaults of `Terms`.
    ranges : dict
        Distributions by dotted name: `normal`, `uniform`, `log_uniform` or `triangular`, or a
        frozen continuous distribution of scipy.stats, whose numbers are in SI. For ``weather``, a list of equally likely `Weather`. Names are those of `Sweep`, plus
        ``options.NAME.purchase.first_cost`` (or another field of `Purchase`) and
        ``economics.discount_rate`` (or another field of `Terms`). Drawn lives are rounded to whole
        years. Inputs are independent of each other. May be empty with `stand_ins`.
    options : (str, str), optional
        The option to judge and the option that it replaces; default: `usual_pair`.
    n : int
        Number of cases. The first m of n cases equal those of a run with m cases. A power of two
        fills the ranges best.
    seed : int
        Seed of the draw. The same seed gives the same bits with any executor and workers.
    stand_ins : bool
        Whether everything that is uncertain without a range moves too, by round numbers of ours for
        common practice: humidity setpoint, humidity sensor, deadbands, fan-off delay, ventilation
        delivered, machine ratings, house, weather year, prices. A range of a value replaces its
        stand-in.
    measured : Fit or DataFrame, optional
        A fit to the log of the house, or its draws: one row a draw, with dotted names as columns, in
        SI. Each case takes one draw, so what the log knows only together stays together. Parts
        that only some draws have, such as windows that are opened, need the fit itself. The draws
        replace ranges and stand-ins of the same values, in the study's house and in machines that
        are those of the measured house.
    as_set : Comparison, optional
        The study's own comparison, if it has been run.
    executor, workers, progress
        As for `Sweep.run`. If only prices are uncertain, nothing is simulated.

    Returns
    -------
    Certainty

    Raises
    ------
    InputError
        If nothing is uncertain without stand-ins, a name is unknown, a range cannot be used, or no case has a result.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> sure = ms.how_sure(
    ...     study,
    ...     demo.purchases,
    ...     demo.terms,
    ...     {"tariff.price": ms.uniform(0.1, 0.3)},
    ...     options=("Stand-alone dehumidifier", "Staged compressor with strip reheat"),
    ...     n=8,
    ...     progress=False,
    ... )
    >>> len(sure.cases)
    8
    """
    where = "how_sure"
    terms = Terms() if terms is None else terms
    n = case_count(n, f"{where} n", at_least=FEWEST)
    seed = seed_of(seed, f"{where} seed")
    if not ranges and not stand_ins and measured is None:
        raise InputError(f"{where} ranges", {}, "one input or more with what it may be")
    draws = measured_draws(measured, study, purchases, terms, where)
    known = uncertain_inputs(study, purchases, terms, ranges, where).with_draws(draws)
    check_pair(study, purchases, options, where)
    as_set = study.run(progress=progress, workers=workers) if as_set is None else as_set
    option, against = options or usual_pair(as_set, purchases, terms)
    if stand_ins:
        # First costs of other options decide nothing between these two.
        pair = {name: purchases[name] for name in (option, against)}
        known = known.with_stand_ins(study, pair)
    drawn = known.draw(n, seed)
    moved = known.moved(drawn)
    results = yearly_cases(
        study, moved, known.labels, as_set,
        executor=executor, workers=workers, progress=progress,
    )  # fmt: skip
    if ENERGY in drawn:
        for column in ("electricity_USD", "gas_USD"):
            results[column] = results[column].mul(1.0 + drawn[ENERGY], level="case")
    judged, results = _judged(moved, results, purchases, terms, option, against)
    cases = drawn.join(judged)
    if not (cases["status"] == "ok").any():
        raise InputError(
            f"{where} ranges", Problem(f"not one of {n} cases with a result: {cases['status'].iloc[0]}"),
            "ranges that the descriptions take together",
        )  # fmt: skip
    return Certainty(
        option=option, against=against, cases=cases, results=results, inputs=known, terms=terms,
        seed=seed,
    )  # fmt: skip


def check_pair(study: Study, purchases: Mapping[str, Purchase], options: Any, where: str) -> None:
    """Refuse options that are not two of the study, and options without a purchase.

    Raises
    ------
    InputError
    """
    if len(study.options) < 2:
        raise InputError(f"{where} study", [*study.options], "two options or more")
    for name in study.options:
        if name not in purchases:
            accepted = "a Purchase with a first_cost, 0 if nothing is bought"
            raise InputError(f"{where} purchases[{name!r}]", Problem("nothing"), accepted)
    if options is None:
        return
    if isinstance(options, str) or len(options) != 2 or options[0] == options[1]:
        raise InputError(f"{where} options", options, "two options: one, and in whose place")
    for name in options:
        if name not in study.options:
            raise InputError(f"{where} options", name, one_of(str(name), study.options))


def usual_pair(
    comparison: Comparison, purchases: Mapping[str, Purchase], terms: Terms | None = None
) -> tuple[str, str]:
    """The most expensive option to buy, and the option to compare it with.

    The second is the one closest in dew point among the options that are more expensive to run, or
    among all others if no option is.

    Raises
    ------
    InputError
        For the same reasons as `economics`.
    """
    found = economics(comparison, purchases, terms)
    costliest = max(found.options, key=lambda option: purchases[option].paid)
    others = [option for option in found.options if option != costliest]
    cheaper = [pair.against for pair in found.trade_offs() if pair.option == costliest]
    others = cheaper or others
    dew_point = found.dew_points[costliest]
    return costliest, min(others, key=lambda option: abs(found.dew_points[option] - dew_point))


def _judged(
    drawn: pd.DataFrame,
    results: pd.DataFrame,
    purchases: Mapping[str, Purchase],
    terms: Terms,
    option: str,
    against: str,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The pair by case, and the results with the costs of each option."""
    by = results.to_dict("index")
    names = list(dict.fromkeys(results.index.get_level_values("option")))
    rows: list[dict[str, Any]] = []
    costs: dict[Any, dict[str, float]] = {}
    for case, values in zip(drawn.index, drawn.to_dict("records"), strict=True):
        seasons = {name: by[case, name] for name in names}
        lost = [
            f"{name}: {row['status']}" for name, row in seasons.items() if row["status"] != "ok"
        ]
        if lost:
            rows.append({"status": lost[0]})
            continue
        energy = {name: energy_of(row) for name, row in seasons.items()}
        dew_points = {
            name: float(row[column_catalog.MEAN_DEW_POINT.name]) for name, row in seasons.items()
        }
        try:
            bought, agreed = priced(purchases, terms, {str(k): v for k, v in values.items()})
            life = bought[option].life
            through_life: Any = attrs.evolve(cast(Any, agreed), years=life, loan=None)
        except InputError as error:
            rows.append({"status": str(error)})
            continue
        pair = weigh(option, against, bought, energy, through_life, dew_points)
        life_cycle = {
            name: cash_flow(kept(name, agreed), bought, energy, agreed).present_value
            for name in names
        }
        simple = pair.simple_payback
        # An option that costs no more to buy and no more to run has nothing to pay back.
        free = pair.extra_first_cost <= 0.0 and pair.yearly_saving >= 0.0
        rows.append(
            {
                "extra_first_cost_USD": pair.extra_first_cost,
                "yearly_saving_USD": pair.yearly_saving,
                "life_years": life,
                "net_savings_USD": pair.net_savings,
                "study_net_savings_USD": life_cycle[against] - life_cycle[option],
                "simple_payback_years": np.nan if simple is None else simple,
                "pays_back": pair.net_savings > 0.0,
                "pays_back_simply": free or (simple is not None and simple <= life),
                column_catalog.DEW_POINT_GAP.name: pair.dew_point_difference,
                "status": "ok",
            }
        )
        for name in names:
            costs[case, name] = {
                "running_USD": energy[name].cost + bought[name].maintenance,
                "life_cycle_cost_USD": life_cycle[name],
            }
    judged = pd.DataFrame(rows, index=drawn.index).reindex(columns=PAIR)
    money = pd.DataFrame([costs.get(key, {}) for key in results.index], index=results.index)
    return judged, results.join(money.reindex(columns=["running_USD", "life_cycle_cost_USD"]))
