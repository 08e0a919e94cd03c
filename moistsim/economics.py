"""What each option costs over the years, and whether the dearer one pays for itself.

NIST Handbook 135 (from memory) on the yearly cost of energy that a comparison found: life-cycle
cost, net savings, savings-to-investment ratio, rates of return, paybacks, and where the verdict
turns. The equations stand in `discounting.py`, prices and terms in `purchase.py`.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.discounting import (
    internal_rates,
    level_payment,
    payback,
    single_present_value,
    uniform_present_value,
)
from moistsim.purchase import Purchase, Terms
from moistsim.study import ALIKE, Comparison
from moistsim.units import InputError, one_of


class Stay(NamedTuple):
    """An option, and for how many years it is kept."""

    option: str
    years: int


Plan = Sequence[Stay]
"""What is used in turn through the study period; what is kept for no years is never bought."""


class YearlyEnergy(NamedTuple):
    """What an option uses in a year, at the prices of year 0."""

    kwh: float
    """Electricity."""
    electricity: float
    """Its cost, USD."""
    gas: float
    """Cost of gas, USD."""

    @property
    def cost(self) -> float:
        """Of both, USD."""
        return self.electricity + self.gas


def cash_flow(
    plan: Plan,
    purchases: Mapping[str, Purchase],
    energy: Mapping[str, YearlyEnergy],
    terms: Terms,
) -> pd.DataFrame:
    """What a plan costs by year, in the dollars of its terms.

    Parameters
    ----------
    plan : sequence of Stay
        Years that add up to the study period.
    purchases : dict of Purchase
        By option.
    energy : dict of YearlyEnergy
        By option.
    terms : Terms

    Returns
    -------
    pandas.DataFrame
        By `year`, from 0: `purchase_USD` (less rebates; a replacement falls at the end of the last
        year of a life), `residual_USD` (not above zero: at the end, the straight-line rest of what
        was last paid; of a machine left behind for another, nothing), `maintenance_USD`,
        `electricity_USD`, `gas_USD`, `total_USD`, `present_value_USD` and `spent_USD`, the running
        sum without the residual value, which nobody pays out.
    """
    years = int(terms.years)
    assert sum(stay.years for stay in plan) == years
    t = np.arange(years + 1)
    names = ("purchase", "residual", "maintenance", "electricity", "gas")
    flow = {name: np.zeros(years + 1) for name in names}
    begin = 0
    for option, length in plan:
        if length == 0:
            continue
        purchase, end = purchases[option], begin + length
        life = int(purchase.life)
        days = np.arange(begin, end, life)
        prices = np.r_[purchase.paid, np.full(len(days) - 1, purchase.replacement)]
        flow["purchase"][days] += prices
        if end == years:
            flow["residual"][years] -= prices[-1] * (1.0 - (end - days[-1]) / life)
        use = slice(begin + 1, end + 1)
        flow["maintenance"][use] = purchase.maintenance
        flow["electricity"][use] = energy[option].electricity
        flow["gas"][use] = energy[option].gas
        begin = end
    rises = {"electricity": terms.electricity_escalation, "gas": terms.gas_escalation}
    table = pd.DataFrame(
        {
            f"{name}_USD": values * (1.0 + rises.get(name, terms.growth)) ** t
            for name, values in flow.items()
        },
        index=pd.RangeIndex(years + 1, name="year"),
    )
    table["total_USD"] = table.sum(axis=1)
    table["present_value_USD"] = table["total_USD"] * single_present_value(terms.discount_rate, t)
    table["spent_USD"] = (table["total_USD"] - table["residual_USD"]).cumsum()
    return table


@attrs.frozen(kw_only=True)
class Pair:
    """One option instead of another, by the measures of NIST Handbook 135.

    A measure that does not exist is None, and `words` says why.
    """

    option: str
    against: str
    extra_first_cost: float
    """First cost less rebate above the other's, USD."""
    yearly_saving: float
    """Energy and maintenance below the other's, USD a year at the prices of year 0."""
    net_savings: float
    """The other's life-cycle cost less this one's, present USD."""
    simple_payback: float | None
    """Years: extra first cost over yearly saving, which may be more than the study period."""
    discounted_payback: float | None
    """Years until savings, with escalation, replacements and discount, have made up for it; within
    a year in a straight line."""
    savings_to_investment: float | None
    """Present value of what is saved in use, over that of what is spent more on purchases."""
    adjusted_internal_rate: float | None
    """A year, savings invested again at the discount rate; in the terms' convention."""
    internal_rate: float | None
    """A year, of the difference of the two cash flows; in the terms' convention."""
    words: dict[str, str]
    """By measure that is None: why."""
    dew_point_difference: float
    """Mean indoor dew point less the other's, K: sums alone decide only between houses that are
    equally dry (`study.ALIKE`)."""

    @property
    def verdict(self) -> str:
        """The trade between the two in one sentence."""
        extra, saving = self.extra_first_cost, self.yearly_saving
        sides = [
            f"{abs(value):,.0f} USD {word}"
            for value, word in (
                (extra, "more to buy" if extra > 0.0 else "less to buy"),
                (saving, "less a year to run" if saving > 0.0 else "more a year to run"),
            )
            if abs(value) >= 0.5
        ]
        text = ", ".join(sides) or "the same to buy and to run"
        if self.simple_payback is None:
            text += f"; {self.words['simple_payback']}"
        else:
            text += f"; pays back in {self.simple_payback:.1f} years, with discount "
            text += (
                self.words["discounted_payback"]
                if self.discounted_payback is None
                else f"{self.discounted_payback:.1f}"
            )
        side = "saves" if self.net_savings >= 0.0 else "costs"
        text += f"; over the years {side} {abs(self.net_savings):,.0f} USD of today"
        gap = self.dew_point_difference
        if abs(gap) <= ALIKE:
            return text
        return text + f", in a house that is {'drier' if gap < 0.0 else 'damper'} with it"


