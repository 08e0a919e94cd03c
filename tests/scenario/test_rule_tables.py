"""Rule tables in a scenario: read, refused by row and field, reviewed, written back as run."""

from pathlib import Path
from typing import Any

import pytest
import tomli_w

import moistsim as ms
from moistsim.__main__ import main
from moistsim.controls import RuleTable
from moistsim.scenario import ScenarioError, read_scenario, write_scenario

ROWS = [
    {"name": "thermostat", "do": "cooling stage 1", "when": "temperature > cooling setpoint + 1 degF",
     "release_when": ["temperature < cooling setpoint - 1 degF", "message age > 15 min"]},
    {"name": "drying", "do": "cooling stage 1", "when": "humidity > 54 %", "for": "5 min",
     "within": ["22:30 to 06:00", "November to May", "while thermostat is off"],
     "release_when": "humidity < 50 %", "at_most": "2 hour"},
    {"do": "strips stage 1", "when": "temperature < 73.1 degF",
     "release_when": "temperature > 74.1 degF", "within": "while drying is on"},
    {"do": "ventilation at 30 %", "when": "outdoor dew point > dew point + 2 K",
     "release_when": ["outdoor dew point <= dew point", "message age > 15 min"]},
]  # fmt: skip


def scenario(folder: Path, rows: Any, **option: Any) -> Path:
    """A file with a week, a plain option and one of rows."""
    table = {
        "weather": {"sample": "miami"},
        "season": {"start": "05-01", "end": "05-02"},
        "house": {"floor_area": "1500 ft2"},
        "equipment": {
            "cooling": {"stages": [{"capacity": "2 ton"}]},
            "strips": {"stages": ["3 kW"]},
            "ventilation": {},
            "relays": {"release_after": "15 min"},
        },
        "options": {
            "plain": {"strategy": "temperature_only"},
            "mine": {"setpoints": {"cooling_setpoint": "75 degF"}, "rules": rows, **option},
        },
    }
    table["options"]["mine"] = {k: v for k, v in table["options"]["mine"].items() if v is not None}
    path = folder / "house.toml"
    path.write_text(tomli_w.dumps(table), encoding="utf-8")
    return path


def test_rows_are_the_table_that_a_notebook_makes(tmp_path: Path) -> None:
    read = read_scenario(scenario(tmp_path, ROWS))
    assert read.study.options["mine"][1] == ms.rule_table(ROWS, cooling_setpoint="75 degF")


def test_written_as_run_reads_equal(tmp_path: Path) -> None:
    read = read_scenario(scenario(tmp_path, ROWS))
    write_scenario(read, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert again.study.options == read.study.options
    varied = read.study.options["mine"][1](**{"drying when": 57.5})
    assert varied.sentences[1]["when"] == "relative humidity > 57.5 percent"


def changed(row: int, **change: Any) -> list[dict[str, Any]]:
    return [{**each, **change} if k == row else each for k, each in enumerate(ROWS, 1)]


@pytest.mark.parametrize(
    ("rows", "option", "text"),
    [
        (changed(2, when="humidty > 54 %"), {},
         "house.toml [options.mine.rules] number 2 when: 'humidty' is not a reading. Did you "
         "mean 'humidity'?"),
        (changed(1, do="cooling stage one"), {},
         "house.toml [options.mine.rules] number 1 do: cannot use 'cooling stage one'. Did you mean "
         "'cooling stage 1'?"),
        (changed(3, at_most="5 K"), {},
         "house.toml [options.mine.rules] number 3 at_most: cannot read '5 K' as a time"),
        (changed(3, release_wen="x"), {},
         "house.toml [options.mine.rules] number 3: unknown key 'release_wen'. Did you mean 'release_when'?"),
        ([{"do": "heating", "when": "temperature < 20"}], {},
         "house.toml [options.mine.rules] number 1 release_when: missing. Use what ends the call"),
        (ROWS, {"setpoints": {"cooling_setpoint": "75 %"}},
         "house.toml [options.mine.setpoints] cooling_setpoint: cannot read '75 %' as a "
         "temperature"),
        (ROWS, {"setpoints": {"cooling_setpoint": "75 degF", "heating_setpoint": "80 degF"}},
         "house.toml [options.mine.setpoints] cooling_setpoint: cannot use '23.9 °C'. Use a "
         "value above heating_setpoint, which is 26.7 °C"),
        (ROWS, {"setpoints": {"target_rh": 55}},
         "house.toml [options.mine.setpoints]: unknown key 'target_rh'"),
        (ROWS, {"strategy": "overcooling"},
         "house.toml [options.mine]: both strategy and rules. Use strategy, one of"),
        (None, {}, "house.toml [options.mine]: neither strategy nor rules. Use strategy, one of"),
        ("humidity > 54 %", {},
         "house.toml [options.mine.rules]: cannot use 'humidity > 54 %'. Use a list of rows"),
        ([], {}, "house.toml [options.mine.rules]: cannot use []. Use a list of rows"),
    ],
)  # fmt: skip
def test_errors_name_option_row_and_field(
    tmp_path: Path, rows: Any, option: dict[str, Any], text: str
) -> None:
    with pytest.raises(ScenarioError) as refusal:
        read_scenario(scenario(tmp_path, rows, **option))
    assert str(refusal.value).startswith(text)
    assert "\n" not in str(refusal.value)


def test_study_prints_the_review_and_runs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = scenario(tmp_path, changed(3, within="May to October"))
    assert main(["study", str(path), "--out", str(tmp_path / "out")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Check the rules of 'mine': Row 3 (strips stage 1) can be on with no compressor" in said
    assert said.index("Check the rules") < said.index("Total electricity")
    assert (tmp_path / "out" / "table.csv").exists()


def test_study_says_nothing_of_good_rules(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = scenario(tmp_path, ROWS)
    assert main(["study", str(path), "--out", str(tmp_path / "out")]) == 0
    assert "Check the rules" not in capsys.readouterr().out


def test_rules_with_additions(tmp_path: Path) -> None:
    """An addition on top of rows: read, run, written and read again as equal."""
    extra = {
        "additions": ["set_back"],
        "setpoints": {
            "cooling_setpoint": "76 degF",
            "heating_setpoint": "68 degF",
            "cooling_set_back": "3 K",
        },
    }
    read = read_scenario(scenario(tmp_path, ROWS, **extra))
    control = read.study.options["mine"][1]
    assert isinstance(control.base, RuleTable)
    assert control.settings["cooling_set_back"] == 3.0
    assert len(control.description["rules"]) == len(ROWS)
    write_scenario(read, tmp_path / "again.toml")
    assert read_scenario(tmp_path / "again.toml").study.options["mine"][1] == control
    with pytest.raises(ScenarioError, match="unknown key 'cooling_set_bakc'"):
        wrong = {**extra, "setpoints": {"cooling_set_bakc": "3 K"}}
        read_scenario(scenario(tmp_path, ROWS, **wrong))
