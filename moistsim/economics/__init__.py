"""Life-cycle cost, payback and break-even prices of the options of a study."""

from moistsim.economics.life_cycle import Bridge, Economics, economics
from moistsim.economics.weighing import BreakEven, Pair, weigh

__all__ = [
    "BreakEven",
    "Bridge",
    "Economics",
    "Pair",
    "economics",
    "weigh",
]
