"""How big: loads at design and on the worst mild day, what dries them, and what more would help.

`figures.sizing_figure` draws it, and `words.lines` says it.
"""

from moistsim.sizing.answer import Sizing, size
from moistsim.sizing.conditions import HOT, HUMID, MILD
from moistsim.sizing.words import CAUTIONS, lines

__all__ = [
    "CAUTIONS",
    "HOT",
    "HUMID",
    "MILD",
    "Sizing",
    "lines",
    "size",
]
