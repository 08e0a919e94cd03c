"""Weather that has possible values in each hour, and that no place has all the same."""

from pathlib import Path

import pandas as pd
import pytest
from support.weathers import SAMPLES, sample

import moistsim as ms
from moistsim.weather.checks import WeatherError


def remade(frame: pd.DataFrame, name: str = "greensboro", **changes: str) -> ms.Weather:
    place = sample(name)
    return ms.Weather.from_frame(
        frame,
        latitude=place.latitude,
        longitude=place.longitude,
        utc_offset=place.utc_offset,
        elevation=place.elevation,
        label="start",
        **changes,
    )


def hours(name: str = "greensboro") -> pd.DataFrame:
    return sample(name).frame.drop(columns="humidity_ratio")


def refusal(frame: pd.DataFrame, name: str = "greensboro") -> str:
    with pytest.raises(WeatherError) as refused:
        remade(frame, name)
    assert len(str(refused.value)) < 300
    return str(refused.value)


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("days", [(0, 365), (180, 7), (20, 14)])
def test_real_weather_is_taken(name: str, days: tuple[int, int]) -> None:
    first, count = days
    assert len(remade(hours(name).iloc[24 * first : 24 * (first + count)], name)) == 24 * count


@pytest.mark.parametrize("name", SAMPLES)
def test_direct_and_diffuse_sun_exchanged(name: str) -> None:
    frame = hours(name)
    exchanged = frame.assign(dni=frame["dhi"], dhi=frame["dni"].clip(upper=1000.0))
    assert "sums that fit once direct and diffuse sun are exchanged" in refusal(exchanged, name)


@pytest.mark.parametrize("name", SAMPLES)
def test_wind_in_kilometers_an_hour(name: str) -> None:
    frame = hours(name)
    said = refusal(frame.assign(wind_speed=(3.6 * frame["wind_speed"]).clip(upper=80.0)), name)
    assert "wind_speed" in said and "divide km/h by 3.6" in said


@pytest.mark.parametrize(("factor", "name"), [(0.1, "miami"), (0.1, "sand_point"), (1.4, "miami")])
def test_sun_in_another_unit(factor: float, name: str) -> None:
    frame = hours(name)
    frame[["ghi", "dni", "dhi"]] *= factor
    assert "of the sun above the air" in refusal(frame, name)


def test_a_temperature_that_stands_still() -> None:
    frame = hours()
    frame.iloc[4000:4100, frame.columns.get_loc("temp_air")] = 30.0
    said = refusal(frame.assign(temp_dew=frame["temp_dew"].clip(upper=frame["temp_air"])))
    assert "30 °C in each of 100 hours" in said and "'synthetic'" in said


def test_invented_weather_says_that_it_is(tmp_path: Path) -> None:
    """A test bench needs constant air; its kind says so, in a file too."""
    frame = hours().iloc[:240].assign(temp_air=30.0, temp_dew=15.0)
    bench = remade(frame, kind="synthetic")
    bench.write(tmp_path / "bench.csv")
    assert ms.Weather.read(tmp_path / "bench.csv").checksum == bench.checksum


def test_columns_parted_by_semicolons_and_fields_in_quotes(tmp_path: Path) -> None:
    path = tmp_path / "w.csv"
    sample("greensboro").write(path)
    head, rows = [], []
    for line in path.read_text().splitlines():
        (head if line.startswith("#") else rows).append(line)
    path.write_text("\n".join(head + [",".join(f'"{x}"' for x in row.split(",")) for row in rows]))
    assert ms.Weather.read(path) == sample("greensboro")
    path.write_text("\n".join(head + [row.replace(",", ";") for row in rows]))
    with pytest.raises(WeatherError, match="columns parted by semicolons. Use commas between"):
        ms.Weather.read(path)


def test_all_missing_lines_and_columns_at_once(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="wind_speed, ghi: missing"):
        remade(hours().drop(columns=["wind_speed", "ghi"]))
    (tmp_path / "w.csv").write_text("# latitude: 30\ntime,temp_air\n")
    with pytest.raises(WeatherError, match="longitude, elevation, utc_offset, label: missing"):
        ms.Weather.read(tmp_path / "w.csv")
