"""`moistsim calibrate`, from a scenario and a log that the engine made."""

from pathlib import Path

import attrs
import numpy as np
import pandas as pd
import pytest

import moistsim as ms
from moistsim import air
from moistsim.__main__ import main
from moistsim.scenario import read_scenario

SCENARIO = """
name = "A house with two loggers, invented"

[weather]
sample = "greensboro"

[season]
start = "05-10"
end = "05-11"
step = "15 min"

[house]
floor_area = "1500 ft2"
ach50 = 5.0

[equipment.room_heater]
capacity = "8 kW"

[options.heater]
strategy = "temperature_only"

[options.dehumidifier]
strategy = "with_dehumidifier"
equipment.dehumidifier = { capacity = "50 pint/day" }

[log]
option = "heater"
utc_offset = -5
label = "start"
units = { indoor_temperature = "degF", indoor_rh = "%", outdoor_temperature = "degF", outdoor_rh = "%" }
wind_speed = "3 m/s"

[log.columns]
time = "when"
"indoor_temperature.hall" = "hall F"
"indoor_rh.hall" = "hall RH"
outdoor_temperature = "out F"
outdoor_rh = "out RH"
"""


def fahrenheit(celsius: pd.Series) -> pd.Series:
    return (32.0 + 1.8 * celsius).round(2)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "house.toml").write_text(SCENARIO)
    scenario = read_scenario(tmp_path / "house.toml")
    study = scenario.study
    made = ms.simulate(
        attrs.evolve(study.house, ach50=8.0), study.resolved["heater"].equipment,
        ms.strategies.temperature_only, study.weather, start="03-01", end="03-06", step="300 s",
    )  # fmt: skip
    table = made.table_every("30 min")
    rng = np.random.default_rng(5)
    saturated = [
        air.humidity_ratio(air.saturation_pressure(t), 98000.0)
        for t in table["outdoor_temperature_C"]
    ]
    share = table["outdoor_humidity_ratio"].to_numpy() / np.array(saturated)
    rows = pd.DataFrame(
        {
            "when": table.index,
            "hall F": fahrenheit(table["indoor_temperature_C"]).to_numpy(),
            "hall RH": (table["indoor_rh_pct"] + rng.normal(0.0, 0.5, len(table))).round(1),
            "out F": fahrenheit(table["outdoor_temperature_C"]).to_numpy(),
            "out RH": np.round(100.0 * np.clip(share, 0.0, 1.0), 1),
        }
    )  # fmt: skip
    rows.to_csv(tmp_path / "log.csv", index=False)
    return tmp_path


@pytest.mark.slow
def test_a_house_is_fitted_from_files_and_studied_as_measured(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    assert main(["calibrate", "house.toml", "log.csv"]) == 0
    said = capsys.readouterr().out
    for words in (
        "Review of the log",
        "utdoor air",
        "blind part, by the hour",
        "calibration.html",
    ):
        assert words in said
    out = folder / "moistsim-measured-house"
    assert {each.name for each in out.iterdir()} == {"house.toml", "draws.json", "calibration.html"}
    page = (out / "calibration.html").read_text()
    assert (
        "What the loggers say about the house" in page and "http" not in page.split("</style>")[1]
    )
    found = read_scenario(out / "house.toml")
    assert found.draws is not None and "house.ach50" in found.measured
    assert found.log["option"] == "heater"
    # The file it wrote is itself the house of the next log.
    assert main(["calibrate", "moistsim-measured-house/house.toml", "log.csv", "--blind", "2"]) == 2
    assert "--blind" in capsys.readouterr().err


def test_a_folder_that_holds_other_things_is_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    (folder / "mine").mkdir()
    (folder / "mine" / "letter.txt").write_text("dear")
    assert main(["calibrate", "house.toml", "log.csv", "--out", "mine"]) == 2
    assert "holds other things" in capsys.readouterr().err
    assert main(["calibrate", "house.toml", "absent.csv"]) == 2
    assert "absent.csv" in capsys.readouterr().err
