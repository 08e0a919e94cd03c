"""Which option the page advises: the cheapest of those that keep the house as dry."""

from collections.abc import Callable
from functools import cached_property

import attrs

from moistsim.economics import Economics, Pair
from moistsim.risk import CRITERION
from moistsim.season import Season
from moistsim.study import Comparison, Matched

NEAR = 0.5
"""Hours, USD and years below which there is nothing to tell."""


@attrs.frozen(eq=False)
class Verdict:
    """What follows from a study; `words` says it."""

    as_set: Comparison
    matched: Matched | None
    """None of a single option."""
    bought: Economics | None
    """Of the options as matched; None where no purchases are described."""
    mold: dict[str, float]
    """Highest mold index of each option as set."""

    @property
    def base(self) -> str:
        """What is there, or what the others are compared with."""
        return self.as_set.base

    @property
    def comparison(self) -> Comparison:
        """The options as they are compared: at the same humidity, those that can."""
        return self.as_set if self.matched is None else self.matched.comparison

    @property
    def is_humid(self) -> bool:
        """Whether there is anything to dry, with the base as it is set."""
        return self._humid(self.as_set, self.base) or self.mold[self.base] >= 1.0

    @property
    def is_moldy(self) -> bool:
        """Whether mold could be seen with the base as it is set."""
        return self.mold[self.base] >= CRITERION

    def _humid(self, comparison: Comparison, option: str) -> bool:
        return self.humid_hours(comparison, option) >= NEAR

    @staticmethod
    def humid_hours(comparison: Comparison, option: str) -> float:
        """Hours above 60 percent relative humidity."""
        return float(comparison.seasons[option].meter.humidity["hours_over_60"])

    @cached_property
    def fit(self) -> tuple[str, ...]:
        """Options that do what is wanted, the cheapest first: those that hold the common humidity or,
        where the base is dry already, all that are never humid."""
        if self.matched is None:
            return (self.base,)
        fit = [
            name
            for name, it in self.matched.options.items()
            if (
                it.matched
                if self.is_humid
                else name == self.base or not self._humid(self.comparison, name)
            )
        ]
        return tuple(sorted(fit, key=self.cost))

    @cached_property
    def cost(self) -> Callable[[str], float]:
        """Over the years, present USD, where purchases are described; else for the season."""
        if self.bought is not None:
            return self.bought.life_cycle_cost
        return lambda name: self.comparison.study.bill(self.comparison.seasons[name]).unrounded

    @property
    def best(self) -> str:
        """The cheapest of those that are fit."""
        return self.fit[0]

    def season(self, option: str) -> Season:
        """As compared."""
        return self.comparison.seasons[option]

    @cached_property
    def repaid(self) -> Pair | None:
        """The best against one that does as well, costs less to buy and more to run, if there is
        one; of several, that which costs least to buy."""
        if self.bought is None:
            return None
        pairs = [self.bought.pair(self.best, other) for other in self.fit if other != self.best]
        found = [pair for pair in pairs if pair.simple_payback is not None]
        return min(found, key=lambda it: -it.extra_first_cost, default=None)
