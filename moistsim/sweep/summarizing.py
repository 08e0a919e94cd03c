"""A sweep at a glance: its cases and what they vary."""

import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.core.display import Show, count, number
from moistsim.core.summary import Grid, Summary
from moistsim.sensitivity import DISTRIBUTIONS, FromScipy, Normal
from moistsim.sweep.varied import Varied

if TYPE_CHECKING:
    from moistsim.sweep.sweep import Sweep

MOST_VALUES = 6
"""Values of a list that are shown."""
UNBOUNDED = (Normal, FromScipy)
TAILS = (0.025, 0.975)
"""Quantiles that are shown of a distribution without ends."""


def sweep_summary(sweep: "Sweep", varied: Varied, show: Show) -> Summary:
    """Number of seasons, sample, and each varied name with its values."""
    options = sweep.base.options
    cases = _cases(sweep, varied)
    kept = " before keep" if sweep.keep is not None else ""
    facts = [
        ("Cases", f"{number(cases)}{kept}, {count(len(options), 'option')}: "
                  f"{count(cases * len(options), 'season')}"),
        ("Sample", _sample(sweep)),
        ("Base study", ", ".join(options)),
        ("Weather", sweep.base.weather.name),
    ]  # fmt: skip
    if sweep.metrics:
        facts.append(("Metrics", ", ".join(sweep.metrics)))
    rows = tuple((name, _values(varied, name, show)) for name in varied.parameters)
    table = Grid("Varied", ("Name", "Values"), rows)
    return Summary("Sweep", "", tuple(facts), (table,))


def _cases(sweep: "Sweep", varied: Varied) -> int:
    """Cases of a sweep before `keep`, without making them."""
    if isinstance(sweep.sample, pd.DataFrame):
        return len(sweep.sample)
    if sweep.sample == "grid":
        return math.prod(len(side) for side in varied.sides.values())
    return len(sweep.cases()) if sweep.sample == "saltelli" else int(sweep.n or 0)


def _sample(sweep: "Sweep") -> str:
    if isinstance(sweep.sample, pd.DataFrame):
        return "a frame of cases"
    words = sweep.sample.replace("_", " ")
    return words if sweep.sample == "grid" else f"{words}, n = {sweep.n}, seed {sweep.seed}"


def _values(varied: Varied, name: str, show: Show) -> str:
    side: Any = varied.sides.get(name)
    unit = varied.parameters[name].unit

    def text(value: Any) -> str:
        return show.field(value, unit, name.rpartition(".")[2])

    if isinstance(side, DISTRIBUTIONS):
        kind = type(side).__name__.lower().replace("fromscipy", "scipy.stats")
        if not isinstance(side, UNBOUNDED):
            return f"{kind}, {text(side.low)} to {text(side.high)}"
        return f"{kind}, 95 % from {' to '.join(text(side.at(quantile)) for quantile in TAILS)}"
    if side is None:
        return "by dependent"
    shown = [text(value) for value in side[:MOST_VALUES]]
    more = f" and {len(side) - MOST_VALUES} more" if len(side) > MOST_VALUES else ""
    return ", ".join(shown) + more
