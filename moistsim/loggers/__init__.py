"""Logs of a measured house: reading and review."""

from moistsim.loggers.log import HouseLog

__all__ = [
    "HouseLog",
]
