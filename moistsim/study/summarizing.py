"""A study and its comparison at a glance."""

from moistsim.controls import thresholds
from moistsim.core.display import NOTHING, Show, duration, number
from moistsim.core.summary import Grid, Summary
from moistsim.core.units import to_si
from moistsim.engine import column_catalog
from moistsim.house import house_facts
from moistsim.study.house_words import house_words
from moistsim.study.machine_words import own_machine_words
from moistsim.study.study import Comparison, Option, Study

MEASURES = (
    column_catalog.TOTAL, column_catalog.COST, column_catalog.MORE_USD, column_catalog.PEAK,
    column_catalog.HOURS_OVER_60, column_catalog.MEAN_RH, column_catalog.MEAN_DEW_POINT,
)  # fmt: skip
"""Measures of a comparison that decide first."""


def study_facts(study: Study, show: Show) -> tuple[tuple[str, str], ...]:
    """House, weather, period, price and goal of a study."""
    house = house_facts(study.house, show)
    stamps = study.weather.frame.index[study.weather.between(study.start, study.end)]
    step = duration(to_si(study.step, "s", "step"))
    return (
        ("House", ", ".join((house.size, house.leakage, house.people, *house.around))),
        ("Weather", study.weather.name),
        ("Period", f"{show.period(stamps[0], stamps[-1])}, step {step}"),
        ("Electricity", study.tariff.words.removeprefix("at ")),
        ("Goal", study.goal.words),
    )


def study_summary(study: Study, show: Show) -> Summary:
    """What all options share, and what each has of its own."""
    shared, own = own_machine_words(study, show)
    base = study.base or next(iter(study.options))
    rows = tuple(
        (
            f"{name} (base)" if name == base else name,
            "; ".join(own[name]) or NOTHING,
            _control(option, show),
            "; ".join(house_words(study, name, show)) or NOTHING,
        )
        for name, option in study.resolved.items()
    )
    columns = ("Option", "Its own equipment", "Control", "Changes to the house")
    facts = (*study_facts(study, show), ("Equipment", f"{'; '.join(shared)}, in all options"))
    return Summary(
        "Study",
        facts=facts if shared else facts[:-1],
        tables=(Grid("Options", columns, rows),),
    )


def _control(option: Option, show: Show) -> str:
    """A control with its humidity setpoints."""
    points = thresholds(option.equipment, option.strategy)
    return ", ".join(
        (
            option.strategy.name,
            *(f"{point.name} {show.field(point.value, point.unit)}" for point in points),
        )
    )


def comparison_summary(comparison: Comparison, show: Show) -> Summary:
    """The measures of each option that decide first."""
    table = comparison.table(show.units)
    against = column_catalog.AGAINST_BASE
    heads = [measure.heading(show.units, measure.short) for measure in MEASURES]
    rows = tuple(
        (
            str(name),
            *(
                number(row[m.column(show.units)], m.digits, sign=m is column_catalog.MORE_USD)
                for m in MEASURES
            ),
            str(row[against.name]),
        )
        for name, row in table.iterrows()
    )
    columns = ("Option", *heads, against.heading(show.units, against.short))
    numbers = frozenset(range(1, len(MEASURES) + 1))
    return Summary(
        "Comparison",
        facts=study_facts(comparison.study, show),
        tables=(Grid("Options as set", columns, rows, numbers),),
    )
