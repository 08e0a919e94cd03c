"""A season at a glance: what ran, and its main totals."""

from typing import TYPE_CHECKING

from moistsim.core.display import Show, duration, number
from moistsim.core.summary import Grid, Summary
from moistsim.engine import column_catalog, measures_of
from moistsim.equipment import machine_phrases
from moistsim.house import house_facts

if TYPE_CHECKING:
    from moistsim.season.season import Season

HUMIDITY = (column_catalog.MEAN_RH, column_catalog.MEAN_DEW_POINT, column_catalog.HOURS_OVER_60)


def season_summary(season: "Season", show: Show) -> Summary:
    """House, equipment, control, weather and period, with electricity, water, humidity and starts."""
    meter, house = season.meter, house_facts(season.house, show)
    stamps = season.quarters.index
    machines = "; ".join(text for _, text in machine_phrases(season.equipment, show))
    facts = (
        ("House", ", ".join((house.size, house.leakage, house.people, *house.around))),
        ("Equipment", machines),
        ("Control", season.strategy.name),
        ("Weather", season.weather.name),
        ("Period", f"{show.period(stamps[0], stamps[-1])}, step {duration(season.step)}"),
    )
    shown = [
        measure
        for measure in measures_of(meter.stages, second=meter.second_stages)
        if measure.part in ("kwh", "water_kg", "starts") and meter.of(measure) >= 0.5
    ]
    rows = [
        *((measure, meter.of(measure)) for measure in shown if measure.part == "kwh"),
        (column_catalog.TOTAL, meter.total_kwh),
        *((measure, meter.of(measure)) for measure in shown if measure.part != "kwh"),
        *((measure, meter.of(measure)) for measure in HUMIDITY),
    ]
    table = Grid(
        "Totals and means of the period",
        ("Measure", "Value"),
        tuple(
            (measure.heading(show.units), number(measure.shown(value, show.units), measure.digits))
            for measure, value in rows
        ),
        numbers=frozenset({1}),
    )
    return Summary("Season", "", facts, (table,), season.notes)
