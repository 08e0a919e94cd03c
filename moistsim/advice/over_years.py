"""Advice in other weather years: the settings and machines as advised, and what wins in each year."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import attrs
import pandas as pd

from moistsim.advice.advice import Advice
from moistsim.core.display import count, number
from moistsim.core.errors import InputError
from moistsim.core.progress import progress_bar
from moistsim.economics import economics
from moistsim.engine import column_catalog
from moistsim.season import Season, simulate
from moistsim.study import Comparison, comfort_of, warmer_room
from moistsim.weather import Weather

HUMID, WHOLE_COST = "humid_h", "life_cycle_cost_USD"
"""Columns that the catalog lacks: humid hours by the goal, and cost over the years."""


class Range(NamedTuple):
    """Lowest, middle and highest value of the years."""

    low: float
    median: float
    high: float


@attrs.frozen(eq=False)
class OverYears:
    """The options as advised, in several weather years: `over_years` makes it.

    Settings and machines stay as they are advised for the study's own weather, as they would in the
    house. In each year, the winner is the cheapest option that keeps the goal and holds its
    setpoints in that year. The cost is that over the years, as if each were like this one, or the
    energy of the season without described purchases.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-03")
    >>> advice = ms.advise(study, demo.purchases, demo.terms, progress=False)
    >>> found = ms.over_years(advice, {2019: study.weather}, progress=False)
    >>> found.years_words, list(found.wins) == [advice.best]
    ('1 weather year (2019)', True)
    """

    advice: Advice
    table: pd.DataFrame
    """One row for each year and option.

    `humid_h` are the hours above the goal's relative humidity. `keeps_goal` and `holds_setpoints` are
    those of `AtGoal.table`, in that year. `wins` marks the winner. Then come electricity, energy cost
    and, with purchases, `life_cycle_cost_USD`.
    """
    winners: dict[str, str | None]
    """Winner by year; None for a year in which no option keeps the goal."""
    most_hours: float
    """Largest number of humid hours that the goal allows in one of the years."""
    are_actual: bool
    """Whether the years are actual ones, and not typical or synthetic."""

    @property
    def labels(self) -> tuple[str, ...]:
        """Labels of the years."""
        return tuple(self.winners)

    @property
    def wins(self) -> dict[str, tuple[str, ...]]:
        """Years won by option, those with the most wins first; options without a win are absent."""
        won: dict[str, tuple[str, ...]] = {}
        for label, option in self.winners.items():
            if option is not None:
                won[option] = (*won.get(option, ()), label)
        return dict(sorted(won.items(), key=lambda of: -len(of[1])))

    @property
    def without(self) -> tuple[str, ...]:
        """Years in which no option keeps the goal."""
        return tuple(label for label, option in self.winners.items() if option is None)

    def misses(self, option: str) -> tuple[str, ...]:
        """Years in which an option breaks the goal or does not hold its setpoints."""
        rows = self.table.xs(option, level="option")
        keeps = rows["keeps_goal"].astype(bool) & rows["holds_setpoints"].astype(bool)
        return tuple(map(str, keeps.index[~keeps]))

    def spread(self, option: str, column: str) -> Range:
        """Lowest, median and highest value of a column of `table`, over the years."""
        return _range(self.table.xs(option, level="option")[column])

    def lead(self, rival: str) -> Range:
        """Cost of another option less that of the advised one, USD; negative where it costs less.

        Over the years with described purchases, else the energy of the season.
        """
        column = WHOLE_COST if WHOLE_COST in self.table else column_catalog.COST.name
        by_option = self.table[column].unstack("option")
        return _range(by_option[rival] - by_option[self.advice.best])

    @property
    def verdict(self) -> str:
        """In how many years which option wins, as one or more sentences."""
        best, won, n = self.advice.best, self.wins, len(self.labels)
        held = self.advice.uncomfortable
        keeps = "keeps the goal and its setpoints" if held else "keeps the goal"
        cheapest = f"“{best}” is the cheapest option that {keeps}"
        if len(won.get(best, ())) == n:
            return f"In {'both' if n == 2 else 'each'} of {self.years_words}, {cheapest}."
        many = number(len(won[best])) if best in won else "none"
        text = f"{cheapest} in {many} of {self.years_words}."
        others = [
            f"“{name}” in {years_in_words(labels)}" for name, labels in won.items() if name != best
        ]
        if others:
            text += f" Others win in the rest: {_joined(others)}."
        if self.without:
            text += f" No option {keeps} in {years_in_words(self.without)}."
        return text

    @property
    def years_words(self) -> str:
        """The years in words, such as "10 actual years (2014 to 2023)"."""
        labels = self.labels
        named = ", ".join(labels)
        if len(labels) > 2 and all(label.isdigit() for label in labels):
            numbers = [*map(int, labels)]
            if numbers == [*range(numbers[0], numbers[-1] + 1)]:
                named = f"{labels[0]} to {labels[-1]}"
        kind = "actual" if self.are_actual else "weather"
        return f"{count(len(labels), f'{kind} year')} ({named})"


def over_years(
    advice: Advice,
    weathers: Mapping[Any, Weather],
    *,
    progress: bool = True,
    workers: int | None = None,
) -> OverYears:
    """Run the options as advised in several weather years, and find what wins in each.

    Parameters
    ----------
    advice : Advice
    weathers : dict of Weather
        By year or name, such as the result of `fetch_actual_years` or `Weather.years`. Each must
        hold the season of the study.
    progress : bool
        Show a progress bar.
    workers : int, optional
        Number of threads; default: one for each core.

    Returns
    -------
    OverYears

    Raises
    ------
    InputError
        If there is no weather, or one that does not hold the season.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> advice = ms.advise(study, demo.purchases, demo.terms, progress=False)
    >>> other = study.weather.shifted(temp_air=1.0, temp_dew=1.0)
    >>> found = ms.over_years(advice, {"warm": other, "file": study.weather}, progress=False)
    >>> found.winners["file"] == advice.best
    True
    """
    if not weathers:
        raise InputError("over_years", dict(weathers), "one weather or more")
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    winners: dict[str, str | None] = {}
    most = 0.0
    with progress_bar(len(weathers), "weather years", "year", shown=progress) as bar:
        for label, weather in weathers.items():
            there = in_weather(advice, weather, workers=workers)
            winners[str(label)] = there.best if there.ends_complaint else None
            most = max(most, there.most_hours)
            rows |= {(str(label), name): row for name, row in _rows(there)}
            bar.update()
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index = pd.MultiIndex.from_tuples([*rows], names=["year", "option"])
    are_actual = all(weather.kind == "actual" for weather in weathers.values())
    return OverYears(advice, table, winners, most, are_actual)


def in_weather(advice: Advice, weather: Weather, *, workers: int | None = None) -> Advice:
    """The advice's options at their advised settings, in another weather.

    Only `at_goal` and `bought`, and what follows from them, are of that weather.
    """
    study = attrs.evolve(advice.at_goal.study, weather=weather)
    ran = study.run(progress=False, workers=workers)
    base = _base_as_set(advice, ran)
    options = {
        name: attrs.evolve(
            x,
            season=ran.seasons[name],
            hours=study.goal.humid_hours(ran.seasons[name]),
            most_hours=study.goal.most_hours(len(ran.seasons[name].quarters) / 4),
            warmer=warmer_room(ran.seasons[name], base),
            comfort=comfort_of(study, ran.seasons[name]),
        )
        for name, x in advice.at_goal.options.items()
    }
    before = attrs.evolve(advice.at_goal.as_set.study, weather=weather)
    bought = advice.bought
    if bought is not None:
        bought = economics(ran, bought.purchases, bought.terms, at_goal=True)
    at_goal = attrs.evolve(
        advice.at_goal, as_set=Comparison(before, advice.at_goal.as_set.seasons), options=options
    )
    return attrs.evolve(advice, at_goal=at_goal, bought=bought)


def years_in_words(labels: Sequence[str]) -> str:
    """Years in words, such as "2 years (2016 and 2018)".

    Examples
    --------
    >>> years_in_words(["2016"]), years_in_words(["2016", "2018", "2019"])
    ('2016', '3 years (2016, 2018 and 2019)')
    """
    return labels[0] if len(labels) == 1 else f"{len(labels)} years ({_joined(labels)})"


def _joined(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _range(values: "pd.Series[float]") -> Range:
    return Range(float(values.min()), float(values.median()), float(values.max()))


def _base_as_set(advice: Advice, ran: Comparison) -> Season:
    """The base option's season with its settings as set, whose room temperature is the standard."""
    there = advice.at_goal.options[ran.base]
    if not there.moved_rh and not there.moved_temperature:
        return ran.seasons[ran.base]
    study, option = ran.study, advice.at_goal.as_set.study.resolved[ran.base]
    return simulate(
        option.house, option.equipment, option.strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def _rows(there: Advice) -> Iterator[tuple[str, dict[str, Any]]]:
    """The rows of one year."""
    table = there.comparison.table("si")
    for name, x in there.at_goal.options.items():
        row = {
            HUMID: x.hours,
            "keeps_goal": x.meets and x.comparable,
            "holds_setpoints": x.comfort.holds,
            "wins": there.ends_complaint and name == there.best,
            **{
                of.name: float(table[of.name][name])
                for of in (column_catalog.TOTAL, column_catalog.COST)
            },
        }
        if there.bought is not None:
            row[WHOLE_COST] = there.cost(name)
        yield name, row
