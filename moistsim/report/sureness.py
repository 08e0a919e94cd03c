"""Certainty of the answer: errors by source, share of cases that pay back, deciding inputs."""

import pandas as pd

from moistsim.core.display import count, money, number
from moistsim.engine import column_catalog
from moistsim.prices import Terms
from moistsim.report import pictures
from moistsim.report.records import Sure, Table
from moistsim.report.sentences import quoted
from moistsim.report.tables import row
from moistsim.scenario import Scenario
from moistsim.study import ALIKE
from moistsim.uncertainty import DECIDES, Certainty, in_words, per_cent

SOURCE_WORDS = {
    "time step": "Time step of the calculation",
    "measured house": "Measured house, by its log",
    "weather year": "Weather year",
    "machine coefficients": "Machine ratings",
    "house description": "House description",
    "setpoints": "Humidity setpoints",
    "humidity sensor": "Humidity sensor",
    "deadbands": "Deadbands",
    "fan-off delay": "Fan-off delay",
    "ventilation delivered": "Ventilation delivered",
    "prices": "Prices",
    "together": "All sources together",
}
"""Labels of the error sources on the page."""

_MANY = 100
"""Cases below which shares of the spread are rough."""


def sureness(budget: pd.DataFrame, scenario: Scenario, certainty: Certainty | None = None) -> Sure:
    """Collect the section on the certainty of the answer.

    Parameters
    ----------
    budget : DataFrame
        The result of `error_budget`.
    scenario : Scenario
        The scenario, with purchases.
    certainty : Certainty, optional
        The result of `how_sure` for the same two options.

    Returns
    -------
    Sure
    """
    terms = scenario.terms or Terms()
    years = count(terms.years, "year")
    columns = {
        "kWh": "Electricity, ± kWh a year",
        "USD": "Running cost, ± USD a year",
        "net_savings_USD": f"Net savings over {years}, ± USD",
    }
    sentences = [_errors(budget, years, certainty), _as_advised(certainty)]
    if certainty is not None:
        sentences = [_share(certainty), _decides(certainty), *sentences]
    else:
        sentences.append(_unasked(scenario))
    return Sure(
        tuple(sentences),
        Table(
            "Source of error",
            tuple(columns.values()),
            tuple(
                row(SOURCE_WORDS[str(source)], budget.loc[source, [*columns]])
                for source in budget.index
            ),
            "Errors by source, one standard deviation",
        ),
        None if certainty is None else pictures.certainty(certainty),
    )


def _unasked(scenario: Scenario) -> str:
    named = [*map(in_words, scenario.ranges)] or ["humidity setpoint"]
    return (
        f"Some inputs are known only within a range ({named[0]} and others). "
        "This page uses the middle of each range. Run “moistsim study” with “--sure 256” to see in "
        "how many of 256 cases the most expensive option pays back."
    )


def _share(certainty: Certainty) -> str:
    cases = certainty.counted
    n, many = len(cases), int(cases["pays_back"].astype(bool).sum())
    lives = cases["life_years"].astype(float)
    life = f"{'about ' if lives.nunique() > 1 else ''}{count(lives.median(), 'year')}"
    low, high = map(per_cent, certainty.band)
    text = (
        f"{quoted(certainty.option)} instead of {quoted(certainty.against)} pays back within its "
        f"life ({life}) in {number(many)} of {count(n, 'case')} ({per_cent(certainty.probability)}). "
        f"Each case draws every input from its range{_assumed(certainty)}.{_measured(certainty)} An option pays back if its savings, in today’s "
        f"money, exceed its extra price. From {count(n, 'case')}, the true share is between {low} and "
        f"{high} with 95 % confidence."
    )
    if len(certainty.cases) > n:
        lost = count(len(certainty.cases) - n, "case")
        text += f" Not counted: {lost} without a result, such as: {certainty.failed.index[0]}."
    return text


def _measured(certainty: Certainty) -> str:
    """A sentence on a measured house."""
    draws = certainty.inputs.draws
    if draws is None:
        return ""
    return (
        " The house is as measured: each case takes one of the "
        f"{number(len(draws.table))} sets of values that its log allows."
    )


def _assumed(certainty: Certainty) -> str:
    """Whether some ranges are ours."""
    return ", or from a usual one if the scenario has none" if certainty.inputs.stand_ins else ""


def _decides(certainty: Certainty) -> str:
    named = certainty.decides[certainty.decides["share"] >= DECIDES].head(2)
    if named.empty:
        return "No single input decides how much it saves: several together do."
    said = []
    for name, of in named.iterrows():
        ends = ("in the least favorable", "in the most favorable")
        if str(name) in certainty.units:
            ends = ("where it is low", "where it is high")
        low, high = (float(of[f"{end}_USD"]) for end in ("low", "high"))
        said.append(
            f"{in_words(str(name))} ({per_cent(float(of['share']))} of the spread). "
            f"On average, {_saved(low)} {ends[0]} and {_saved(high)} {ends[1]}."
        )
    text = f"The input that decides most is {said[0]}"
    if len(said) > 1:
        text += f" The second is {said[1]}"
    if len(certainty.counted) < _MANY:
        text += " With so few cases these shares are rough."
    return text


def _errors(budget: pd.DataFrame, years: str, certainty: Certainty | None) -> str:
    both, numbers = budget.loc["together"], budget.attrs
    kwh, usd, saved = (
        f"{number(abs(numbers[name]))} ± {number(both[name])}"
        for name in ("kWh", "USD", "net_savings_USD")
    )
    over = f"the {years} studied"
    if certainty is not None:
        lives = certainty.counted["life_years"].astype(float)
        if (lives != certainty.terms.years).any():
            over += " (not over its life)"
    text = (
        f"With every input at its middle value, {quoted(numbers['option'])} uses {kwh} kWh a year "
        f"{_more(numbers['kWh'])} than {quoted(numbers['against'])}. It costs {usd} USD a year "
        f"{_more(numbers['USD'])} to run. It {'saves' if numbers['net_savings_USD'] >= 0.0 else 'loses'} "
        f"{saved} USD over {over}. The ± combines the errors in the table: the true value lies within "
        "it two times in three."
    )
    ours = [
        SOURCE_WORDS[str(source)].lower()
        for source, basis in budget["basis"].items()
        if "stand-in" in str(basis)
    ]
    if ours:
        text += (
            " Where the scenario gives no range, the error is our own round number. This applies, at "
            f"least in part, to: {', '.join(ours)}."
        )
    return text


def _as_advised(certainty: Certainty | None) -> str:
    text = "These numbers compare the two options as advised: with the cures, at the owner’s goal."
    if certainty is None:
        return text
    gap = certainty.counted[column_catalog.DEW_POINT_GAP.name].astype(float)
    share = float((gap.abs() > ALIKE).mean())
    if share >= 0.005:
        text += f" In {per_cent(share)} of cases the two houses are not equally dry by dew point."
    return text


def _saved(amount: float) -> str:
    return f"{money(abs(amount))} {'saved' if amount >= 0.0 else 'lost'}"


def _more(value: float) -> str:
    return "more" if value >= 0.0 else "less"
