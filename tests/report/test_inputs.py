"""The page says what was measured, what was stated and what was assumed."""

import os
import re
from pathlib import Path

import pytest
from support.report_pages import SCENARIO

from moistsim.scenario import (
    Scenario,
    ScenarioError,
    checksum,
    inputs,
    read_scenario,
    write_scenario,
)


def test_measured_stated_and_assumed(scenario: Scenario, us: str, tmp_path: Path) -> None:
    origin = {item.key: item.origin for item in inputs(scenario)}
    assert origin["house.ach50"] == "measured"
    assert origin["equipment.ventilation.airflow"] == "measured"
    assert origin["house.floor_area"] == "stated"
    assert origin["equipment.cooling.stages[1].capacity"] == "stated"
    assert origin["equipment.cooling.stages[1].shr"] == "assumed"
    assert origin["house.gains.occupants"] == "assumed"
    assert origin["options.Reheat.setpoints.target_rh"] == "stated"
    assert origin["options.Reheat.setpoints.cooling_setpoint"] == "assumed"
    # What is shared stands once, what is an option's own in its place.
    assert not any(key.startswith("options.Plain.equipment") for key in origin)
    assert origin['options."A <b>dry</b> house".equipment.dehumidifier.capacity'] == "stated"
    counted = {kind: sum(o == kind for o in origin.values()) for kind in ("measured", "stated")}
    assert f"{counted['measured']} were measured, {counted['stated']} were stated" in us
    assert "<strong>1,500 ft²</strong>" in us and "<strong>2 ton" not in us
    assert "<strong>24,000 Btu/h</strong>" in us

    write_scenario(scenario, tmp_path / "run.toml")
    again = read_scenario(tmp_path / "run.toml")
    assert {item.key: item.origin for item in inputs(again)} == origin
    assert checksum(again) == checksum(scenario)


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ('measured = ["house.ach5"]', (
            "house.toml measured: cannot use 'house.ach5'. Did you mean 'house.ach50'?")),
        ('measured = "house.ach50"', "house.toml measured: cannot use 'house.ach50'. Use a list of names"),
        ('measured = ["house.stories"]', (
            "house.toml measured: cannot use 'house.stories'. Did you mean "
            "'house.floor_area'?")),
    ],
)  # fmt: skip
def test_what_is_measured_must_be_given(
    scenario: Scenario, tmp_path: Path, line: str, sentence: str
) -> None:
    text = re.sub(r"measured = .*", line, SCENARIO)
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    os.link(scenario.path.parent / "october.csv", tmp_path / "october.csv")
    with pytest.raises(ScenarioError) as refused:
        read_scenario(tmp_path / "house.toml")
    assert str(refused.value).startswith(sentence)


def test_rules_are_stated_by_their_rows(scenario: Scenario, tmp_path: Path) -> None:
    rows = """\
[[options.Relays.rules]]
name = "drying"
do = "cooling stage 1"
when = "humidity > 54 %"
release_when = ["humidity < 50 %"]
[options.Relays.purchase]
first_cost = 1
"""
    path = scenario.path.parent / "rules.toml"
    path.write_text(SCENARIO + rows, encoding="utf-8")
    read = read_scenario(path)
    origin = {item.key: item.origin for item in inputs(read)}
    own = {key: o for key, o in origin.items() if key.startswith("options.Relays.setpoints.")}
    assert len(own) == 2 and {*own.values()} == {"stated"}
    write_scenario(read, scenario.path.parent / "rules-run.toml")
    again = read_scenario(scenario.path.parent / "rules-run.toml")
    assert {item.key: item.origin for item in inputs(again)} == origin


def test_certificates_and_typical_houses(tmp_path: Path) -> None:
    """A label states the stages; of a typical house only what was given to it is known."""
    text = SCENARIO.replace('file = "october.csv"', 'sample = "miami"')
    text = text.replace('floor_area = "1500 ft2"\nach50 = 3', "ach50 = 3\n[house.typical]\n"
                        'floor_area = "1500 ft2"\nyear = 1985\nclimate = "hot"')  # fmt: skip
    text = text.replace('stages = [{ capacity = "2 ton" }]',
                        'label = { capacity = "2 ton", seer2 = 15 }')  # fmt: skip
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    origin = {item.key: item.origin for item in inputs(read_scenario(tmp_path / "house.toml"))}
    assert origin["house.floor_area"] == "stated" and origin["house.ach50"] == "measured"
    assert origin["house.envelope.wall_u"] == "assumed"
    assert origin["equipment.cooling.stages[1].cop"] == "label"
    assert origin["equipment.cooling.minimum_on"] == "assumed"


def test_values_by_the_kind_of_a_space_are_said(tmp_path: Path) -> None:
    """Who reads the page learns that the crawl space was taken as bare, with open vents."""
    text = SCENARIO.replace('file = "october.csv"', 'sample = "miami"')
    text = text.replace("[tariff]", "[house.crawl_space]\nheight = '3 ft'\n[tariff]")
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    found = {item.key: item for item in inputs(read_scenario(tmp_path / "house.toml"))}
    space = {key.rpartition(".")[2]: item for key, item in found.items() if ".crawl_space." in key}
    assert (space["height"].origin, space["ground_cover"].origin) == ("stated", "assumed")
    assert (space["ground_cover"].value, space["vent_area"].value) == (0.0, 1.0 / 150.0)
    assert "house_air" not in space
