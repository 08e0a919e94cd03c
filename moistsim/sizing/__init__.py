"""How big: loads at design and on the worst mild day, what dries them, and what more would help.

`figures.sizing_figure` draws it, and `words.lines` says it.
"""

from moistsim.sizing.answer import Sizing, size

__all__ = ["Sizing", "size"]
