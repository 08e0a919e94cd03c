"""The advice: of the options that keep the owner's goal and hold their setpoints, the cheapest."""

from collections.abc import Callable
from functools import cached_property

import attrs

from moistsim.core.display import Units
from moistsim.core.errors import InputError, Problem
from moistsim.core.summary import short
from moistsim.cures import Cures, Proposal
from moistsim.economics import Economics, Pair
from moistsim.risk import CRITERION, Damp
from moistsim.season import Season
from moistsim.study import AtGoal, Comparison, ThreeWays, main_machine

LITTLE = 0.1
"""Share of the humid hours below which fewer of them are not worth a sentence."""


@attrs.frozen(eq=False)
class Advice:
    """What to do in a house, and why: `advise` makes it.

    The order is that of a consultant: first what costs nothing or little, then the options and the
    smallest machines on top of it, each at the settings that keep the owner's goal.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> advice = ms.advise(study, demo.purchases, demo.terms, progress=False)
    >>> advice.best in advice.at_goal.options
    True
    """

    as_set: Comparison
    """The study as given."""
    cures: Cures
    """Free and low-cost cures; those that are kept are in all options of `at_goal`."""
    proposals: tuple[Proposal, ...]
    """The smallest machines that keep the goal, among the options of `at_goal`."""
    at_goal: AtGoal
    """Options and proposals with the kept cures, each at the owner's goal."""
    bought: Economics | None
    """Economics of the options at the goal; None without described purchases."""
    mold: float
    """Highest mold index on the coldest indoor surfaces, with the base option as set."""
    damp_as_set: dict[str, tuple[Damp, ...]]
    """Spaces with damp wood, of each option as set."""
    damp: dict[str, tuple[Damp, ...]]
    """Spaces with damp wood, of each option at the goal."""

    def __repr__(self) -> str:
        return short(self, [self.best])

    @property
    def base(self) -> str:
        """The option that the others are compared with, usually the present one."""
        return self.as_set.base

    @property
    def comparison(self) -> Comparison:
        """The options as compared: at the goal, with the kept cures."""
        return self.at_goal.comparison

    @property
    def most_hours(self) -> float:
        """Humid hours that the goal allows in the hours that were run."""
        return self.at_goal.most_hours

    def hours_as_set(self, option: str) -> float:
        """Humid hours of an option as given, without cures."""
        return self.as_set.study.goal.humid_hours(self.as_set.seasons[option])

    def hours(self, option: str) -> float:
        """Humid hours of an option as advised: with the cures, at the goal."""
        return self.at_goal.options[option].hours

    @property
    def is_humid(self) -> bool:
        """Whether the base option as set breaks the goal, or mold could start with it."""
        return self.hours_as_set(self.base) > self.most_hours or self.mold >= 1.0

    @property
    def is_moldy(self) -> bool:
        """Whether visible mold could grow with the base option as set."""
        return self.mold >= CRITERION

    @cached_property
    def fit(self) -> tuple[str, ...]:
        """Options that keep the goal and their setpoints, the cheapest first.

        Their rooms are no colder than the base option's, and neither too warm nor too cold for their
        own setpoints; see `study.comfort`.
        """
        found = [name for name, x in self.at_goal.options.items() if x.fits]
        return tuple(sorted(found, key=self.cost))

    @cached_property
    def uncomfortable(self) -> tuple[str, ...]:
        """Options that do not hold their setpoints, in the order of the study."""
        return tuple(name for name, x in self.at_goal.options.items() if not x.comfort.holds)

    @property
    def most_comfort(self) -> float:
        """Hours too warm, or too cold, that are allowed in the hours that were run."""
        return self.at_goal.options[self.base].comfort.most

    @property
    def would_win(self) -> tuple[str, ...]:
        """Options whose only fault is that they do not hold their setpoints, cheaper than the advice."""
        found = self.at_goal.options
        return tuple(
            name
            for name in sorted(self.uncomfortable, key=self.cost)
            if name != self.best
            and found[name].meets
            and found[name].comparable
            and self.cost(name) < self.cost(self.best)
        )

    @cached_property
    def best(self) -> str:
        """The cheapest of the options that are `fit`; if none is, the one nearest to it.

        One that holds its setpoints is nearer than any that does not. Where the house is not humid, this is the base option, unless another costs less.
        """
        if self.fit:
            return self.fit[0]
        alike = {name: x for name, x in self.at_goal.options.items() if x.comparable}
        held = [name for name, x in alike.items() if x.comfort.holds]

        def distance(name: str) -> tuple[float, float]:
            if held:
                return self.hours(name), self.cost(name)
            humid = max(self.hours(name) - self.most_hours, 0.0)
            return humid + alike[name].comfort.beyond, self.cost(name)

        return min(held or alike, key=distance)

    @property
    def ends_complaint(self) -> bool:
        """Whether the advised option keeps the goal and holds its setpoints."""
        return self.best in self.fit

    @property
    def rival(self) -> str | None:
        """The next cheapest option that keeps the goal, with another machine where there is one.

        None without another such option.
        """
        others = [name for name in self.fit if name != self.best]
        machine = main_machine(self.season(self.best))
        differ = [name for name in others if main_machine(self.season(name)) != machine]
        return next(iter((*differ, *others)), None)

    @property
    def proposed(self) -> Proposal | None:
        """The proposal that is advised; None if the advice is an option of the study."""
        return next((x for x in self.proposals if x.name == self.best), None)

    @property
    def helpful(self) -> tuple[str, ...]:
        """Options that miss the goal but help for less money than the advised one, cheapest first."""
        if not self.is_humid or not self.ends_complaint:
            return ()
        before = self.hours_as_set(self.base)
        found = [
            name
            for name, x in self.at_goal.options.items()
            if not x.meets
            and x.comparable
            and x.comfort.holds
            and before - self.hours(name) >= max(LITTLE * before, 1.0)
            and self.cost(name) < self.cost(self.best)
        ]
        return tuple(sorted(found, key=self.cost))

    @cached_property
    def cost(self) -> Callable[[str], float]:
        """Cost over the years, present USD, with described purchases; else energy of the season."""
        if self.bought is not None:
            return self.bought.life_cycle_cost
        return self.energy

    def energy(self, option: str) -> float:
        """Cost of an option's energy over the season as advised, USD."""
        return self.comparison.study.bill(self.season(option)).unrounded

    def energy_as_set(self, option: str) -> float:
        """Cost of an option's energy over the season as given, USD."""
        return self.as_set.study.bill(self.as_set.seasons[option]).unrounded

    @property
    def best_for_wood(self) -> str | None:
        """The cheapest option that leaves no wood damp: of those that are fit, or else of all.

        Of all, those come first that hold their setpoints. None without such an option.
        """
        others = sorted(
            self.at_goal.options, key=lambda name: (name in self.uncomfortable, self.cost(name))
        )
        return next((name for name in (*self.fit, *others) if not self.damp.get(name)), None)

    def season(self, option: str) -> Season:
        """The season of an option as advised."""
        return self.comparison.seasons[option]

    @cached_property
    def repaid(self) -> Pair | None:
        """The advised option against one that does as well, costs less to buy and more to run.

        Of several such options, the cheapest to buy. None without such an option.
        """
        if self.bought is None or not self.ends_complaint:
            return None
        pairs = [self.bought.pair(self.best, other) for other in self.fit if other != self.best]
        found = [pair for pair in pairs if pair.simple_payback is not None]
        return min(found, key=lambda it: -it.extra_first_cost, default=None)

    def settings_words(self, option: str, units: Units | None = None) -> str:
        """Where the settings of an option at the goal come from, in words for its sheet.

        Raises
        ------
        InputError
            If there is no such option.
        """
        moved = self.at_goal.moved_words(option, units)
        text = f"for the owner's goal, {self.as_set.study.goal.words}"
        text += "; nothing was moved" if moved == "nothing" else f"; moved: {moved}"
        if self.cures.kept:
            text += "; with the free and low-cost cures: " + ", ".join(
                x.name for x in self.cures.kept
            )
        return text

    @property
    def asked(self) -> tuple[str, str]:
        """The two options between which the decision lies: that with the higher first cost first.

        They are the advised option and its rival; without a rival, the base option or any other.

        Raises
        ------
        InputError
            If there is only one option.
        """
        others = [self.rival, self.base, *self.at_goal.options]
        other = next((x for x in others if x is not None and x != self.best), None)
        if other is None:
            raise InputError("Advice.asked", Problem("only one option"), "two or more")
        pair = (self.best, other)
        if self.bought is not None:
            first = {name: self.bought.purchases[name].paid for name in pair}
            pair = (max(pair, key=first.__getitem__), min(pair, key=first.__getitem__))
            if pair[0] == pair[1]:
                pair = (self.best, other)
        return pair

    def three_ways(self) -> ThreeWays:
        """The options with the kept cures as set, at the goal, and at one dew point."""
        as_set = self.at_goal.as_set
        return ThreeWays(self.at_goal, as_set.study.matched(as_set=as_set, progress=False))
