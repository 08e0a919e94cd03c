"""What is paid in each year, for one option or for several in turn.

Sums fall at the end of their year, as in NIST Handbook 135 (from memory); year 0 is the day on
which the study period begins.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.prices.discounting import single_present_value
from moistsim.prices.purchase import Purchase, Terms

Years = NDArray[np.float64]
"""One number a year, from year 0."""


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


@attrs.frozen(eq=False)
class CashFlow:
    """What is paid by year, in the dollars of the terms, USD; each of shape (years + 1,)."""

    terms: Terms
    purchase: Years
    """Less rebates; a replacement falls at the end of the last year of a life."""
    residual: Years
    """Not above zero: at the end, the straight-line rest of what was last paid; of a machine left
    behind for another, nothing."""
    maintenance: Years
    electricity: Years
    gas: Years

    @property
    def in_use(self) -> Years:
        """Maintenance and energy."""
        return self.maintenance + self.electricity + self.gas

    @property
    def total(self) -> Years:
        """All of them."""
        return self.purchase + self.residual + self.in_use

    @property
    def spent(self) -> Years:
        """Running sum without the residual value, which nobody pays out."""
        return np.cumsum(self.purchase + self.in_use)

    @cached_property
    def factors(self) -> Years:
        """Present worth of 1 USD of each year."""
        factors: Years = single_present_value(
            self.terms.discount_rate, np.arange(len(self.purchase))
        )
        return factors

    @property
    def present_value(self) -> float:
        """Of the total, USD: the life-cycle cost."""
        return float(self.total @ self.factors)

    def table(self) -> pd.DataFrame:
        """By `year`, from 0: all of these, `present_value_USD` of each year's total."""
        names = ("purchase", "residual", "maintenance", "electricity", "gas", "total", "spent")
        return pd.DataFrame(
            {f"{name}_USD": getattr(self, name) for name in names}
            | {"present_value_USD": self.total * self.factors},
            index=pd.RangeIndex(len(self.purchase), name="year"),
        )


def cash_flow(
    plan: Plan,
    purchases: Mapping[str, Purchase],
    energy: Mapping[str, YearlyEnergy],
    terms: Terms,
) -> CashFlow:
    """What a plan costs by year.

    Parameters
    ----------
    plan : sequence of Stay
        Years that add up to the study period.
    purchases : dict of Purchase
        By option.
    energy : dict of YearlyEnergy
        By option.
    terms : Terms
    """
    years = int(terms.years)
    assert sum(stay.years for stay in plan) == years
    purchase, residual, maintenance, electricity, gas = np.zeros((5, years + 1))
    begin = 0
    for option, length in plan:
        if length == 0:
            continue
        bought, end = purchases[option], begin + length
        life = int(bought.life)
        days = np.arange(begin, end, life)
        prices = np.r_[bought.paid, np.full(len(days) - 1, bought.replacement)]
        purchase[days] += prices
        if end == years:
            residual[years] -= prices[-1] * (1.0 - (end - days[-1]) / life)
        use = slice(begin + 1, end + 1)
        maintenance[use] = bought.maintenance
        electricity[use] = energy[option].electricity
        gas[use] = energy[option].gas
        begin = end
    t = np.arange(years + 1)
    prices_rise = (1.0 + terms.growth) ** t
    return CashFlow(
        terms,
        purchase * prices_rise,
        residual * prices_rise,
        maintenance * prices_rise,
        electricity * (1.0 + terms.electricity_escalation) ** t,
        gas * (1.0 + terms.gas_escalation) ** t,
    )


def kept(option: str, terms: Terms) -> Plan:
    """One option through the study period."""
    return (Stay(option, int(terms.years)),)