@attrs.frozen(kw_only=True)
class BreakEven:
    """Where one option becomes as cheap as another over the study period, all else as it is.

    What no value brings about is None, and `words` says so.
    """

    option: str
    against: str
    first_cost: float | None
    """First cost of the option before rebate, USD: below it the option is the better buy."""
    electricity_price: float | None
    """USD/kWh of year 0, of the kWh in which the two differ; both bills move in proportion."""
    usage: float | None
    """Times the energy that both use now: 0.5 is a house, or a year, that needs half of it."""
    words: dict[str, str]
    """By measure: a sentence, on which side the option is the better buy or why there is none."""


@attrs.frozen(eq=False, kw_only=True)
class Economics:
    """Options over the years, from what they cost to buy and what they use.

    `economics` makes one of a comparison.
    """

    base: str
    purchases: Mapping[str, Purchase]
    terms: Terms
    bills: pd.DataFrame
    """Indexed by `option` and `month` (1 to 12), in the order in which the months come:
    `electricity_kWh`, `electricity_USD` and `gas_USD` of a year at the prices of year 0."""
    dew_points: Mapping[str, float]
    """Mean indoor dew point by option, degC, which says who is equally dry."""
    notes: tuple[str, ...] = ()
    """What a reader must know, in sentences."""

    @property
    def options(self) -> tuple[str, ...]:
        """Names, in the order of the study."""
        return tuple(self.dew_points)

    @cached_property
    def yearly(self) -> dict[str, YearlyEnergy]:
        """Energy of a year by option."""
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
            return (Stay(plan, int(self.terms.years)),)
        return plan

    def _known(self, *options: str) -> None:
        for option in options:
            if option not in self.options:
                raise InputError("economics option", option, one_of(str(option), self.options))

    def cash_flow(self, plan: str | Plan) -> pd.DataFrame:
        """What an option (or a plan of several) costs by year, as `cash_flow` says.

        Raises
        ------
        InputError
            If there is no such option.
        """
        return cash_flow(self._plan(plan), self.purchases, self.yearly, self.terms)

    def life_cycle_cost(self, plan: str | Plan) -> float:
        """Present value of all that an option (or a plan of several) costs, USD."""
        return float(self.cash_flow(plan)["present_value_USD"].sum())

    def financed_cost(self, option: str) -> float:
        """Life-cycle cost with the first purchase paid by the terms' loan, USD.

        Payments fall at the ends of months, in dollars of their day.

        Raises
        ------
        InputError
            If there is no such option, or the terms have no loan.
        """
        loan, lent = self.terms.loan, self._lent(option)
        if loan is None:
            raise InputError("financed_cost", "terms without a loan", "Terms(loan=Loan(...))")
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
        """What the loan for an option's first purchase takes each month, USD; 0 without a loan."""
        loan, lent = self.terms.loan, self._lent(option)
        if loan is None or lent == 0.0:
            return 0.0
        return level_payment(lent, loan.rate / 12.0, loan.months)

    def monthly(self, plan: str | Plan, *, financed: bool = True) -> pd.DataFrame:
        """What a customer pays month by month, in dollars of the day whatever the terms' rates.

        Each year's energy is spread as the season's months were, at that year's price; months add
        up to the nominal cash flow of their year. The first month is the season's first.

        Parameters
        ----------
        plan : str or sequence of Stay
            An option, or several in turn.
        financed : bool
            Pay the first purchase of a single option by the terms' loan, if there is one;
            replacements, and what a plan of several options buys, are paid at once.

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
        flow = cash_flow(stays, self.purchases, self.yearly, self.terms.restated("nominal"))
        month = np.arange(12 * years + 1)
        order = self.bills.loc[self.options[0]].index.to_numpy()
        bought, lent = np.zeros(len(month)), np.zeros(len(month))
        bought[::12] = flow["purchase_USD"]
        loan = self.terms.loan
        if financed and isinstance(plan, str) and loan is not None:
            bought[0] -= self._lent(plan)
            lent[1 : loan.months + 1] = self.loan_payment(plan)
        columns: dict[str, Any] = {
            "year": -(-month // 12),
            "calendar_month": np.r_[0, np.tile(order, years)],
            "purchase_USD": bought,
            "loan_USD": lent,
            "maintenance_USD": np.r_[
                0.0, np.repeat(flow["maintenance_USD"].to_numpy()[1:] / 12.0, 12)
            ],
        }
        who = [stay.option for stay in stays for _ in range(stay.years)]
        for name in ("electricity_USD", "gas_USD"):
            # Shares of the year's bill, which may be nothing.
            shares = {
                option: bills / (bills.sum() or 1.0)
                for option in dict.fromkeys(who)
                for bills in [self.bills.loc[option][name].to_numpy(float)]
            }
            sums = flow[name].to_numpy()[1:]
            by_year = [shares[option] * cost for option, cost in zip(who, sums, strict=True)]
            columns[name] = np.concatenate([[0.0], *by_year])
        table = pd.DataFrame(columns, index=pd.Index(month, name="month"))
        table["total_USD"] = table.drop(columns=["year", "calendar_month"]).sum(axis=1)
        table["spent_USD"] = table["total_USD"].cumsum()
        return table

    def pair(self, option: str, against: str | None = None) -> Pair:
        """One option instead of another, by default the base.

        Raises
        ------
        InputError
            If there is no such option.
        """
        against = self.base if against is None else against
        self._known(option, against)
        terms = self.terms
        # What the option saves, so that an investment is negative.
        saved = self.cash_flow(against) - self.cash_flow(option)
        bought = saved["purchase_USD"].to_numpy()
        in_use = saved[["maintenance_USD", "electricity_USD", "gas_USD"]].sum(axis=1).to_numpy()
        factors = single_present_value(terms.discount_rate, saved.index)
        extra = self.purchases[option].paid - self.purchases[against].paid
        yearly = self.yearly
        saving = yearly[against].cost - yearly[option].cost
        saving += self.purchases[against].maintenance - self.purchases[option].maintenance
        words: dict[str, str] = {}
        simple = discounted = None
        if extra > 0.0 and saving > 0.0:
            simple = extra / saving
            discounted = payback((bought + in_use) * factors)
            if discounted is None:
                words["discounted_payback"] = f"not within the {terms.years:.0f} years studied"
        elif extra <= 0.0:
            words["simple_payback"] = (
                "nothing to pay back" if saving >= 0.0 else "no payback: dearer to run"
            )
        else:
            words["simple_payback"] = "saves nothing: no payback"
        if simple is None:
            words["discounted_payback"] = words["simple_payback"]
        invested = -float((bought + saved["residual_USD"].to_numpy()) @ factors)
        worth = float(in_use @ factors)
        ratio = adjusted = None
        if invested > 0.0:
            ratio = worth / invested
            if ratio > 0.0:
                adjusted = (1.0 + terms.discount_rate) * ratio ** (1.0 / terms.years) - 1.0
            else:
                words["adjusted_internal_rate"] = "saves nothing: no return"
        else:
            words["savings_to_investment"] = "no more is invested"
            words["adjusted_internal_rate"] = words["savings_to_investment"]
        rates = internal_rates(saved["total_USD"]) if invested > 0.0 else ()
        if len(rates) != 1:
            words["internal_rate"] = (
                "no more is invested"
                if invested <= 0.0
                else f"not one only: {len(rates)} rates fit"
                if rates
                else "no rate: what is spent does not come back"
            )
        return Pair(
            option=option,
            against=against,
            extra_first_cost=extra,
            yearly_saving=saving,
            net_savings=float(saved["present_value_USD"].sum()),
            simple_payback=simple,
            discounted_payback=discounted,
            savings_to_investment=ratio,
            adjusted_internal_rate=adjusted,
            internal_rate=rates[0] if len(rates) == 1 else None,
            words=words,
            dew_point_difference=self.dew_points[option] - self.dew_points[against],
        )

    def trade_offs(self) -> tuple[Pair, ...]:
        """Every pair of options of which the one is dearer to buy and cheaper to run."""
        pairs = (self.pair(a, b) for a in self.options for b in self.options if a != b)
        return tuple(pair for pair in pairs if pair.simple_payback is not None)

    def table(self, against: str | None = None) -> pd.DataFrame:
        """One row an option; the unit stands in each column's name.

        Parameters
        ----------
        against : str, optional
            The option that the others are measured by; by default the base.

        Returns
        -------
        pandas.DataFrame
            `first_cost_USD` (less rebate), `yearly_energy_USD`, `maintenance_USD` (of a year),
            `life_cycle_cost_USD`, then, if the terms have a loan, `loan_payment_USD` (of a month)
            and `financed_cost_USD`, then the measures of `Pair`, missing where there is none, and
            `verdict`, which says why.

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
        """First cost, price of electricity and usage at which two options cost the same.

        Life-cycle cost is a straight line in each of them, so that each is one division.

        Parameters
        ----------
        option : str
        against : str, optional
            By default the base.

        Raises
        ------
        InputError
            If there is no such option.
        """
        against = self.base if against is None else against
        self._known(option, against)
        savings = self.life_cycle_cost(against) - self.life_cycle_cost(option)
        cheaper = option if savings > 0.0 else against
        words: dict[str, str] = {}

        purchase = self.purchases[option]
        dearer = attrs.evolve(cast(Any, purchase), first_cost=purchase.first_cost + 1000.0)
        other = attrs.evolve(self, purchases={**self.purchases, option: dearer})
        slope = (other.life_cycle_cost(option) - self.life_cycle_cost(option)) / 1000.0
        first_cost: float | None = purchase.first_cost + savings / slope
        if first_cost is not None and first_cost >= purchase.rebate:
            words["first_cost"] = f"the better buy below {first_cost:,.0f} USD"
        else:
            first_cost = None
            words["first_cost"] = "at no first cost: dearer over the years even as a gift"

        terms, now, then = self.terms, self.yearly[option], self.yearly[against]
        n, d = int(terms.years), terms.discount_rate
        electric = (then.electricity - now.electricity) * uniform_present_value(
            d, n, terms.electricity_escalation
        )
        gas = (then.gas - now.gas) * uniform_present_value(d, n, terms.gas_escalation)
        kwh = then.kwh - now.kwh
        per_kwh = (then.electricity - now.electricity) / kwh if kwh else 0.0
        price = _turn(savings, electric) if per_kwh > 0.0 else None
        if price is not None:
            price *= per_kwh
            side = "above" if electric > 0.0 else "below"
            words["electricity_price"] = f"the better buy {side} {price:.3f} USD/kWh"
        else:
            words["electricity_price"] = (
                f"at no price of electricity: {cheaper!r} is always cheaper"
            )
        usage = _turn(savings, electric + gas)
        if usage is not None:
            side = "above" if electric + gas > 0.0 else "below"
            words["usage"] = f"the better buy {side} {usage:.2f} times the energy now used"
        else:
            words["usage"] = f"at no usage: {cheaper!r} is always cheaper"
        return BreakEven(
            option=option,
            against=against,
            first_cost=first_cost,
            electricity_price=price,
            usage=usage,
            words=words,
        )

    def bridge(self, first: str, then: str, seasons: int | None = None) -> "Bridge":
        """Run one option for some years, then buy another: for who cannot pay at once.

        Parameters
        ----------
        first : str
            What is run until then, such as reheat; what it takes (relay, strips) is its own
            first cost, of which nothing comes back.
        then : str
            What is bought after n years, at its price of that day and with its rebate.
        seasons : int, optional
            The longest bridge, 1 to the years of the study; by default all of these, at which the
            other is never bought.

        Raises
        ------
        InputError
            If there is no such option, both are the same, or `seasons` lies outside.
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


def _turn(savings: float, part: float) -> float | None:
    """By what a part of the savings is to be multiplied for all of them to be nothing."""
    times = 1.0 - savings / part if part else -1.0
    return times if times >= 0.0 else None


def _per_cent(rate: float | None) -> float | None:
    return None if rate is None else 100.0 * rate


@attrs.frozen(eq=False, kw_only=True)
class Bridge:
    """One option for n years, then another, for each n."""

    economics: Economics
    first: str
    then: str
    plans: Mapping[int, Plan]
    """By n: 0 buys the other at once; n = the years of the study never buys it."""

    @cached_property
    def table(self) -> pd.DataFrame:
        """By n, `seasons`: what is paid on the first day, for purchases and for energy and
        maintenance through the study period, and the life-cycle cost, with how much that is above
        the least. All but the last two are plain sums, in the terms' dollars."""
        rows = {}
        for n, plan in self.plans.items():
            flow = self.economics.cash_flow(plan)
            rows[n] = {
                "first_day_USD": flow.loc[0, "purchase_USD"],
                "purchases_USD": flow["purchase_USD"].sum(),
                "running_USD": flow[["maintenance_USD", "electricity_USD", "gas_USD"]].sum().sum(),
                "life_cycle_cost_USD": flow["present_value_USD"].sum(),
            }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "seasons"
        cost = table["life_cycle_cost_USD"]
        table["above_least_USD"] = cost - cost.min()
        return table

    @property
    def best(self) -> int:
        """The n of the least life-cycle cost; of several, the shortest."""
        cost = self.table["life_cycle_cost_USD"].round(2)
        return list(self.plans)[int(cost.to_numpy().argmin())]

    @property
    def verdict(self) -> str:
        """The best n in one sentence."""
        n, cost = self.best, self.table["life_cycle_cost_USD"]
        years = int(self.economics.terms.years)
        words = (
            f"buy {self.then!r} at once"
            if n == 0
            else f"stay with {self.first!r}"
            if n == years
            else f"run {self.first!r} for {n} season{'s' if n > 1 else ''}, then buy {self.then!r}"
        )
        text = f"cheapest over {years} years: {words}, {cost[n]:,.0f} USD of today"
        if n > 0:
            text += f" ({cost[0] - cost[n]:,.0f} less than buying at once)"
        elif 1 in cost:
            text += f"; one season of {self.first!r} first costs {cost[1] - cost[0]:,.0f} more"
        return text

    def cash_flow(self, seasons: int) -> pd.DataFrame:
        """By year, with the other option bought after so many seasons: `Economics.cash_flow`.

        Raises
        ------
        InputError
            If it was not asked for so many.
        """
        return self.economics.cash_flow(self._of(seasons))

    def monthly(self, seasons: int) -> pd.DataFrame:
        """By month, paid without a loan: `Economics.monthly`.

        Raises
        ------
        InputError
            If it was not asked for so many.
        """
        return self.economics.monthly(self._of(seasons), financed=False)

    def _of(self, seasons: int) -> Plan:
        if seasons not in self.plans:
            raise InputError(
                "bridge seasons", seasons, f"a whole number from 0 to {max(self.plans)}"
            )
        return self.plans[seasons]


