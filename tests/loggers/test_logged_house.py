"""The logged house in ../shared: what its review finds. Skipped without the data.

L. M. Candanedo, V. Feldheim, D. Deramaix, "Data driven prediction models of energy use of appliances in
a low-energy house", Energy and Buildings 140 (2017) 81-97; data under CC BY 4.0. Only the part kept in
../shared, the first 70 percent, is read.
"""

from pathlib import Path

import pandas as pd
import pytest

import moistsim as ms

FILE = "shared/loggers/house_2016_first_70_percent.csv.gz"
PLACES = [parent / FILE for parent in Path(__file__).resolve().parents]
ROOMS = [f"room {n}" for n in (1, 2, 3, 4, 5, 7, 8, 9)]
LIVED_IN = [room for room in ROOMS if room != "room 5"]
UNITS = {
    "indoor_temperature": "degC", "indoor_rh": "%", "outdoor_temperature": "degC", "outdoor_dew_point": "degC",
    "outdoor_rh": "%", "pressure": "mmHg", "wind_speed": "m/s", "visibility": "km",
}  # fmt: skip
INDOORS = {
    "time": "date",
    **{f"indoor_temperature.{room}": f"T{room[-1]}" for room in ROOMS},
    **{f"indoor_rh.{room}": f"RH_{room[-1]}" for room in ROOMS},
    "pressure": "Press_mm_hg",
    "wind_speed": "Windspeed",
}
STATION = {
    **INDOORS,
    "outdoor_temperature": "T_out",
    "outdoor_dew_point": "Tdewpoint",
    "visibility": "Visibility",
}
BESIDE = {"outdoor_temperature.beside": "T6", "outdoor_rh.beside": "RH_6"}


def read(columns: dict[str, str]) -> ms.HouseLog:
    file = next((place for place in PLACES if place.exists()), None)
    if file is None:
        pytest.skip("the logged house is not in ../shared/loggers")
    units = {name: unit for name, unit in UNITS.items() if any(c.startswith(name) for c in columns)}
    # Position, height and zone of south Belgium; the file states none.
    place = {
        "latitude": 50.5,
        "longitude": 4.0,
        "elevation": 90.0,
        "utc_offset": 1.0,
        "label": "start",
    }
    return ms.HouseLog.read(file, columns, units=units, rooms=LIVED_IN, **place)


def found(log: ms.HouseLog) -> dict[tuple[str, str], ms.LogFinding]:
    return {(each.what, each.where): each for each in log.review().findings}


def test_the_log_is_read_whole() -> None:
    log = read(STATION)
    assert len(log) == 13_814 and log.step == 600.0
    assert not any(note.startswith("gap") for note in log.notes)
    assert log.weather.kind == "actual" and any("Bristow" in note for note in log.weather.notes)
    assert 1000 * log.indoor_humidity_ratio.mean() == pytest.approx(5.97, abs=0.02)


def test_the_outdoor_sensor_next_to_the_house_fails() -> None:
    """It falls against the station until it sits at its stop of 1 percent."""
    log = read({**STATION, **BESIDE})
    beside = found(log)
    stuck = [each.says for each in log.review().findings if each.what == "stuck"]
    assert any("stays at a stop of the sensor (1 to " in says for says in stuck)
    assert "sensor beside falls by" in beside["drift", "outdoor_rh.beside"].says
    instead = {**INDOORS, "outdoor_temperature": "T6", "outdoor_rh": "RH_6"}
    alone = read(instead).review().findings
    assert {each.what for each in alone if each.where == "outdoor_rh"} == {"stuck", "drift"}


def test_placement_is_told() -> None:
    findings = found(read(STATION))
    assert "Rooms differ by 1.9 g/kg" in findings["placement", "rooms"].says
    assert "bathroom" in findings["placement", "room 5"].says
    assert not {what for what, _ in findings} & {"stuck", "swapped", "unit", "clock"}


def test_stamps_shifted_by_hours_are_found() -> None:
    log = read(STATION)
    late = log.frame.set_axis(log.frame.index + pd.Timedelta(hours=6))
    units = {"indoor_temperature": "degC", "indoor_rh": "%", "outdoor_temperature": "degC"}
    columns = {name: name for name in late if name.startswith(tuple(units))}
    place = {
        "latitude": 50.5,
        "longitude": 4.0,
        "elevation": 90.0,
        "utc_offset": 1.0,
        "label": "start",
    }
    moved = ms.HouseLog.read(late, {"time": "time", **columns}, units=units, **place)
    assert ("clock", "time") in found(moved)
