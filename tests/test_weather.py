"""Reading, checking and describing hourly weather."""

import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moistsim import air
from moistsim.weather import Weather
from moistsim.weather_checks import DEW_POINT_TOLERANCE, WeatherError
from moistsim.weather_hours import COLUMNS

HOUR = pd.Timedelta(hours=1)
PLACE = {"latitude": 25.8, "longitude": -80.2667, "utc_offset": -5.0, "elevation": 2.0}
HOURLY = "rows exactly 1 h apart, in order, in local standard time"
AGREE = "a label, utc_offset and longitude that agree (one of them is wrong)"


@pytest.fixture(scope="module")
def miami() -> Weather:
    return Weather.sample("miami")


@pytest.fixture(scope="module")
def year(miami: Weather) -> pd.DataFrame:
    """The sample as a user's frame, stamped at the end of the hour."""
    frame = miami.frame.drop(columns="humidity_ratio")
    frame.index = frame.index + HOUR
    return frame


@pytest.fixture(scope="module")
def july(year: pd.DataFrame) -> pd.DataFrame:
    """Ten days: enough for every check, and quick."""
    return year.loc["1990-07-01 01:00":"1990-07-11 00:00"]


def take(frame: pd.DataFrame, label: str = "end", **changes: object) -> Weather:
    return Weather.from_frame(frame, label=label, **{**PLACE, **changes})


def lines_of_sample() -> list[str]:
    folder = Path(__file__).resolve().parent.parent / "weather_samples"
    if not folder.is_dir():
        import moistsim

        folder = Path(moistsim.__file__).parent / "weather_samples"
    return (folder / "miami.csv").read_text(encoding="utf-8").splitlines()


def write(path: Path, lines: list[str]) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


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
        "weather samples: found 'atlantis'; accepted: greensboro or miami or sand_point"
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
    vapour = air.over(air.vapour_pressure, frame["humidity_ratio"], frame["pressure"])
    np.testing.assert_allclose(air.over(air.dew_point, vapour), frame["temp_dew"], atol=1e-5)


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


def test_a_year_that_begins_in_july(year: pd.DataFrame) -> None:
    second = year.loc["1990-07-01 01:00":]
    first = year.loc[:"1990-07-01 00:00"]
    turned = pd.concat([second, first.set_axis(first.index + pd.DateOffset(years=1))])
    weather = take(turned)
    frame = weather.frame
    winter = frame.iloc[weather.between("11-01", "03-31")]
    assert winter.index[0] == pd.Timestamp("1990-11-01 00:00")
    assert winter.index[-1] == pd.Timestamp("1991-03-31 23:00")
    assert weather.between("1990-11-01", "1991-03-31") == weather.between("11-01", "03-31")
    assert weather.between("1990-11-01", "03-31") == weather.between("11-01", "03-31")
    assert weather.between("11-01", "1991-03-31") == weather.between("11-01", "03-31")
    autumn = frame.iloc[weather.between("09-01", "10-31")]
    assert (autumn.index[0].year, len(autumn)) == (1990, 61 * 24)
    spring = frame.iloc[weather.between("03-01", "05-31")]
    assert (spring.index[0].year, len(spring)) == (1991, 92 * 24)
    with pytest.raises(WeatherError) as caught:
        weather.between("05-01", "09-30")
    assert str(caught.value) == (
        "season: found 05-01 to 09-30, not held by data of 1990-07-01 00:00 to 1991-07-01 00:00; "
        "accepted: a season that lies within the data without a break (MM-DD or YYYY-MM-DD)"
    )


def test_a_leap_year(year: pd.DataFrame) -> None:
    february = year.loc["1990-02-20 01:00":"1990-03-03 00:00"]
    leap = february.set_axis(pd.date_range("1992-02-20 01:00", periods=len(february), freq="h"))
    weather = take(leap)
    assert weather.frame.iloc[weather.between("02-29", "02-29")].index[0].day == 29
    assert weather.between("02-28", "03-01") == slice(8 * 24, 11 * 24)


