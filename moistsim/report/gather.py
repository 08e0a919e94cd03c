"""The content of the page, from a scenario and its options as they ran."""

from collections.abc import Iterator, Sequence

import pandas as pd

from moistsim.advice import Advice
from moistsim.core.display import Show, Units, duration, units_or_default
from moistsim.economics import Economics
from moistsim.equipment import fan_words
from moistsim.house import house_facts
from moistsim.report import pictures, sentences, spaces, tables
from moistsim.report.answer import answer
from moistsim.report.conclude import Conclusion, conclude
from moistsim.report.over_years import across_years
from moistsim.report.records import Report, Value, Years
from moistsim.report.sureness import sureness
from moistsim.risk import CAUTIONS as OF_MOLD
from moistsim.risk import spaces as of_spaces
from moistsim.scenario import Scenario, checksum, inputs
from moistsim.season import package_version
from moistsim.sizing import RATINGS, rating_words
from moistsim.study import Comparison, Study, house_words, machine_words
from moistsim.uncertainty import Certainty

ONE_YEAR = "The weather is that of one year. More humid summers will come."
"""Caution of a page without other weather years."""

CAUTIONS = (
    "This is a model’s estimate, not a design, a quotation or a permit. Before anything is bought or "
    "wired, local codes and licensed trades come first.",
    "Electric strips carry line voltage; controls are low-voltage wiring. An electrician must keep "
    "the two apart. Strips and compressor together may exceed the breaker and wires of either.",
    "Electric heat without airflow is a fire hazard: airflow proof and limit switches must stay.",
    "Exhaust fans and leaky ducts can pull combustion gas into a house, and a tighter house dilutes it "
    "less. Chimneys and fuel-burning water heaters must be tested after a change.",
    ONE_YEAR,
)

OF_WORK = {
    "crawl_space": "Before a crawl space is covered or closed, standing water, termites, radon and the "
    "combustion air of appliances must be dealt with.",
    "attic": "Before an attic is sealed, the combustion air of appliances in it must be dealt with.",
    "ach50": "A tighter house needs mechanical ventilation, at the rate of the local code.",
    "leakage": "A tighter house needs mechanical ventilation, at the rate of the local code.",
}
"""Cautions about work on parts of the house, by the field that an option changes."""


def gather(
    scenario: Scenario,
    comparison: Comparison,
    found: Conclusion | None = None,
    *,
    units: Units | None = None,
    budget: pd.DataFrame | None = None,
    certainty: Certainty | None = None,
    deeper: Sequence[tuple[str, str]] = (),
) -> Report:
    """Collect the content of the page.

    Parameters
    ----------
    scenario : Scenario
    comparison : Comparison
        The scenario's study, run.
    found : Conclusion, optional
        Default: ``conclude(scenario, comparison, units=units)``.
    units : {"us", "si"}, optional
    budget : DataFrame, optional
        The result of `error_budget`; default: no section on certainty.
    certainty : Certainty, optional
        The result of `how_sure` for the same two options.
    deeper : sequence of (str, str)
        Files next to the page: name and content.

    Returns
    -------
    Report
    """
    units = units_or_default(units, "report units")
    show = Show(units)
    it, risks, damp, over = found or conclude(scenario, comparison, units=units)
    ways = it.three_ways() if len(it.at_goal.options) > 1 else None
    values = {
        origin: tuple(_values(scenario, origin, show))
        for origin in ("measured", "stated", "assumed")
    }
    return Report(
        title=scenario.name,
        note=scenario.note,
        units=units,
        facts=tuple(_facts(scenario, show)),
        answer=answer(it, budget, certainty, over, show=show),
        reasons=sentences.reasons(it, float(risks["longest_over_60_h"][comparison.base]), show),
        changes=tuple(_changes(comparison.study, show)),
        advised=pictures.advised(it),
        humidity=pictures.humidity(comparison),
        months=pictures.months(comparison),
        months_table=tables.months(comparison),
        as_set=tables.as_set(comparison, show),
        cures=tables.cures(it, show),
        cures_notes=tuple(sentences.cures_notes(it)),
        at_goal=tables.at_goal(it, show),
        goal_text=tuple(sentences.about_goal(it, show)),
        proposed=tuple(sentences.proposed(it, show)),
        three_ways=None if ways is None else tables.three_ways(ways, show),
        three_ways_text="" if ways is None else ways.words(*it.asked, units),
        cannot=tuple(sentences.cannot(it, show)),
        helps=tuple(sentences.helps(it, show)),
        years=None if it.bought is None else _years(it, it.bought),
        across_years=None if over is None else across_years(over),
        risks=tables.risks(risks, show),
        spaces=tuple(spaces.sections(comparison, damp, scenario.risk_basis, show)),
        leakage_text=tuple(sentences.air_leakage(comparison, show)),
        leakage=tables.air_leakage(comparison, show),
        sure=None if budget is None else sureness(budget, scenario, certainty),
        **values,
        cautions=(
            *(text for text in CAUTIONS if over is None or text != ONE_YEAR),
            *_of_work(comparison.study),
            *OF_MOLD,
            *(of_spaces.CAUTIONS if damp["highest_wood_moisture_pct"].notna().any() else ()),
        ),
        deeper=tuple(deeper),
        made_by=_made_by(scenario, comparison),
    )


