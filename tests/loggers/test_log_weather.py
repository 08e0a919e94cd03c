"""The weather of a log, with the sun that nobody logged."""

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from support import house_logs

import moistsim as ms
from moistsim import air

DATA = Path(pvlib.__file__).parent / "data"


def outdoors(name: str = "greensboro", days: int = 365, **columns: object) -> pd.DataFrame:
    """The hours of a sample year as a station would log them."""
    sample = ms.Weather.sample(name)
    frame = sample.frame.iloc[: 24 * days].rename_axis("when").reset_index()
    return frame.assign(**columns)


COLUMNS = {
    "time": "when",
    "outdoor_temperature": "temp_air",
    "outdoor_dew_point": "temp_dew",
    "pressure": "pressure",
    "wind_speed": "wind_speed",
}
UNITS = {
    "outdoor_temperature": "degC",
    "outdoor_dew_point": "degC",
    "outdoor_rh": "%",
    "pressure": "Pa",
    "wind_speed": "m/s",
    "ghi": "W/m2",
    "dni": "W/m2",
    "dhi": "W/m2",
    "cloud_cover": "fraction",
}
PLACE = {
    "latitude": 36.1,
    "longitude": -79.95,
    "elevation": 273.0,
    "utc_offset": -5,
    "label": "start",
}


def read(frame: pd.DataFrame, columns: dict[str, str] = COLUMNS, **changes: object) -> ms.HouseLog:
    units = {name: unit for name, unit in UNITS.items() if name in columns}
    return ms.HouseLog.read(frame, columns, units=units, **{**PLACE, **changes})


SUN = {**COLUMNS, "ghi": "ghi", "dni": "dni", "dhi": "dhi"}


def test_logged_hours_with_sun_are_that_weather() -> None:
    weather = read(outdoors(), SUN).weather
    sample = ms.Weather.sample("greensboro")
    assert weather.kind == "actual"
    pd.testing.assert_frame_equal(weather.frame, sample.frame, check_freq=False)


def test_rows_of_ten_minutes_keep_the_water() -> None:
    log = house_logs.read(house_logs.table(5))
    weather = log.weather
    vapor = air.over(air.saturation_pressure, log.frame["outdoor_temperature"])
    vapor = pd.Series(vapor * log.frame["outdoor_rh"] / 100.0, log.frame.index)
    by_hour = vapor.groupby(vapor.index.floor("h")).mean()[weather.frame.index]
    np.testing.assert_allclose(
        air.over(air.saturation_pressure, weather.frame["temp_dew"]), by_hour, rtol=1e-6
    )
    assert weather.frame.index[0] == pd.Timestamp("1990-05-01")


def test_a_missing_column_is_asked_for() -> None:
    frame = outdoors(days=5)
    for name, text in {
        "wind_speed": "the mean that you take as known, such as wind_speed='6 mph'",
        "outdoor_dew_point": "outdoor_rh or outdoor_dew_point",
    }.items():
        columns = {key: value for key, value in COLUMNS.items() if key != name}
        with pytest.raises(ms.InputError) as caught:
            _ = read(frame, columns).weather
        assert text in str(caught.value)
    columns = {
        key: value for key, value in COLUMNS.items() if key not in ("wind_speed", "pressure")
    }
    log = read(frame, columns, wind_speed="6 mph")
    assert log.weather.frame["wind_speed"].iloc[0] == pytest.approx(2.682, abs=1e-3)
    assert "wind was not logged: 2.7 m/s, as stated, in all rows" in log.notes
    assert "pressure was not logged: standard atmosphere at 273 m" in log.notes
    assert any("standard atmosphere" in note for note in log.weather.notes)


def test_a_dew_point_above_the_dry_bulb() -> None:
    frame = outdoors(days=5)
    frame.loc[7, "temp_dew"] = frame.loc[7, "temp_air"] + 0.5
    assert any("held at the dry bulb in 1 rows" in note for note in read(frame).weather.notes)
    frame.loc[7, "temp_dew"] = frame.loc[7, "temp_air"] + 5.0
    with pytest.raises(ms.InputError, match=r"5\.0 K above the dry bulb"):
        _ = read(frame).weather


def by_day(values: pd.Series) -> pd.Series:
    return values.groupby(values.index.normalize()).mean()


@pytest.mark.parametrize(
    "name, low, high, error",
    [
        ("miami", -0.20, -0.10, 85.0),
        ("greensboro", 0.0, 0.12, 45.0),
        ("sand_point", -0.28, -0.15, 60.0),
    ],
)
def test_the_sun_from_the_daily_range(name: str, low: float, high: float, error: float) -> None:
    """Against the sun of typical years: biases as the module states them, not tuned to them."""
    sample = ms.Weather.sample(name)
    place = {
        key: getattr(sample, key) for key in ("latitude", "longitude", "elevation", "utc_offset")
    }
    weather = read(outdoors(name), **place).weather
    assert any("Bristow and Campbell" in note for note in weather.notes)
    true, made = by_day(sample.frame["ghi"]), by_day(weather.frame["ghi"])
    bias = made.mean() / true.mean() - 1.0
    rms = float(np.sqrt(((made - true) ** 2).mean()))
    print(f"{name}: bias {bias:+.1%}, a day's error {rms:.0f} W/m2 of {true.mean():.0f}")
    assert low < bias < high
    assert rms < error


@pytest.mark.parametrize("file, error", [("723170TYA.CSV", 35.0), ("703165TY.csv", 20.0)])
def test_the_sun_from_cloud_cover(file: str, error: float) -> None:
    sample = ms.Weather.read(DATA / file)
    table, _ = pvlib.iotools.read_tmy3(DATA / file, map_variables=True, coerce_year=1990)
    clouds = next(name for name in table.columns if name.startswith("TotCld (tenths"))
    frame = sample.frame.rename_axis("when").reset_index()
    frame["clouds"] = table[clouds].to_numpy() / 10.0
    place = {
        key: getattr(sample, key) for key in ("latitude", "longitude", "elevation", "utc_offset")
    }
    weather = read(frame, {**COLUMNS, "cloud_cover": "clouds"}, **place).weather
    assert any("Kasten and Czeplak" in note for note in weather.notes)
    true, made = by_day(sample.frame["ghi"]), by_day(weather.frame["ghi"])
    rms = float(np.sqrt(((made - true) ** 2).mean()))
    print(f"{sample.name}: bias {made.mean() / true.mean() - 1:+.1%}, a day's error {rms:.0f} W/m2")
    assert -0.10 < made.mean() / true.mean() - 1.0 < 0.02
    assert rms < error


def test_a_run_on_a_log() -> None:
    from support import houses, machines

    log = house_logs.read(house_logs.table(5))
    season = ms.simulate(
        houses.house(),
        machines.machines(),
        ms.strategies.temperature_only,
        log.weather,
        spin_up="2 day",
    )
    assert len(season.hourly) == len(log.weather)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["miami", "greensboro", "sand_point"])
def test_no_finding_outdoors_in_a_typical_year(name: str) -> None:
    """Outdoor air of three climates, month by month and whole: its clock, sensor and unit are right."""
    sample = ms.Weather.sample(name)
    place = {
        key: getattr(sample, key) for key in ("latitude", "longitude", "elevation", "utc_offset")
    }
    log = read(outdoors(name), SUN, **place)
    parts = [
        log,
        *(log.between(f"1990-{month:02d}-01", f"1990-{month:02d}-28") for month in range(1, 13)),
    ]
    found = [(len(part), each.what, each.says) for part in parts for each in part.review().findings]
    assert found == []
