"""What to measure next: the worth of each measurement against its cost, in USD."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any, Literal, NamedTuple, cast

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.calibration import Fitted
from moistsim.controls import Strategy, check_machines, strategies
from moistsim.core.display import count, money, number
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import to_si
from moistsim.core.whole_numbers import case_count, seed_of
from moistsim.engine import column_catalog
from moistsim.measuring.benefit import Drawn, Visiting, run_options
from moistsim.measuring.information import (
    Worth,
    best_option,
    means_after,
    perfect_information,
    sample_information,
)
from moistsim.measuring.measurements import Measurement, measurements
from moistsim.measuring.visit import SETTLING, WEIGHED
from moistsim.prices import Purchase, Terms
from moistsim.study import ALIKE, Study
from moistsim.uncertainty import check_pair, per_cent
from moistsim.weather import Weather

Array = NDArray[np.float64]

FEWEST = 20
"""Fewest draws that tell a worth."""
DAYS = 14
"""Default length of a visit's runs, days: the last ones of the log."""
SHORTEST = 7 + SETTLING + WEIGHED
"""Fewest days of a visit: a week of log, and the days of a machine that is brought."""
SURE = 2.0
"""Standard errors by which a worth must exceed a cost before it is called worth it."""


class Priced(NamedTuple):
    """A measurement with its cost and its worth."""

    measurement: Measurement
    cost: float
    worth: Worth
    readings: Array
    """Readings without error by draw, shape (draws, m)."""

    @property
    def net(self) -> float:
        """Worth less cost, USD."""
        return self.worth.value - self.cost


