"""Logs averaged to hours, years side by side, and climates shifted."""

import numpy as np
import pandas as pd
import pytest

import moistsim as ms
from moistsim import Weather, WeatherError, air
from moistsim.scenario import DEMO, read_scenario

HOUR = pd.Timedelta(hours=1)
PLACE = {"latitude": 25.8, "longitude": -80.2667, "utc_offset": -5.0, "elevation": 2.0}


@pytest.fixture(scope="module")
def miami() -> Weather:
    return Weather.sample("miami")


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


# ---------------------------------------------------------------------- logs


def test_hours_are_means_that_keep_the_water(log: pd.DataFrame) -> None:
    made = take(log)
    assert len(made) == 120
    assert made.kind == "actual"
    starts = log.index - pd.Timedelta(minutes=5)
    by_hour = log.groupby(starts.floor("h"))
    for name in ("temp_air", "pressure", "wind_speed", "ghi", "dni", "dhi"):
        np.testing.assert_allclose(made.frame[name], by_hour[name].mean(), rtol=1e-12, atol=1e-12)
    vapour = pd.Series(air.over(air.saturation_pressure, log["temp_dew"]), log.index)
    mean = vapour.groupby(starts.floor("h")).mean()
    np.testing.assert_allclose(
        air.over(air.saturation_pressure, made.frame["temp_dew"]), mean, rtol=1e-7
    )
    # A mean of dew points is not that of the vapour: it loses water.
    assert (made.frame["temp_dew"] > by_hour["temp_dew"].mean() + 1e-3).all()


def test_what_was_done_is_said(log: pd.DataFrame) -> None:
    made = take(log.iloc[4:-3])
    assert len(made) == 118
    assert made.notes == (
        (
            "hourly means of 12 rows of 5 min each, stamped at their end: arithmetic for dry bulb, "
            "pressure, wind speed and sun; dew point that of the mean vapour pressure; 17 rows "
            "outside whole hours left out"
        ),
    )


def test_labels_and_zones_of_a_log(log: pd.DataFrame) -> None:
    made = take(log)
    assert take(log.set_axis(log.index - pd.Timedelta(minutes=5)), "start") == made
    assert take(log.set_axis(log.index - pd.Timedelta(minutes=2.5)), "middle") == made
    assert take(log.tz_localize("Etc/GMT+5").tz_convert("UTC")) == made


def test_relative_humidity_is_averaged_as_vapour(log: pd.DataFrame) -> None:
    saturated = air.over(air.saturation_pressure, log["temp_air"])
    humidity = 100.0 * air.over(air.saturation_pressure, log["temp_dew"]) / saturated
    made = take(log.drop(columns="temp_dew").assign(relative_humidity=humidity))
    np.testing.assert_allclose(made.frame["temp_dew"], take(log).frame["temp_dew"], atol=1e-5)


def test_a_log_without_pressure_or_beam(log: pd.DataFrame) -> None:
    made = take(log.drop(columns=["pressure", "dni", "dhi"]), derive=["pressure", "dni", "dhi"])
    assert len(made.notes) == 3 and "Erbs" in made.notes[2]
    with pytest.raises(WeatherError, match="column pressure: found none"):
        take(log.drop(columns="pressure"))


def with_empty(frame: pd.DataFrame) -> pd.DataFrame:
    out = frame.copy()
    out.iloc[700, 0] = np.nan
    return out


LOG_DEFECTS = {
    "gap": (
        lambda f: f.drop(f.index[100:103]),
        (
            "log row 1990-06-01 20:40:00, column time: found 20 min since the row before; accepted: "
            "rows exactly 5 min apart, in order, without daylight saving"
        ),
    ),
    "repeat": (
        lambda f: f.iloc[[*range(101), *range(100, len(f))]],
        (
            "log row 1990-06-01 20:25:00, column time: found 0 min since the row before; accepted: "
            "rows exactly 5 min apart, in order, without daylight saving"
        ),
    ),
    "empty": (
        with_empty,
        (
            "log row 1990-06-03 22:25:00, column temp_air: found nan; accepted: -70 to 60 degC "
            "(convert a value in degF or K first)"
        ),
    ),
    "negative night": (
        lambda f: f.assign(ghi=f["ghi"] - 1.0),
        "log row 1990-06-01 19:05:00, column ghi: found -1; accepted: 0 to 1500 W/m2 "
        "(a small negative night reading must be set to 0 first)",
    ),
    "hourly": (
        lambda f: f.iloc[::12],
        (
            "log: found rows 60 min apart; accepted: rows 1 to 30 min apart, a whole number of them "
            "an hour (hourly rows: from_frame)"
        ),
    ),
    "off the clock": (
        lambda f: f.set_axis(f.index + pd.Timedelta(minutes=2)),
        (
            "log row 1990-06-01 12:07:00, column time: found a row of 5 min that begins at "
            "1990-06-01 12:02:00; accepted: rows that begin on the hour and every 5 min after it "
            "(or another label)"
        ),
    ),
    "short": (
        lambda f: f.iloc[:20],
        "log: found 20 rows; accepted: a day of rows, at most 30 min apart",
    ),
}


