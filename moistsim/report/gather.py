"""Everything on the page, from a scenario and its options as they ran."""

from collections.abc import Iterator, Sequence

from moistsim.core.units import from_si
from moistsim.economics import Economics, economics
from moistsim.figures import style
from moistsim.report import pictures, tables, words
from moistsim.report.records import Report, Sure, Value, Years
from moistsim.report.showing import number, shown
from moistsim.report.verdict import Verdict
from moistsim.risk import CAUTIONS as OF_MOLD
from moistsim.risk import risk
from moistsim.scenario import Scenario, checksum, inputs
from moistsim.season import package_version
from moistsim.study import Comparison, Matched, Units

CAUTIONS = (
    "This is a model’s estimate, not a design, a quotation or a permit. Before anything is bought or "
    "wired, local codes and licensed trades come first.",
    "Electric strips carry mains voltage, and controls are low-voltage wiring with limits of its "
    "own: an electrician must keep the two apart. Strips and compressor that draw at once may ask "
    "for more than the breaker and wires of either.",
    "Heat without moving air over the elements is a fire hazard: proof of airflow and limit "
    "switches must stay.",
    "Exhaust fans and leaky ducts put a house under suction, which matters wherever anything burns "
    "fuel: chimneys and water heaters must be tested after a change.",
    "The weather is that of one year, typical or not: a more humid summer will come.",
)

MEASURE = "mean RH"
"""What options are brought to: a room that is cooler at the same dew point is more humid to people,
wood and mold."""


def gather(
    scenario: Scenario,
    comparison: Comparison,
    matched: Matched | None = None,
    *,
    units: Units = "us",
    sure: Sure | None = None,
    deeper: Sequence[tuple[str, str]] = (),
) -> Report:
    """Draw up the page.

    Parameters
    ----------
    scenario : Scenario
    comparison : Comparison
        Its study, run.
    matched : Matched, optional
        ``comparison.study.matched(MEASURE, as_set=comparison)`` by default, where there are two
        options or more.
    units : {"us", "si"}
    sure : Sure, optional
        How sure the answer is, as `sureness` draws it up; left out, the page does not say.
    deeper : sequence of (str, str)
        Names of files that lie beside the page, each with what it holds.

    Returns
    -------
    Report
    """
    style.check(units)
    several = len(comparison.seasons) > 1
    if matched is None and several:
        matched = comparison.study.matched(MEASURE, as_set=comparison, progress=False)
    alike = comparison if matched is None else matched.comparison
    bought = economics(alike, scenario.purchases, scenario.terms) if scenario.purchases else None
    risky = risk(comparison, scenario.risk_basis)
    it = Verdict(
        as_set=comparison,
        matched=matched,
        bought=bought,
        mold={
            str(name): float(value)
            for name, value in risky[["mold_index_corner", "mold_index_register"]]
            .max(axis=1)
            .items()
        },
    )
    values = {
        origin: tuple(_values(scenario, origin, units))
        for origin in ("measured", "stated", "assumed")
    }
    return Report(
        title=scenario.name,
        note=scenario.note,
        units=units,
        facts=tuple(_facts(scenario, units)),
        answer=words.answer(it, float(risky["longest_over_60_h"][comparison.base])),
        humidity=pictures.humidity(comparison),
        months=pictures.months(comparison),
        months_table=tables.months(comparison),
        as_set=tables.as_set(comparison, units),
        as_matched=None if matched is None else tables.as_matched(matched, units),
        matched_text="" if matched is None else words.about_matching(it, units == "us"),
        cannot=() if matched is None else tuple(words.cannot(it)),
        years=None if bought is None else _years(it, bought),
        risks=tables.risks(risky),
        sure=sure,
        **values,
        cautions=(*CAUTIONS, *OF_MOLD),
        deeper=tuple(deeper),
        made_by=_made_by(scenario, comparison),
    )


def _facts(scenario: Scenario, units: Units) -> Iterator[tuple[str, str]]:
    """House, weather, season and price, in plain words."""
    study, us = scenario.study, units == "us"
    house, weather = study.house, study.weather
    area = from_si(house.floor_area, "m2", "ft2" if us else "m2")
    water = from_si(house.moisture_gain, "kg/s", "pint/day" if us else "L/day")
    people = f"{house.gains.occupants:g} {'person' if house.gains.occupants == 1 else 'people'}"
    yield (
        "House",
        f"{area:,.0f} {'ft²' if us else 'm²'}, {house.stories:.0f} story{'s' if house.stories > 1 else ''}; "
        f"{people}, who bring {water:.{0 if us else 1}f} {'pints' if us else 'liters'} of water into the air "
        f"a day; leaks that would show as {house.changes_at_50_pa:.3g} air changes an hour in a blower-door test",
    )
    climate, degree = weather.describe(units), "F" if us else "C"
    yield (
        "Weather",
        f"{weather.name}, on average {climate[f'mean dry bulb [deg{degree}]']:.0f} °{degree} and, in dew "
        f"point, {climate[f'mean dew point [deg{degree}]']:.0f} °{degree} (how much water is in the air)",
    )
    stamps = weather.frame.index[weather.between(study.start, study.end)]
    yield (
        "Season",
        f"{words.day(stamps[0])} to {words.day(stamps[-1])}, {len(stamps) / 24:.0f} days",
    )
    yield "Electricity", study.tariff.words.replace("USD/kWh", "USD for a kilowatt-hour (kWh)")


def _values(scenario: Scenario, origin: str, units: Units) -> Iterator[Value]:
    for item in inputs(scenario):
        if item.origin == origin:
            text = shown(item.value, item.unit, units, item.key)
            yield Value(item.key.removeprefix(item.table), text, item.help, item.option)


def _years(it: Verdict, bought: Economics) -> Years:
    bridge = title = text = None
    if it.repaid is not None:
        first, then = it.repaid.against, it.repaid.option
        found = bought.bridge(first, then)
        bridge = tables.bridge(found)
        title = f"If “{then}” cannot be bought at once: “{first}” first"
        text = words.bridge(
            first,
            then,
            found.best,
            int(bought.terms.years),
            found.table["above_least_USD"].tolist(),
        )
    notes = bought.notes
    if it.matched is not None:
        notes = (
            "Each option is counted with its humidity setting moved as above, and, where it cannot "
            "keep the house as dry, as near to that as it comes.",
            *notes,
        )
    return Years(
        title=f"What it costs over {bought.terms.years:.0f} years",
        picture=pictures.years(bought, dict.fromkeys((it.base, it.best))),
        table=tables.years(bought),
        sentences=tuple(words.trades(it)),
        bridge_title=title or "",
        bridge=bridge,
        bridge_text=text or "",
        notes=notes,
    )


def _made_by(scenario: Scenario, comparison: Comparison) -> dict[str, str]:
    """Versions and checksums, by which the page can be made again."""
    weather, season = scenario.study.weather, comparison.seasons[comparison.base]
    return {
        "moistsim": package_version("moistsim"),
        "numba, numpy": ", ".join(package_version(name) for name in ("numba", "numpy")),
        "scenario": f"{scenario.path.name} {checksum(scenario)}",
        "weather": f"{weather.name} {weather.checksum}",
        **({"weather's source": weather.source} if weather.source else {}),
        "step": f"{number(season.step)} s",
    }
