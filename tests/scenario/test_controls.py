"""Controls in a scenario: strategies by name, additions on top of them, their setpoints."""

import tomllib
from pathlib import Path
from typing import Any

import attrs
import pytest
from support.scenario_files import HOUSE, read, refused

import moistsim as ms
from moistsim.scenario import write_scenario

ADDED = HOUSE.replace(
    'strategy = "with_dehumidifier"',
    """strategy = "overcooling"
additions = ["set_back", "slower_airflow"]
setpoints = { target_rh = "50 %", cooling_set_back = "5 delta_degF", slow_down_by = "25 %" }""",
)


def test_additions_stand_beside_the_strategy(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, ADDED)
    strategy = scenario.study.options["with box"][1]
    own = ms.strategies
    assert strategy == (own.overcooling + own.set_back + own.slower_airflow)(
        target_rh="50 %", cooling_set_back="5 delta_degF", slow_down_by="25 %"
    )
    write_scenario(scenario, tmp_path / "scenario.toml")
    table = tomllib.loads((tmp_path / "scenario.toml").read_text(encoding="utf-8"))
    assert table["options"]["with box"]["strategy"] == "overcooling"
    assert table["options"]["with box"]["additions"] == ["set_back", "slower_airflow"]
    assert "additions" not in table["options"]["plain"]
    assert list(table["options"]["with box"]["setpoints"]) == list(strategy.settings)


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        (
            '"slower_airflow"]', '"slow_airflow"]',
            "house.toml [options.\"with box\"] additions: cannot use 'slow_airflow'. Did you mean "
            "'slower_airflow'? Other choices: 'lower_airflow', 'dew_point_control', 'held_back_ventilation', "
            "'set_back', 'drying_by_dehumidifier'.",
        ),
        (
            '["set_back", "slower_airflow"]', '"set_back"',
            "house.toml [options.\"with box\"] additions: cannot use 'set_back'. Use a list of "
            "names: [\"set_back\"].",
        ),
        (
            '"slower_airflow"]', '"set_back"]',
            "house.toml [options.\"with box\"] additions: set_back twice. Use set_back once.",
        ),
        (
            '"overcooling"\nadditions = ["set_back"', '"temperature_only"\nadditions = ["dew_point_control"',
            "house.toml [options.\"with box\"] additions: no setpoint target_rh in "
            "temperature_only. Use a strategy with the setpoint target_rh, which "
            "dew_point_control works on.",
        ),
        (
            "slow_down_by =", "slow_down =",
            "house.toml [options.\"with box\".setpoints]: unknown key 'slow_down'. Did you mean "
            "'slow_down_by'?",
        ),
        (
            '"25 %"', '"75 %"',
            "house.toml [options.\"with box\".setpoints] slow_down_by: cannot use '0.75'. Use a value from "
            "0 to 0.5.",
        ),
        (
            '"25 %"', '"75 K"',
            "house.toml [options.\"with box\".setpoints] slow_down_by: cannot read '75 K' as a "
            "fraction. Write '75 %' or '0.75'.",
        ),
    ],
)  # fmt: skip
def test_additions_that_cannot_be(folder: Path, old: str, new: str, text: str) -> None:
    assert old in ADDED
    assert refused(folder, ADDED.replace(old, new)) == text


def test_an_addition_that_no_file_can_name_is_refused(folder: Path, tmp_path: Path) -> None:
    @ms.addition
    def mine(readings: Any, memory: Any) -> Any:
        return readings

    scenario = read(folder, HOUSE)
    options = {"mine": (scenario.study.options["plain"][0], ms.strategies.overcooling + mine)}
    study = attrs.evolve(scenario.study, options=options)
    with pytest.raises(ms.InputError) as caught:
        write_scenario(attrs.evolve(scenario, study=study), tmp_path / "scenario.toml")
    assert str(caught.value) == (
        "write_scenario option 'mine': cannot use 'mine'. Use one of slower_airflow, lower_airflow, "
        "dew_point_control, held_back_ventilation, set_back, drying_by_dehumidifier."
    )


def test_a_strategy_that_no_file_can_name_is_refused(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, HOUSE)
    own = attrs.evolve(ms.strategies.overcooling, name="own")
    study = attrs.evolve(
        scenario.study, options={"mine": (scenario.study.options["plain"][0], own)}
    )
    with pytest.raises(ms.InputError) as caught:
        write_scenario(attrs.evolve(scenario, study=study), tmp_path / "scenario.toml")
    assert str(caught.value) == (
        "write_scenario option 'mine': cannot use 'own'. Use one of temperature_only, "
        "overcooling, staged_reheat, hot_gas_reheat, with_dehumidifier."
    )
