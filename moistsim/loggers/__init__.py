"""Logs of a measured house: reading and review."""

from moistsim.loggers.bills import Bills
from moistsim.loggers.findings import LogFinding, LogReview
from moistsim.loggers.log import HouseLog

__all__ = [
    "Bills",
    "HouseLog",
    "LogFinding",
    "LogReview",
]
