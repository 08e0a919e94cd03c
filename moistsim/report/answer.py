"""The answer in three lines, for screen and page: what to do, what it costs, how sure."""

from collections.abc import Iterator
from statistics import NormalDist
from typing import NamedTuple

import pandas as pd

from moistsim.core.display import Show, count, money, number
from moistsim.report.sentences import (
    difference,
    leaves_damp,
    left_above,
    over_years,
    quoted,
    set_to,
    span,
)
from moistsim.report.verdict import NEAR, Verdict
from moistsim.uncertainty import Certainty, per_cent

_SURE = 95
"""Highest chance, percent, that an error budget with our own round numbers can support."""

CLOSE = 0.4
"""Difference over its error below which it is too close to call: a chance of two in three. Our own choice."""


class Answer(NamedTuple):
    """The answer to a study, one or more sentences for each question."""

    do: str
    costs: str
    sure: str

    @property
    def lines(self) -> Iterator[tuple[str, str]]:
        """Each line with its label."""
        return zip(("What to do", "What it costs", "How sure"), self, strict=True)


def answer(
    it: Verdict,
    budget: pd.DataFrame | None = None,
    certainty: Certainty | None = None,
    *,
    show: Show,
) -> Answer:
    """Put a verdict in three lines.

    Parameters
    ----------
    it : Verdict
    budget : DataFrame, optional
        The result of `error_budget`.
    certainty : Certainty, optional
        The result of `how_sure`.
    show : Show
        The reader's units.
    """
    return Answer(_do(it, show), _costs(it, show), _sure(it, budget, certainty))


def _do(it: Verdict, show: Show) -> str:
    best, season = it.best, span(it.as_set, show)
    before = it.humid_hours(it.as_set, it.base)
    if it.matched is None:
        text = f"This study has only one option, {quoted(best)}, so there is nothing to choose."
        return (
            f"{text} Relative humidity is above 60 % for {left_above(before)} ({season})."
            f"{leaves_damp(it, best)}"
        )
    after = it.humid_hours(it.comparison, best)
    if best == it.base:
        return (
            f"Keep {quoted(best)}. Relative humidity is above 60 % for {left_above(after)} ({season}). "
            f"No other option does as well for less money.{leaves_damp(it, best)}"
        )
    text = f"Choose {quoted(best)}{set_to(it, show)}."
    if before >= NEAR:
        text += (
            f" Relative humidity is then above 60 % for {left_above(after)} instead of "
            f"{number(before)} ({season})."
        )
    elif it.is_humid:
        text += f" With {quoted(it.base)}, mold could start on the coldest indoor surfaces."
    else:
        text += f" It keeps the house below 60 % relative humidity, as {quoted(it.base)} does."
    if len(it.fit) > 1:
        text += f" Of {len(it.fit)} options that do as well, it costs the least."
    else:
        text += " No other option does as well."
    return text + leaves_damp(it, best)


def _costs(it: Verdict, show: Show) -> str:
    best, season = it.best, span(it.as_set, show)
    rival = it.fit[1] if len(it.fit) > 1 else None
    if it.bought is None:
        text = f"It costs {money(it.cost(best))} for energy ({season})"
        if best != it.base:
            more = it.cost(best) - it.cost(it.base)
            side = "more" if more >= 0.0 else "less"
            text += f", {money(abs(more))} {side} than {quoted(it.base)}"
        return f"{text}. The scenario gives no purchase prices."
    text = ""
    if best != it.base:
        pair = it.bought.pair(best, it.base)
        text = f"It {difference(pair)}, compared with {quoted(it.base)}. "
    text += f"{over_years(it).capitalize()} it costs {money(it.cost(best))} in today’s money"
    if rival is not None:
        text += f", {money(it.cost(rival) - it.cost(best))} less than {quoted(rival)}"
    return f"{text}."


def _sure(it: Verdict, budget: pd.DataFrame | None, certainty: Certainty | None) -> str:
    if budget is None:
        if it.matched is None:
            return "Not calculated, because the study has only one option."
        if it.bought is None:
            return "Not calculated, because the scenario gives no purchase prices."
        return "Not calculated."
    option, against = budget.attrs["option"], budget.attrs["against"]
    if certainty is not None:
        cases = count(len(certainty.counted), "case")
        text = (
            f"{quoted(option)} pays back within its life, compared with {quoted(against)}, in "
            f"{per_cent(certainty.probability)} of {cases}."
        )
    else:
        saved = float(budget.attrs["net_savings_USD"])
        error = float(budget["net_savings_USD"].astype(float)["together"])
        if saved < 0.0:
            option, against, saved = against, option, -saved
        amount = f"{number(saved)} ± {number(error)} USD"
        if against == it.best and option not in it.fit:
            return (
                f"{quoted(against)} costs {amount} more {over_years(it)} than {quoted(option)}, which does "
                f"not keep the house as dry (both as set). {_doubt(budget)}"
            )
        if saved < CLOSE * error:
            return (
                f"Too close to call: {quoted(option)} costs {amount} less {over_years(it)} than "
                f"{quoted(against)}, both as set. {_doubt(budget)}"
            )
        chance = 100.0 * NormalDist().cdf(saved / error) if error > 0.0 else 100.0
        chance = 5.0 * round(chance / 5.0)
        likely = f"more than {_SURE}" if chance >= _SURE else f"about {chance:.0f}"
        text = (
            f"The chance is {likely} % that {quoted(option)} costs less {over_years(it)} than "
            f"{quoted(against)}: {amount}, both as set."
        )
    if it.best not in (option, against):
        text += " Both are more or less dry than the option advised."
    return f"{text} {_doubt(budget)}"


def _doubt(budget: pd.DataFrame) -> str:
    """The source with the largest error."""
    largest = budget["net_savings_USD"].drop("together").astype(float).idxmax()
    return f"Most of the doubt: {largest}."
