"""The page's sentences: plain, and true in every case of a study."""

from collections.abc import Iterable, Iterator, Sequence

import pandas as pd

from moistsim.advice import Advice
from moistsim.controls import Strategy, thresholds
from moistsim.core.display import Show, count, money, number
from moistsim.cures import TriedCure
from moistsim.economics import Pair
from moistsim.engine import COMFORT_BAND, column_catalog
from moistsim.equipment import Equipment
from moistsim.risk import CRITERION, WET_WEEK, Damp
from moistsim.risk import spaces as of_spaces
from moistsim.study import Comparison

NEAR = 0.5
"""Hours, USD and years below which a difference is not worth a sentence."""
WOOD_LIMIT = of_spaces.WOOD_LIMIT


def span(comparison: Comparison, show: Show) -> str:
    """The time that was run, such as "a whole year" or "March 1 to October 31"."""
    hours = next(iter(comparison.seasons.values())).hourly.index
    return show.period(hours[0], hours[-1])


def _is_year(it: Advice) -> bool:
    return len(it.as_set.seasons[it.base].hourly) >= 365 * 24


def quoted(name: str) -> str:
    """An option's name within a sentence."""
    return f"“{name}”"


def left_above(hours: float) -> str:
    """Hours above a limit, such as "580 hours" or "hardly an hour"."""
    return "hardly an hour" if hours < NEAR else count(hours, "hour")


def hours_of(it: Advice, names: Iterable[str]) -> str:
    """Humid hours of several options as advised, such as "3 hours" or "0 to 85 hours"."""
    hours = [it.hours(name) for name in names]
    low, high = min(hours), max(hours)
    if round(low) == round(high):
        return left_above(high)
    return f"{number(low)} to {count(high, 'hour')}"


def misses(it: Advice, option: str) -> str:
    """What an option that is not fit lacks, as a verb with its object."""
    x = it.at_goal.options[option]
    return "does not hold its setpoints" if x.meets and x.comparable else "misses the goal"


def both(it: Advice, one: bool = True) -> str:
    """What comes after "keeps the goal" where some option does not hold its setpoints."""
    if not it.uncomfortable:
        return ""
    return " and holds its setpoints" if one else " and hold their setpoints"


def discomfort(it: Advice, show: Show) -> Iterator[str]:
    """Which options would have won, or are there today, but are too warm or too cold."""
    found = it.at_goal.options
    if it.best in it.uncomfortable:
        yield f"{quoted(it.best)} does not hold its setpoints: {found[it.best].comfort.words(show)}."
    named = {*it.would_win, it.base}
    names = [name for name in it.uncomfortable if name in named and name != it.best]
    if len(names) == 1:
        (name,) = names
        less = "costs less, but " if name in it.would_win else ""
        yield f"{quoted(name)} {less}is not advised: {found[name].comfort.words(show)}."
    elif names:
        hours = [max(x.warm or 0.0, x.cold or 0.0) for x in (found[name].comfort for name in names)]
        listed = f"{', '.join(map(quoted, names[:-1]))} and {quoted(names[-1])}"
        yield (
            f"{listed} are not advised: their rooms are too warm or too cold for "
            f"{number(min(hours))} to {count(max(hours), 'hour')}, {number(it.most_comfort)} are allowed."
        )


def over_years(it: Advice) -> str:
    """The study period, such as "over 10 years"; the time that was run without purchases."""
    if it.bought is None:
        return "in a year" if _is_year(it) else "in a season"
    years = it.bought.terms.years
    return f"over {years:.0f} years" if years > 1 else "over one year"


def setpoints(machines: Equipment, strategy: Strategy, show: Show) -> str:
    """Humidity settings of an option, such as "52 %"; empty for an option without one."""
    return ", ".join(
        f"{round(x.value, 1):g} %" if x.unit == "percent" else show(x.value, "temperature", 1)
        for x in thresholds(machines, strategy)
    )


def set_to(it: Advice, show: Show) -> str:
    """The humidity setting of the best option, such as ", set to 52 %"; empty without one."""
    option = it.at_goal.options[it.best]
    text = setpoints(option.equipment, option.strategy, show)
    return (
        f", set to {text} relative humidity" if text.endswith("%") else text and f", set to {text}"
    )


