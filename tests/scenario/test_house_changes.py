"""Options of a file that change the house: merged over [house], written back, and refused."""

from pathlib import Path

import attrs
import pytest
from hypothesis import given
from support.houses import any_house
from support.scenario_files import HOUSE, assert_same_run, read, refused

import moistsim as ms
from moistsim.scenario import inputs, read_scenario, write_scenario
from moistsim.scenario.descriptions import as_table, house_of
from moistsim.scenario.house_changes import changed_house, changes_as_table
from moistsim.scenario.places import Place

CRAWL = (
    HOUSE.replace(
        "[house.moisture_store]",
        '[house.ducts]\nlocation = "crawl space"\nsupply_leakage = "12 % ± 4 %"\n'
        "[house.vapor_sources]\n[house.moisture_store]",
    ).replace("ach50 = 4", 'ach50 = "6 ± 0.5"')
    + """
[options.sealed]
strategy = "temperature_only"
[options.sealed.house.ducts]
supply_leakage = "4 % ± 1 %"
return_leakage = "4 %"
"""
)
"""An invented house over a crawl space, with an option that seals its ducts."""


def option(folder: Path, table: str, text: str = CRAWL) -> ms.House:
    """The house of an option with a table of changes."""
    more = f'\n[options.new]\nstrategy = "temperature_only"\n{table}\n'
    return read(folder, text + more).study.resolved["new"].house


def test_a_table_of_changes_keeps_the_rest_of_the_house(folder: Path) -> None:
    study = read(folder, CRAWL).study
    ducts = attrs.evolve(study.house.ducts, supply_leakage=0.04, return_leakage=0.04)
    assert study.resolved["sealed"].house == attrs.evolve(study.house, ducts=ducts)
    assert study.resolved["plain"].house is study.house
    assert study.house.ducts.supply_leakage == 0.12


def test_defaults_follow_from_the_changed_values(folder: Path) -> None:
    """As if the house had been written with the changes: ducts indoors leak nothing."""
    plain = CRAWL.replace('supply_leakage = "12 % ± 4 %"\n', "")
    moved = option(folder, '[options.new.house.ducts]\nlocation = "inside"', plain)
    assert moved.ducts == ms.Ducts()


def test_a_crawl_space_stays_where_it_is_when_ducts_move(folder: Path) -> None:
    """The ducts alone brought it into the description."""
    plain = CRAWL.replace('supply_leakage = "12 % ± 4 %"\n', "")
    moved = option(folder, '[options.new.house.ducts]\nlocation = "attic"', plain)
    assert moved.crawl_space == ms.CrawlSpace() and moved.attic == ms.Attic()
    slab = option(
        folder, '[options.new.house]\nabsent = ["crawl_space"]\nducts.location = "attic"', plain
    )
    assert slab.crawl_space is None


def test_a_crawl_space_is_closed_with_what_belongs_to_it(folder: Path) -> None:
    closed = option(folder, '[options.new.house.crawl_space]\nkind = "closed"')
    assert closed.crawl_space == ms.CrawlSpace(kind="closed")
    covered = option(folder, '[options.new.house.crawl_space]\nground_cover = "90 %"')
    assert covered.crawl_space == ms.CrawlSpace(ground_cover=0.9)


def test_a_part_may_be_new_or_absent(folder: Path) -> None:
    opened = option(folder, '[options.new.house.window_opening]\narea = "6 ft2"')
    assert opened.window_opening == ms.WindowOpening(area="6 ft2")
    text = CRAWL.replace("[house.vapor_sources]", '[house.window_opening]\narea = "6 ft2"')
    closed = option(folder, '[options.new.house]\nabsent = ["window_opening"]', text)
    assert closed.window_opening is None
    assert read(folder, text).study.house.window_opening is not None


def test_one_number_for_all_walls_may_be_changed_for_one(folder: Path) -> None:
    text = CRAWL.replace("wall_u = 0.5", "wall_u = 0.5\nwindow_to_wall_ratio = 0.2")
    glass = option(
        folder, "[options.new.house.envelope.window_to_wall_ratio]\nback = 0.1", text
    ).envelope.window_to_wall_ratio
    assert (glass.front, glass.back, glass.left) == (0.2, 0.1, 0.2)


def test_leakage_stated_in_another_way_replaces_the_first(folder: Path) -> None:
    tested = option(folder, '[options.new.house.leakage]\ncfm50 = "700 cfm"')
    assert tested.ach50 is None and tested.leakage.cfm50 == pytest.approx(0.3304, rel=1e-3)
    by_flow = CRAWL.replace('ach50 = "6 ± 0.5"', "").replace(
        "[house.ducts]", '[house.leakage]\ncfm50 = "1,500 cfm"\n[house.ducts]'
    )
    sealed = option(folder, "[options.new.house]\nach50 = 3", by_flow)
    assert (sealed.ach50, sealed.leakage.cfm50) == (3.0, None)


