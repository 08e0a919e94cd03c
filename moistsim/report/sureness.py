"""How sure the answer is: each source of error, and, of ranges, a share of cases and what decides."""

import pandas as pd

from moistsim.prices import Terms
from moistsim.report import pictures
from moistsim.report.records import Sure, Table
from moistsim.report.tables import row
from moistsim.report.words import money, quoted
from moistsim.scenario import Scenario
from moistsim.study import ALIKE
from moistsim.uncertainty import DECIDES, Certainty, in_words, per_cent

_SOURCES = {
    "time step": "the steps in which the computer reckons",
    "weather year": "one year’s weather or another’s",
    "machine coefficients": "machines that differ from their ratings",
    "house description": "a house that differs from its description",
    "setpoints": "controls that are set otherwise",
    "prices": "prices",
    "together": "all of these together",
}
"""What the sources of the error budget are called on the page."""

_MANY = 100
"""Cases below which a share of the spread is not to be taken at its word."""


def sureness(budget: pd.DataFrame, scenario: Scenario, certainty: Certainty | None = None) -> Sure:
    """Draw up the section on how sure the answer is.

    Parameters
    ----------
    budget : DataFrame
        What `error_budget` gave.
    scenario : Scenario
        What it is of, with purchases.
    certainty : Certainty, optional
        What `how_sure` gave of the same two options, if that was asked for.

    Returns
    -------
    Sure
    """
    terms = scenario.terms or Terms()
    years = f"{terms.years:.0f} year{'s' if terms.years > 1 else ''}"
    columns = {
        "kWh": "± kWh a year",
        "USD": "± USD a year to run",
        "net_savings_USD": f"± USD saved over {years}",
    }
    sentences = [_errors(budget, years, certainty), _as_set(certainty)]
    if certainty is not None:
        sentences = [_share(certainty), _decides(certainty), *sentences]
    elif scenario.ranges:
        sentences.append(_unasked(scenario))
    return Sure(
        tuple(sentences),
        Table(
            "Source of error",
            tuple(columns.values()),
            tuple(
                row(_SOURCES[str(source)], budget.loc[source, [*columns]])
                for source in budget.index
            ),
        ),
        None if certainty is None else pictures.certainty(certainty),
    )


def _unasked(scenario: Scenario) -> str:
    first, *more = map(in_words, scenario.ranges)
    return (
        f"Some of what went in is known only within a range ({first}{' and others' if more else ''}), "
        "and this page takes the middle of each: “moistsim study” with “--sure 256” adds in how "
        "many of 256 cases from within these ranges the most expensive option pays back."
    )


def _share(certainty: Certainty) -> str:
    cases = certainty.counted
    n, many = len(cases), int(cases["pays_back"].astype(bool).sum())
    lives = cases["life_years"].astype(float)
    life = f"{lives.median():.0f} years" + (" or so" if lives.nunique() > 1 else "")
    low, high = map(_percent, certainty.band)
    text = (
        f"In {many:,} of {n:,} cases ({_percent(certainty.probability)}), each with values of its own "
        f"from within the ranges given, {quoted(certainty.option)} instead of "
        f"{quoted(certainty.against)} pays back within its life ({life}): what it saves is worth more, "
        f"in today’s money, than what it costs more to buy. From {n:,} cases one may conclude, with "
        f"95 % confidence, that the share is between {low} and {high}."
    )
    if len(certainty.cases) > n:
        text += (
            f" Not counted: {len(certainty.cases) - n:,} without a result, such as: "
            f"{certainty.failed.index[0]}."
        )
    return text


def _decides(certainty: Certainty) -> str:
    named = certainty.decides[certainty.decides["share"] >= DECIDES].head(2)
    if named.empty:
        return "No input by itself decides how much it saves: it takes several at once."
    said = []
    for name, of in named.iterrows():
        ends = ("in the least favorable", "in the most favorable")
        if str(name) in certainty.units:
            ends = ("on average where it is low", "where it is high")
        low, high = (float(of[f"{end}_USD"]) for end in ("low", "high"))
        said.append(
            f"{in_words(str(name))} ({_percent(float(of['share']))} of the spread; "
            f"{_saved(low)} {ends[0]}, {_saved(high)} {ends[1]})"
        )
    text = f"What decides most is {', and then '.join(said)}."
    if len(certainty.counted) < _MANY:
        text += " From so few cases these shares are rough."
    return text


def _errors(budget: pd.DataFrame, years: str, certainty: Certainty | None) -> str:
    both, numbers = budget.loc["together"], budget.attrs
    kwh, usd, saved = (
        f"{abs(numbers[name]):,.0f} ± {both[name]:,.0f}"
        for name in ("kWh", "USD", "net_savings_USD")
    )
    over = f"the {years} that this page looks at"
    if certainty is not None:
        lives = certainty.counted["life_years"].astype(float)
        if (lives != certainty.terms.years).any():
            over += ", and not over its life"
    text = (
        f"With every value at its middle, {quoted(numbers['option'])} takes {kwh} kWh of electricity a "
        f"year {_more(numbers['kWh'])} than {quoted(numbers['against'])}, costs {usd} USD a year "
        f"{_more(numbers['USD'])} to run and {'saves' if numbers['net_savings_USD'] >= 0.0 else 'loses'} {saved} USD in all over "
        f"{over}; two times in three the truth should lie within the ±, which takes the errors below together."
    )
    ours = [_SOURCES[str(s)] for s, basis in budget["basis"].items() if "stand-in" in str(basis)]
    if ours:
        text += (
            " Where the scenario gives no range, the error is a round figure of our own, in all or "
            f"part of: {', '.join(ours)}."
        )
    return text


def _as_set(certainty: Certainty | None) -> str:
    text = (
        "All this is of the two options as they are set, whichever is advised above; the sums above "
        "are of options brought to equal humidity, so the two need not agree"
    )
    if certainty is None:
        return f"{text}."
    gap = certainty.counted["dew_point_difference_K"].astype(float)
    for share, word in (((gap < -ALIKE).mean(), "drier"), ((gap > ALIKE).mean(), "damper")):
        if share >= 0.005:
            text += f"; in {_percent(float(share))} of cases {quoted(certainty.option)} leaves the house {word}"
    return f"{text}."


def _saved(amount: float) -> str:
    return f"{money(abs(amount))} {'saved' if amount >= 0.0 else 'lost'}"


def _more(number: float) -> str:
    return "more" if number >= 0.0 else "less"


def _percent(share: float) -> str:
    return per_cent(share).replace(" percent", " %")