# ---------------------------------------------------------------------- the reasons


def reasons(it: Advice, longest: float, show: Show) -> tuple[str, str, str]:
    """Reasons of the answer in three points: the present humidity, the best option, its payback.

    Parameters
    ----------
    it : Advice
    longest : float
        The base option's longest spell above 60 % RH, hours.
    show : Show
        The reader's units.
    """
    return _nothing_done(it, longest, show), _advice(it, show), _payback(it, show)


def _nothing_done(it: Advice, longest: float, show: Show) -> str:
    base, season = it.base, span(it.as_set, show)
    first_cost = 0.0 if it.bought is None else it.bought.purchases[base].paid
    start = f"With {quoted(base)}" if first_cost else f"If nothing changes ({quoted(base)})"
    hours, mark = it.hours_as_set(base), limit(it)
    if hours < NEAR:
        text = f"{start}, indoor relative humidity hardly ever rises above {mark} ({season})."
        most = max(map(it.hours_as_set, it.as_set.seasons))
        if most >= NEAR:
            text += f" With other options as set it does, for up to {count(most, 'hour')}."
    else:
        total = len(it.as_set.seasons[base].hourly)
        text = (
            f"{start}, indoor relative humidity is above {mark} for {number(hours)} of "
            f"{number(total)} hours ({season})."
        )
        if round(longest) > 1:
            text += f" The longest spell lasts {count(longest, 'hour')}."
    text += " Relative humidity tells how full of water the air is."
    index = it.mold
    if it.is_moldy:
        text += " By this model, visible mold could grow on the coldest indoor surfaces."
    elif index >= 1.0:
        text += " By this model, mold could start on the coldest indoor surfaces, too fine to see."
    else:
        text += " By this model, mold is not expected on the coldest indoor surfaces."
    return text + "".join(f" {_damp(one)}" for one in it.damp_as_set.get(base, ()))


def _damp(one: Damp) -> str:
    """The wood or board of a space that is too wet, or where mold could grow."""
    if one.wood is None:
        return f"Visible mold could grow on board in the {one.space}."
    text = f"Wood in the {one.space} reaches {one.wood:.1f} % moisture content"
    if one.wet_days > WET_WEEK:
        text += f" and is above {WOOD_LIMIT:.0f} %, too wet, on {count(one.wet_days, 'day')}"
    return f"{text}. Visible mold could grow on it." if one.mold_index >= CRITERION else f"{text}."


def leaves_damp(it: Advice, option: str) -> str:
    """What an option leaves too damp in spaces next to the house, as a sentence after a blank."""
    left = it.damp.get(option, ())
    return f" It leaves {_where(left)} too damp." if left else ""


def _wood_left(it: Advice) -> str:
    """What the best option leaves or makes of damp wood in spaces; empty without damp wood."""
    best = it.best
    left, before = it.damp.get(best, ()), it.damp_as_set.get(it.base, ())
    if not left:
        cured = [one for one in before if one.space.replace(" ", "_") in it.season(best).spaces]
        if not cured:
            return ""
        return f" It also keeps {_where(cured)} dry."
    text = leaves_damp(it, best)
    other = it.best_for_wood
    if other is None:
        return f"{text} No option of this study keeps it dry."
    amount = f"It costs {money(it.cost(other))}"
    if other in it.fit:
        return f"{text} {quoted(other)} is the cheapest of them that keeps it dry. {amount}."
    return f"{text} {quoted(other)} keeps it dry, but {misses(it, other)}. {amount}."


def _where(found: Sequence[Damp]) -> str:
    """Wood or board by its space, such as "wood in the crawl space"."""
    return " and ".join(
        f"{'board' if one.wood is None else 'wood'} in the {one.space}" for one in found
    )


def _costs(it: Advice, option: str, show: Show, less: str = "") -> str:
    """Sentences on the cost of an option, and the parts that it includes."""
    amount = f"It costs {money(it.cost(option))}"
    season = span(it.as_set, show)
    if it.bought is None:
        return f"{amount} for energy ({season}){less}."
    energy = "energy"
    if not _is_year(it):
        energy = f"energy of each season ({season})"
    return (
        f"{amount} {over_years(it)}, in today’s money{less}. "
        f"That includes purchase, maintenance and {energy}."
    )


