"""Screen and page say which options are too warm, and speak of all options by all options' hours."""

from collections.abc import Callable
from functools import lru_cache

import attrs
from support.houses import house
from support.machines import machines
from support.report_pages import DRY, PLAIN, REHEAT, advice, are_sentences
from support.weathers import stretch

import moistsim as ms
from moistsim.advice import Advice
from moistsim.commands.study_words import at_goal, table
from moistsim.core.display import Show
from moistsim.engine import column_catalog
from moistsim.report import answer, tables
from moistsim.report.sentences import about_goal, cannot, reasons
from moistsim.study.study import Comparison

US, SI = Show("us"), Show("si")
HALF, THREE = "Half a ton", "Three tons"


@lru_cache
def hot(*order: str) -> Advice:
    """Ten days of a Miami July with an owner who allows any hour: half a ton costs the least."""

    def unit(tons: float) -> ms.Equipment:
        none = dict.fromkeys(("dehumidifier", "strips", "hot_gas", "heating"))
        cooling = ms.Cooling(stages=[ms.Stage(capacity=f"{tons} ton", cop=3.5, shr=0.74)])
        return machines(**none, cooling=cooling)

    options = {HALF: (unit(0.5), ms.strategies.temperature_only),
               THREE: (unit(3), ms.strategies.temperature_only)}  # fmt: skip
    study = ms.Study(
        house(), {name: options[name] for name in order}, stretch("miami", 190, 10),
        step="5 min", goal=ms.Goal(hours=8760),
    )  # fmt: skip
    return advice(study.run(progress=False))


def test_half_a_ton_does_not_win_against_three() -> None:
    """It is the cheaper one and keeps the goal, whichever of the two is there today."""
    for order in ((HALF, THREE), (THREE, HALF)):
        it = hot(*order)
        assert it.energy(HALF) < it.energy(THREE)
        assert it.best == THREE and it.fit == (THREE,)
        assert it.would_win == (HALF,)
        assert HALF not in it.helpful
        said = answer(it, show=US)
        warm = it.at_goal.options[HALF].comfort.warm
        assert warm is not None
        assert (
            f"“{HALF}” costs less, but is not advised: its room is more than 1.8 °F above its cooling "
            f"setpoint for {warm:,.0f} hours, 2 are allowed."
        ) in said.do
        assert f"“{THREE}”" in said.do.split(".")[0]
        texts = (*said, *reasons(it, 1.0, US), *about_goal(it, US))
        assert [text for text in texts if not are_sentences(text)] == []
        assert [*cannot(it, SI)] == [
            f"“{HALF}” does not hold its setpoints: its room is more than 1.0 °C above its cooling "
            f"setpoint for {warm:,.0f} hours, 2 are allowed."
        ]


def test_if_nothing_holds_the_setpoints_nothing_is_advised() -> None:
    """A single option that is dry and too warm."""
    it = hot(HALF)
    assert it.fit == () and not it.ends_complaint
    said = answer(it, show=US).do
    (warm,) = (x.comfort.warm for x in it.at_goal.options.values())
    assert said.startswith("First size the air conditioner: it is too small for this house")
    assert f"With every option the room is too warm for {warm:,.0f} hours, 2 are allowed." in said
    assert are_sentences(said)


def test_hours_too_warm_and_too_cold_are_rows_of_every_table() -> None:
    it = hot(HALF, THREE)
    run = it.as_set
    warm = [f"{s.meter.of(column_catalog.TOO_WARM):,.0f}" for s in run.seasons.values()]
    label = "Above cooling setpoint + 1.8 °F, h"
    for lines in ([*table(run, "us")], [*at_goal(it, "us")]):
        (found,) = [line for line in lines if line.startswith(label)]
        assert found.removeprefix(label).split() == warm
        assert any(line.startswith("Below heating setpoint − 1.8 °F, h") for line in lines)
    assert any(f"{HALF} is not advised: its room" in line for line in at_goal(it, "us"))
    for made in (tables.as_set(run, US), tables.at_goal(it, US)):
        assert {row.label: [*row.cells] for row in made.rows}[label] == warm
    held = {row.label: row.cells for row in tables.at_goal(it, US).rows}
    assert held["Holds its setpoints"] == ("no", "yes")
    assert held["Keeps the goal"] == ("yes", "yes")


def test_a_dry_base_does_not_speak_for_humid_options(ran: Comparison) -> None:
    """One option is dry and is there today, another one is humid: both are in the sentences."""
    dry = Comparison(attrs.evolve(ran.study, base=DRY), ran.seasons)
    it = advice(dry)
    humid = it.hours_as_set(PLAIN)
    assert it.hours_as_set(DRY) < 0.5 < 2.0 < humid
    said = reasons(it, 0.0, US)
    assert "hardly ever rises above 60 %" in said[0]
    assert f"With other options as set it does, for up to {humid:,.0f} hours." in said[0]
    assert f"“{PLAIN}” {it.hours(PLAIN):,.0f} hours" in said[1]
    assert all(map(are_sentences, said))


def test_options_that_keep_the_goal_are_named_with_all_their_hours(
    of: Callable[..., Advice],
) -> None:
    it = of(0.0, plain=0.0, reheat=300.0, dry=320.0)
    hours = {name: it.hours(name) for name in (PLAIN, REHEAT, DRY)}
    assert max(hours[name] for name in it.fit) < 0.5 < hours[PLAIN]
    said = reasons(it, 7.0, US)[1]
    assert "Only 2 of 3 options keep it, with hardly an hour above 60 %" in said
    assert f"60 %, “{PLAIN}” {hours[PLAIN]:,.0f} hours." in said


def test_a_wide_goal_is_told_with_the_hours_of_all_options(ran: Comparison) -> None:
    """All options keep it, one of them with many hours: the driest does not speak for the others."""
    study = attrs.evolve(ran.study, goal=ms.Goal(hours=8760.0))
    it = advice(Comparison(study, ran.seasons))
    assert len(it.fit) == 3
    hours = [it.hours(name) for name in it.fit]
    assert max(hours) > 2.0
    said = reasons(it, 7.0, US)[1]
    assert "All 3 options keep it, with " in said
    assert f"{max(hours):,.0f} hours above 60 %" in said.split("keep it, with")[1].split(". ")[0]
