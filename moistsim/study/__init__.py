"""Options for one house: compared, matched, tuned, and with faults."""

from moistsim.study.fault_table import fault_table
from moistsim.study.matching import Matched, match_option
from moistsim.study.study import ALIKE, Comparison, Study, Units
from moistsim.study.tuning import Tuned, shown_unit, tune

__all__ = [
    "ALIKE",
    "Comparison",
    "Matched",
    "Study",
    "Tuned",
    "Units",
    "fault_table",
    "match_option",
    "shown_unit",
    "tune",
]
