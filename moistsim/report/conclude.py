"""The advice on a scenario whose options were run, with the risks behind it."""

from typing import Any, NamedTuple

import pandas as pd

from moistsim.advice import Advice, OverYears, over_years
from moistsim.core.display import Units
from moistsim.risk import risk, space_risk
from moistsim.scenario import Scenario, advice_on
from moistsim.study import Comparison


class Conclusion(NamedTuple):
    """The advice, and the tables of risk of the options as set, in SI."""

    advice: Advice
    risks: pd.DataFrame
    """The result of `risk`."""
    spaces: pd.DataFrame
    """The result of `space_risk`."""
    over: OverYears | None = None
    """The advice in the weather years of the scenario; None where it has none."""


def conclude(
    scenario: Scenario,
    comparison: Comparison,
    *,
    units: Units | None = None,
    progress: bool = False,
) -> Conclusion:
    """Decide what to advise.

    Parameters
    ----------
    scenario : Scenario
    comparison : Comparison
        The scenario's study, run.
    units : {"us", "si"}, optional
        Units in the names of proposed machines.
    progress : bool
        Show progress bars.
    """
    basis = scenario.risk_basis
    advice = advice_on(scenario, as_set=comparison, units=units, progress=progress)
    risks, spaces = (of(comparison, basis, "si") for of in (risk, space_risk))
    years: Any = scenario.ranges.get("weather")
    over = over_years(advice, years, progress=progress) if years else None
    return Conclusion(advice, risks, spaces, over)