def test_part_of_a_year(july: pd.DataFrame) -> None:
    weather = take(july)
    assert weather.between(None, None) == weather.between() == slice(0, 240)
    assert weather.between("07-03", None) == slice(48, 240)
    assert weather.between(None, "07-03") == slice(0, 72)
    assert weather.between("1990-07-10", "1990-07-10") == slice(216, 240)
    assert weather.describe()["hours"] == 240


def test_two_years_ask_for_the_year(july: pd.DataFrame, year: pd.DataFrame) -> None:
    twice = pd.concat([year, year.set_axis(year.index + pd.DateOffset(years=1))])
    weather = take(twice)
    assert weather.between("1991-05-01", "05-31").start == (365 + 120) * 24
    with pytest.raises(WeatherError) as caught:
        weather.between("05-01", "05-31")
    assert str(caught.value) == (
        "season: found 05-01 to 05-31, held 2 times by data of 1990-01-01 00:00 to "
        "1992-01-01 00:00; accepted: dates with their years (YYYY-MM-DD)"
    )


@pytest.mark.parametrize(
    ("start", "end", "sentence"),
    [
        (
            "11-01",
            "03-31",
            (
                "season: found 11-01 to 03-31, not held by data of 1990-01-01 00:00 to 1991-01-01 "
                "00:00; accepted: a season that lies within the data without a break "
                "(MM-DD or YYYY-MM-DD)"
            ),
        ),
        (
            "1989-12-01",
            None,
            (
                "season: found 1989-12-01 to the last hour, not held by data of 1990-01-01 00:00 to "
                "1991-01-01 00:00; accepted: a season that lies within the data without a break "
                "(MM-DD or YYYY-MM-DD)"
            ),
        ),
        (
            "1990-06-01",
            "1990-05-01",
            (
                "season: found 1990-06-01 to 1990-05-01, not held by data of 1990-01-01 00:00 to "
                "1991-01-01 00:00; accepted: a season that lies within the data without a break "
                "(MM-DD or YYYY-MM-DD)"
            ),
        ),
        (
            "02-01",
            "02-29",
            (
                "season, end: found 02-29, a day that is not in data of 1990-01-01 00:00 to "
                "1991-01-01 00:00; accepted: MM-DD or YYYY-MM-DD, or None for all of the data"
            ),
        ),
        (
            "3/1",
            "10-31",
            (
                "season, start: found '3/1'; accepted: MM-DD or YYYY-MM-DD, or None for all of the "
                "data"
            ),
        ),
    ],
)
def test_seasons_that_are_not_there(
    miami: Weather, start: str, end: str | None, sentence: str
) -> None:
    with pytest.raises(WeatherError) as caught:
        miami.between(start, end)
    assert str(caught.value) == sentence


# ---------------------------------------------------------------------- planted defects: frames

TEMPERATURE = "-70 to 60 degC (convert a value in degF or K first)"
PRESSURE = "50000 to 110000 Pa (station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa)"
SUN = "(a small negative night reading must be set to 0 first)"


@pytest.mark.parametrize(
    ("column", "value", "accepted", "found"),
    [
        ("temp_air", np.nan, TEMPERATURE, "nan"),
        ("temp_air", 78.8, TEMPERATURE, "78.8"),
        ("temp_air", np.inf, TEMPERATURE, "inf"),
        ("temp_air", -9900.0, TEMPERATURE, "-9900"),
        ("temp_dew", 77.0, "-90 to 40 degC (convert a value in degF or K first)", "77"),
        ("pressure", 1015.0, PRESSURE, "1015"),
        ("pressure", 101.5, PRESSURE, "101.5"),
        ("wind_speed", -0.1, "0 to 80 m/s", "-0.1"),
        ("ghi", -3.0, f"0 to 1500 W/m2 {SUN}", "-3"),
        ("dni", 3600.0, f"0 to 1415 W/m2 {SUN}", "3600"),
        ("dhi", 1001.0, f"0 to 1000 W/m2 {SUN}", "1001"),
    ],
)
def test_one_bad_value(
    july: pd.DataFrame, column: str, value: float, accepted: str, found: str
) -> None:
    frame = july.copy()
    frame.iloc[50, frame.columns.get_loc(column)] = value
    with pytest.raises(WeatherError) as caught:
        take(frame)
    error = caught.value
    assert str(error) == (
        f"frame row 1990-07-03 03:00:00, column {column}: found {found}; accepted: {accepted}"
    )
    assert (error.where, error.column) == ("frame row 1990-07-03 03:00:00", column)
    assert (error.found, error.accepted) == (found, accepted)
    copy = pickle.loads(pickle.dumps(error))
    assert str(copy) == str(error) and copy.column == column


