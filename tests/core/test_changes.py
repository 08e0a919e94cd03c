"""Descriptions with other values, and the values in which two descriptions differ."""

import attrs
import pytest
from hypothesis import given
from support.houses import any_house, house

import moistsim as ms
from moistsim.core.changes import Evolving, changed, differences, rebased
from moistsim.core.errors import InputError


def test_a_difference_names_the_value_and_its_unit() -> None:
    one = house(ducts=ms.Ducts(location="attic", supply_leakage="10 %"))
    other = attrs.evolve(one, ducts=attrs.evolve(one.ducts, supply_leakage="3 %"))
    (change,) = differences(one, other)
    assert change.path == ("ducts", "supply_leakage")
    assert (change.before, change.after, change.metadata["unit"]) == (0.1, 0.03, "fraction")


def test_items_of_a_list_differ_by_number_and_other_lists_as_a_whole() -> None:
    low, high = (ms.Stage(capacity=f"{x} ton") for x in (2, 3))
    two, changed_two = ms.Cooling(stages=[low, high]), ms.Cooling(
        stages=[low, attrs.evolve(high, shr=0.69)]
    )  # fmt: skip
    (change,) = differences(two, changed_two)
    assert change.path == ("stages", "2", "shr")
    assert changed(two, {change.path: change.after}) == changed_two
    paths = [change.path for change in differences(two, ms.Cooling(stages=[low]))]
    assert ("stages",) in paths and not any(path[1:] for path in paths)


def test_a_part_that_only_one_has_differs_as_a_whole() -> None:
    opened = house(window_opening=ms.WindowOpening())
    (change,) = differences(house(), opened)
    assert (change.path, change.before) == (("window_opening",), None)
    assert changed(house(), {change.path: change.after}) == opened


@given(one=any_house(), other=any_house())
def test_what_two_houses_differ_in_makes_one_of_the_other(one: ms.House, other: ms.House) -> None:
    assert rebased(other, one, one, "") == other
    assert rebased(one, one, other, "") == other
    assert not [*differences(one, one)]


def test_a_change_stays_and_the_rest_moves() -> None:
    base = house(ach50=6.0)
    sealed = attrs.evolve(base, ach50=3.0)
    wider = attrs.evolve(base, ach50=9.0, floor_area=300.0)
    assert rebased(sealed, base, wider, "") == attrs.evolve(wider, ach50=3.0)


def test_a_change_inside_a_part_that_is_missing_is_refused() -> None:
    base = house(window_opening=ms.WindowOpening())
    wider = changed(base, {("window_opening", "area"): 0.77})
    assert wider != base
    with pytest.raises(InputError, match="no window_opening"):
        rebased(wider, base, house(), "options.X.house")


# ---------------------------------------------------------------------- evolve


def test_every_description_evolves() -> None:
    kinds = [
        kind
        for name in ms.__all__
        if attrs.has(kind := getattr(ms, name)) and hasattr(kind.__init__, "__wrapped__")
    ]
    assert len(kinds) > 40
    for kind in kinds:
        assert issubclass(kind, Evolving), kind


def test_evolve_is_what_the_description_with_these_values_is() -> None:
    given = {"floor_area": "1900 ft2", "ach50": 6, "crawl_space": ms.CrawlSpace(wall_u=0.5)}
    before = ms.House(**given)
    after = before.evolve({"crawl_space.wall_u": 0.1, "envelope.window_shgc": 0.25}, ach50=2)
    assert after == ms.House(
        **given | {"ach50": 2, "crawl_space": ms.CrawlSpace(wall_u=0.1)},
        envelope=ms.Envelope(window_shgc=0.25),
    )
    assert before == ms.House(**given)


def test_evolve_reaches_items_of_a_list_and_parts_of_the_same_call() -> None:
    low, high = (ms.Stage(capacity=f"{x} ton") for x in (2, 3))
    equipment = ms.Equipment(cooling=ms.Cooling(stages=[low, high]))
    after = equipment.evolve({"cooling.stages.2.shr": "0.7"})
    assert after.cooling is not None and equipment.cooling is not None
    assert [stage.shr for stage in after.cooling.stages] == [low.shr, 0.7]
    spaced = house().evolve({"crawl_space.wall_u": 0.1}, crawl_space=ms.CrawlSpace())
    assert spaced.crawl_space == ms.CrawlSpace(wall_u=0.1)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"ach5": 2}, "House.evolve: unknown field 'ach5'. Did you mean 'ach50'?"),
        (
            {"envelope.wall_uu": 2},
            "House.evolve: unknown field 'wall_uu' of envelope. Did you mean 'wall_u'?",
        ),
        (
            {"crawl_space.wall_u": 2},
            "House.evolve: 'crawl_space.wall_u' without crawl_space. Give crawl_space itself, as in "
            "evolve(crawl_space=...).",
        ),
        (
            {"envelope.wall_u.north": 2},
            "House.evolve: 'envelope.wall_u.north' names a part of envelope.wall_u. Use envelope.wall_u "
            "alone.",
        ),
        ({7: 2}, "House.evolve: cannot use 7. Use names of fields, such as 'ach50'."),
        (
            {"floor_area": "3 ft2"},
            "House.floor_area: '3 ft2' is too small. Use an area from 53.82 to 53,820 ft².",
        ),
    ],
)
def test_evolve_refuses_in_a_sentence(change: dict, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        ms.House(floor_area="1900 ft2").evolve(change)
    assert str(caught.value) == sentence
