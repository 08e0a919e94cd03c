"""Cost of the options of a comparison over the years, by year and by month.

`moistsim.prices` has prices, terms and cash flows. `weighing` compares two options.
"""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.display import count, money
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.summary import Tabled, short
from moistsim.economics.weighing import BreakEven, Pair, break_even, weigh
from moistsim.engine import column_catalog
from moistsim.prices import (
    CashFlow,
    Plan,
    Purchase,
    Stay,
    Terms,
    YearlyEnergy,
    cash_flow,
    kept,
    level_payment,
    uniform_present_value,
)
from moistsim.study import ALIKE, Comparison, Study, main_machine

NOT_ALIKE = "Not all options keep the house equally dry, so costs alone do not show which is best."
"""Note for options whose mean dew points differ by more than `study.ALIKE`."""


@attrs.frozen(eq=False, kw_only=True)
class Economics(Tabled):
    """Cost of the options over the years, from their purchases and their energy.

    `economics` makes it from a comparison.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> cost = ms.economics(study.run(progress=False), demo.purchases, demo.terms)
    >>> bool(cost.life_cycle_cost("Stand-alone dehumidifier") > 1800)
    True
    """

    base: str
    purchases: Mapping[str, Purchase]
    terms: Terms
    bills: pd.DataFrame
    """Indexed by `option` and `month` (1 to 12), in the order in which the months come:
    `electricity_kWh`, `electricity_USD` and `gas_USD` of a year at the prices of year 0."""
    dew_points: Mapping[str, float]
    """Mean indoor dew point by option, degC, which shows whether options are equally dry."""
    notes: tuple[str, ...] = ()
    """Notes for the reader, in sentences."""
    machines: Mapping[str, str] = attrs.field(factory=dict)
    """Main machine by option (`study.main_machine`), which gives it its color in figures."""

    def __repr__(self) -> str:
        return short(self, self.options)

    @property
    def options(self) -> tuple[str, ...]:
        """Names, in the order of the study."""
        return tuple(self.dew_points)

    @cached_property
    def yearly(self) -> dict[str, YearlyEnergy]:
        """Energy use and cost of a year, by option."""
        columns = ["electricity_kWh", "electricity_USD", "gas_USD"]
        return {
            option: YearlyEnergy(
                *self.bills.loc[option][columns].to_numpy(float).sum(axis=0).tolist()
            )
            for option in self.options
        }

    def _plan(self, plan: str | Plan) -> Plan:
        if isinstance(plan, str):
            self._known(plan)
            return kept(plan, self.terms)
        self._known(*(stay.option for stay in plan))
        lengths = [stay.years for stay in plan]
        if sum(lengths) != self.terms.years or min(lengths) < 0:
            accepted = f"stays that add up to {self.terms.years:.0f} years, none negative"
            raise InputError("economics plan", f"{lengths} years", accepted)
        return plan

    def _known(self, *options: str) -> None:
        for option in options:
            if option not in self.options:
                raise InputError("economics option", option, one_of(str(option), self.options))

    def flow(self, plan: str | Plan, terms: Terms | None = None) -> CashFlow:
        """Cost of an option, or of several in turn, by year, as arrays.

        Parameters
        ----------
        plan : str or sequence of Stay
            As for `cash_flow`.
        terms : Terms, optional
            Default: the terms of this object.

        Raises
        ------
        InputError
            If there is no such option, or the years do not add up.
        """
        return cash_flow(self._plan(plan), self.purchases, self.yearly, terms or self.terms)

    def cash_flow(self, plan: str | Plan) -> pd.DataFrame:
        """Cost of an option, or of several in turn, by year: `CashFlow.table`.

        Parameters
        ----------
        plan : str or sequence of Stay
            An option, or several whose years add up to the study period.

        Raises
        ------
        InputError
            If there is no such option, or the years do not add up.
        """
        return self.flow(plan).table()

    def life_cycle_cost(self, plan: str | Plan) -> float:
        """Present value of all costs of an option, or of a plan of several options, USD."""
        return self.flow(plan).present_value

    def financed_cost(self, option: str) -> float:
        """Life-cycle cost with the first purchase paid by the terms' loan, USD.

        Payments are due at the ends of months, in dollars of that day.

        Raises
        ------
        InputError
            If there is no such option, or the terms have no loan.
        """
        loan, lent = self.terms.loan, self._lent(option)
        if loan is None:
            raise InputError(
                "financed_cost", Problem("terms without a loan"), "Terms(loan=Loan(...))"
            )
        if lent == 0.0:
            return self.life_cycle_cost(option)
        monthly = (1.0 + self.terms.restated("nominal").discount_rate) ** (1.0 / 12.0) - 1.0
        due = self.loan_payment(option) * uniform_present_value(monthly, loan.months)
        return self.life_cycle_cost(option) - lent + due

    def _lent(self, option: str) -> float:
        self._known(option)
        loan = self.terms.loan
        return 0.0 if loan is None else max(self.purchases[option].paid - loan.down_payment, 0.0)

    def loan_payment(self, option: str) -> float:
        """Monthly loan payment for an option's first purchase, USD; 0 without a loan."""
        loan, lent = self.terms.loan, self._lent(option)
        if loan is None or lent == 0.0:
            return 0.0
        return level_payment(lent, loan.rate / 12.0, loan.months)

    def monthly(self, plan: str | Plan, *, financed: bool = True) -> pd.DataFrame:
        """Payments of a customer month by month, in dollars of each month.

        Bills are those of the season's months at each year's prices. Months add up to the nominal
        cash flow of their year. The first month is the first month of the season.

        Parameters
        ----------
        plan : str or sequence of Stay
            An option, or several in turn.
        financed : bool
            Pay the first purchase of a single option with the terms' loan, if there is one.
            Replacements and the purchases of a plan of several options are paid in full.

        Returns
        -------
        pandas.DataFrame
            By `month`, counted from 0, the day of the purchase: `year`, `calendar_month` (0 for
            that day), `purchase_USD`, `loan_USD`, `maintenance_USD`, `electricity_USD`,
            `gas_USD`, `total_USD` and `spent_USD`, their running sum.

        Raises
        ------
        InputError
            If there is no such option.
        """
        stays, years = self._plan(plan), int(self.terms.years)
        terms = self.terms.restated("nominal")
        flow = self.flow(stays, terms)
        month = np.arange(12 * years + 1)
        order = self.bills.loc[self.options[0]].index.to_numpy()
        bought, lent = np.zeros(len(month)), np.zeros(len(month))
        bought[::12] = flow.purchase
        loan = self.terms.loan
        if financed and isinstance(plan, str) and loan is not None:
            bought[0] -= self._lent(plan)
            lent[1 : loan.months + 1] = self.loan_payment(plan)
        columns: dict[str, Any] = {
            "year": -(-month // 12),
            "calendar_month": np.r_[0, np.tile(order, years)],
            "purchase_USD": bought,
            "loan_USD": lent,
            "maintenance_USD": np.r_[0.0, np.repeat(flow.maintenance[1:] / 12.0, 12)],
        }
        rises = {
            "electricity_USD": terms.electricity_escalation,
            "gas_USD": terms.gas_escalation,
        }
        who = [stay.option for stay in stays for _ in range(stay.years)]
        for name, rise in rises.items():
            by_year = [
                self.bills.loc[option][name].to_numpy(float) * (1.0 + rise) ** t
                for t, option in enumerate(who, 1)
            ]
            columns[name] = np.concatenate([[0.0], *by_year])
        table = pd.DataFrame(columns, index=pd.Index(month, name="month"))
        table["total_USD"] = table.drop(columns=["year", "calendar_month"]).sum(axis=1)
        table["spent_USD"] = table["total_USD"].cumsum()
        return table

    def pair(self, option: str, against: str | None = None) -> Pair:
        """Compare one option with another; default: with the base option.

        Raises
        ------
        InputError
            If there is no such option.
        """
        against = self.base if against is None else against
        self._known(option, against)
        return weigh(option, against, self.purchases, self.yearly, self.terms, self.dew_points)

    def trade_offs(self) -> tuple[Pair, ...]:
        """Every pair in which one option is more expensive to buy and cheaper to run."""
        pairs = (self.pair(a, b) for a in self.options for b in self.options if a != b)
        return tuple(pair for pair in pairs if pair.simple_payback is not None)

    def table(self, against: str | None = None) -> pd.DataFrame:
        """One row for each option, with the unit in each column's name.

        Parameters
        ----------
        against : str, optional
            The option that the others are compared with; default: the base option.

        Returns
        -------
        pandas.DataFrame
            `first_cost_USD` (less rebate), `yearly_energy_USD`, `maintenance_USD` (of a year),
            `life_cycle_cost_USD`, then, if the terms have a loan, `loan_payment_USD` (of a month)
            and `financed_cost_USD`, then the measures of `Pair` and `verdict`, a sentence. Measures
            that do not exist are missing (`Pair.words` gives the reason).

        Raises
        ------
        InputError
            If there is no such option.
        """
        against = self.base if against is None else against
        yearly = self.yearly
        rows = {}
        for option in self.options:
            purchase, pair = self.purchases[option], self.pair(option, against)
            row: dict[str, float | None] = {
                "first_cost_USD": purchase.paid,
                "yearly_energy_USD": yearly[option].cost,
                "maintenance_USD": purchase.maintenance,
                "life_cycle_cost_USD": self.life_cycle_cost(option),
            }
            if self.terms.loan is not None:
                row["loan_payment_USD"] = self.loan_payment(option)
                row["financed_cost_USD"] = self.financed_cost(option)
            row |= {
                "net_savings_USD": pair.net_savings,
                "simple_payback_years": pair.simple_payback,
                "discounted_payback_years": pair.discounted_payback,
                "savings_to_investment": pair.savings_to_investment,
                "adjusted_internal_rate_pct": _per_cent(pair.adjusted_internal_rate),
                "internal_rate_pct": _per_cent(pair.internal_rate),
            }
            rows[option] = row
        table = pd.DataFrame.from_dict(rows, orient="index").astype("Float64")
        table.index.name = "option"
        table["verdict"] = [
            "base" if option == against else self.pair(option, against).verdict
            for option in self.options
        ]
        return table

    def break_even(self, option: str, against: str | None = None) -> BreakEven:
        """First cost, electricity price and usage at which two options cost the same.

        Parameters
        ----------
        option : str
        against : str, optional
            Default: the base option.

        Raises
        ------
        InputError
            If there is no such option.
        """
        against = self.base if against is None else against
        self._known(option, against)
        return break_even(option, against, self.purchases, self.yearly, self.terms)

    def bridge(self, first: str, then: str, seasons: int | None = None) -> "Bridge":
        """Run one option for some years, then buy another, for customers who cannot pay now.

        Parameters
        ----------
        first : str
            The option until then, such as reheat. Its own first cost (relay, strips) is not
            refunded.
        then : str
            The option bought after n years, at its price of that day and with its rebate.
        seasons : int, optional
            The longest bridge, from 1 to the years of the study. Default: all years, after which
            the second option is never bought.

        Raises
        ------
        InputError
            If there is no such option, both are the same, or `seasons` is out of range.
        """
        self._known(first, then)
        if first == then:
            raise InputError("bridge then", then, "another option than the first")
        years = int(self.terms.years)
        longest = years if seasons is None else seasons
        if isinstance(longest, bool) or not isinstance(longest, int) or not 1 <= longest <= years:
            raise InputError("bridge seasons", seasons, f"a whole number from 1 to {years}")
        plans = {n: (Stay(first, n), Stay(then, years - n)) for n in range(longest + 1)}
        return Bridge(economics=self, first=first, then=then, plans=plans)


def _per_cent(rate: float | None) -> float | None:
    return None if rate is None else 100.0 * rate


@attrs.frozen(eq=False, kw_only=True)
class Bridge:
    """Costs of running one option for n years and then another, for each n.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> cost = ms.economics(study.run(progress=False), demo.purchases, demo.terms)
    >>> bridge = cost.bridge("Staged compressor with strip reheat", "Stand-alone dehumidifier")
    >>> bridge.table.index.name
    'seasons'
    """

    economics: Economics
    first: str
    then: str
    plans: Mapping[int, Plan]
    """Plan by n: 0 buys the second option now; the years of the study never buys it."""

    @cached_property
    def table(self) -> pd.DataFrame:
        """Costs by n, in the column `seasons`.

        Columns: payment on the first day, purchases, and energy with maintenance over the study
        period, as plain sums in the terms' dollars; then life-cycle cost, and how much that is
        above the lowest.
        """
        rows = {}
        for n, plan in self.plans.items():
            flow = self.economics.flow(plan)
            rows[n] = {
                "first_day_USD": flow.purchase[0],
                "purchases_USD": flow.purchase.sum(),
                "running_USD": flow.in_use.sum(),
                "life_cycle_cost_USD": flow.present_value,
            }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "seasons"
        cost = table["life_cycle_cost_USD"]
        table["above_least_USD"] = cost - cost.min()
        return table

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes of the economics, without the one on dryness if these two are equally dry."""
        dry = self.economics.dew_points
        alike = abs(dry[self.first] - dry[self.then]) <= ALIKE
        return tuple(x for x in self.economics.notes if not (alike and x == NOT_ALIKE))

    @property
    def best(self) -> int:
        """The n of the least life-cycle cost; of several, the shortest."""
        cost = self.table["life_cycle_cost_USD"].round(2)
        return list(self.plans)[int(cost.to_numpy().argmin())]

    @property
    def verdict(self) -> str:
        """The cheapest n in one sentence."""
        n, cost = self.best, self.table["life_cycle_cost_USD"]
        years = int(self.economics.terms.years)
        words = (
            f"buy {self.then!r} now"
            if n == 0
            else f"keep {self.first!r}"
            if n == years
            else f"run {self.first!r} for {count(n, 'season')}, then buy {self.then!r}"
        )
        text = f"cheapest over {years} years: {words}, {money(cost[n])} in today’s money"
        if n > 0:
            text += f" ({money(cost[0] - cost[n])} less than buying now)"
        elif 1 in cost:
            text += f"; one season of {self.first!r} first costs {money(cost[1] - cost[0])} more"
        return text

    def cash_flow(self, seasons: int) -> pd.DataFrame:
        """Cost by year if the second option is bought after some seasons: `Economics.cash_flow`.

        Raises
        ------
        InputError
            If the bridge has no plan for that number of seasons.
        """
        return self.economics.cash_flow(self._of(seasons))

    def monthly(self, seasons: int) -> pd.DataFrame:
        """Payments by month without a loan: `Economics.monthly`.

        Raises
        ------
        InputError
            If the bridge has no plan for that number of seasons.
        """
        return self.economics.monthly(self._of(seasons), financed=False)

    def _of(self, seasons: int) -> Plan:
        if seasons not in self.plans:
            raise InputError(
                "bridge seasons", seasons, f"a whole number from 0 to {max(self.plans)}"
            )
        return self.plans[seasons]


def economics(
    comparison: Comparison,
    purchases: Mapping[str, Purchase],
    terms: Terms | None = None,
    *,
    at_goal: bool = False,
) -> Economics:
    """Life-cycle cost, payback and break-even prices of the options of a comparison.

    Only the energy of the season counts. The other months are assumed to cost the same with every
    option, and are in no sum. For an option that changes the house, run a whole year.

    Parameters
    ----------
    comparison : Comparison
        The result of `Study.run`.
    purchases : dict of Purchase
        One for each option; ``Purchase(first_cost=0)`` where nothing is bought.
    terms : Terms, optional
        Default: the defaults of `Terms`.
    at_goal : bool
        Whether the options were brought to the owner's goal. Their costs are then comparable at
        different dew points, and no note says otherwise.

    Returns
    -------
    Economics

    Raises
    ------
    InputError
        If an option has no purchase, a purchase no option, or the season is longer than a year.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> cost = ms.economics(study.run(progress=False), demo.purchases, demo.terms)
    >>> list(cost.table().index) == list(study.options)
    True
    """
    names = list(comparison.seasons)
    for option, purchase in purchases.items():
        where = f"economics purchases[{option!r}]"
        if option not in names:
            raise InputError("economics purchases", option, one_of(str(option), names))
        if not isinstance(purchase, Purchase):
            raise InputError(where, purchase, "a Purchase")
    for option in names:
        if option not in purchases:
            raise InputError(
                f"economics purchases[{option!r}]",
                Problem("nothing"),
                "a Purchase with a first_cost, 0 if nothing is bought",
            )
    if terms is not None and not isinstance(terms, Terms):
        raise InputError("economics terms", terms, "Terms")
    terms = Terms() if terms is None else terms
    hours = comparison.seasons[names[0]].hourly.index
    if len(hours) > 366 * 24:
        raise InputError(
            "economics comparison",
            Problem(f"a season of {len(hours) / 24:.0f} days"),
            "a year at most",
        )
    dew_points = {
        option: season.meter.of(column_catalog.MEAN_DEW_POINT)
        for option, season in comparison.seasons.items()
    }
    return Economics(
        base=comparison.base,
        purchases={option: purchases[option] for option in names},
        terms=terms,
        bills=_bills(comparison),
        dew_points=dew_points,
        notes=_notes(comparison.study, hours, terms, {} if at_goal else dew_points),
        machines={name: main_machine(season) for name, season in comparison.seasons.items()},
    )


def _bills(comparison: Comparison) -> pd.DataFrame:
    """Energy and its cost by calendar month, from the first month of the season."""
    tables = {}
    for option, bill in comparison.bills().items():
        gas = bill.months.reindex(columns=["gas", "gas fixed"], fill_value=0.0).sum(axis=1)
        electricity = bill.months["total"] - gas
        table = pd.DataFrame(
            {
                "electricity_kWh": bill.use["bought_kWh"],
                # Sums before rounding, because rounded cents make differences uneven.
                "electricity_USD": electricity * (bill.electricity / (electricity.sum() or 1.0)),
                "gas_USD": gas * ((bill.unrounded - bill.electricity) / (gas.sum() or 1.0)),
            }
        )
        begin = int(table.index[0].month)
        # A year that begins within a month ends in the same one.
        table = table.groupby(pd.PeriodIndex(table.index).month).sum()
        order = pd.Index([(begin + k - 1) % 12 + 1 for k in range(12)], name="month")
        tables[option] = table.reindex(order, fill_value=0.0)
    return pd.concat(tables, names=["option"])


def _notes(
    study: Study, hours: Any, terms: Terms, dew_points: Mapping[str, float]
) -> tuple[str, ...]:
    dollars = (
        "Rates are nominal (with general inflation), and costs are in dollars of their own year."
        if terms.nominal
        else "Rates are real (without general inflation), and costs are in constant dollars."
    )
    notes = [f"{dollars} A payment one year later counts {100.0 * terms.discount_rate:.3g} % less."]
    if dew_points and max(dew_points.values()) - min(dew_points.values()) > ALIKE:
        notes.append(NOT_ALIKE)
    if len(hours) < 365 * 24:
        notes.append(
            f"Energy costs cover the season of {len(hours) / 24:.0f} days. The rest of the year is "
            "assumed to cost the same with every option, and is not included."
        )
        changed = [f"“{option}”" for option in study.options if study.changes(option)]
        if changed:
            named = " and ".join(filter(None, (", ".join(changed[:-1]), changed[-1])))
            notes.append(
                f"{named} {'changes' if len(changed) == 1 else 'change'} the house, which acts in "
                "every month. For all its savings, run a season of a whole year, with heating."
            )
    return tuple(notes)
