"""Machine sizes: design loads, remaining moisture load, and the benefit of larger machines.

`figures.sizing_figure` draws a sizing, and `words.lines` writes it.
"""

from moistsim.sizing.answer import Sizing, size
from moistsim.sizing.conditions import HOT, HUMID, MILD
from moistsim.sizing.loads import loads
from moistsim.sizing.sweeps import of_size
from moistsim.sizing.words import CAUTIONS, RATINGS, lines, rating_words

__all__ = [
    "CAUTIONS",
    "HOT",
    "HUMID",
    "MILD",
    "RATINGS",
    "Sizing",
    "lines",
    "loads",
    "of_size",
    "rating_words",
    "size",
]
