"""Knobs read a scenario, and a moved scenario is one that a file can say."""

from pathlib import Path

import pytest

import moistsim as ms
from moistsim.core.display import Units
from moistsim.desk import KNOBS, moved
from moistsim.scenario import (
    DAMP_CRAWL_SPACE,
    DEMO,
    TIGHT_HOUSE,
    Scenario,
    checksum,
    read_scenario,
    write_scenario,
)

FILES = (DEMO, TIGHT_HOUSE, DAMP_CRAWL_SPACE)


@pytest.fixture(scope="module", params=FILES, ids=lambda path: path.stem)
def scenario(request: pytest.FixtureRequest) -> Scenario:
    return read_scenario(request.param)


def elsewhere(scenario: Scenario) -> dict[str, object]:
    """A value for each knob that the scenario does not have yet, from the middle of its slider."""
    found: dict[str, object] = {}
    for knob in KNOBS:
        value = knob.value(scenario)
        if value is None:
            continue
        if knob.words:
            found[knob.name] = next(word for word, _ in knob.words if word != value)
        else:
            scale = knob.scale("us")
            shown = 0.6 * scale.low + 0.4 * scale.high
            found[knob.name] = knob.taken(round(shown / scale.step) * scale.step, scenario, "us")
    # One of each machine, and a sensible heat ratio that its coil can give.
    return {**found, "shr": 0.7}


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_page_gives_back_what_it_shows(scenario: Scenario, units: Units) -> None:
    for knob in KNOBS:
        value = knob.value(scenario)
        if value is not None:
            taken = knob.taken(knob.shown(scenario, units), scenario, units)
            assert taken == (value if knob.words else pytest.approx(value, rel=1e-12)), knob.name


def test_each_knob_moves_its_own_value(scenario: Scenario) -> None:
    for name, value in elsewhere(scenario).items():
        knob = next(knob for knob in KNOBS if knob.name == name)
        after = moved(scenario, {name: value})
        expected = value if knob.words else pytest.approx(value, rel=1e-12)
        assert knob.value(after) == expected, name
        others = [k for k in KNOBS if k.name not in (name, "moisture")]
        # Household moisture follows the people, until it is stated.
        changed = [k.name for k in others if k.value(after) != k.value(scenario)]
        # A house without ventilation gets a fan of a kind.
        assert changed in ([], ["kind"] if name == "ventilation" else ["ventilation"]), name


def test_a_moved_house_is_saved_and_read_back_whole(scenario: Scenario, tmp_path: Path) -> None:
    after = moved(scenario, elsewhere(scenario))
    assert checksum(after) != checksum(scenario)
    write_scenario(after, tmp_path / "saved.toml")
    back = read_scenario(tmp_path / "saved.toml")
    assert checksum(back) == checksum(after)
    assert back.study.resolved == after.study.resolved


def test_a_moved_value_is_stated_and_certain() -> None:
    demo = read_scenario(DEMO)
    assert "house.ach50" in demo.ranges
    after = moved(demo, {"ach50": 4.0, "energy_factor": 2.0 / 3.6e6, "humidity_setpoint": 50.0})
    gone = set(demo.ranges) - set(after.ranges)
    option = "options.Stand-alone dehumidifier.equipment.dehumidifier.energy_factor"
    assert gone == {"house.ach50", option}
    assert "house.ach50" in after.stated


def test_a_measured_value_that_moves_is_no_longer_measured() -> None:
    measured = read_scenario(DAMP_CRAWL_SPACE)
    after = moved(measured, {"ach50": 4.0})
    assert measured.is_leakage_measured
    assert not after.is_leakage_measured
    assert "house.floor_area" in after.measured


def test_an_option_keeps_what_it_changes_in_the_house() -> None:
    before = read_scenario(DAMP_CRAWL_SPACE)
    after = moved(before, {"ach50": 3.0, "people": 5.0})
    sealed = after.study.resolved["Seal ducts"].house
    assert (sealed.ach50, sealed.gains.occupants) == (3.0, 5.0)
    assert [c.path for c in after.study.changes("Seal ducts")] == [
        c.path for c in before.study.changes("Seal ducts")
    ]


def test_a_bigger_unit_keeps_its_airflow_per_ton_and_its_coil_follows() -> None:
    demo = read_scenario(DEMO)
    unit = demo.study.resolved["Overcooling allowed"].equipment.cooling
    after = moved(demo, {"capacity": 2.0 * unit.stages[-1].capacity})
    bigger = after.study.resolved["Overcooling allowed"].equipment.cooling
    for one, other in zip(unit.stages, bigger.stages, strict=True):
        assert other.capacity == pytest.approx(2.0 * one.capacity)
        assert other.airflow == pytest.approx(2.0 * one.airflow)
        assert other.cop == one.cop
    assert bigger.coil_face_area == pytest.approx(2.0 * unit.coil_face_area)


def test_one_stage_is_the_larger_one_and_two_are_in_order() -> None:
    demo = read_scenario(DEMO)
    one = moved(demo, {"stages": "1"})
    unit = one.study.resolved["Overcooling allowed"].equipment.cooling
    assert len(unit.stages) == 1
    assert unit.stages[0] == demo.study.resolved["Overcooling allowed"].equipment.cooling.stages[1]
    two = moved(one, {"stages": "2"}).study.resolved["Overcooling allowed"].equipment.cooling
    assert two.stages[0].capacity < two.stages[1].capacity


def test_what_cannot_be_is_refused_in_a_sentence() -> None:
    demo, crawl = read_scenario(DEMO), read_scenario(DAMP_CRAWL_SPACE)
    knobs = {knob.name: knob for knob in KNOBS}
    for knob, value, scenario in (
        ("people", True, demo), ("people", "three", demo), ("kind", "a fan", demo),
        ("ach50", float("nan"), demo), ("strips", 5.0, crawl),
    ):  # fmt: skip
        with pytest.raises(ms.InputError):
            knobs[knob].taken(value, scenario, "us")
    with pytest.raises(ms.InputError, match="wet coil"):
        moved(demo, {"shr": 0.85})
