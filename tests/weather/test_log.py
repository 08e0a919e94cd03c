"""Logs averaged to hours."""

import numpy as np
import pandas as pd
import pytest
from support.miami_frames import HOUR, PLACE

from moistsim import Weather, WeatherError, air


@pytest.fixture(scope="module")
def log(miami: Weather) -> pd.DataFrame:
    """Five days every five minutes, on straight lines between the sample's hours; invented noise.

    Stamped at the end of each five minutes.
    """
    hours = miami.frame.loc["1990-06-01":"1990-06-06"].drop(columns="humidity_ratio")
    middles = hours.index + HOUR / 2
    starts = pd.date_range("1990-06-01 12:00", "1990-06-06 11:55", freq="5min")
    at = starts + pd.Timedelta(minutes=2.5)
    frame = pd.DataFrame(
        {name: np.interp(at.asi8, middles.asi8, hours[name]) for name in hours.columns},
        index=starts,
    )
    # Sun must keep to its own place: held over the hour, as the sample has it.
    for name in ("ghi", "dni", "dhi"):
        frame[name] = hours[name].reindex(starts.floor("h")).to_numpy()
    frame["temp_air"] += 1.0 + np.sin(np.arange(len(starts)))
    frame["temp_dew"] += 0.8 * np.sin(0.7 * np.arange(len(starts))) - 1.0
    return frame.set_axis(starts + pd.Timedelta(minutes=5))


def take(frame: pd.DataFrame, label: str = "end", **changes: object) -> Weather:
    return Weather.from_log(frame, label=label, **{**PLACE, **changes})


def test_hours_are_means_that_keep_the_water(log: pd.DataFrame) -> None:
    made = take(log)
    assert len(made) == 120
    assert made.kind == "actual"
    starts = log.index - pd.Timedelta(minutes=5)
    by_hour = log.groupby(starts.floor("h"))
    for name in ("temp_air", "pressure", "wind_speed", "ghi", "dni", "dhi"):
        np.testing.assert_allclose(made.frame[name], by_hour[name].mean(), rtol=1e-12, atol=1e-12)
    vapor = pd.Series(air.over(air.saturation_pressure, log["temp_dew"]), log.index)
    mean = vapor.groupby(starts.floor("h")).mean()
    np.testing.assert_allclose(
        air.over(air.saturation_pressure, made.frame["temp_dew"]), mean, rtol=1e-7
    )
    # A mean of dew points is not that of the vapor: it loses water.
    assert (made.frame["temp_dew"] > by_hour["temp_dew"].mean() + 1e-3).all()


def test_what_was_done_is_said(log: pd.DataFrame) -> None:
    made = take(log.iloc[4:-3])
    assert len(made) == 118
    assert made.notes == (
        (
            "hourly means of 12 rows of 5 min each, stamped at their end: arithmetic for dry bulb, "
            "pressure, wind speed and sun; dew point that of the mean vapor pressure; 17 rows outside whole hours are not used"
        ),
    )


def test_labels_and_zones_of_a_log(log: pd.DataFrame) -> None:
    made = take(log)
    assert take(log.set_axis(log.index - pd.Timedelta(minutes=5)), "start") == made
    assert take(log.set_axis(log.index - pd.Timedelta(minutes=2.5)), "middle") == made
    assert take(log.tz_localize("Etc/GMT+5").tz_convert("UTC")) == made


def test_relative_humidity_is_averaged_as_vapor(log: pd.DataFrame) -> None:
    saturated = air.over(air.saturation_pressure, log["temp_air"])
    humidity = 100.0 * air.over(air.saturation_pressure, log["temp_dew"]) / saturated
    made = take(log.drop(columns="temp_dew").assign(relative_humidity=humidity))
    np.testing.assert_allclose(made.frame["temp_dew"], take(log).frame["temp_dew"], atol=1e-5)


def test_a_log_without_pressure_or_beam(log: pd.DataFrame) -> None:
    made = take(log.drop(columns=["pressure", "dni", "dhi"]), derive=["pressure", "dni", "dhi"])
    assert len(made.notes) == 3 and "Erbs" in made.notes[2]
    with pytest.raises(WeatherError, match="column pressure: missing"):
        take(log.drop(columns="pressure"))


def with_empty(frame: pd.DataFrame) -> pd.DataFrame:
    out = frame.copy()
    out.iloc[700, 0] = np.nan
    return out


LOG_DEFECTS = {
    "gap": (
        lambda f: f.drop(f.index[100:103]),
        (
            "log row 1990-06-01 20:40:00, column time: 20 min since the row before. Use rows "
            "exactly 5 min apart, in order, without daylight saving."
        ),
    ),
    "repeat": (
        lambda f: f.iloc[[*range(101), *range(100, len(f))]],
        (
            "log row 1990-06-01 20:25:00, column time: 0 min since the row before. Use rows "
            "exactly 5 min apart, in order, without daylight saving."
        ),
    ),
    "empty": (
        with_empty,
        (
            "log row 1990-06-03 22:25:00, column temp_air: cannot use nan. Use -70 to 60 degC "
            "(convert a value in degF or K first)."
        ),
    ),
    "negative night": (
        lambda f: f.assign(ghi=f["ghi"] - 1.0),
        "log row 1990-06-01 19:05:00, column ghi: cannot use -1. Use 0 to 1500 W/m2 (a small "
        "negative night reading must be set to 0 first).",
    ),
    "hourly": (
        lambda f: f.iloc[::12],
        (
            "log: rows 60 min apart. Use rows 1 to 30 min apart, a whole number of them an hour "
            "(hourly rows: from_frame)."
        ),
    ),
    "off the clock": (
        lambda f: f.set_axis(f.index + pd.Timedelta(minutes=2)),
        (
            "log row 1990-06-01 12:07:00, column time: a row of 5 min that begins at 1990-06-01 "
            "12:02:00. Use rows that begin on the hour and every 5 min after it (or another "
            "label)."
        ),
    ),
    "short": (
        lambda f: f.iloc[:20],
        "log: 20 rows. Use a day of rows, at most 30 min apart.",
    ),
}


@pytest.mark.parametrize("defect", LOG_DEFECTS)
def test_planted_defects_of_a_log(log: pd.DataFrame, defect: str) -> None:
    plant, sentence = LOG_DEFECTS[defect]
    with pytest.raises(WeatherError) as caught:
        take(plant(log))
    assert str(caught.value) == sentence
