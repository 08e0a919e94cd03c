"""Comparison of two options by the measures of NIST Handbook 135 (from memory), and break-even."""

from collections.abc import Mapping
from typing import Any, cast

import attrs

from moistsim.core.display import money
from moistsim.prices import (
    CashFlow,
    Purchase,
    Terms,
    YearlyEnergy,
    cash_flow,
    internal_rates,
    kept,
    payback,
)
from moistsim.study import ALIKE

_HALF_A_CENT = 0.005
"""USD a year. A smaller saving pays nothing back."""


@attrs.frozen(kw_only=True)
class Pair:
    """Costs and savings of one option instead of another, after NIST Handbook 135.

    A measure that does not exist is None, and `words` gives the reason.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> cost = ms.economics(study.run(progress=False), demo.purchases, demo.terms)
    >>> pair = cost.pair("Stand-alone dehumidifier", "Staged compressor with strip reheat")
    >>> pair.extra_first_cost
    1200.0
    """

    option: str
    against: str
    extra_first_cost: float
    """First cost less rebate, above that of the other option, USD."""
    yearly_saving: float
    """Energy and maintenance below those of the other option, USD a year at the prices of year 0."""
    net_savings: float
    """Life-cycle cost of the other option less that of this option, present USD."""
    simple_payback: float | None
    """Extra first cost over yearly saving, years. It may exceed the study period."""
    discounted_payback: float | None
    """Years until savings, with escalation, replacements and discount, pay for the extra first cost.
    Savings grow linearly within a year."""
    savings_to_investment: float | None
    """Present value of the savings in use over that of the extra purchases."""
    adjusted_internal_rate: float | None
    """Yearly return with savings reinvested at the discount rate, in the terms' convention."""
    internal_rate: float | None
    """Yearly return of the difference of the two cash flows, in the terms' convention."""
    words: dict[str, str]
    """Reason for each measure that is None."""
    dew_point_difference: float
    """Mean indoor dew point less that of the other option, K. Costs are comparable only between
    houses that are equally dry (`study.ALIKE`)."""
    life: float
    """Life of the option until replacement, years."""
    years: float
    """Study period, years."""

    @property
    def pays_back(self) -> bool:
        """Whether the simple payback is within the option's life and the study period."""
        payback = self.simple_payback
        return payback is not None and payback <= min(self.life, self.years)

    @property
    def payback_words(self) -> str:
        """Payback as a verb phrase. A payback beyond life or study period has no number.

        It is empty without a payback; `words` gives the reason.
        """
        if self.simple_payback is None:
            return ""
        shorter = self.life < self.years
        limit = (
            f"its life of {self.life:g} years" if shorter else f"the {self.years:g} years studied"
        )
        if not self.pays_back:
            return f"does not pay back within {limit}"
        late = self.discounted_payback is None or self.discounted_payback > min(
            self.life, self.years
        )
        discounted = (
            f"discounted: not within {limit}"
            if late
            else f"{self.discounted_payback:.1f} discounted"
        )
        return f"pays back in {self.simple_payback:.1f} years ({discounted})"

    @property
    def verdict(self) -> str:
        """The comparison in one sentence.

        It does not say which option is drier: relative humidity and dew point may disagree where
        one room is cooler.
        """
        extra, saving = self.extra_first_cost, self.yearly_saving
        sides = [
            f"{money(abs(value))} {word}"
            for value, word in (
                (extra, "more to buy" if extra > 0.0 else "less to buy"),
                (saving, "a year less to run" if saving > 0.0 else "a year more to run"),
            )
            if abs(value) >= 0.5
        ]
        text = ", ".join(sides) or "the same to buy and to run"
        text += f"; {self.payback_words or self.words['simple_payback']}"
        side = "saves" if self.net_savings >= 0.0 else "loses"
        text += f"; {side} {money(abs(self.net_savings))} in today’s money over the study period"
        if self.discounted_payback is not None and self.net_savings < 0.0:
            text += f", because {self.against} is then worth more"
        alike = abs(self.dew_point_difference) <= ALIKE
        return text if alike else f"{text}; not equally dry by dew point"


@attrs.frozen(kw_only=True)
class BreakEven:
    """First cost, price and usage at which one option becomes as cheap as another.

    A measure without such a value is None, and `words` gives the reason.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="05-01", end="05-02")
    >>> cost = ms.economics(study.run(progress=False), demo.purchases, demo.terms)
    >>> turn = cost.break_even("Stand-alone dehumidifier", "Staged compressor with strip reheat")
    >>> sorted(turn.words)
    ['electricity_price', 'first_cost', 'usage']
    """

    option: str
    against: str
    first_cost: float | None
    """First cost before rebate, USD, below which the option is the better buy."""
    electricity_price: float | None
    """Price of the kWh in which the two differ, USD/kWh of year 0. Both bills change in proportion."""
    usage: float | None
    """Energy use over that of now, for both options: 0.5 means half the energy."""
    words: dict[str, str]
    """Sentence by measure: the side on which the option is the better buy, or why there is none."""


