"""The page's sentences: plain, and true in every case that a study may come to."""

from collections.abc import Iterator, Sequence

import pandas as pd

from moistsim.economics import Pair
from moistsim.engine import catalog
from moistsim.report.verdict import NEAR, Verdict
from moistsim.study import ALIKE, Comparison


def money(amount: float) -> str:
    """USD, whole."""
    return f"{amount:,.0f} USD".replace("-", "\N{MINUS SIGN}") if round(amount) else "0 USD"


def day(stamp: pd.Timestamp) -> str:
    """A day without its year, which a typical year does not have."""
    return f"{stamp.day} {stamp:%B}"


def span(comparison: Comparison) -> str:
    """The season, as in "from 1 March to 31 October"."""
    hours = next(iter(comparison.seasons.values())).hourly.index
    return f"from {day(hours[0])} to {day(hours[-1])}"


def quoted(name: str) -> str:
    """An option's name within a sentence."""
    return f"“{name}”"


def _hours(count: float) -> str:
    return f"{count:,.0f} hour{'' if round(count) == 1 else 's'}"


# ---------------------------------------------------------------------- the answer


def answer(it: Verdict, longest: float) -> tuple[str, str, str]:
    """Three sentences: what happens if nothing is done, what to do, what it pays.

    Parameters
    ----------
    it : Verdict
    longest : float
        The base's longest run of hours above 60 percent.
    """
    return _nothing_done(it, longest), _advice(it), _payback(it)


def _nothing_done(it: Verdict, longest: float) -> str:
    base, season = it.base, span(it.as_set)
    first_cost = 0.0 if it.bought is None else it.bought.purchases[base].paid
    start = f"With {quoted(base)}" if first_cost else f"If nothing changes ({quoted(base)})"
    hours = it.humid_hours(it.as_set, base)
    what = "relative humidity (how full of water the air is)"
    if hours < NEAR:
        text = f"{start}, the air in the house hardly ever rises above 60 % {what} {season}"
    else:
        total = len(it.as_set.seasons[base].hourly)
        text = (
            f"{start}, the air in the house is above 60 % {what} for {_hours(hours)} "
            f"of the {total:,} {season}"
        )
        if round(longest) > 1:
            text += f", up to {longest:,.0f} hours in a row"
    index = it.mold[base]
    mold = (
        "mold that can be seen could grow on its coldest surfaces"
        if it.is_moldy
        else "mold too fine to be seen could begin on its coldest surfaces"
        if index >= 1.0
        else "mold is not expected on its coldest surfaces"
    )
    return f"{text}, and by this model {mold}."


def _costs(it: Verdict, option: str) -> str:
    amount = money(it.cost(option))
    if it.bought is None:
        return f"{amount} for energy {span(it.as_set)}"
    years = f"{it.bought.terms.years:.0f} years" if it.bought.terms.years > 1 else "a year"
    energy = "the energy of the whole year"
    if len(it.as_set.seasons[it.base].hourly) < 365 * 24:
        energy = f"each year’s energy {span(it.as_set)}"
    return f"{amount} over {years} for buying, upkeep and {energy}, in today’s money"


def _advice(it: Verdict) -> str:
    count, best, fit = len(it.comparison.seasons), it.best, len(it.fit)
    if it.matched is None:
        used = it.as_set.seasons[it.base].meter.total_kwh
        return (
            f"This is the only option that was studied: {span(it.as_set)} its machines use {used:,.0f} "
            "kilowatt-hours of electricity (the unit on the bill), and it costs "
            f"{_costs(it, it.base)}."
        )
    humidity = it.season(best).meter.humidity
    mean = f"{float(humidity['mean_rh_pct']):.0f} % relative humidity on average"
    left = it.humid_hours(it.comparison, best)
    remains = (
        "with hardly an hour above 60 %" if left < NEAR else f"with {_hours(left)} above 60 % left"
    )
    if fit == 1:
        does = (
            f"keeps the air as dry as it can be kept here ({mean}, {remains})"
            if it.is_humid
            else "keeps it so"
        )
        return (
            f"Of the {count} options only {quoted(best)} {does}, and it costs {_costs(it, best)}."
        )
    who = (
        ("Both options" if count == 2 else f"All {count} options")
        if fit == count
        else f"Only {fit} of the {count} options"
    )
    does = f"can keep the air equally dry ({mean}, {remains})" if it.is_humid else "keep it so"
    more = it.cost(it.fit[1]) - it.cost(best)
    return (
        f"{who} {does}, and of these {quoted(best)} is the cheapest: {_costs(it, best)}, which is "
        f"{money(more)} less than {quoted(it.fit[1])}."
    )


