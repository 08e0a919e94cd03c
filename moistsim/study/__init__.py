"""Options for one house: compared, matched, tuned, and with faults."""

from moistsim.study.at_goal import MARGIN, SAME, AtGoal, OptionAtGoal, bring_to_goal, warmer_room
from moistsim.study.comfort import Comfort, comfort_of
from moistsim.study.extra_water import (
    EXTRA_WATER,
    FROM_MATERIALS,
    LEAST,
    PER_LITER,
    TOTAL,
    least_work_of,
)
from moistsim.study.fault_table import fault_table
from moistsim.study.goal import MARKS, Goal
from moistsim.study.house_words import house_words
from moistsim.study.machine_words import machine_words
from moistsim.study.main_machine import MACHINES, main_machine
from moistsim.study.matching import Matched, match_option
from moistsim.study.study import ALIKE, Comparison, Option, Study
from moistsim.study.three_ways import WAYS, ThreeWays
from moistsim.study.tuning import Tuned, shown_unit, tune

__all__ = [
    "ALIKE",
    "AtGoal",
    "Comfort",
    "Comparison",
    "EXTRA_WATER",
    "FROM_MATERIALS",
    "Goal",
    "LEAST",
    "MACHINES",
    "MARGIN",
    "MARKS",
    "Matched",
    "Option",
    "OptionAtGoal",
    "PER_LITER",
    "SAME",
    "Study",
    "TOTAL",
    "ThreeWays",
    "Tuned",
    "WAYS",
    "bring_to_goal",
    "comfort_of",
    "fault_table",
    "house_words",
    "least_work_of",
    "machine_words",
    "main_machine",
    "match_option",
    "shown_unit",
    "tune",
    "warmer_room",
]
