"""Planted defects of a frame, each refused in one sentence."""

import pickle

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.miami_frames import AGREE, HOUR, HOURLY, PRESSURE, SUN, TEMPERATURE, take

from moistsim.weather.checks import DEW_POINT_TOLERANCE, WeatherError


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
        f"frame row 1990-07-03 03:00:00, column {column}: cannot use {found}. Use {accepted}."
    )
    assert (error.where, error.column) == ("frame row 1990-07-03 03:00:00", column)
    assert (error.found, error.accepted) == (f"cannot use {found}", accepted)
    copy = pickle.loads(pickle.dumps(error))
    assert str(copy) == str(error) and copy.column == column


def change(**columns: object):  # type: ignore[no-untyped-def]
    return lambda frame: frame.assign(**columns)


DEFECTS = {
    "millibar": (
        lambda f: f.assign(pressure=f["pressure"] / 100),
        f"frame row 1990-07-01 01:00:00, column pressure: cannot use 1018. Use {PRESSURE}.",
    ),
    "fahrenheit": (
        lambda f: f.assign(temp_air=f["temp_air"] * 1.8 + 32),
        f"frame row 1990-07-01 01:00:00, column temp_air: cannot use 80.42. Use {TEMPERATURE}.",
    ),
    "fraction": (
        lambda f: f.drop(columns="temp_dew").assign(relative_humidity=0.7),
        (
            "frame, column relative_humidity: no value above 0.7. Use percent, 0.1 to 100 "
            "(multiply a fraction by 100)."
        ),
    ),
    "no humidity": (
        lambda f: f.drop(columns="temp_dew"),
        ("frame, column temp_dew: missing. Use temp_dew in degC or relative_humidity in percent."),
    ),
    "no pressure": (
        lambda f: f.drop(columns="pressure"),
        f"frame, column pressure: missing. Use one column of {PRESSURE}.",
    ),
    "two columns": (
        lambda f: pd.concat([f, f[["ghi"]]], axis=1),
        f"frame, column ghi: 2 of them. Use one column of 0 to 1500 W/m2 {SUN}.",
    ),
    "text": (
        lambda f: f.assign(wind_speed=["calm"] * len(f)),
        "frame row 1990-07-01 01:00:00, column wind_speed: cannot use 'calm'. Use 0 to 80 m/s.",
    ),
    "supersaturated": (
        lambda f: f.assign(temp_dew=f["temp_air"] + DEW_POINT_TOLERANCE + 0.01),
        (
            "frame row 1990-07-01 01:00:00, column temp_dew: 27.01 °C at a dry bulb of 26.9 "
            "°C. Use a value of at most 0.1 K above the dry bulb."
        ),
    ),
    "sea level": (
        lambda f: f.assign(pressure=84000.0),
        (
            "frame, column pressure: a mean of 84000 Pa at an elevation of 2 m. Use within 5% of "
            "101301 Pa, the standard atmosphere there (station pressure, not reduced to sea "
            "level; elevation in m, not ft)."
        ),
    ),
    "no sun": (
        change(ghi=0.0, dni=0.0, dhi=0.0),
        (
            "frame, column ghi: at most 0 W/m2 in 120 hours of sun above 10 degrees. Use global "
            "horizontal irradiance in W/m2 (1 kW/m2 is 1000 W/m2)."
        ),
    ),
    "half an hour": (
        lambda f: f.set_axis(f.index + HOUR / 2),
        "frame, ghi, dni, dhi: sums that fit the sun of 30 min earlier. Use " + AGREE + ".",
    ),
    "no beam": (
        change(dni=0.0),
        (
            "frame, ghi, dni, dhi: ghi 409 W/m2 (rms) away from dhi + dni * cos(zenith). Use "
            "three columns that agree within 100 W/m2."
        ),
    ),
    "half-hourly": (
        lambda f: f.set_axis(pd.date_range(f.index[0], periods=len(f), freq="30min")),
        (
            "frame: rows 30 min apart. Use hourly rows, 60 min apart (Weather.from_log averages "
            "those of a log)."
        ),
    ),
    "gap": (
        lambda f: f.drop(f.index[30:32]),
        (f"frame row 1990-07-02 09:00:00, column time: 3 h since the row before. Use {HOURLY}."),
    ),
    "duplicate": (
        lambda f: f.iloc[[*range(31), *range(30, len(f))]],
        (
            "frame row 1990-07-02 07:00:00, column time: the same time as the row before. "
            f"Use {HOURLY}."
        ),
    ),
    "unordered": (
        lambda f: f.iloc[[*range(100, len(f)), *range(100)]],
        (
            "frame row 1990-07-01 01:00:00, column time: a time 239 h before that of the row "
            f"before. Use {HOURLY}."
        ),
    ),
    "no time": (
        lambda f: f.set_axis(f.index.where(np.arange(len(f)) != 3)),
        f"frame row 4, index: no time. Use {HOURLY}.",
    ),
    "no times": (
        lambda f: f.reset_index(drop=True),
        "frame, index: cannot use a RangeIndex. Use a DatetimeIndex of hours.",
    ),
    "short": (lambda f: f.iloc[:5], "frame: 5 rows. Use a value of at least 24 hours."),
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
            "frame, latitude: cannot use 95. Use -90 to 90 degrees, north positive.",
        ),
        (
            {"longitude": "west"},
            "frame, longitude: cannot use 'west'. Use -180 to 180 degrees, east positive.",
        ),
        ({"utc_offset": -500}, "frame, utc_offset: cannot use -500. Use -12 to 14 h."),
        ({"elevation": float("nan")}, None),
        ({"elevation": "6 kg"}, None),
        ({"label": "left"}, "frame, label: cannot use 'left'. Use start, middle or end."),
        (
            {"kind": "usual"},
            "frame, kind: cannot use 'usual'. Use typical, actual or synthetic, or none.",
        ),
    ],
)
def test_a_place_or_kind_that_is_none(
    july: pd.DataFrame, changes: dict[str, object], sentence: str | None
) -> None:
    with pytest.raises(WeatherError) as caught:
        take(july, **changes)  # type: ignore[arg-type]
    if sentence is None:
        assert str(caught.value).startswith("frame, elevation: cannot use ")
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
        f"frame row {at}, column ghi: {watts:g} W/m2 while the sun is below the horizon all "
        f"hour (such hours: 20). Use {AGREE}."
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
