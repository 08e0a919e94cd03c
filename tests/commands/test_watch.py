"""`moistsim watch`, with a fit that knows the truth in place of the minute that a fit takes."""

from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from support import watched

import moistsim.calibration
from moistsim.__main__ import main

HOUSE = """
name = "Watched house (invented)"

[weather]
sample = "greensboro"

[house]
floor_area = "1900 ft2"
ach50 = 3.0

[equipment.cooling]
stages = [{ capacity = "24000 Btu/h" }]

[equipment.ventilation]
kind = "supply"
airflow = "60 cfm"

[options."As found"]
strategy = "temperature_only"

[log]
utc_offset = -5
label = "start"

[log.columns]
time = "when"
"indoor_temperature.hall" = "t"
"indoor_rh.hall" = "rh"
outdoor_temperature = "temp_air"
outdoor_dew_point = "temp_dew"
pressure = "pressure"
wind_speed = "wind_speed"
ghi = "ghi"
dni = "dni"
dhi = "dhi"

[log.units]
indoor_temperature = "degC"
indoor_rh = "%"
outdoor_temperature = "degC"
outdoor_dew_point = "degC"
pressure = "Pa"
wind_speed = "m/s"
ghi = "W/m2"
dni = "W/m2"
dhi = "W/m2"
"""


def rows(truth: watched.Truth, first: int, last: int) -> pd.DataFrame:
    """The loggers' file from one day to another."""
    names = {ours: name for ours, name in watched.COLUMNS.items() if ours != "time"}
    frame = truth.log.frame.rename(columns=names).rename_axis("when")
    return frame.iloc[24 * first : 24 * last].reset_index()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "house.toml").write_text(HOUSE)
    monkeypatch.chdir(tmp_path)

    def known(house: Any, machines: Any, log: Any, **_: Any) -> watched.TrueFit:
        return watched.TrueFit(log)

    monkeypatch.setattr(moistsim.calibration, "calibrate", known)
    return tmp_path


def watch(folder: Path, part: pd.DataFrame, *more: str) -> int:
    part.to_csv(folder / "log.csv", index=False)
    return main(["watch", "house.toml", "log.csv", *more])


def test_day_by_day(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    truth = watched.Truth(fault="blower", seed=1, fault_day=60, days=81)
    assert watch(folder, rows(truth, 0, 30)) == 0
    said = capsys.readouterr().out
    assert "No day has been watched yet." in said and "Fitted to 1990-05-01 to 1990-05-30" in said
    # Each later file has the newest rows alone.
    assert watch(folder, rows(truth, 29, 52)) == 0
    assert "The house is as predicted: no change in 22 days" in capsys.readouterr().out
    assert watch(folder, rows(truth, 51, 53)) == 0
    assert "Of 2 predictions so far" in capsys.readouterr().out
    assert watch(folder, rows(truth, 53, 75), "--units", "si") == 0
    said = capsys.readouterr().out
    assert (
        "has left its prediction since 1990-06-" in said
        and "It looks like the blower left ON" in said
    )
    assert "°C" in said and "°F" not in said
    kept = folder / "moistsim-watch-house"
    assert sorted(path.name for path in kept.iterdir()) == [
        "days.csv",
        "log.csv",
        "predictions.csv",
        "watch.json",
    ]
    assert len(pd.read_csv(kept / "predictions.csv")) == 4


def test_errors_are_one_sentence(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    truth = watched.Truth(seed=1, days=81)
    assert watch(folder, rows(truth, 0, 7)) == 2
    assert "14 days before the first watch" in capsys.readouterr().err
    (folder / "house.toml").write_text(HOUSE.partition("[log]")[0])
    assert watch(folder, rows(truth, 0, 30)) == 2
    assert "house.toml [log]: no [log]" in capsys.readouterr().err
    (folder / "house.toml").write_text(HOUSE.replace('indoor_rh = "%"\n', ""))
    assert watch(folder, rows(truth, 0, 30)) == 2
    assert "no unit of indoor_rh.hall" in capsys.readouterr().err
