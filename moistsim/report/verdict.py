"""The recommended option: the cheapest of those that keep the house as dry."""

from collections.abc import Callable
from functools import cached_property
from typing import NamedTuple

import attrs

from moistsim.economics import Economics, Pair
from moistsim.engine import column_catalog
from moistsim.risk import CRITERION
from moistsim.season import Season
from moistsim.study import Comparison, Matched

NEAR = 0.5
"""Hours, USD and years below which a difference is not worth a sentence."""
WET_WEEK = 7
"""Days with wood above 20 percent moisture content, beyond which it counts as too wet. Our own choice."""
LITTLE = 0.1
"""Share of the humid hours below which fewer of them are not worth a sentence."""


class Damp(NamedTuple):
    """A space whose wood or board is too wet, or where visible mold could grow."""

    space: str
    """Name in words, such as "crawl space"."""
    mold_index: float
    wet_days: int
    """Days with wood above 20 percent moisture content."""
    wood: float | None
    """Highest moisture content of its wood, percent; None without wood."""


@attrs.frozen(eq=False)
class Verdict:
    """Conclusions of a study, which `report.sentences` puts into words."""

    as_set: Comparison
    matched: Matched | None
    """Options at equal humidity; None for a single option."""
    bought: Economics | None
    """Economics of the options as matched; None without described purchases."""
    mold: dict[str, float]
    """Highest mold index of each option as set."""
    damp: dict[str, tuple[Damp, ...]] = attrs.field(factory=dict)
    """Spaces with damp wood, of each option as set."""

    @property
    def base(self) -> str:
        """The option that the others are compared with, usually the present one."""
        return self.as_set.base

    @property
    def comparison(self) -> Comparison:
        """The options as compared: at equal humidity, where they can hold it."""
        return self.as_set if self.matched is None else self.matched.comparison

    @property
    def is_humid(self) -> bool:
        """Whether the house is humid with the base option as set."""
        return self._humid(self.as_set, self.base) or self.mold[self.base] >= 1.0

    @property
    def is_moldy(self) -> bool:
        """Whether visible mold could grow with the base option as set."""
        return self.mold[self.base] >= CRITERION

    def _humid(self, comparison: Comparison, option: str) -> bool:
        return self.humid_hours(comparison, option) >= NEAR

    @staticmethod
    def humid_hours(comparison: Comparison, option: str) -> float:
        """Hours above 60 percent relative humidity."""
        return comparison.seasons[option].meter.of(column_catalog.HOURS_OVER_60)

    @cached_property
    def fit(self) -> tuple[str, ...]:
        """Options that keep the house dry, the cheapest first.

        These are the options that hold the common humidity, or that are drier and cannot be made
        more humid. Where the base option is dry already, they are all options that are never humid.
        """
        if self.matched is None:
            return (self.base,)
        fit = [
            name
            for name, it in self.matched.options.items()
            if (
                it.dry_enough
                if self.is_humid
                else name == self.base or not self._humid(self.comparison, name)
            )
        ]
        return tuple(sorted(fit, key=self.cost))

    @property
    def helpful(self) -> tuple[str, ...]:
        """Options that leave the house more humid than the best one, but help for less money.

        They have fewer hours above 60 percent than the base option. The cheapest comes first.
        """
        if self.matched is None or not self.is_humid:
            return ()
        before = self.humid_hours(self.comparison, self.base)
        found = [
            name
            for name in self.matched.options
            if name not in (self.base, *self.fit)
            and before - self.humid_hours(self.comparison, name) >= max(NEAR, LITTLE * before)
            and self.cost(name) < self.cost(self.best)
        ]
        return tuple(sorted(found, key=self.cost))

    @cached_property
    def cost(self) -> Callable[[str], float]:
        """Cost over the years, present USD, with described purchases; else cost of the season."""
        if self.bought is not None:
            return self.bought.life_cycle_cost
        return lambda name: self.comparison.study.bill(self.comparison.seasons[name]).unrounded

    @property
    def best(self) -> str:
        """The cheapest of the options that keep the house dry."""
        return self.fit[0]

    @property
    def best_for_wood(self) -> str | None:
        """The cheapest option that leaves no wood damp: of those that keep the house dry, or else of all.

        None without such an option.
        """
        others = sorted(self.comparison.seasons, key=self.cost)
        return next((name for name in (*self.fit, *others) if not self.damp.get(name)), None)

    def season(self, option: str) -> Season:
        """The season of an option as compared."""
        return self.comparison.seasons[option]

    @cached_property
    def repaid(self) -> Pair | None:
        """The best option against one that does as well, costs less to buy and more to run.

        Of several such options, the cheapest to buy. None without such an option.
        """
        if self.bought is None:
            return None
        pairs = [self.bought.pair(self.best, other) for other in self.fit if other != self.best]
        found = [pair for pair in pairs if pair.simple_payback is not None]
        return min(found, key=lambda it: -it.extra_first_cost, default=None)