def _facts(scenario: Scenario, show: Show) -> Iterator[tuple[str, str]]:
    """House, weather, season and price, in plain words."""
    study = scenario.study
    house, weather = house_facts(study.house, show), study.weather
    if scenario.complaint:
        yield "Complaint", scenario.complaint
    yield (
        "House",
        ", ".join(
            (
                house.size,
                house.people,
                f"household moisture {house.moisture}",
                f"air leakage {house.leakage}",
                *house.around,
            )
        ),
    )
    yield "Machines", ". ".join(machine_words(study, show)).replace("SHR", "sensible heat ratio")
    frame = weather.frame
    yield (
        "Weather",
        f"{weather.name}: average temperature {show(frame['temp_air'].mean(), 'temperature', 0)}, "
        f"average dew point {show(frame['temp_dew'].mean(), 'temperature', 0)}",
    )
    stamps = weather.frame.index[weather.between(study.start, study.end)]
    yield "Period", f"{show.period(stamps[0], stamps[-1])}, {len(stamps) / 24:.0f} days"
    yield "Electricity", study.tariff.words.removeprefix("at ")
    if any(option.equipment.burns_gas for option in study.resolved.values()):
        yield "Gas", show.field(study.tariff.gas_price, "USD/kWh", "gas_price")
    two = [name for name, (machines, *_) in study.resolved.items() if machines.second_system]
    if two:
        names = " and ".join(sentences.quoted(name) for name in two)
        yield (
            "Systems",
            f"{names}: a system for each zone. Humidity, starts and wear on this page are those of the main "
            "zone and its system, unless a row names the second one. Electricity, water and peak hold both",
        )
    fans = {name: fan_words(machines) for name, (machines, *_) in study.resolved.items()}
    if len(set(fans.values())) == 1:
        words = next(iter(fans.values()))
    else:
        words = "; ".join(
            f"{sentences.quoted(name)}: {fan or 'none'}" for name, fan in fans.items()
        )
    if words:
        yield "Blower", words


def _changes(study: Study, show: Show) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The options that change the house, and what they change."""
    for option in study.options:
        words = house_words(study, option, show)
        if words:
            yield option, words


def _of_work(study: Study) -> Iterator[str]:
    """Cautions about the work that the options of a study do on the house."""
    parts = {change.path[0] for option in study.options for change in study.changes(option)}
    yield from dict.fromkeys(text for part, text in OF_WORK.items() if part in parts)


def _values(scenario: Scenario, origin: str, show: Show) -> Iterator[Value]:
    for item in inputs(scenario):
        from_label = item.origin == "label"
        if item.origin == origin or (from_label and origin == "stated"):
            text = show.field(item.value, item.unit, item.key)
            text += " (from the label)" if from_label else ""
            if isinstance(item.value, str) and item.value in RATINGS:
                text = rating_words(item.value, show)
            yield Value(
                item.key.removeprefix(item.table), text, item.help.replace("`", ""), item.option
            )


def _years(it: Advice, bought: Economics) -> Years:
    bridge = title = text = None
    # Work on the house stays, so a later purchase is not a plan of another house.
    if it.repaid is not None and _keeps_the_house(it):
        first, then = it.repaid.against, it.repaid.option
        found = bought.bridge(first, then)
        bridge = tables.bridge(found)
        title = f"If “{then}” is not affordable now: “{first}” first"
        text = sentences.bridge(
            first,
            then,
            found.best,
            int(bought.terms.years),
            found.table["above_least_USD"].tolist(),
        )
    notes = (
        "Each option runs at the owner’s goal, as above. One that misses the goal runs as near to it as "
        "it can.",
        *bought.notes,
    )
    return Years(
        title=f"Cost over {bought.terms.years:.0f} years",
        picture=pictures.years(bought, dict.fromkeys((it.base, it.best))),
        table=tables.years(bought),
        sentences=tuple(sentences.trades(it)),
        bridge_title=title or "",
        bridge=bridge,
        bridge_text=text or "",
        notes=notes,
    )


def _keeps_the_house(it: Advice) -> bool:
    """Whether the better option has all that the option before it changes in the house."""
    assert it.repaid is not None
    first, then = (
        {change.path: change.after for change in it.at_goal.study.changes(name)}
        for name in (it.repaid.against, it.repaid.option)
    )
    return first.items() <= then.items()


def _made_by(scenario: Scenario, comparison: Comparison) -> dict[str, str]:
    """Versions and checksums, which make the page reproducible."""
    weather, season = scenario.study.weather, comparison.seasons[comparison.base]
    return {
        "moistsim": package_version("moistsim"),
        "numba, numpy": ", ".join(package_version(name) for name in ("numba", "numpy")),
        "scenario": f"{scenario.path.name} {checksum(scenario)}",
        "weather": f"{weather.name} {weather.checksum}",
        **({"weather source": weather.source} if weather.source else {}),
        "step": duration(season.step),
    }
