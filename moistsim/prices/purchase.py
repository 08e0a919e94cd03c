"""What an option costs to buy and keep, and the terms on which years are compared."""

from typing import Any, cast

import attrs

from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, part, quantity


def _whole(owner: Any, *names: str) -> None:
    """Refuse years that are not whole: cash flows are by the year."""
    for name in names:
        value = getattr(owner, name)
        if value != round(value):
            raise InputError(f"{type(owner).__name__}.{name}", value, "a whole number of years")


@description
class Purchase:
    """What an option costs to buy and keep, energy apart, beyond what all options share.

    All sums are at the prices of the day on which the study period begins.
    """

    first_cost: float = quantity(
        "USD", "price with installation, before any rebate; 0 if nothing is bought", at_least=0.0
    )
    rebate: float = quantity(
        "USD", "what is given back of the first cost, once", default=0.0, at_least=0.0
    )
    life: float = quantity(
        "year", "years after which it is replaced, whole", default=12.0, at_least=1.0, at_most=100.0
    )
    replacement_cost: float | None = quantity(
        "USD",
        "price of each replacement; the first cost if left out",
        default=None,
        at_least=0.0,
        optional=True,
    )
    maintenance: float = quantity(
        "USD/year", "filters, cleaning, service", default=0.0, at_least=0.0
    )

    def __attrs_post_init__(self) -> None:
        _whole(self, "life")
        if self.rebate > self.first_cost:
            raise InputError(
                "Purchase.rebate",
                f"{self.rebate:,.2f} USD",
                f"at most the first cost, {self.first_cost:,.2f} USD",
            )

    @property
    def paid(self) -> float:
        """First cost less rebate, USD."""
        return self.first_cost - self.rebate

    @property
    def replacement(self) -> float:
        """Price of each replacement, USD."""
        return self.first_cost if self.replacement_cost is None else self.replacement_cost


@description
class Loan:
    """A loan for the first purchase, paid back in equal monthly payments."""

    rate: float = quantity(
        "1/year",
        "yearly rate as a lender quotes it: nominal, a twelfth of it a month",
        at_least=0.0,
        below=1.0,
    )
    term: float = quantity("year", "years of payments, in whole months", above=0.0, at_most=40.0)
    down_payment: float = quantity(
        "USD", "part of the price that is paid at once", default=0.0, at_least=0.0
    )

    def __attrs_post_init__(self) -> None:
        if self.months < 1 or abs(self.months - 12.0 * self.term) > 1.0e-6:
            raise InputError("Loan.term", f"{self.term:g} year", "a whole number of months")

    @property
    def months(self) -> int:
        """Number of payments."""
        return round(12.0 * self.term)


def restated(rate: float, inflation: float, *, to: str) -> float:
    """A real rate as the nominal one, or the other way about.

    Parameters
    ----------
    rate, inflation : float
        A year.
    to : {"real", "nominal"}

    Notes
    -----
    1 + nominal = (1 + real)(1 + inflation): NIST Handbook 135, chapter 3 (from memory).
    """
    if to == "nominal":
        return (1.0 + rate) * (1.0 + inflation) - 1.0
    return (1.0 + rate) / (1.0 + inflation) - 1.0


def _own_rate(real: float) -> Any:
    """Default of a rate, in the convention of the terms that hold it."""
    return attrs.Factory(
        lambda terms: restated(real, terms.inflation, to="nominal") if terms.nominal else real,
        takes_self=True,
    )


@description
class Terms:
    """Over how many years costs are added up, and what a dollar of a later year counts.

    Either all rates are real, and every sum is in constant dollars of the day on which the study
    period begins, or all are nominal, and every sum is in dollars of its own year. The two are
    never mixed; both give the same present values (`restated`). A loan's rate is always nominal.
    """

    years: float = quantity(
        "year", "study period, whole years", default=10.0, at_least=1.0, at_most=60.0
    )
    rates: str = choice(
        "whether discount rate and escalations are without or with general inflation",
        "real",
        "nominal",
        default="real",
    )
    inflation: float = quantity(
        "1/year",
        "rise of prices in general; turns real rates into nominal ones",
        default="2 %",
        above=-0.5,
        below=1.0,
    )
    discount_rate: float = quantity(
        "1/year",
        "what money earns elsewhere; 3 % real if left out",
        default=_own_rate(0.03),
        above=-0.5,
        below=1.0,
    )
    electricity_escalation: float = quantity(
        "1/year",
        "rise of the price of electricity; as prices in general if left out",
        default=_own_rate(0.0),
        above=-0.5,
        below=1.0,
    )
    gas_escalation: float = quantity(
        "1/year",
        "rise of the price of gas; as prices in general if left out",
        default=_own_rate(0.0),
        above=-0.5,
        below=1.0,
    )
    loan: Loan | None = part(
        Loan, "how the first purchase is financed", default=None, optional=True
    )

    def __attrs_post_init__(self) -> None:
        _whole(self, "years")
        if self.loan is not None and self.loan.term > self.years:
            raise InputError(
                "Terms.loan",
                Problem(f"a term of {self.loan.term:g} years"),
                f"at most the study period, {self.years:g} years",
            )

    @property
    def nominal(self) -> bool:
        """Whether rates are nominal."""
        return self.rates == "nominal"

    @property
    def growth(self) -> float:
        """Rise a year of what keeps pace with prices in general, in these terms' own dollars."""
        return self.inflation if self.nominal else 0.0

    def restated(self, rates: str) -> "Terms":
        """The same terms with all rates in the other convention.

        Parameters
        ----------
        rates : {"real", "nominal"}

        Raises
        ------
        InputError
            If `rates` is neither, or a rate leaves what `Terms` takes.
        """
        if rates == self.rates:
            return self
        names = ("discount_rate", "electricity_escalation", "gas_escalation")
        changed = {name: restated(getattr(self, name), self.inflation, to=rates) for name in names}
        other: Terms = attrs.evolve(cast(Any, self), rates=rates, **changed)
        return other