def _advice(it: Advice, show: Show) -> str:
    best, options = it.best, len(it.at_goal.options)
    rh = it.season(best).meter.of(column_catalog.MEAN_RH)
    dry = (
        f"{rh:.0f} % average relative humidity, with {left_above(it.hours(best))} above {limit(it)}"
    )
    goal = f"The owner’s goal is {goal_words(it)}."
    if options == 1:
        keeps = "keeps it" if it.at_goal.options[best].meets else "does not keep it"
        text = f"{goal} This study has only one option, and it {keeps}: {dry}."
        return f"{text} {_costs(it, best, show)}{_wood_left(it)}"
    if not it.ends_complaint:
        all_of = hours_of(it, it.at_goal.options)
        text = (
            f"{goal} No option keeps it{both(it)}: they have {all_of} above {limit(it)}. {quoted(best)} "
            f"comes closest: {dry}."
        )
        return f"{text} {_costs(it, best, show)}{_wood_left(it)}"
    others = [name for name in it.at_goal.options if name not in it.fit]
    rest = f"the others {hours_of(it, others)}" if len(others) > 1 else ""
    if len(others) == 1:
        rest = f"{quoted(others[0])} {hours_of(it, others)}"
    if it.rival is None:
        whose = "The others have" if len(others) > 1 else f"{quoted(others[0])} has"
        text = (
            f"{goal} Of {options} options, only {quoted(best)} keeps it{both(it)}. {whose} "
            f"{hours_of(it, others)} above {limit(it)}. {quoted(best)} keeps {dry}."
        )
        return f"{text} {_costs(it, best, show)}{_wood_left(it)}"
    fit = len(it.fit)
    who = (
        ("Both options keep" if options == 2 else f"All {options} options keep")
        if fit == options
        else f"Only {fit} of {options} options keep"
    )
    less = f", {money(it.cost(it.rival) - it.cost(best))} less than {quoted(it.rival)}"
    return (
        f"{goal} {who} it{both(it, one=False)}, with {hours_of(it, it.fit)} above {limit(it)}"
        f"{rest and f', {rest}'}. {quoted(best)} is the cheapest of them: {dry}. "
        f"{_costs(it, best, show, less)}{_wood_left(it)}"
    )


def limit(it: Advice) -> str:
    """The relative humidity above which hours count, such as "60 %"."""
    return f"{it.as_set.study.goal.above_rh:g} %"


def goal_words(it: Advice) -> str:
    """The owner's goal in words."""
    return it.as_set.study.goal.words.replace(" RH", " relative humidity")


def _payback(it: Advice, show: Show) -> str:
    if len(it.at_goal.options) == 1:
        return (
            "The study has no second option, so this page cannot say whether another option would "
            "cost less."
        )
    best = it.best
    if best == it.base:
        return (
            f"The other options are compared with {quoted(best)}. None of them does as well for "
            "less, so there is nothing to pay back."
        )
    if it.bought is None:
        more = it.cost(best) - it.cost(it.base)
        side = "more" if more >= 0.0 else "less"
        return (
            "The scenario gives no purchase prices, so no payback can be calculated. For energy, "
            f"{quoted(best)} costs {money(abs(more))} {side} than {quoted(it.base)} "
            f"({span(it.as_set, show)})."
        )
    pair = it.bought.pair(best, it.base)
    text = f"Compared with {quoted(it.base)}{after_cures(it)}, {quoted(best)} {difference(pair)}."
    if pair.simple_payback is not None:
        return f"{text} It {pair.payback_words}."
    if pair.extra_first_cost > 0.0:
        text += " It does not pay for itself in money."
        fewer = it.hours(it.base) - it.hours(best)
        if fewer >= NEAR:
            text += f" Its benefit is dryness: {number(fewer)} fewer hours above {limit(it)}."
    elif pair.yearly_saving >= 0.0:
        text += " It saves money from the first day."
    else:
        text += " It is not more expensive to buy, so there is nothing to pay back."
    if it.repaid is not None:
        against = quoted(it.repaid.against)
        text += f" Compared with {against}, which does as well, it {it.repaid.payback_words}."
    return text


