"""Numbers by the hour: from lists, files and Series, and laid on a season."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import moistsim as ms


def year(start: str, end: str) -> pd.Series:
    """Each hour's month, day and hour as one number."""
    index = pd.date_range(start, end, freq="1h", inclusive="left")
    return pd.Series(10000.0 * index.month + 100.0 * index.day + index.hour, index=index)


def test_a_day_is_every_day() -> None:
    profile = ms.HourlyProfile(values=range(24))
    index = pd.date_range("1990-02-27 23:30", periods=6, freq="15min")
    assert list(profile.at(index)) == [23, 23, 0, 0, 0, 0]


@pytest.mark.parametrize("start", ["2019-01-01", "2019-07-04", "2020-03-01", "2023-12-31"])
@pytest.mark.parametrize("season", ["1990", "1992"])
def test_a_year_is_laid_on_a_season_by_month_day_and_hour(start: str, season: str) -> None:
    end = str((pd.Timestamp(start) + pd.DateOffset(years=1)).date())
    profile = ms.HourlyProfile.from_table(year(start, end))
    wanted = year(f"{season}-01-01", f"{int(season) + 1}-01-01")
    got = pd.Series(profile.at(pd.DatetimeIndex(wanted.index)), index=wanted.index)
    leap = (wanted.index.month == 2) & (wanted.index.day == 29)
    pd.testing.assert_series_equal(got[~leap], wanted[~leap])
    if leap.any() and len(profile.values) == 8760:
        assert list(got[leap]) == list(10000.0 * 2 + 100.0 * 28 + np.arange(24))
    elif leap.any():
        pd.testing.assert_series_equal(got[leap], wanted[leap])


def write(folder: Path, frame: pd.DataFrame) -> Path:
    path = folder / "roof.csv"
    frame.to_csv(path, index_label="time", date_format="%Y-%m-%dT%H:%M")
    return path


def test_a_file(tmp_path: Path) -> None:
    series = year("2019-01-01", "2020-01-01")
    path = write(tmp_path, pd.DataFrame({"kW": series, "degC": 0.0 * series}))
    assert ms.HourlyProfile.from_table(path, "kW") == ms.HourlyProfile.from_table(series)
    with pytest.raises(
        ms.InputError, match="2 columns in addition to time. Use the argument column, one of"
    ):
        ms.HourlyProfile.from_table(path)
    with pytest.raises(ms.InputError, match=r"roof.csv: no column 'W'. Use one of kW"):
        ms.HourlyProfile.from_table(path, "W")


def test_a_file_that_is_no_year_of_numbers_says_where(tmp_path: Path) -> None:
    whole = pd.DataFrame({"kW": year("2019-01-01", "2020-01-01")})
    holed = whole.copy()
    holed.iloc[4] = np.nan
    offsets = whole.index.strftime("%Y-%m-%dT%H:%M-05:00")
    for frame, words in (
        (whole.drop(whole.index[5000]), "after 2019-07-28 07:00: cannot use '2019-07-28 09:00'"),
        (whole[:8000], "roof.csv: 8000 hours from 2019-01-01 00:00. Use"),
        (holed, "at 2019-01-01 04:00: cannot use 'no number'. Use"),
        (-whole, "at 2019-01-01 00:00: cannot use '-10100'"),
        (whole.set_axis(offsets), "times in local standard time, without an offset"),
        (whole.set_axis(whole.index.map(str) + " p"), "rows lack plain times"),
    ):
        with pytest.raises(ms.InputError) as caught:
            ms.HourlyProfile.from_table(write(tmp_path, frame))
        assert "roof.csv" in str(caught.value) and words in str(caught.value)
    (tmp_path / "roof.csv").write_bytes(b"\x00\xff")
    with pytest.raises(ms.InputError, match="roof.csv"):
        ms.HourlyProfile.from_table(tmp_path / "roof.csv")
