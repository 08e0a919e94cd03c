"""Cash flow by year, for one option or for several options in turn.

Payments fall at the end of their year, as in NIST Handbook 135 (from memory). Year 0 is the day on
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
"""One number for each year, from year 0."""


class Stay(NamedTuple):
    """An option, and the number of years for which it is kept.

    Examples
    --------
    >>> Stay("portable dehumidifier", 3)
    Stay(option='portable dehumidifier', years=3)
    """

    option: str
    years: int


Plan = Sequence[Stay]
"""Options in turn through the study period; an option kept for 0 years is not bought."""


class YearlyEnergy(NamedTuple):
    """Energy use and energy cost of an option in a year, at the prices of year 0."""

    kwh: float
    """Electricity use in a year, kWh."""
    electricity: float
    """Cost of electricity in a year, USD."""
    gas: float
    """Cost of gas in a year, USD."""

    @property
    def cost(self) -> float:
        """Cost of electricity and gas together, USD."""
        return self.electricity + self.gas


@attrs.frozen(eq=False)
class CashFlow:
    """Cash flow by year, in the dollars of the terms, USD; each array has shape (years + 1,)."""

    terms: Terms
    purchase: Years
    """Purchases less rebates; a replacement falls at the end of the last year of a life."""
    residual: Years
    """Residual value at the end, as a negative cost: the straight-line rest of the last price. A
    machine that another one replaces has no residual value."""
    maintenance: Years
    electricity: Years
    gas: Years

    @property
    def in_use(self) -> Years:
        """Maintenance and energy together, USD."""
        return self.maintenance + self.electricity + self.gas

    @property
    def total(self) -> Years:
        """Sum of all costs, USD."""
        return self.purchase + self.residual + self.in_use

    @property
    def spent(self) -> Years:
        """Running sum of costs without the residual value, USD."""
        return np.cumsum(self.purchase + self.in_use)

    @cached_property
    def factors(self) -> Years:
        """Present value of 1 USD in each year."""
        factors: Years = single_present_value(
            self.terms.discount_rate, np.arange(len(self.purchase))
        )
        return factors

    @property
    def present_value(self) -> float:
        """Present value of all costs, USD: the life-cycle cost."""
        return float(self.total @ self.factors)

    def table(self) -> pd.DataFrame:
        """Return all costs by `year` from 0, with `present_value_USD` of each year's total."""
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
    """Return the cash flow of a plan by year.

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
    """Return the plan that keeps one option through the study period."""
    return (Stay(option, int(terms.years)),)
