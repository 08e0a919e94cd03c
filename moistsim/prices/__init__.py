"""Prices: tariffs and bills, emissions, purchases, and money by year."""

from moistsim.prices.billing import Bill, bill
from moistsim.prices.cash_flow import CashFlow, Plan, Stay, YearlyEnergy, cash_flow, kept
from moistsim.prices.discounting import (
    internal_rates,
    level_payment,
    payback,
    uniform_present_value,
)
from moistsim.prices.emissions import Emissions
from moistsim.prices.hourly_profile import HourlyProfile
from moistsim.prices.purchase import Loan, Purchase, Terms
from moistsim.prices.rates import DemandCharge, RatePeriod, RateSeason, RateTier
from moistsim.prices.tariff import Tariff

__all__ = [
    "Bill",
    "CashFlow",
    "DemandCharge",
    "Emissions",
    "HourlyProfile",
    "Loan",
    "Plan",
    "Purchase",
    "RatePeriod",
    "RateSeason",
    "RateTier",
    "Stay",
    "Tariff",
    "Terms",
    "YearlyEnergy",
    "bill",
    "cash_flow",
    "internal_rates",
    "kept",
    "level_payment",
    "payback",
    "uniform_present_value",
]