def test_a_typical_house_may_be_changed_too(folder: Path) -> None:
    begin, end = CRAWL.index("[house]"), CRAWL.index("[tariff]")
    typical = CRAWL[:begin] + '[house.typical]\nfloor_area = "1500 ft2"\nyear = 1975\n'
    text = typical + CRAWL[end:].replace(
        '[options.sealed.house.ducts]\nsupply_leakage = "4 % ± 1 %"\nreturn_leakage = "4 %"\n', ""
    )
    rebuilt = option(folder, "[options.new.house.typical]\nyear = 2015", text)
    assert rebuilt == ms.House.typical(floor_area="1500 ft2", year=2015)
    tested = option(folder, '[options.new.house.leakage]\ncfm50 = "900 cfm"', text)
    assert tested.ach50 is None and tested.envelope.wall_u > rebuilt.envelope.wall_u


def test_a_house_of_an_option_reads_back_as_written(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, CRAWL)
    write_scenario(scenario, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert_same_run(scenario, again)
    assert (
        again.study.resolved["sealed"].house.ducts == scenario.study.resolved["sealed"].house.ducts
    )
    own = "options.sealed.house.ducts.supply_leakage"
    assert [*again.ranges] == [*scenario.ranges]
    assert again.ranges[own].center == pytest.approx(0.04)  # type: ignore[union-attr]


def test_a_range_of_an_unchanged_value_is_written_with_its_option(
    folder: Path, tmp_path: Path
) -> None:
    scenario = read(folder, CRAWL)
    name = "options.sealed.house.ach50"
    wider = attrs.evolve(scenario, ranges={name: ms.normal(6.0, 2.0)})
    write_scenario(wider, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert [*again.ranges] == [name]
    assert again.ranges[name].deviation == 2.0  # type: ignore[union-attr]
    assert again.study.house == scenario.study.house


@given(one=any_house(), other=any_house())
def test_any_house_reads_back_as_a_change_of_any_other(one: ms.House, other: ms.House) -> None:
    place = Place("house.toml")
    table, own = as_table(one), changes_as_table(one, other)
    again = changed_house(table, own, house_of(table, place), place)
    assert as_table(again) == as_table(other)


def test_values_of_an_option_are_listed_with_it_and_their_origin(folder: Path) -> None:
    text = 'measured = ["house.ach50", "options.sealed.house.ducts.supply_leakage"]\n' + CRAWL
    found = {item.key: item for item in inputs(read(folder, text))}
    assert found["house.ducts.supply_leakage"].origin == "stated"
    own = found["options.sealed.house.ducts.supply_leakage"]
    assert (own.value, own.origin, own.option) == (0.04, "measured", "sealed")
    assert found["options.sealed.house.ducts.return_leakage"].origin == "stated"
    assert [key for key in found if "sealed.house" in key and "leakage" not in key] == []


REFUSED = {
    "unknown key": (
        "[options.new.house.ducts]\nleakage = 0.1",
        "house.toml [options.new.house.ducts]: unknown key 'leakage'. "
        "Did you mean 'supply_leakage'?",
    ),
    "unit": (
        '[options.new.house.ducts]\nsupply_leakage = "3 cfm"',
        "house.toml [options.new.house.ducts] supply_leakage: cannot read '3 cfm' as",
    ),
    "too much": (
        '[options.new.house.ducts]\nsupply_leakage = "70 %"',
        "house.toml [options.new.house.ducts] supply_leakage: '70 %' is too large.",
    ),
    "no table": (
        '[options.new]\nhouse = "sealed"',
        "house.toml [options.new.house]: cannot use 'sealed'. Use a table of keys and values.",
    ),
    "no such part": (
        '[options.new.house]\nabsent = ["bedroom"]',
        "house.toml [options.new.house] absent: cannot use 'bedroom'. Use",
    ),
    "absent what": (
        "[options.new.house]\nabsent = true",
        "house.toml [options.new.house] absent: cannot use True. Use a list of keys of the house",
    ),
    "two values that cannot be together": (
        '[options.new.house.ducts]\nlocation = "inside"',
        "house.toml [options.new.house.ducts] supply_leakage: cannot use",
    ),
    "range": (
        '[options.new.house]\nstories = "1 ± 70 cfm"',
        "house.toml [options.new.house] stories: cannot",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_change_that_cannot_be_is_refused_at_its_place(folder: Path, case: str) -> None:
    table, sentence = REFUSED[case]
    text = table if table.startswith("[options.new]") else (
        f'[options.new]\nstrategy = "temperature_only"\n{table}'
    )  # fmt: skip
    text = text.replace(
        "[options.new]\nhouse", '[options.new]\nstrategy = "temperature_only"\nhouse'
    )
    assert refused(folder, f"{CRAWL}\n{text}\n").startswith(sentence)
