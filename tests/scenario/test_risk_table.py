"""What risks are judged by, in a scenario: read, written as run, and refused."""

import tomllib
from pathlib import Path

import pytest
from support.scenario_files import HOUSE, assert_same_run, read, refused

import moistsim as ms
from moistsim.scenario import inputs, read_scenario, write_scenario

JUDGED = (
    HOUSE
    + """[risk]
corner_material = "medium resistant"
floor_moisture = "8 %"
metabolic_rate = "1.4 met"
air_speed = "40 ft/min"
clothing = 0.5
"""
)


def test_what_risks_are_judged_by_is_read_and_written_as_run(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, JUDGED)
    assert scenario.risk_basis == ms.RiskBasis(
        corner_material="medium resistant", floor_moisture=0.08, metabolic_rate=1.4,
        air_speed=40 * 0.3048 / 60, clothing=0.5,
    )  # fmt: skip
    write_scenario(scenario, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert_same_run(scenario, again)
    table = tomllib.loads((tmp_path / "as_run.toml").read_text(encoding="utf-8"))
    # Every default is explicit, but for what the house itself gives.
    assert [*table["risk"]] == [
        "corner_material", "register_material", "space_material", "mold_decline", "floor_moisture",
        "cupping_rise", "metabolic_rate", "air_speed", "clothing", "contactor_operations",
    ]  # fmt: skip
    assert read(folder, HOUSE).risk_basis == ms.RiskBasis()


def test_whether_it_was_measured_stated_or_assumed(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, 'measured = ["risk.floor_moisture"]\n' + JUDGED)
    origin = {i.key: i.origin for i in inputs(scenario) if i.key.startswith("risk.")}
    assert origin == {
        "risk.corner_material": "stated",
        "risk.register_material": "assumed",
        "risk.space_material": "assumed",
        "risk.mold_decline": "assumed",
        "risk.floor_moisture": "measured",
        "risk.cupping_rise": "assumed",
        "risk.metabolic_rate": "stated",
        "risk.air_speed": "stated",
        "risk.clothing": "stated",
        "risk.contactor_operations": "assumed",
    }
    write_scenario(scenario, tmp_path / "as_run.toml")
    again = inputs(read_scenario(tmp_path / "as_run.toml"))
    assert {i.key: i.origin for i in again if i.key.startswith("risk.")} == origin


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            "corner_material", "corner_materials",
            "house.toml [risk]: unknown key 'corner_materials'. Did you mean 'corner_material'?",
        ),
        (
            '"medium resistant"', '"concrete"',
            "house.toml [risk] corner_material: cannot use 'concrete'. Use one of very "
            "sensitive, sensitive, medium resistant, resistant.",
        ),
        (
            '"8 %"', "8",
            "house.toml [risk] floor_moisture: 8 is 800 % if it is a fraction. Did you mean '8 "
            "%'? Write the unit.",
        ),
        (
            '"40 ft/min"', '"40 cfm"',
            "house.toml [risk] air_speed: cannot read '40 cfm' as a speed. Write '7 mph' or '3 "
            "m/s'.",
        ),
        (
            "clothing = 0.5", 'clothing = "0.5 ± 0.1"',
            "house.toml [risk] clothing: cannot read '0.5 ± 0.1' as an insulation by clothes. "
            "Write '0.5 clo'.",
        ),
        (
            '"1.4 met"', '"1.4 clo"',
            "house.toml [risk] metabolic_rate: cannot read '1.4 clo' as a metabolic rate. Write "
            "'1.2 met'.",
        ),
        (
            JUDGED, "risk = 5\n" + HOUSE,
            "house.toml [risk]: cannot use 5. Use a table of keys and values.",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_one_sentence(folder: Path, old: str, new: str, sentence: str) -> None:
    assert old in JUDGED
    assert refused(folder, JUDGED.replace(old, new)) == sentence
