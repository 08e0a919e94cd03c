"""What an option changes in the house, in the trade's words and in a reader's units."""

from typing import Any

import attrs
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.core.changes import changed
from moistsim.core.display import Show
from moistsim.study import house_words

BASE = house(
    ach50=7.0,
    ducts=ms.Ducts(location="crawl space", supply_leakage="10 %", return_leakage="10 %"),
    window_opening=ms.WindowOpening(),
)


def words(after: ms.House, units: Any = "us") -> tuple[str, ...]:
    control = ms.strategies.temperature_only
    options: Any = {"as it is": (machines(), control), "new": (machines(), control, after)}
    study = ms.Study(BASE, options, stretch("miami", 190, 2))
    assert house_words(study, "as it is", Show(units)) == ()
    return house_words(study, "new", Show(units))


CHANGES: dict[str, tuple[dict[tuple[str, ...], Any], tuple[str, ...]]] = {
    "ducts": (
        {("ducts", "supply_leakage"): "3 %", ("ducts", "return_leakage"): "4 %"},
        ("Ducts: supply leakage 10 % → 3 %, return leakage 10 % → 4 %",),
    ),
    "shading": (
        {("envelope", "window_shading"): 0.4},
        ("Envelope: sun let through by blinds and screens 75 % → 40 %",),
    ),
    "attic": (
        {("envelope", "roof_u"): "0.03 Btu/(h ft2 delta_degF)"},
        ("Envelope: U-value of the roof 0.0335 Btu/(h ft² °F) → 0.03 Btu/(h ft² °F)",),
    ),
    "several parts": (
        {("ach50",): 4.0, ("ducts", "insulation"): "8 ft2 h delta_degF/Btu"},
        ("House: air leakage 7 ACH50 → 4 ACH50", "Ducts: insulation 6 ft² h °F/Btu → 8 ft² h °F/Btu"),
    ),
    "an inner part": (
        {("envelope", "window_to_wall_ratio", "front"): 0.05},
        ("Envelope, window-to-wall ratio: front 20 % → 5 %",),
    ),
    "ground cover": (
        {("crawl_space", "ground_cover"): 0.9},
        ("Crawl space: ground cover 0 % → 90 %",),
    ),
    "closed crawl space": (
        {("crawl_space",): ms.CrawlSpace(kind="closed")},
        ("Crawl space: kind vented → closed",),
    ),
    "a part more": ({("bedroom",): ms.Bedroom(floor_area="120 ft2")}, ("Bedroom: added",)),
    "a part less": ({("window_opening",): None}, ("Window opening: removed",)),
    "a number less": (
        {("leakage", "eaves_height"): "9 ft"},
        ("Air leakage: eaves height none → 9 ft",),
    ),
    "nothing": ({}, ()),
}  # fmt: skip


@pytest.mark.parametrize("case", CHANGES)
def test_a_change_is_said_with_its_old_and_its_new_value(case: str) -> None:
    changes, said = CHANGES[case]
    assert words(changed(BASE, changes)) == said


def test_values_have_the_reader_s_units() -> None:
    after = changed(BASE, {("ceiling_height",): 3.0})
    assert words(after, "si") == ("House: ceiling height 2.5 m → 3 m",)
    assert words(after) == ("House: ceiling height 8.2 ft → 9.84 ft",)


def test_leakage_stated_in_another_way_is_compared_as_air_changes() -> None:
    tested = attrs.evolve(BASE, ach50=None, leakage=ms.Leakage(cfm50="800 cfm"))
    by_hand = 800 * 60 / (2000 * 2.5 / 0.3048)
    assert words(tested) == (f"House: air leakage 7 ACH50 → {by_hand:.3g} ACH50",)


def test_what_follows_from_another_change_is_not_said() -> None:
    """The space around the ducts is that of its location; stated values are said."""
    moved = attrs.evolve(
        BASE, ducts=ms.Ducts(location="attic", supply_leakage="10 %", return_leakage="10 %")
    )
    assert words(moved) == ("Ducts: location crawl space → attic",)
