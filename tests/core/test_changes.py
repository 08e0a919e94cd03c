"""Descriptions with other values, and the values in which two descriptions differ."""

import attrs
import pytest
from hypothesis import given
from support.houses import any_house, house

import moistsim as ms
from moistsim.core.changes import changed, differences, rebased
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
