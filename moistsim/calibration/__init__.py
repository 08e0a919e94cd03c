"""Descriptions fitted to the log of a house, with what the log cannot tell."""

from moistsim.calibration.carried import Fitted, carried
from moistsim.calibration.goodness import (
    bias,
    by_period,
    coverage,
    cv_rmse,
    nmbe,
    r_squared,
    rmse,
    skill,
)

__all__ = [
    "Fitted",
    "bias",
    "by_period",
    "carried",
    "coverage",
    "cv_rmse",
    "nmbe",
    "r_squared",
    "rmse",
    "skill",
]
