"""Purchase of an option, loan, and the terms of a life-cycle comparison."""

from typing import Any, cast

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, part, quantity


def _whole(owner: Any, *names: str) -> None:
    """Refuse years that are not whole, because cash flows are yearly."""
    for name in names:
        value = getattr(owner, name)
        if value != round(value):
            raise InputError(f"{type(owner).__name__}.{name}", value, "a whole number of years")


@description
class Purchase(Evolving):
    """Costs of an option apart from energy, beyond those that all options share.

    All sums are at the prices of the day on which the study period begins.

    Examples
    --------
    >>> machine = Purchase(first_cost="1,450 USD", rebate="200 USD", life=10, maintenance="40 USD/year")
    >>> machine.paid, machine.replacement
    (1250.0, 1450.0)
    """

    first_cost: float = quantity(
        "USD",
        "first cost with installation, before any rebate; 0 for no purchase",
        at_least=0.0,
        at_most=1e7,
    )
    rebate: float = quantity(
        "USD", "one-time rebate on the first cost", default=0.0, at_least=0.0, at_most=1e7
    )
    life: float = quantity(
        "year", "life until replacement, whole years", default=12.0, at_least=1.0, at_most=100.0
    )
    replacement_cost: float | None = quantity(
        "USD",
        "price of each replacement; default: the first cost",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=1e7,
    )
    maintenance: float = quantity(
        "USD/year",
        "yearly maintenance: filters, cleaning, service",
        default=0.0,
        at_least=0.0,
        at_most=1e6,
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
class Loan(Evolving):
    """A loan for the first purchase, repaid in equal monthly payments.

    Examples
    --------
    >>> Loan(rate="6.5 %", term=5, down_payment="500 USD").months
    60
    """

    rate: float = quantity(
        "1/year",
        "nominal interest rate a year, as a lender quotes it; a twelfth of it applies each month",
        at_least=0.0,
        below=1.0,
    )
    term: float = quantity(
        "year", "years of payments, a whole number of months", above=0.0, at_most=40.0
    )
    down_payment: float = quantity(
        "USD", "part of the price paid at the start", default=0.0, at_least=0.0, at_most=1e7
    )

    def __attrs_post_init__(self) -> None:
        if self.months < 1 or abs(self.months - 12.0 * self.term) > 1.0e-6:
            raise InputError("Loan.term", f"{self.term:g} year", "a whole number of months")

    @property
    def months(self) -> int:
        """Number of monthly payments of the loan."""
        return round(12.0 * self.term)


def restated(rate: float, inflation: float, *, to: str) -> float:
    """Convert a real rate to a nominal one, or a nominal rate to a real one.

    Parameters
    ----------
    rate, inflation : float
        Rates a year.
    to : {"real", "nominal"}

    Notes
    -----
    1 + nominal = (1 + real)(1 + inflation): NIST Handbook 135, chapter 3 (from memory).
    """
    if to == "nominal":
        return (1.0 + rate) * (1.0 + inflation) - 1.0
    return (1.0 + rate) / (1.0 + inflation) - 1.0


def _own_rate(real: float) -> Any:
    """Default rate, real or nominal like the terms that hold it."""
    return attrs.Factory(
        lambda terms: restated(real, terms.inflation, to="nominal") if terms.nominal else real,
        takes_self=True,
    )


@description
class Terms(Evolving):
    """Study period, discount rate and escalation of a life-cycle comparison.

    Rates are all real or all nominal. With real rates, sums are in constant dollars of the day on
    which the study period begins. With nominal rates, sums are in dollars of their own year. Both
    give equal present values (`restated`). A loan's rate is always nominal.

    Examples
    --------
    >>> terms = Terms(years=12, discount_rate="4 %")
    >>> round(terms.restated("nominal").discount_rate, 4)
    0.0608
    """

    years: float = quantity(
        "year", "study period, whole years", default=10.0, at_least=1.0, at_most=60.0
    )
    rates: str = choice(
        "kind of discount rate and escalations: without (real) or with (nominal) inflation",
        "real",
        "nominal",
        default="real",
    )
    inflation: float = quantity(
        "1/year",
        "general inflation a year; it converts real rates to nominal ones",
        default="2 %",
        above=-0.5,
        below=1.0,
    )
    discount_rate: float = quantity(
        "1/year",
        "discount rate a year; default: 3 % real (our own round figure)",
        default=_own_rate(0.03),
        above=-0.5,
        below=1.0,
    )
    electricity_escalation: float = quantity(
        "1/year",
        "rise of the electricity price a year; default: general inflation",
        default=_own_rate(0.0),
        above=-0.5,
        below=1.0,
    )
    gas_escalation: float = quantity(
        "1/year",
        "rise of the gas price a year; default: general inflation",
        default=_own_rate(0.0),
        above=-0.5,
        below=1.0,
    )
    loan: Loan | None = part(
        Loan, "loan for the first purchase; default: no loan", default=None, optional=True
    )

    def __attrs_post_init__(self) -> None:
        _whole(self, "years")
        if self.loan is not None and self.loan.term > self.years:
            raise InputError(
                "Terms.loan",
                Problem(f"the loan's term is {self.loan.term:g} years"),
                f"at most the study period, {self.years:g} years",
            )

    @property
    def nominal(self) -> bool:
        """Whether rates are nominal."""
        return self.rates == "nominal"

    @property
    def growth(self) -> float:
        """Yearly rise of prices that follow general inflation, in these terms' own dollars."""
        return self.inflation if self.nominal else 0.0

    def restated(self, rates: str) -> "Terms":
        """Convert all rates of the terms to real or nominal.

        Parameters
        ----------
        rates : {"real", "nominal"}

        Raises
        ------
        InputError
            If `rates` is neither, or if a converted rate is outside the limits of `Terms`.
        """
        if rates == self.rates:
            return self
        names = ("discount_rate", "electricity_escalation", "gas_escalation")
        changed = {name: restated(getattr(self, name), self.inflation, to=rates) for name in names}
        other: Terms = attrs.evolve(cast(Any, self), rates=rates, **changed)
        return other