def change(**columns: object):  # type: ignore[no-untyped-def]
    return lambda frame: frame.assign(**columns)


DEFECTS = {
    "millibar": (
        lambda f: f.assign(pressure=f["pressure"] / 100),
        f"frame row 1990-07-01 01:00:00, column pressure: found 1018; accepted: {PRESSURE}",
    ),
    "fahrenheit": (
        lambda f: f.assign(temp_air=f["temp_air"] * 1.8 + 32),
        f"frame row 1990-07-01 01:00:00, column temp_air: found 80.42; accepted: {TEMPERATURE}",
    ),
    "fraction": (
        lambda f: f.drop(columns="temp_dew").assign(relative_humidity=0.7),
        (
            "frame, column relative_humidity: found no value above 0.7; accepted: per cent, 0.1 to "
            "100 (multiply a fraction by 100)"
        ),
    ),
    "no humidity": (
        lambda f: f.drop(columns="temp_dew"),
        (
            "frame, column temp_dew: found none; accepted: temp_dew in degC or relative_humidity in "
            "per cent"
        ),
    ),
    "no pressure": (
        lambda f: f.drop(columns="pressure"),
        f"frame, column pressure: found none; accepted: one column of {PRESSURE}",
    ),
    "two columns": (
        lambda f: pd.concat([f, f[["ghi"]]], axis=1),
        f"frame, column ghi: found 2 of them; accepted: one column of 0 to 1500 W/m2 {SUN}",
    ),
    "text": (
        lambda f: f.assign(wind_speed=["calm"] * len(f)),
        "frame row 1990-07-01 01:00:00, column wind_speed: found 'calm'; accepted: 0 to 80 m/s",
    ),
    "supersaturated": (
        lambda f: f.assign(temp_dew=f["temp_air"] + DEW_POINT_TOLERANCE + 0.01),
        (
            "frame row 1990-07-01 01:00:00, column temp_dew: found 27.01 degC at a dry bulb of 26.9 "
            "degC; accepted: at most 0.1 K above the dry bulb"
        ),
    ),
    "sea level": (
        lambda f: f.assign(pressure=84000.0),
        (
            "frame, column pressure: found a mean of 84000 Pa at an elevation of 2 m; accepted: "
            "within 5% of 101301 Pa, the standard atmosphere there (station pressure, not reduced "
            "to sea level; elevation in m, not ft)"
        ),
    ),
    "no sun": (
        change(ghi=0.0, dni=0.0, dhi=0.0),
        (
            "frame, column ghi: found at most 0 W/m2 in 120 hours of sun above 10 degrees; accepted: "
            "global horizontal irradiance in W/m2 (1 kW/m2 is 1000 W/m2)"
        ),
    ),
    "half an hour": (
        lambda f: f.set_axis(f.index + HOUR / 2),
        "frame, ghi, dni, dhi: found sums that fit the sun of 30 min earlier; accepted: " + AGREE,
    ),
    "no beam": (
        change(dni=0.0),
        (
            "frame, ghi, dni, dhi: found ghi 409 W/m2 (rms) away from dhi + dni * cos(zenith); "
            "accepted: three columns that agree within 100 W/m2"
        ),
    ),
    "half-hourly": (
        lambda f: f.set_axis(pd.date_range(f.index[0], periods=len(f), freq="30min")),
        (
            "frame: found rows 30 min apart; accepted: hourly rows, 60 min apart "
            "(Weather.from_log averages those of a log)"
        ),
    ),
    "gap": (
        lambda f: f.drop(f.index[30:32]),
        (
            f"frame row 1990-07-02 09:00:00, column time: found 3 h since the row before; "
            f"accepted: {HOURLY}"
        ),
    ),
    "duplicate": (
        lambda f: f.iloc[[*range(31), *range(30, len(f))]],
        (
            "frame row 1990-07-02 07:00:00, column time: found the same time as the row before; "
            f"accepted: {HOURLY}"
        ),
    ),
    "unordered": (
        lambda f: f.iloc[[*range(100, len(f)), *range(100)]],
        (
            "frame row 1990-07-01 01:00:00, column time: found a time 239 h before that of the row "
            f"before; accepted: {HOURLY}"
        ),
    ),
    "no time": (
        lambda f: f.set_axis(f.index.where(np.arange(len(f)) != 3)),
        f"frame row 4, index: found no time; accepted: {HOURLY}",
    ),
    "no times": (
        lambda f: f.reset_index(drop=True),
        "frame, index: found a RangeIndex; accepted: a DatetimeIndex of hours",
    ),
    "short": (lambda f: f.iloc[:5], "frame: found 5 rows; accepted: at least 24 hours"),
}