def economics(
    comparison: Comparison, purchases: Mapping[str, Purchase], terms: Terms | None = None
) -> Economics:
    """What the options of a comparison cost over the years.

    A season shorter than a year is all the energy that is counted: what the other months cost is
    taken as equal among the options, and left out of every sum.

    Parameters
    ----------
    comparison : Comparison
        What `Study.run` returned.
    purchases : dict of Purchase
        One for each option; ``Purchase(first_cost=0)`` where nothing is bought.
    terms : Terms, optional
        By default those of `Terms`.

    Returns
    -------
    Economics

    Raises
    ------
    InputError
        If an option has no purchase, a purchase no option, or the season is longer than a year.
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
                "nothing",
                "a Purchase with a first_cost, 0 if nothing is bought",
            )
    terms = Terms() if terms is None else terms
    hours = comparison.seasons[names[0]].hourly.index
    if len(hours) > 366 * 24:
        raise InputError(
            "economics comparison", f"a season of {len(hours) / 24:.0f} days", "a year at most"
        )
    dew_points = {
        option: float(season.meter.humidity["mean_dew_point_C"])
        for option, season in comparison.seasons.items()
    }
    return Economics(
        base=comparison.base,
        purchases={option: purchases[option] for option in names},
        terms=terms,
        bills=_bills(comparison),
        dew_points=dew_points,
        notes=_notes(hours, terms, dew_points),
    )


def _bills(comparison: Comparison) -> pd.DataFrame:
    """Energy and its cost by calendar month, from the season's first month on."""
    tables = {}
    for option, bill in comparison.bills().items():
        gas = bill.months.reindex(columns=["gas", "gas fixed"], fill_value=0.0).sum(axis=1)
        electricity = bill.months["total"] - gas
        table = pd.DataFrame(
            {
                "electricity_kWh": bill.use["bought_kWh"],
                # The sums before rounding: the cents of a month would make differences uneven.
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


def _notes(hours: Any, terms: Terms, dew_points: Mapping[str, float]) -> tuple[str, ...]:
    dollars = (
        "Rates are nominal, with general inflation in them, and sums in dollars of their own year"
        if terms.nominal
        else "Rates are real, without general inflation, and sums in constant dollars"
    )
    notes = [f"{dollars}; a later year counts less by {100.0 * terms.discount_rate:.3g} % a year."]
    if max(dew_points.values()) - min(dew_points.values()) > ALIKE:
        notes.append(
            "Not all options keep the house equally dry: their sums alone do not say which is best."
        )
    if len(hours) < 365 * 24:
        first, last = hours[0], hours[-1]
        notes.append(
            f"Energy is that of the season, {first.day} {first:%B} to {last.day} {last:%B}: what "
            "the other months cost is taken as equal among the options, and left out."
        )
    return tuple(notes)
