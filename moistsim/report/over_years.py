"""The advice in other weather years: who wins how often, and the spread of hours, kWh and money."""

from collections.abc import Iterator

from moistsim.advice import HUMID, WHOLE_COST, OverYears, Range, years_in_words
from moistsim.core.display import count, number
from moistsim.engine import column_catalog
from moistsim.figures import weather_years_figure
from moistsim.report.pictures import both
from moistsim.report.records import AcrossYears, Picture, Row, Table
from moistsim.report.sentences import left_above, quoted


def across_years(it: OverYears) -> AcrossYears:
    """Collect the section on other weather years."""
    return AcrossYears((it.verdict, *_as_advised(it)), table(it), _note(it), _picture(it))


def in_short(it: OverYears) -> str:
    """The years as part of the answer's last line."""
    won, n = len(it.wins.get(it.advice.best, ())), len(it.labels)
    kind = "actual years" if it.are_actual else "weather years"
    share = f"all {n} {kind}" if won == n else f"{number(won)} of {n} {kind}"
    return f"In {share} with these settings, {quoted(it.advice.best)} is the cheapest that keeps the goal."


def table(it: OverYears) -> Table:
    """Wins and spread by option."""
    names, n = tuple(it.advice.at_goal.options), len(it.labels)

    def counted(label: str, counts: list[int]) -> Row:
        return Row(f"{label}, of {n} years", tuple(map(number, counts)))

    def spread(label: str, column: str) -> Row:
        cells = (_span(it.spread(name, column)) for name in names)
        return Row(f"{label}, low to high", tuple(cells))

    def middle(label: str, column: str) -> Row:
        return Row(
            f"{label}, median", tuple(number(it.spread(name, column).median) for name in names)
        )

    def rows() -> Iterator[Row]:
        yield counted("Cheapest at the goal", [len(it.wins.get(name, ())) for name in names])
        yield counted("At goal and setpoints", [n - len(it.misses(name)) for name in names])
        mark = f"Hours above {it.advice.at_goal.goal.above_rh:g} %"
        for label, column in (
            (mark, HUMID),
            ("Electricity, kWh", column_catalog.TOTAL.name),
            ("Energy cost, USD", column_catalog.COST.name),
        ):
            yield middle(label, column)
            yield spread(label, column)
        if it.advice.bought is not None:
            years = f"{it.advice.bought.terms.years:.0f} years"
            yield spread(f"Cost over {years}, USD", WHOLE_COST)

    caption = f"Options as advised in {it.years_words}"
    return Table("Other years", names, tuple(rows()), caption)


def _as_advised(it: OverYears) -> Iterator[str]:
    """How humid and how costly the advised option is, and its lead over the next one."""
    best, rival = it.advice.best, it.advice.rival
    hours, cost = it.spread(best, HUMID), it.spread(best, column_catalog.COST.name)
    mark = f"{it.advice.at_goal.goal.above_rh:g} %"
    humid = f"{left_above(hours.high)} in each year"
    if number(hours.low) != number(hours.high):
        humid = f"{_span(hours)} hours, depending on the year"
    yield (
        f"With {quoted(best)}, relative humidity is above {mark} for {humid}; the goal allows "
        f"{number(it.most_hours)}. Energy costs {_span(cost)} USD."
    )
    if rival is not None:
        lead, over = it.lead(rival), "in energy"
        if it.advice.bought is not None:
            over = f"over {count(it.advice.bought.terms.years, 'year')}"
        if lead.low < 0.0 < lead.high:
            much = f"from {number(lead.high)} USD less to {number(-lead.low)} USD more"
        else:
            less = lead.low >= 0.0
            much = f"{_span(lead if less else Range(-lead.high, -lead.median, -lead.low))} USD {'less' if less else 'more'}"
        yield f"It costs {much} {over} than {quoted(rival)}, depending on the year."
    if missed := it.misses(best):
        text = f"{quoted(best)} misses the goal or its setpoints in {years_in_words(missed)}."
        keeps = it.table.xs(best, level="option")["keeps_goal"]
        if not all(keeps[label] for label in missed):
            text += " A lower humidity setting in more humid years costs more energy."
        yield text


def _picture(it: OverYears) -> Picture:
    figure = weather_years_figure(it, narrow=True)
    return Picture(
        *both(figure), figure.alt,
        "One mark for each year, the first year on top. Full marks: the option keeps the goal and its setpoints. "
        f"Dashed line: the goal, {number(it.most_hours)} hours.",
    )  # fmt: skip


def _note(it: OverYears) -> str:
    advice = it.advice
    text = (
        f"Settings and machines are those advised for {advice.as_set.study.weather.name}. They stay the same in "
        "all years."
    )
    if advice.bought is None:
        return f"{text} The cheapest option has the lowest energy cost."
    years = count(advice.bought.terms.years, "year")
    return (
        f"{text} The cheapest option costs the least over {years}, if each were like the one named."
    )


def _span(of: Range) -> str:
    low, high = number(of.low), number(of.high)
    return high if low == high else f"{low} to {high}"
