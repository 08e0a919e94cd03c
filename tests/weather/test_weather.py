"""What a weather is, whatever it was made from."""

import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from support.miami_frames import HOUR, PLACE, take

from moistsim import air
from moistsim.weather.checks import WeatherError
from moistsim.weather.hours import COLUMNS
from moistsim.weather.weather import Weather

# ---------------------------------------------------------------------- samples and readers


def test_samples_are_whole_years_stamped_at_the_start(miami: Weather) -> None:
    frame = miami.frame
    assert list(frame.columns) == list(COLUMNS)
    assert frame.index.name == "time" and frame.index.tz is None
    assert frame.index[0] == pd.Timestamp("1990-01-01 00:00")
    assert frame.index[-1] == pd.Timestamp("1990-12-31 23:00")
    assert len(frame) == len(miami) == 8760
    assert frame.notna().all().all()
    assert miami.midpoints[0] == pd.Timestamp("1990-01-01 00:30", tz="Etc/GMT+5")
    with pytest.raises(ValueError, match="read-only"):
        miami.solar_position.azimuth[0] = 0.0  # kept: every house at the place reads it
    assert repr(miami) == (
        "<Weather Miami FL 12839: 8760 h, 1990-01-01 00:00 to 1991-01-01 00:00 (UTC-5 h), "
        f"25.80, -80.27, 2 m, {miami.checksum}>"
    )


@pytest.mark.parametrize(
    ("name", "file"), [("greensboro", "723170TYA.CSV"), ("sand_point", "703165TY.csv")]
)
def test_samples_are_what_pvlib_reads(name: str, file: str) -> None:
    """The file as issued, by pvlib's own reader, through the other door."""
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / file
    issued, meta = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
    issued["pressure"] *= 100
    read = Weather.from_frame(
        issued,
        latitude=meta["latitude"],
        longitude=meta["longitude"],
        utc_offset=meta["TZ"],
        elevation=meta["altitude"],
        label="end",
    )
    sample = Weather.sample(name)
    pd.testing.assert_frame_equal(read.frame, sample.frame)
    assert read.checksum == sample.checksum


def test_the_tmy2_sample_is_what_pvlib_reads(miami: Weather) -> None:
    """pvlib stamps TMY2 rows at the start of the hour, TMY3 rows at the end."""
    import pvlib

    issued, meta = pvlib.iotools.read_tmy2(Path(pvlib.__file__).parent / "data" / "12839.tm2")
    frame = issued[["GHI", "DNI", "DHI"]].rename(columns=str.lower)
    frame["temp_air"] = issued["DryBulb"] / 10
    frame["temp_dew"] = issued["DewPoint"] / 10
    frame["pressure"] = issued["Pressure"] * 100
    frame["wind_speed"] = issued["Wspd"] / 10
    read = Weather.from_frame(
        frame,
        latitude=meta["latitude"],
        longitude=meta["longitude"],
        utc_offset=meta["TZ"],
        elevation=meta["altitude"],
        label="start",
    )
    assert read.frame.index[0] == pd.Timestamp("1962-01-01 00:00")
    np.testing.assert_allclose(read.frame.to_numpy(), miami.frame.to_numpy(), rtol=1e-12)


def test_an_unknown_sample_lists_those_that_exist() -> None:
    with pytest.raises(WeatherError) as caught:
        Weather.sample("atlantis")
    assert str(caught.value) == (
        "weather samples: cannot use 'atlantis'. Use greensboro or miami or sand_point."
    )


def test_weather_is_a_value(miami: Weather, year: pd.DataFrame) -> None:
    with pytest.raises(AttributeError):
        miami.latitude = 0.0  # type: ignore[misc]
    changed = miami.frame
    changed.loc[:, "temp_air"] = 99.0
    assert miami.frame["temp_air"].max() < 40
    again = pickle.loads(pickle.dumps(miami))
    assert again == miami and again.checksum == miami.checksum
    warmer = take(year.assign(temp_air=year["temp_air"] + 0.001))
    assert warmer.checksum != miami.checksum
    # Regression only: a checksum that moves makes old results look like those of other weather.
    assert miami.checksum == "761c1c0290e104c1"


def test_humidity_ratio_is_that_of_dew_point_and_station_pressure(miami: Weather) -> None:
    frame = miami.frame
    vapor = air.over(air.vapor_pressure, frame["humidity_ratio"], frame["pressure"])
    np.testing.assert_allclose(air.over(air.dew_point, vapor), frame["temp_dew"], atol=1e-5)


def test_relative_humidity_serves_as_well_as_dew_point(july: pd.DataFrame) -> None:
    with_dew = take(july)
    frame = with_dew.frame
    relative = 100 * air.over(
        air.relative_humidity, frame["temp_air"], frame["humidity_ratio"], frame["pressure"]
    )
    with_rh = take(july.drop(columns="temp_dew").assign(relative_humidity=relative))
    pd.testing.assert_frame_equal(with_rh.frame, frame, rtol=1e-8)


# ---------------------------------------------------------------------- labels, zones, calendars


def test_all_labels_and_zones_lead_to_the_same_hours(july: pd.DataFrame) -> None:
    expected = take(july)
    for label, before in (("start", HOUR), ("middle", HOUR / 2)):
        moved = july.set_axis(july.index - before)
        assert take(moved, label) == expected
        assert take(moved, label).checksum == expected.checksum
    aware = july.tz_localize("Etc/GMT+5")
    for zone in ("UTC", "America/New_York", "Asia/Kolkata"):  # New York is on daylight saving
        assert take(aware.tz_convert(zone)) == expected


def shifted_to(longitude: float, offset: float) -> dict[str, float]:
    """The longitude at which the sun keeps, in another zone, the local time it keeps in `PLACE`."""
    return {"longitude": longitude + 15 * (offset - PLACE["utc_offset"]), "utc_offset": offset}


def test_a_half_hour_offset(july: pd.DataFrame) -> None:
    place = shifted_to(PLACE["longitude"], 5.5)
    weather = take(july, **place)
    assert weather.midpoints[0].isoformat() == "1990-07-01T00:30:00+05:30"
    in_utc = july.tz_localize("+05:30").tz_convert("UTC")
    assert take(in_utc, **place) == weather
    # Whole hours of UTC begin at half past locally.
    half = july.set_axis(july.index + HOUR / 2)
    later = take(half, longitude=place["longitude"] - 7.5, utc_offset=5.5)
    assert later.frame.index[0] == pd.Timestamp("1990-07-01 00:30")
    # The half hour missing from the first day is no gap.
    assert later.between("07-01", "07-02") == slice(0, 48)


def test_pvlib_is_imported_only_when_weather_is_checked() -> None:
    code = "import sys, moistsim.weather; sys.exit('pvlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