@pytest.mark.parametrize("defect", DEFECTS)
def test_planted_defects(july: pd.DataFrame, defect: str) -> None:
    plant, sentence = DEFECTS[defect]
    with pytest.raises(WeatherError) as caught:
        take(plant(july.copy()))
    assert str(caught.value) == sentence


def test_a_dew_point_within_rounding_is_kept(july: pd.DataFrame) -> None:
    frame = july.assign(temp_dew=july["temp_air"] + DEW_POINT_TOLERANCE)
    kept = take(frame).frame
    np.testing.assert_array_equal(kept["temp_dew"], frame["temp_dew"])


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"latitude": 95},
            "frame, latitude: found 95; accepted: -90 to 90 degrees, north positive",
        ),
        (
            {"longitude": "west"},
            "frame, longitude: found 'west'; accepted: -180 to 180 degrees, east positive",
        ),
        ({"utc_offset": -500}, "frame, utc_offset: found -500; accepted: -12 to 14 h"),
        ({"elevation": float("nan")}, None),
        ({"elevation": "6 kg"}, None),
        ({"label": "left"}, "frame, label: found 'left'; accepted: start, middle or end"),
    ],
)
def test_a_place_that_is_none(
    july: pd.DataFrame, changes: dict[str, object], sentence: str | None
) -> None:
    with pytest.raises(WeatherError) as caught:
        take(july, **changes)  # type: ignore[arg-type]
    if sentence is None:
        assert str(caught.value).startswith("frame, elevation: found ")
    else:
        assert str(caught.value) == sentence


def test_elevation_may_carry_its_unit(july: pd.DataFrame) -> None:
    assert take(july, elevation="10 ft").elevation == pytest.approx(3.048)


@pytest.mark.parametrize(
    "changes",
    [
        {"label": "start"},
        {"longitude": 80.2667},
        {"utc_offset": -8.0},
        {"utc_offset": -6.0},
        {"utc_offset": -4.0},
        {"utc_offset": -2.0},
    ],
)
def test_the_sun_tells_a_wrong_label_offset_or_longitude(
    year: pd.DataFrame, changes: dict[str, object]
) -> None:
    with pytest.raises(WeatherError, match="below the horizon all hour") as caught:
        take(year, **changes)  # type: ignore[arg-type]
    assert caught.value.column == "ghi"
    assert caught.value.accepted == AGREE


