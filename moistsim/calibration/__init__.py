"""Descriptions fitted to the log of a house, with what the log cannot tell."""

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
    "bias",
    "by_period",
    "coverage",
    "cv_rmse",
    "nmbe",
    "r_squared",
    "rmse",
    "skill",
]