@attrs.frozen(eq=False, kw_only=True)
class NextMeasurement:
    """Worth and cost of each measurement, as `next_measurement` returns it.

    Examples
    --------
    >>> found = ms.next_measurement(study, fit, purchases=purchases)  # doctest: +SKIP
    >>> print(found)  # doctest: +SKIP
    No measurement is worth its cost: to know everything would be worth 12 USD.
    >>> NextMeasurement.__name__
    'NextMeasurement'
    """

    options: tuple[str, ...]
    drawn: Drawn
    priced: dict[str, Priced]
    """Measurements that can be made, by name, the best first."""
    perfect: Worth
    """Worth of knowing everything: the ceiling of all measurements."""
    years: float
    """Study period, years."""
    left_out: dict[str, str]
    """Measurements that cannot be made here, with the reason."""
    is_priced: bool
    """Whether the options have purchases; without them, energy alone decides."""

    @property
    def choice(self) -> str:
        """Option to take if nothing is measured: that of the lowest mean life-cycle cost."""
        return self.options[best_option(self.drawn.benefit)]

    @cached_property
    def best(self) -> str | None:
        """Measurement of the highest net worth; None if none is worth its cost.

        Its worth must exceed its cost by `SURE` standard errors.
        """
        for name, of in self.priced.items():
            if of.worth.value - SURE * of.worth.error > of.cost:
                return name
        return None

    @property
    def unsure(self) -> list[str]:
        """Measurements whose worth is within `SURE` standard errors of their cost."""
        return [
            name for name, of in self.priced.items()
            if abs(of.net) <= SURE * of.worth.error
        ]  # fmt: skip

    def table(self) -> pd.DataFrame:
        """One row for each measurement, the best first, and one for knowing everything.

        Returns
        -------
        pandas.DataFrame
            Indexed by `measurement`: `cost_USD`, `worth_USD` with its standard error `error_USD`,
            `net_USD`, `changes_pct` (readings after which another option is taken), and the mean
            reading, its spread over the draws and its standard error, in `unit`.
        """
        rows: dict[str, dict[str, Any]] = {}
        for name, of in self.priced.items():
            # Several readings of one kind, such as those of a week, by their mean.
            means = of.readings.mean(axis=1)
            rows[name] = {
                column_catalog.COST.name: of.cost,
                "worth_USD": of.worth.value,
                "error_USD": of.worth.error,
                "net_USD": of.net,
                "changes_pct": 100.0 * of.worth.changes,
                "reading": float(means.mean()),
                "spread": float(means.std(ddof=1)),
                "accuracy": of.measurement.error_of_mean(of.readings),
                "unit": of.measurement.unit,
            }
        rows["knowing everything"] = {
            "worth_USD": self.perfect.value,
            "error_USD": self.perfect.error,
            "changes_pct": 100.0 * self.perfect.changes,
        }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "measurement"
        return table

    def after(self, name: str, reading: Any) -> "pd.Series[float]":
        """Mean net benefit of each option after a reading, USD, above that of `choice`.

        The option with the highest number is the one to take.

        Parameters
        ----------
        name : str
            A measurement.
        reading : float or sequence of float
            In the measurement's unit.

        Raises
        ------
        InputError
            If the measurement is unknown, or the reading has another length.
        """
        if name not in self.priced:
            raise InputError("NextMeasurement.after", name, one_of(str(name), self.priced))
        of = self.priced[name]
        seen = np.atleast_1d(np.asarray(reading, float))[None, :]
        if seen.shape[1] != of.readings.shape[1] or not np.isfinite(seen).all():
            many = of.readings.shape[1]
            accepted = f"{count(many, 'number')} in {of.measurement.unit}"
            raise InputError("NextMeasurement.after", reading, accepted)
        both = of.measurement.scaled(np.vstack([of.readings, seen]))
        found = means_after(
            self.drawn.benefit, both[:-1], of.measurement.covariance(seen.shape[1]), both[-1:]
        )[0]
        return pd.Series(found, index=list(self.options), name="net_benefit_USD")

    def sentences(self) -> list[str]:
        """The result in sentences: what to do, and why."""
        found = []
        ceiling = f"knowing everything about the house would be worth {_with_error(self.perfect)}"
        if not self.priced:
            found.append(f"No measurement can be made here; {ceiling}.")
        elif self.best is not None:
            of = self.priced[self.best]
            found.append(
                f"Measure next: {of.measurement.does}. It costs {money(of.cost)} and is worth "
                f"{_with_error(of.worth)}."
            )
            found.append(
                f"In {per_cent(of.worth.changes)} of the possible readings, another option than "
                f"{self.choice!r} becomes the best choice."
            )
            found.append(f"{ceiling[0].upper()}{ceiling[1:]}.")
        else:
            cheapest = min(of.cost for of in self.priced.values())
            head = "No measurement is worth its cost"
            if self.unsure:
                head = "No measurement is surely worth its cost"
            found.append(f"{head}: take {self.choice!r}.")
            found.append(
                f"{ceiling[0].upper()}{ceiling[1:]}; the cheapest measurement costs {money(cheapest)}."
            )
        if self.unsure:
            names = ", ".join(self.unsure)
            found.append(f"Too close to call with this number of draws: {names}. Use a larger n.")
        gap = np.ptp(self.drawn.dew_points, axis=1)
        share = float((gap > ALIKE).mean())
        if share >= 0.05:
            found.append(
                f"In {per_cent(share)} of the draws the options are not equally dry by dew point, so cost "
                "alone does not show which is best. Study.at_goal brings them to one goal."
            )
        if not self.is_priced:
            found.append(
                "No purchases are given, so energy costs alone decide between the options."
            )
        found += [f"Not possible here: {name} ({why})." for name, why in self.left_out.items()]
        return found

    def figure(
        self, *, ax: Any = None, context: Literal["paper", "slide"] = "paper", narrow: bool = False
    ) -> Any:
        """Worth of each measurement next to its cost.

        Parameters
        ----------
        ax : Axes, optional
            Where to draw, in place of a page.
        context : {"paper", "slide"}
            A page or a slide.
        narrow : bool
            Draw for a phone.

        Returns
        -------
        matplotlib.figure.Figure
            Or the Axes that the reader gave.
        """
        from moistsim.measuring.figure import measuring_figure

        return measuring_figure(self, ax=ax, context=context, narrow=narrow)

    def __str__(self) -> str:
        return " ".join(self.sentences())


def _with_error(worth: Worth) -> str:
    return f"{money(worth.value)} (± {number(worth.error)} USD standard error)"