def test_the_sentence_of_a_dark_hour(july: pd.DataFrame) -> None:
    with pytest.raises(WeatherError) as caught:
        take(july.set_axis(july.index + 3 * HOUR))
    at = july.index[17] + 3 * HOUR
    watts = july["ghi"].iloc[17]
    assert str(caught.value) == (
        f"frame row {at}, column ghi: found {watts:g} W/m2 while the sun is below the horizon all "
        f"hour (such hours: 20); accepted: {AGREE}"
    )


@pytest.mark.parametrize("month", range(1, 13))
def test_half_an_hour_wrong_is_told_in_every_month(year: pd.DataFrame, month: int) -> None:
    starts = year.index - HOUR
    part = year[starts.month == month]
    take(part)
    for wrong in (part.index + HOUR / 2, part.index - HOUR / 2):
        with pytest.raises(WeatherError) as caught:
            take(part.set_axis(wrong))
        assert caught.value.accepted == AGREE


@settings(max_examples=40, deadline=None)
@given(row=st.integers(1, 8758), kind=st.sampled_from(["gap", "duplicate", "swap"]))
def test_a_gap_a_duplicate_or_a_swap_is_found_where_it_is(row: int, kind: str) -> None:
    index = pd.date_range("1990-01-01 01:00", periods=8760, freq="h")
    rows = list(range(8760))
    if kind == "gap":
        del rows[row]
    elif kind == "duplicate":
        rows.insert(row, row)
    else:
        rows[row], rows[row + 1] = rows[row + 1], rows[row]
    with pytest.raises(WeatherError) as caught:
        take(pd.DataFrame({"temp_air": 20.0}, index=index[rows]))
    at = index[row if kind == "duplicate" else row + 1]
    assert (caught.value.where, caught.value.column) == (f"frame row {at}", "time")
    assert caught.value.accepted == HOURLY


# ---------------------------------------------------------------------- planted defects: files


def edit(number: int, old: str, new: str):  # type: ignore[no-untyped-def]
    def plant(lines: list[str]) -> list[str]:
        assert old in lines[number - 1]
        return [*lines[: number - 1], lines[number - 1].replace(old, new), *lines[number:]]

    return plant


FILE_DEFECTS = {
    "value": (
        edit(13, "101600", "1016"),
        f"w.csv line 13 (1990-01-01T03:00), column pressure: found 1016; accepted: {PRESSURE}",
    ),
    "text": (
        edit(13, "20.0", "warm"),
        f"w.csv line 13 (1990-01-01T03:00), column temp_air: found 'warm'; accepted: {TEMPERATURE}",
    ),
    "empty cell": (
        edit(13, "20.0", ""),
        f"w.csv line 13 (1990-01-01T03:00), column temp_air: found ''; accepted: {TEMPERATURE}",
    ),
    "lost line": (
        lambda lines: [*lines[:100], *lines[101:]],
        (
            "w.csv line 101 (1990-01-04T20:00), column time: found 2 h since the row before; "
            f"accepted: {HOURLY}"
        ),
    ),
    "empty line": (
        lambda lines: [*lines[:100], "", *lines[100:]],
        "w.csv line 101: found 0 fields; accepted: 8 fields, as in the line of column names",
    ),
    "long line": (
        edit(31, ",", ",,"),
        "w.csv line 31: found 15 fields; accepted: 8 fields, as in the line of column names",
    ),
    "24:00": (
        edit(34, "1990-01-02T00:00", "1990-01-01T24:00"),
        (
            "w.csv line 34, column time: found '1990-01-01T24:00'; accepted: an ISO time such as "
            "1990-07-01T14:00, either all or none with an offset from UTC"
        ),
    ),
    "no time column": (
        edit(10, "time", "date"),
        "w.csv, column time: found none; accepted: one column 'time' of ISO time stamps",
    ),
    "no label": (
        lambda lines: [line for line in lines if "label" not in line],
        "w.csv, label: found none; accepted: a line '# label: value' above the table",
    ),
    "offset in words": (
        edit(5, "-5", "Eastern"),
        "w.csv, utc_offset: found 'Eastern'; accepted: a number",
    ),
    "key twice": (
        lambda lines: ["# label: start", *lines],
        "w.csv line 7, label: found a second one; accepted: each key once",
    ),
    "no table": (
        lambda lines: lines[:9],
        "w.csv: found no table; accepted: a line of column names, then hourly rows",
    ),
}