def weigh(
    option: str,
    against: str,
    purchases: Mapping[str, Purchase],
    energy: Mapping[str, YearlyEnergy],
    terms: Terms,
    dew_points: Mapping[str, float],
) -> Pair:
    """Compare one option with another.

    Parameters
    ----------
    option, against : str
    purchases : dict of Purchase
    energy : dict of YearlyEnergy
    terms : Terms
    dew_points : dict of float
        Mean indoor dew points, degC.
    """
    own, base = (
        cash_flow(kept(name, terms), purchases, energy, terms) for name in (option, against)
    )
    # Savings of the option: an investment is negative.
    bought, in_use, factors = base.purchase - own.purchase, base.in_use - own.in_use, own.factors
    extra = purchases[option].paid - purchases[against].paid
    saving = energy[against].cost - energy[option].cost
    saving += purchases[against].maintenance - purchases[option].maintenance
    words: dict[str, str] = {}
    simple = discounted = None
    if extra > 0.0 and saving >= _HALF_A_CENT:
        simple = extra / saving
        discounted = payback((bought + in_use) * factors)
        if discounted is None:
            words["discounted_payback"] = f"not within the {terms.years:.0f} years studied"
    elif extra <= 0.0:
        words["simple_payback"] = (
            "nothing to pay back" if saving >= 0.0 else "no payback: more expensive to run"
        )
    else:
        words["simple_payback"] = "saves nothing: no payback"
    if simple is None:
        words["discounted_payback"] = words["simple_payback"]
    invested = -float((bought + base.residual - own.residual) @ factors)
    # Less than a cent is rounding, and a ratio to it would be endless.
    invested = 0.0 if abs(invested) < 0.01 else invested
    worth = float(in_use @ factors)
    ratio = adjusted = None
    if invested > 0.0:
        ratio = worth / invested
        if ratio > 0.0:
            adjusted = (1.0 + terms.discount_rate) * ratio ** (1.0 / terms.years) - 1.0
        else:
            words["adjusted_internal_rate"] = "saves nothing: no return"
    else:
        words["savings_to_investment"] = "no extra investment"
        words["adjusted_internal_rate"] = words["savings_to_investment"]
    # Without savings, a residual value alone would have a meaningless rate.
    rates = internal_rates(base.total - own.total) if invested > 0.0 < worth else ()
    if len(rates) != 1:
        words["internal_rate"] = (
            "no extra investment"
            if invested <= 0.0
            else "saves nothing: no return"
            if worth <= 0.0
            else f"no unique rate: {len(rates)} rates fit"
            if rates
            else "no rate: the investment is not recovered"
        )
    return Pair(
        option=option,
        against=against,
        extra_first_cost=extra,
        yearly_saving=saving,
        net_savings=base.present_value - own.present_value,
        simple_payback=simple,
        discounted_payback=discounted,
        savings_to_investment=ratio,
        adjusted_internal_rate=adjusted,
        internal_rate=rates[0] if len(rates) == 1 else None,
        words=words,
        dew_point_difference=dew_points[option] - dew_points[against],
        life=purchases[option].life,
        years=terms.years,
    )


def break_even(
    option: str,
    against: str,
    purchases: Mapping[str, Purchase],
    energy: Mapping[str, YearlyEnergy],
    terms: Terms,
) -> BreakEven:
    """First cost, electricity price and usage at which two options cost the same.

    Life-cycle cost is linear in each of them, so each takes one division.

    Parameters
    ----------
    option, against, purchases, energy, terms
        As for `weigh`.
    """

    def costs(name: str, **changes: float) -> CashFlow:
        bought = {name: attrs.evolve(cast(Any, purchases[name]), **changes)}
        return cash_flow(kept(name, terms), bought, energy, terms)

    own, base = costs(option), costs(against)
    savings = base.present_value - own.present_value
    cheaper = option if savings > 0.0 else against
    words: dict[str, str] = {}

    now, rebate = purchases[option].first_cost, purchases[option].rebate
    slope = (costs(option, first_cost=now + 1000.0).present_value - own.present_value) / 1000.0
    # At a discount rate far below zero anything that keeps its value pays.
    first_cost: float | None = now + savings / slope if slope > 0.0 else None
    if first_cost is not None and first_cost >= rebate:
        words["first_cost"] = f"the better buy below {money(first_cost)}"
    else:
        first_cost = None
        words["first_cost"] = (
            "at no first cost: more expensive over the years even as a gift"
            if slope > 0.0
            else "at any first cost: at this discount rate its residual value exceeds its cost"
        )

    electric = float((base.electricity - own.electricity) @ own.factors)
    gas = float((base.gas - own.gas) @ own.factors)
    kwh = energy[against].kwh - energy[option].kwh
    per_kwh = (energy[against].electricity - energy[option].electricity) / kwh if kwh else 0.0
    price = _turn(savings, electric) if per_kwh > 0.0 else None
    if price is not None:
        price *= per_kwh
        side = "above" if electric > 0.0 else "below"
        words["electricity_price"] = (
            f"the better buy {side} {price:.3f} USD/kWh for the kWh in which the two differ, "
            f"now {per_kwh:.3f}"
        )
    else:
        words["electricity_price"] = f"at no electricity price: {cheaper!r} is always cheaper"
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


def _turn(savings: float, part: float) -> float | None:
    """Factor on a part of the savings that makes all savings zero."""
    times = 1.0 - savings / part if part else -1.0
    return times if times >= 0.0 else None
