"""What to do in a humid house: the cheapest of the options that keep the owner's goal."""

from moistsim.advice.advice import Advice
from moistsim.advice.advise import advise

__all__ = [
    "Advice",
    "advise",
]