@pytest.mark.parametrize("defect", LOG_DEFECTS)
def test_planted_defects_of_a_log(log: pd.DataFrame, defect: str) -> None:
    plant, sentence = LOG_DEFECTS[defect]
    with pytest.raises(WeatherError) as caught:
        take(plant(log))
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


def test_a_record_without_a_whole_year(log: pd.DataFrame) -> None:
    with pytest.raises(WeatherError) as caught:
        take(log).years()
    assert str(caught.value) == (
        "years: found data of 1990-06-01 12:00 to 1990-06-06 12:00; accepted: a record that holds a "
        "whole calendar year"
    )


def test_a_study_over_years_shows_their_spread(record: Weather) -> None:
    demo = read_scenario(DEMO).study
    study = ms.Study(demo.house, record, demo.options, base=demo.base, start="06-01", end="06-10")
    table = study.over(record.years(), progress=False)
    assert table.index.names == ["weather", "option"]
    assert len(table) == 2 * len(demo.options)
    box = table.xs("Stand-alone dehumidifier", level="option")["dehumidifier_kWh"]
    assert box[1991] > 1.02 * box[1990] > 0.0
    alone = ms.Study(
        demo.house, record.years()[1991], demo.options, base=demo.base, start="06-01", end="06-10"
    )
    pd.testing.assert_series_equal(
        table.loc[1991]["total_kWh"], alone.run(progress=False).table()["total_kWh"]
    )
    with pytest.raises(ms.InputError, match="accepted: one weather or more"):
        study.over({})


# ---------------------------------------------------------------------- another climate


def test_a_shift_by_months(miami: Weather) -> None:
    months = [0.5 * k for k in range(12)]
    made = miami.shifted(temp_air=months, temp_dew="1.8 delta_degF")
    moved = made.frame["temp_air"] - miami.frame["temp_air"]
    np.testing.assert_allclose(moved, 0.5 * (miami.frame.index.month - 1), atol=1e-9)
    free = made.frame["temp_dew"] < made.frame["temp_air"]
    moved = (made.frame["temp_dew"] - miami.frame["temp_dew"])[free]
    np.testing.assert_allclose(moved, 1.0, atol=1e-9)
    assert (made.name, made.label, made.kind) == ("Miami FL 12839 (shifted)", "end", "typical")


def test_a_shift_keeps_to_saturation_and_says_how_often(miami: Weather) -> None:
    frame = miami.frame
    made = miami.shifted(temp_air=1.0, temp_dew=2.5)
    held = int((frame["temp_dew"] + 2.5 > frame["temp_air"] + 1.0).sum())
    assert held > 100
    after = made.frame
    humidity = air.over(
        air.relative_humidity, after["temp_air"], after["humidity_ratio"], after["pressure"]
    )
    assert humidity.max() <= 1.0 + 1e-9
    past = frame["temp_dew"] + 2.5 > frame["temp_air"] + 1.0
    assert (after["temp_dew"] == after["temp_air"])[past].all()
    np.testing.assert_allclose(after["temp_dew"][~past], frame["temp_dew"][~past] + 2.5)
    assert made.notes[-1] == (
        f"dry bulb moved by +1 K and dew point by +2.5 K; {held} of 8760 h held at saturation; sun, "
        "wind and pressure unchanged"
    )


@pytest.mark.parametrize(
    ("shift", "found"),
    [([1.0, 2.0], "2 values"), (40.0, "40 K"), ("2 kg", "2 kg"), (float("nan"), "nan")],
)
def test_a_shift_that_is_none(miami: Weather, shift: object, found: str) -> None:
    with pytest.raises(WeatherError) as caught:
        miami.shifted(temp_dew=shift)  # type: ignore[arg-type]
    assert str(caught.value) == (
        f"shifted, column temp_dew: found {found}; accepted: a difference within 15 K such as 2.0 "
        "or '3.6 delta_degF', or twelve, January first"
    )
