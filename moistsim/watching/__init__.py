"""A house's log compared each day with its fitted model."""

from moistsim.watching.chart import Chart, chart, limit
from moistsim.watching.keeping import Keeping, held
from moistsim.watching.suspects import Watched
from moistsim.watching.tomorrow import Tomorrow
from moistsim.watching.watch import Alarm, Watch, watch

__all__ = [
    "Alarm",
    "Chart",
    "Keeping",
    "Tomorrow",
    "Watch",
    "Watched",
    "chart",
    "held",
    "limit",
    "watch",
]
