"""Descriptions fitted to the log of a house, with what the log cannot tell."""

from moistsim.calibration.adjusted import OFFSET
from moistsim.calibration.calibrate import calibrate
from moistsim.calibration.carried import Fitted, carried
from moistsim.calibration.chaining import Chained
from moistsim.calibration.fit import Fit
from moistsim.calibration.following import tells_machines
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
from moistsim.calibration.identified import Identified
from moistsim.calibration.page import RATIO, page

__all__ = [
    "Chained",
    "Fit",
    "Fitted",
    "Identified",
    "OFFSET",
    "RATIO",
    "bias",
    "by_period",
    "calibrate",
    "carried",
    "coverage",
    "cv_rmse",
    "nmbe",
    "page",
    "r_squared",
    "rmse",
    "skill",
    "tells_machines",
]