def after_cures(it: Advice) -> str:
    """Words after the base option's name, where it has the same cures as all others."""
    return " after the same cures" if it.cures.kept else ""


def difference(pair: Pair) -> str:
    """What an option costs more or less than another, to buy and to run."""
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


def value_left(pair: Pair) -> str:
    """Why an option that pays back loses money over the years; else empty."""
    if pair.discounted_payback is None or pair.net_savings >= 0.0:
        return ""
    return f", because {quoted(pair.against)} is then worth more"


# ---------------------------------------------------------------------- the years


def trades(it: Advice) -> Iterator[str]:
    """Every option that is more expensive to buy than another and pays back by lower running cost."""
    assert it.bought is not None
    years, found = it.bought.terms.years, False
    for pair in it.bought.trade_offs():
        if not pair.pays_back:
            continue
        found, side = True, "saves" if pair.net_savings >= 0.0 else "loses"
        text = (
            f"Compared with {quoted(pair.against)}, {quoted(pair.option)} {difference(pair)}. "
            f"It {pair.payback_words}. "
            f"Over {years:.0f} years it {side} {money(abs(pair.net_savings))} in today’s money{value_left(pair)}."
        )
        for name in (pair.option, pair.against):
            if name not in it.fit:
                text += f" {quoted(name)} {misses(it, name)}."
        yield text
    if len(it.bought.options) > 1:
        other = "other " if found else ""
        yield f"No {other}option that costs more to buy pays back by costing less to run."


def bridge(first: str, then: str, best: int, years: int, more: Sequence[float]) -> str:
    """Best time to buy the second option, for readers who cannot pay for it now.

    Parameters
    ----------
    first, then : str
    best : int
        Years before the purchase at which the total cost is lowest.
    years : int
    more : sequence of float
        Cost above the lowest if the purchase waits 0, 1, 2, ... years.
    """
    if best == 0:
        return (
            f"Buying {quoted(then)} now is cheapest. Running {quoted(first)} for one year before "
            f"the purchase costs {money(more[1])} more over {years} years."
        )
    if best == years:
        return f"Keeping {quoted(first)} is cheapest over {years} years."
    years_before = "one year" if best == 1 else f"{best} years"
    return (
        f"Running {quoted(first)} for {years_before} and then buying {quoted(then)} is cheapest over "
        f"{years} years. Buying now costs {money(more[0])} more."
    )


# ---------------------------------------------------------------------- the rest


def cannot(it: Advice, show: Show) -> Iterator[str]:
    """The reasons why options do not keep the goal or hold their setpoints."""
    for name, reason in it.at_goal.cannot.items():
        why, comfort = reason, it.at_goal.options[name].comfort
        if not comfort.holds:
            why = why.replace(comfort.words(), comfort.words(show))
        yield f"{quoted(name)} {misses(it, name)}: {why}."
    for proposal in it.proposals:
        if not proposal.meets:
            yield proposal.why_not


def helps(it: Advice, show: Show) -> Iterator[str]:
    """What options achieve that help for less money than the best one."""
    before = it.hours_as_set(it.base)
    over = over_years(it)
    if it.bought is None and not _is_year(it):
        over += f" ({span(it.as_set, show)})"
    for name in it.helpful:
        hours = it.hours(name)
        more = it.cost(name) - it.cost(it.base)
        if name == it.base:
            if it.cures.kept:
                yield f"The cures alone leave {left_above(hours)} above {limit(it)} instead of {number(before)}."
            continue
        text = f"{quoted(name)} leaves {left_above(hours)} above {limit(it)} instead of {number(before)}."
        if abs(more) < NEAR:
            yield f"{text} It costs as much as {quoted(it.base)} {over}."
        else:
            side = "more" if more > 0.0 else "less"
            yield f"{text} It costs {money(abs(more))} {side} than {quoted(it.base)} {over}."


