"""Seasons and calendar years within a run of hours."""

import numpy as np
import pandas as pd
import pytest
from support.miami_frames import PLACE, take

import moistsim as ms
from moistsim import Weather, WeatherError
from moistsim.scenario import DEMO, read_scenario


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
        "season: cannot use 05-01 to 09-30, not held by data of 1990-07-01 00:00 to 1991-07-01 "
        "00:00. Use a season that lies within the data without a break (MM-DD or YYYY-MM-DD)."
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
        "season: cannot use 05-01 to 05-31, held 2 times by data of 1990-01-01 00:00 to "
        "1992-01-01 00:00. Use dates with their years (YYYY-MM-DD)."
    )


@pytest.mark.parametrize(
    ("start", "end", "sentence"),
    [
        (
            "11-01",
            "03-31",
            (
                "season: cannot use 11-01 to 03-31, not held by data of 1990-01-01 00:00 to "
                "1991-01-01 00:00. Use a season that lies within the data without a break (MM-DD "
                "or YYYY-MM-DD)."
            ),
        ),
        (
            "1989-12-01",
            None,
            (
                "season: cannot use 1989-12-01 to the last hour, not held by data of 1990-01-01 "
                "00:00 to 1991-01-01 00:00. Use a season that lies within the data without a "
                "break (MM-DD or YYYY-MM-DD)."
            ),
        ),
        (
            "1990-06-01",
            "1990-05-01",
            (
                "season: cannot use 1990-06-01 to 1990-05-01, not held by data of 1990-01-01 "
                "00:00 to 1991-01-01 00:00. Use a season that lies within the data without a "
                "break (MM-DD or YYYY-MM-DD)."
            ),
        ),
        (
            "02-01",
            "02-29",
            (
                "season, end: 02-29, a day that is not in data of 1990-01-01 00:00 to 1991-01-01 "
                "00:00. Use MM-DD or YYYY-MM-DD, or None for all of the data."
            ),
        ),
        (
            "3/1",
            "10-31",
            (
                "season, start: cannot use '3/1'. Use MM-DD or YYYY-MM-DD, or None for all of "
                "the data."
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


# ---------------------------------------------------------------------- years


@pytest.fixture(scope="module")
def record(miami: Weather) -> Weather:
    """Two whole years and the start of a third: the second 1 K damper. Invented."""
    first = miami.frame.drop(columns="humidity_ratio")
    year = pd.DateOffset(years=1)
    second = first.set_axis(first.index + year)
    second = second.assign(temp_dew=np.minimum(second["temp_dew"] + 1.0, second["temp_air"]))
    third = first.iloc[:48].set_axis(first.index[:48] + 2 * year)
    return Weather.from_frame(
        pd.concat([first, second, third]), **PLACE, label="start", name="Record", kind="actual"
    )


def test_years_side_by_side(record: Weather, miami: Weather) -> None:
    years = record.years()
    assert list(years) == [1990, 1991]
    assert years[1990].name == "Record 1990" and len(years[1991]) == 8760
    assert years[1990].checksum == miami.checksum
    assert years[1991].notes == (
        "48 h of the record lie in no whole calendar year, and are left out",
    )


def test_a_record_without_a_whole_year(july: pd.DataFrame) -> None:
    with pytest.raises(WeatherError) as caught:
        take(july).years()
    assert str(caught.value) == (
        "years: data of 1990-07-01 00:00 to 1990-07-11 00:00. Use a record that holds a whole "
        "calendar year."
    )


def test_a_study_over_years_shows_their_spread(record: Weather) -> None:
    demo = read_scenario(DEMO).study
    study = ms.Study(demo.house, demo.options, record, base=demo.base, start="06-01", end="06-10")
    table = study.over(record.years(), progress=False)
    assert table.index.names == ["weather", "option"]
    assert len(table) == 2 * len(demo.options)
    box = table.xs("Stand-alone dehumidifier", level="option")["dehumidifier_kWh"]
    assert box[1991] > 1.02 * box[1990] > 0.0
    alone = ms.Study(
        demo.house, demo.options, record.years()[1991], base=demo.base, start="06-01", end="06-10"
    )
    pd.testing.assert_series_equal(
        table.loc[1991]["total_kWh"], alone.run(progress=False).table()["total_kWh"]
    )
    with pytest.raises(ms.InputError, match="Use one weather or more"):
        study.over({})
