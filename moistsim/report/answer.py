"""The answer in three lines, for screen and page: what to do, what it costs, how sure."""

from statistics import NormalDist

import pandas as pd

from moistsim.advice import Advice, OverYears
from moistsim.core.display import Show, count, money, number
from moistsim.report.over_years import in_short
from moistsim.report.records import Answer
from moistsim.report.sentences import (
    NEAR,
    after_cures,
    both,
    cures,
    difference,
    discomfort,
    goal_words,
    leaves_damp,
    left_above,
    limit,
    misses,
    over_years,
    quoted,
    set_to,
    span,
)
from moistsim.uncertainty import Certainty, per_cent

_SURE = 95
"""Highest chance, percent, that an error budget with our own round numbers can support."""

CLOSE = 0.4
"""Difference over its error below which it is too close to call: a chance of two in three. Our own choice."""


def answer(
    it: Advice,
    budget: pd.DataFrame | None = None,
    certainty: Certainty | None = None,
    over: OverYears | None = None,
    *,
    show: Show,
) -> Answer:
    """Put advice in three lines.

    Parameters
    ----------
    it : Advice
    budget : DataFrame, optional
        The result of `error_budget`.
    certainty : Certainty, optional
        The result of `how_sure`.
    over : OverYears, optional
        The result of `over_years`.
    show : Show
        The reader's units.
    """
    sure = _sure(it, budget, certainty)
    if over is not None:
        sure += f" {in_short(over)}"
    return Answer(_do(it, show), _costs(it, show), sure)


def _do(it: Advice, show: Show) -> str:
    best, season, mark = it.best, span(it.as_set, show), limit(it)
    before, after = it.hours_as_set(it.base), it.hours(best)
    first = " ".join(cures(it, show))
    if first:
        first = f"First, at no or little cost: {first} "
    then = "Then choose" if first else "Choose"
    small = _too_small(it)
    if small:
        text = f"{small} Until then {quoted(best)}{set_to(it, show)} comes closest."
    elif not it.ends_complaint:
        kept = any(x.meets and x.comparable for x in it.at_goal.options.values())
        fails = "keeps the goal and holds its setpoints" if kept else "ends the complaint"
        text = f"{first}No option {fails}. {quoted(best)}{set_to(it, show)} comes closest."
    elif not it.is_humid:
        keep = "Keep" if best == it.base else "Choose"
        text = f"{first}{keep} {quoted(best)}: it keeps the goal, {goal_words(it)}."
    elif best == it.base:
        text = f"{first}Buy no machine." if first else f"Keep {quoted(best)}."
    else:
        text = f"{first}{then} {quoted(best)}{set_to(it, show)}."
    if before >= NEAR:
        text += (
            f" Relative humidity is then above {mark} for {left_above(after)} instead of "
            f"{number(before)} ({season})."
        )
    elif it.is_humid:
        text += f" With {quoted(it.base)}, mold could start on the coldest indoor surfaces."
    if it.rival is not None and best != it.base:
        text += f" Of {len(it.fit)} options that keep the goal{both(it, one=False)}, it costs the least."
    elif it.ends_complaint and best != it.base:
        text += f" No other option keeps the goal{both(it)}."
    if not small:
        text += "".join(f" {sentence}" for sentence in discomfort(it, show))
    return text + leaves_damp(it, best)


def _too_small(it: Advice) -> str:
    """What to do first where no option holds its setpoints; empty where one does."""
    every = [x.comfort for x in it.at_goal.options.values()]
    for machine, state, failing, hours in (
        ("air conditioner", "warm", [c.too_warm for c in every], [c.warm or 0.0 for c in every]),
        ("heating", "cold", [c.too_cold for c in every], [c.cold or 0.0 for c in every]),
    ):
        if all(failing):
            most, least = count(max(hours), "hour"), number(min(hours))
            often = most if number(max(hours)) == least else f"{least} to {most}"
            return (
                f"First size the {machine}: it is too small for this house, and no drying mends that. "
                f"With every option the room is too {state} for {often}, "
                f"{number(it.most_comfort)} are allowed."
            )
    return ""


def _costs(it: Advice, show: Show) -> str:
    best, season = it.best, span(it.as_set, show)
    now, then = it.energy_as_set(it.base), it.energy(best)
    energy = f"Energy costs {money(then)} instead of {money(now)} today ({season})."
    if it.bought is None:
        return f"{energy} The scenario gives no purchase prices."
    text = ""
    if best != it.base:
        pair = it.bought.pair(best, it.base)
        text = f"It {difference(pair)}, compared with {quoted(it.base)}{after_cures(it)}. "
    paid = sum(tried.first_cost for tried in it.cures.kept)
    if paid:
        text += f"The cures cost {money(paid)} once. "
    text += (
        f"{energy} {over_years(it).capitalize()} it costs {money(it.cost(best))} in today’s money"
    )
    if it.rival is not None:
        text += f", {money(it.cost(it.rival) - it.cost(best))} less than {quoted(it.rival)}"
    return f"{text}."


def _sure(it: Advice, budget: pd.DataFrame | None, certainty: Certainty | None) -> str:
    if budget is None:
        if len(it.at_goal.options) == 1:
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
                f"{quoted(against)} costs {amount} more {over_years(it)} than {quoted(option)}, which "
                f"{misses(it, option)}. {_doubt(budget)}"
            )
        if saved < CLOSE * error:
            return (
                f"Too close to call: {quoted(option)} costs {amount} less {over_years(it)} than "
                f"{quoted(against)}. {_doubt(budget)}"
            )
        chance = 100.0 * NormalDist().cdf(saved / error) if error > 0.0 else 100.0
        # Rounded to 5 %, but never up to what it does not reach.
        likely = f"more than {_SURE}" if chance > _SURE else f"about {5 * round(chance / 5.0)}"
        text = (
            f"The chance is {likely} % that {quoted(option)} costs less {over_years(it)} than "
            f"{quoted(against)}: {amount}."
        )
    return f"{text} {_doubt(budget)}"


def _doubt(budget: pd.DataFrame) -> str:
    """The source with the largest error."""
    largest = budget["net_savings_USD"].drop("together").astype(float).idxmax()
    return f"Most of the doubt: {largest}."
