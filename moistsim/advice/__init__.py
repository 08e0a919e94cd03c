"""What to do in a humid house: the cheapest of the options that keep the owner's goal."""

from moistsim.advice.advice import Advice
from moistsim.advice.advise import advise
from moistsim.advice.damp import WET_WEEK, Damp, damp_wood

__all__ = [
    "Advice",
    "Damp",
    "WET_WEEK",
    "advise",
    "damp_wood",
]
