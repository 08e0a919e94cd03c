"""Savings after an installation, from logs and from bills."""

from moistsim.savings.period import MeteredPeriod
from moistsim.savings.savings import Savings, savings

__all__ = [
    "MeteredPeriod",
    "Savings",
    "savings",
]
