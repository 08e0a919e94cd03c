"""Sensitivity of a sweep's results: deciding inputs, swings and break-even lines.

All functions read the frame of a sweep, which has one row for each case and option. Its columns are
`case`, the varied parameters, `option`, the results, and `status`: "ok" or the reason why a case has
no result. Cases without a result are left out and counted in ``attrs["left_out"]``. A comparison of
options reads only the cases that all of them finished, so all options are judged on the same houses.
"""

from moistsim.sensitivity.break_even import break_even
from moistsim.sensitivity.one_at_a_time import one_at_a_time_cases, tornado
from moistsim.sensitivity.quantiles import MOST_GROUPS, quantiles
from moistsim.sensitivity.saltelli import saltelli_cases
from moistsim.sensitivity.sampling import (
    DISTRIBUTIONS,
    Distribution,
    FromScipy,
    Normal,
    Range,
    Sample,
    Triangular,
    check_sample,
    distribution_of,
    in_si,
    log_uniform,
    normal,
    plus_minus,
    points,
    triangular,
    uniform,
)
from moistsim.sensitivity.sobol import sobol_from, sobol_indices

__all__ = [
    "DISTRIBUTIONS",
    "Distribution",
    "FromScipy",
    "MOST_GROUPS",
    "Normal",
    "Range",
    "Sample",
    "Triangular",
    "break_even",
    "check_sample",
    "distribution_of",
    "in_si",
    "log_uniform",
    "normal",
    "one_at_a_time_cases",
    "plus_minus",
    "points",
    "quantiles",
    "saltelli_cases",
    "sobol_from",
    "sobol_indices",
    "tornado",
    "triangular",
    "uniform",
]