def _payback(it: Verdict) -> str:
    if it.matched is None:
        return (
            "Since nothing was compared with it, this page cannot say whether another way of "
            "drying would cost less."
        )
    best = it.best
    if best == it.base:
        return (
            f"That is what the others are compared with ({quoted(best)}): none of them does as well "
            "for less, so that there is nothing to pay back."
        )
    if it.bought is None:
        more = it.cost(best) - it.cost(it.base)
        side = "more" if more >= 0.0 else "less"
        return (
            f"What the options cost to buy was not given, so that no payback can be told; for "
            f"energy {quoted(best)} costs {money(abs(more))} {side} than {quoted(it.base)} "
            f"{span(it.as_set)}."
        )
    pair = it.bought.pair(best, it.base)
    if pair.simple_payback is not None:
        return f"{_it_pays(pair, it.bought.terms.years)}."
    text = f"Against {quoted(it.base)} it {_sides(pair)}, so that "
    if pair.extra_first_cost > 0.0:
        text += "it does not pay for itself in money"
        fewer = it.humid_hours(it.comparison, it.base) - it.humid_hours(it.comparison, best)
        if fewer >= NEAR:
            text += f": what it buys is {fewer:,.0f} fewer hours above 60 %"
    elif pair.yearly_saving >= 0.0:
        text += "money is saved from the first day"
    else:
        text += "there is no price to come back"
    if it.repaid is not None:
        text += f"; against {quoted(it.repaid.against)}, which does as well, its higher price "
        text += _comes_back(it.repaid, it.bought.terms.years)
    return text + "."


def _sides(pair: Pair) -> str:
    """What one option costs more or less than another, to buy and to run."""
    extra, saving = pair.extra_first_cost, pair.yearly_saving
    to_buy = (
        "costs the same to buy"
        if abs(extra) < NEAR
        else f"costs {money(abs(extra))} {'more' if extra > 0.0 else 'less'} to buy"
    )
    to_run = (
        "the same to run"
        if abs(saving) < NEAR
        else f"{money(abs(saving))} a year {'less' if saving > 0.0 else 'more'} to run"
    )
    return f"{to_buy} and {to_run}"


def _comes_back(pair: Pair, years: float) -> str:
    assert pair.simple_payback is not None
    simple, discounted = pair.simple_payback, pair.discounted_payback
    if simple > years:
        return f"would take {simple:.0f} years to come back, longer than the {years:.0f} looked at"
    interest = (
        f"not within the {years:.0f} looked at" if discounted is None else f"in {discounted:.1f}"
    )
    return f"comes back in {simple:.1f} years (counting interest, {interest})"


def _it_pays(pair: Pair, years: float) -> str:
    """An option that is more expensive to buy and cheaper to run."""
    return (
        f"Against {quoted(pair.against)}, {quoted(pair.option)} {_sides(pair)}, so that its higher price "
        f"{_comes_back(pair, years)}"
    )


# ---------------------------------------------------------------------- the years


def trades(it: Verdict) -> Iterator[str]:
    """Every option that is more expensive to buy and cheaper to run than another."""
    assert it.bought is not None
    pairs = it.bought.trade_offs()
    for pair in pairs:
        text = _it_pays(pair, it.bought.terms.years)
        over = f"over {it.bought.terms.years:.0f} years, in today’s money, that"
        side = "saves" if pair.net_savings >= 0.0 else "costs"
        text += f"; {over} {side} {money(abs(pair.net_savings))}"
        alike = abs(pair.dew_point_difference) <= ALIKE or (
            it.matched is not None
            and all(it.matched.options[name].matched for name in (pair.option, pair.against))
        )
        yield text + ("." if alike else ", but the two do not keep the house equally dry.")
    if not pairs and len(it.bought.options) > 1:
        yield (
            "No option is more expensive to buy and cheaper to run than another, so that there is no price to "
            "come back."
        )


def bridge(first: str, then: str, best: int, years: int, more: Sequence[float]) -> str:
    """How long to wait, for who cannot pay at once.

    Parameters
    ----------
    first, then : str
    best : int
        Seasons after which to buy that cost least.
    years : int
    more : sequence of float
        What waiting for 0, 1, 2, ... seasons costs above the least.
    """
    if best == 0:
        return (
            f"Buying {quoted(then)} at once is cheapest; running {quoted(first)} for one season "
            f"first costs {money(more[1])} more over {years} years."
        )
    if best == years:
        return f"Staying with {quoted(first)} is cheapest over {years} years."
    seasons = "one season" if best == 1 else f"{best} seasons"
    return (
        f"Running {quoted(first)} for {seasons} and then buying {quoted(then)} is cheapest over "
        f"{years} years; buying at once costs {money(more[0])} more."
    )


# ---------------------------------------------------------------------- the rest


def cannot(it: Verdict) -> Iterator[str]:
    """Why an option does not keep the house as dry."""
    assert it.matched is not None
    for text in it.matched.cannot.values():
        yield text.replace("mean RH", "average humidity").replace("% RH", "%") + "."


def about_matching(it: Verdict, us: bool) -> str:
    """How the options were brought to one humidity."""
    assert it.matched is not None
    target, of = it.matched.target, it.matched.measure
    units = "us" if us else "si"
    level = f"{of.shown(target, units):,.{of.digits}f} {of.sign(units)}"
    # A reader of the page may not know what a dew point is.
    what = f"a {of.label}"
    if of is catalog.MEAN_DEW_POINT:
        what += " (how much water is in the air)"
    return (
        "A drier house costs more to keep dry, so that bills can only be compared between options "
        "that keep it equally dry. Here each option’s own humidity setting was moved until the "
        f"house had {what} of {level}, that of the driest option with such a setting."
    )
