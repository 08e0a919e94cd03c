"""The verdict of a scenario whose options were run, with the risks behind it."""

from typing import NamedTuple

import pandas as pd

from moistsim.economics import economics
from moistsim.report import spaces
from moistsim.report.verdict import Verdict
from moistsim.risk import risk, space_risk
from moistsim.scenario import Scenario
from moistsim.study import Comparison, Matched

MEASURE = "mean RH"
"""Measure of humidity at which options are compared.

At equal dew point, a cooler house is more humid to people, wood and mold.
"""


class Conclusion(NamedTuple):
    """A verdict, and the tables of risk behind it, in SI."""

    verdict: Verdict
    risks: pd.DataFrame
    """The result of `risk`."""
    spaces: pd.DataFrame
    """The result of `space_risk`."""


def conclude(
    scenario: Scenario,
    comparison: Comparison,
    matched: Matched | None = None,
    *,
    progress: bool = False,
) -> Conclusion:
    """Decide what to advise.

    Parameters
    ----------
    scenario : Scenario
    comparison : Comparison
        The scenario's study, run.
    matched : Matched, optional
        Default, for two options or more: ``comparison.study.matched(MEASURE, as_set=comparison)``.
    progress : bool
        Show a progress bar.
    """
    if matched is None and len(comparison.seasons) > 1:
        matched = comparison.study.matched(MEASURE, as_set=comparison, progress=progress)
    alike = comparison if matched is None else matched.comparison
    risks, of_spaces = (of(comparison, scenario.risk_basis) for of in (risk, space_risk))
    worst = risks[["mold_index_corner", "mold_index_register"]].max(axis=1)
    it = Verdict(
        as_set=comparison,
        matched=matched,
        bought=economics(alike, scenario.purchases, scenario.terms) if scenario.purchases else None,
        mold={str(name): float(value) for name, value in worst.items()},
        damp=spaces.damp_wood(of_spaces),
    )
    return Conclusion(it, risks, of_spaces)
