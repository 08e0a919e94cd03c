"""What `how_sure` and `error_budget` need to judge advice: the two options as they are advised."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from moistsim.advice import Advice
from moistsim.core.changes import inner
from moistsim.core.errors import InputError, Problem
from moistsim.prices import Purchase, Terms
from moistsim.study import Comparison, Study
from moistsim.sweep import find
from moistsim.uncertainty.measured import Draws, measured_draws
from moistsim.uncertainty.ranges import is_price


class Advised(NamedTuple):
    """Arguments of `how_sure` and `error_budget` for advice."""

    study: Study
    """The options with the kept cures, at the goal."""
    purchases: Mapping[str, Purchase]
    terms: Terms
    ranges: dict[str, Any]
    """Ranges of the values that neither a cure nor the goal has moved."""
    options: tuple[str, str]
    """The two options between which the decision lies."""
    as_set: Comparison
    """The study's comparison."""
    measured: Draws | None = None
    """Joint draws of a measured house, of the values that neither a cure nor the goal has moved."""


def advised(advice: Advice, ranges: Mapping[str, Any], measured: Any = None) -> Advised:
    """Gather what the uncertainty of advice is calculated from.

    A range is of the value in the scenario. Where a cure or the goal has moved that value, the range
    is left out, and the stand-in of that value takes its place.

    Parameters
    ----------
    advice : Advice
        With purchases and two options or more.
    ranges : dict
        As for `how_sure`, for the study as given.
    measured : DataFrame or Fit, optional
        As for `how_sure`. A value that a cure or the goal has moved is dropped from the draws.

    Raises
    ------
    InputError
        If the advice has no purchases or only one option.
    """
    if advice.bought is None:
        raise InputError("advised", Problem("no purchases"), "advice with purchases")
    before, after = advice.as_set.study, advice.at_goal.study
    kept = {name: of for name, of in ranges.items() if _stays(before, after, name)}
    found = advice.bought
    draws = None
    if measured is not None:
        names = [str(name) for name in getattr(measured, "draws", measured) if "." in str(name)]
        moved = [
            name for name in names if _is_known(before, name) and not _stays(before, after, name)
        ]
        draws = measured_draws(measured, after, found.purchases, found.terms, "advised", kept=moved)
    return Advised(
        after, found.purchases, found.terms, kept, advice.asked, advice.at_goal.comparison, draws
    )


def _stays(before: Study, after: Study, name: str) -> bool:
    """Whether a value is the same in all options of both studies."""
    if name == "weather" or is_price(name):
        return True
    parameter = find(before, name)
    return all(
        _value(before, option, parameter.path) == _value(after, option, parameter.path)
        for option in parameter.options or ()
    )


def _is_known(study: Study, name: str) -> bool:
    """Whether a study has a value of that name; only a fit knows some, such as a logger's offset."""
    try:
        find(study, name)
    except InputError:
        return False
    return True


def _value(study: Study, option: str, path: tuple[str, ...]) -> Any:
    """Value of an option by the path of its parameter."""
    machines, strategy, house = study.resolved[option]
    if path[0] == "strategy":
        return strategy.settings[path[1]]
    value: Any = machines if path[0] == "equipment" else house
    for key in path[1:]:
        value = inner(value, key)
    return value
