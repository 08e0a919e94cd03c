"""What to do in a humid house: the cheapest of the options that keep the owner's goal."""

from moistsim.advice.advice import Advice
from moistsim.advice.advise import advise
from moistsim.advice.over_years import (
    HUMID,
    WHOLE_COST,
    OverYears,
    Range,
    over_years,
    years_in_words,
)

__all__ = [
    "Advice",
    "HUMID",
    "OverYears",
    "Range",
    "WHOLE_COST",
    "advise",
    "over_years",
    "years_in_words",
]