def about_goal(it: Advice, show: Show) -> Iterator[str]:
    """How the options were brought to the owner's goal."""
    yield (
        "Drying costs energy, so only the bills of options that end the same complaint are comparable. "
        f"The owner’s goal is {goal_words(it)}."
    )
    if len(it.as_set.seasons[it.base].hourly) < 365 * 24:
        yield f"In the months of this study, that is {count(it.most_hours, 'hour')}."
    text = (
        "Each option’s humidity setting was moved to the dampest one that keeps the goal, in whole "
        "percents. It stays 5 % below the limit, because a sensor errs by 3 %. An option with a colder "
        "room was set warmer, because a colder room is another comfort."
    )
    if it.cures.kept:
        text += " All options have the cures above."
    yield text
    comfort = it.at_goal.options[it.best].comfort
    yield (
        f"An option is too warm while its room is more than {show(COMFORT_BAND, 'difference')} above its "
        "cooling setpoint and people live there. It is too cold as far below its heating setpoint. With "
        f"more than {count(comfort.most, 'hour')} of either, it is not advised."
    )
    if comfort.cold is None:
        yield (
            f"{quoted(it.base)} has no heating or no heating setpoint, so hours too cold are not judged."
        )


def cures(it: Advice, show: Show) -> Iterator[str]:
    """What to do first, at no or little cost."""
    for tried in acting(it):
        yield tried.do(show.units)


def cures_notes(it: Advice) -> Iterator[str]:
    """What to mind about the cures that are advised, and what their prices are."""
    if any(tried.first_cost and tried.stand_in for tried in it.cures.tried):
        yield (
            "First costs of this list are stand-ins of our own (common practice, no source). A local "
            "offer replaces them."
        )
    if it.cures.season_words:
        yield it.cures.season_words
    yield from dict.fromkeys(text for tried in acting(it) for text in tried.cautions)


def acting(it: Advice) -> Sequence[TriedCure]:
    """The kept cures that act in the advised option."""
    return it.cures.kept if it.best not in it.as_set.seasons else it.cures.applied(it.best)


def proposed(it: Advice, show: Show) -> Iterator[str]:
    """Why the proposed machines have their sizes, and where their prices come from."""
    for proposal in it.proposals:
        if proposal.meets:
            why = proposal.why(show.units).replace("% RH", "%")
            yield f"{quoted(proposal.name)}: {why} {proposal.price_words}"


# ------------------------------------------------------------------ air leakage


def air_leakage(comparison: Comparison, show: Show) -> Iterator[str]:
    """Natural infiltration of each different house next to its blower-door result, and its basis."""
    found = comparison.air_leakage()
    for option, it in found.items():
        house = comparison.seasons[option].house
        at_50_pa = (
            f"{show.number(it.at_50_pa, 'airflow')} CFM50"
            if show.us
            else f"{show(it.at_50_pa, 'airflow')} at 50 Pa"
        )
        whose = "The house" if len(found) == 1 else f"With {quoted(option)}, the house"
        whole, mean = ("year", it.year) if it.year is not None else ("season", it.season)
        flows = it.months.to_numpy()
        low, high = (
            pd.Timestamp(2001, int(it.months.index[int(k)]), 1)
            for k in (flows.argmin(), flows.argmax())
        )
        text = (
            f"{whose} leaks {at_50_pa} ({house.changes_at_50_pa:.3g} ACH50). Natural infiltration, from wind "
            f"and temperature difference, averages {show(mean, 'airflow')} over the {whole}"
        )
        if len(it.months) > 1:
            text += (
                f": {show(flows.min(), 'airflow')} in {low:%B}, "
                f"{show(flows.max(), 'airflow')} in {high:%B}"
            )
        yield text + "."
    base = comparison.base
    house, it = comparison.seasons[base].house, found[base]
    whose = "" if len(found) == 1 else f" with {quoted(base)}"
    yield (
        f"The wind acts through shelter class {house.shelter:.0f}, from 1 (open) to 5 (dense). Without "
        f"shelter, in open country, the mean of the {'year' if it.year is not None else 'season'} would be "
        f"{show(it.in_the_open, 'airflow')}{whose}. Fans and leaking ducts bring in more air, which is not "
        "in this table."
    )
    if len(it.run) < len(it.months):
        yield (
            "Months outside the season follow from the weather file. The house is then between its "
            "heating and its cooling setpoint."
        )