def next_measurement(
    study: Study,
    fit: Fitted,
    costs: Mapping[str, Any] | None = None,
    *,
    purchases: Mapping[str, Purchase] | None = None,
    terms: Terms | None = None,
    strategy: Strategy | None = None,
    weather: Weather | None = None,
    start: str | None = None,
    end: str | None = None,
    offered: Mapping[str, Measurement] | None = None,
    n: int = 200,
    repeats: int = 32,
    seed: int = 0,
    workers: int | None = None,
    progress: bool = True,
) -> NextMeasurement:
    """Expected worth of each measurement in USD, against its cost.

    Each draw of the fit is a house that the log allows. It is simulated with each option of the study,
    and as instruments would find it in the days of a visit. A measurement is worth what a choice among
    the options gains by it on average, in present USD over the study period.

    Parameters
    ----------
    study : Study
        The options to choose from. Compare options that hold one humidity: see `Study.at_goal`.
    fit : Fit
        The house, as `calibrate` found it.
    costs : dict, optional
        Cost by measurement, such as ``{"flow hood": "120 USD"}``; None leaves a measurement out.
        Default: round figures of ours.
    purchases : dict of Purchase, optional
        One for each option; default: nothing is bought, and energy alone decides.
    terms : Terms, optional
        Default: the defaults of `Terms`.
    strategy : Strategy, optional
        The control that the house has today; default: that of the fit.
    weather : Weather, optional
        Weather of the visit; default: that of the fit's log.
    start, end : str, optional
        First and last day of the visit; default: the last two weeks of that weather. Measurements tell
        different things in different seasons.
    offered : dict of Measurement, optional
        Measurements by name; default: `measurements`.
    n : int
        Number of draws to simulate.
    repeats : int
        Simulated errors of each measurement in each draw.
    seed : int
    workers, progress
        As for `Study.run`.

    Returns
    -------
    NextMeasurement

    Raises
    ------
    InputError
        If something is unknown, or the fit has too few draws.

    Examples
    --------
    >>> found = ms.next_measurement(  # doctest: +SKIP
    ...     study, fit, {"flow hood": "120 USD", "blower door": "250 USD"}, purchases=purchases
    ... )
    """
    where = "next_measurement"
    n, seed = case_count(n, f"{where} n", at_least=FEWEST), seed_of(seed, f"{where} seed")
    repeats = case_count(repeats, f"{where} repeats")
    terms = Terms() if terms is None else terms
    bought = purchases or {name: Purchase(first_cost=0.0) for name in study.options}
    check_pair(study, bought, None, where)
    draws = fit.draws
    if len(draws) < FEWEST:
        raise InputError(f"{where} fit", Problem(f"{len(draws)} draws"), f"at least {FEWEST} draws")
    if len(draws) > n:
        draws = draws.sample(n, random_state=seed)
    known, priced = measurements() if offered is None else dict(offered), {}
    for name in costs or {}:
        if name not in known:
            raise InputError(f"{where} costs", name, one_of(str(name), known))
    left_out = {}
    for name, of in known.items():
        given = (costs or {}).get(name, of.cost)
        if given is None:
            continue
        if not of.possible(fit.equipment):
            left_out[name] = "the house has no machine for it"
            continue
        cost = to_si(given, "USD", f"{where} costs[{name!r}]")
        if not 0.0 <= cost < np.inf:
            raise InputError(f"{where} costs[{name!r}]", given, "a cost of at least 0 USD")
        priced[name] = cost
    visiting = _visit(fit, strategy, weather, start, end, where)
    drawn = run_options(
        study, fit, draws, bought, terms, {name: known[name] for name in priced}, visiting,
        workers, progress,
    )  # fmt: skip
    rng = np.random.default_rng(seed)
    found = []
    for name, cost in priced.items():
        of, readings = known[name], drawn.readings[name]
        worth = sample_information(
            drawn.benefit, of.scaled(readings), of.covariance(readings.shape[1]), rng, repeats
        )
        found.append(Priced(of, cost, worth, readings))
    found.sort(key=lambda one: one.net, reverse=True)
    return NextMeasurement(
        options=tuple(study.options), drawn=drawn,
        priced={one.measurement.name: one for one in found},
        perfect=perfect_information(drawn.benefit), years=terms.years, left_out=left_out,
        is_priced=purchases is not None,
    )  # fmt: skip


def _visit(
    fit: Any,
    strategy: Strategy | None,
    weather: Weather | None,
    start: str | None,
    end: str | None,
    where: str,
) -> Visiting:
    """Days, weather and control of the visit."""
    control = (
        getattr(fit, "strategy", strategies.temperature_only) if strategy is None else strategy
    )
    check_machines(control, fit.equipment, f"{where} strategy")
    log = getattr(fit, "log", None)
    if weather is None and log is None:
        raise InputError(
            f"{where} weather", Problem("the fit has no log"), "a weather of the visit"
        )
    days: Weather = cast(Any, log).weather if weather is None else weather
    index = pd.DatetimeIndex(days.frame.index[days.between(start, end)])
    last = (index[-1] + pd.Timedelta(hours=1)).floor("D") - pd.Timedelta(days=1)
    first = index[0].ceil("D")
    if start is None:
        first = max(first, last - pd.Timedelta(days=DAYS - 1))
    whole = (last - first) // pd.Timedelta(days=1) + 1
    if whole < SHORTEST:
        found = Problem(f"{count(whole, 'whole day')} of weather")
        raise InputError(f"{where} weather", found, f"at least {SHORTEST} days, better {DAYS}")
    # A house whose machines are not described holds the temperature that was logged.
    follows = weather is None and getattr(fit, "imposed", False)
    impose = cast(Any, log).indoor_temperature if follows else None
    return Visiting(control, days, first, last, impose)