@pytest.mark.parametrize("defect", FILE_DEFECTS)
def test_planted_defects_in_a_file(tmp_path: Path, defect: str) -> None:
    plant, sentence = FILE_DEFECTS[defect]
    path = write(tmp_path / "w.csv", plant(lines_of_sample()[:400]))
    with pytest.raises(WeatherError) as caught:
        Weather.read(path)
    assert str(caught.value) == sentence


def test_a_file_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="found no such file; accepted: the path of a weather"):
        Weather.read(tmp_path / "nowhere.csv")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(WeatherError, match=r"^bytes\.csv: found something that is no text file"):
        Weather.read(tmp_path / "bytes.csv")


def test_a_file_in_utc_or_with_a_byte_order_mark(tmp_path: Path) -> None:
    lines = lines_of_sample()[:400]
    plain = Weather.read(write(tmp_path / "plain.csv", lines))
    assert (plain.name, plain.label) == ("Miami FL 12839", "end")
    zoned = [*lines[:10], *(line.replace(",", "-05:00,", 1) for line in lines[10:])]
    assert Weather.read(write(tmp_path / "zoned.csv", zoned)) == plain
    marked = ["\ufeff" + lines[0], *lines[1:]]
    assert Weather.read(write(tmp_path / "marked.csv", marked)) == plain


# ---------------------------------------------------------------------- climate


def test_describe_counts_what_it_says(july: pd.DataFrame) -> None:
    frame = july.iloc[:100].assign(temp_air=25.0, temp_dew=10.0)
    frame.iloc[:30, frame.columns.get_loc("temp_dew")] = 16.0
    frame.iloc[:20, frame.columns.get_loc("temp_dew")] = 20.0
    frame.iloc[:10, frame.columns.get_loc("temp_air")] = 30.0
    climate = take(frame, name="a place").describe()
    assert climate.name == "a place (this one file, not a many-year record)"
    assert climate["hours"] == 100
    assert climate["mean dry bulb [degC]"] == pytest.approx(25.5)
    assert climate["mean dew point [degC]"] == pytest.approx(12.6)
    assert climate["dew point above 18.3 degC [h]"] == 20
    assert climate["humid mild hours [h]"] == 20  # 30 humid, ten of them too warm
    assert climate["dew point 1 % [degC]"] == pytest.approx(20.0)
    assert climate["dew point 1 % MCDB [degC]"] == pytest.approx(27.5)


def test_describe_in_trade_units(miami: Weather) -> None:
    si, us = miami.describe(), miami.describe(units="us")
    assert len(si) == len(us)
    assert us["mean dew point [degF]"] == pytest.approx(si["mean dew point [degC]"] * 1.8 + 32)
    ratio = us["dew point 1 % humidity ratio [grains/lb]"]
    assert ratio == pytest.approx(7 * si["dew point 1 % humidity ratio [g/kg]"])
    with pytest.raises(WeatherError) as caught:
        miami.describe(units="trade")  # type: ignore[arg-type]
    assert str(caught.value) == "describe, units: found 'trade'; accepted: 'si' or 'us'"


def test_design_dew_points_fall_as_they_are_exceeded_more_often(miami: Weather) -> None:
    climate = miami.describe()
    points = [climate[f"dew point {p} % [degC]"] for p in ("0.4", "1", "2")]
    assert points == sorted(points, reverse=True)
    exceeded = (miami.frame["temp_dew"] > points[0]).sum()
    assert exceeded <= 0.004 * 8760


def test_pvlib_is_imported_only_when_weather_is_checked() -> None:
    code = "import sys, moistsim.weather; sys.exit('pvlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
