"""A year made from normals: what it takes, what it refuses, what it says of itself."""

import numpy as np
import pandas as pd
import pvlib
import pytest
from support.miami_frames import PLACE

from moistsim import Weather, WeatherError, air

COLUMNS = "temp_air, daily_range, temp_dew, wind_speed, clearness"
TABLE = f"a DataFrame of 12 rows, January first, with columns {COLUMNS}."


@pytest.fixture(scope="module")
def normals() -> pd.DataFrame:
    """Invented: a mild, damp place."""
    wave = -np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12.0)
    return pd.DataFrame(
        {
            "temp_air": 18.0 + 8.0 * wave,
            "daily_range": 9.0,
            "temp_dew": 12.0 + 8.0 * wave,
            "wind_speed": 3.0,
            "clearness": 0.5,
        },
        index=range(1, 13),
    )


@pytest.fixture(scope="module")
def year(normals: pd.DataFrame) -> Weather:
    return Weather.synthetic(normals, **PLACE, seed=7, name="Invented")


def test_it_says_that_it_is_synthetic(year: Weather) -> None:
    assert (year.name, year.kind, len(year)) == ("Invented (synthetic)", "synthetic", 8760)
    assert year.source == "synthetic, made by moistsim from twelve monthly normals with seed 7"
    assert "synthetic year made from twelve normals, not measured" in year.describe().name
    assert "synthetic" in repr(year)


def test_a_seed_gives_one_year(year: Weather, normals: pd.DataFrame) -> None:
    again = Weather.synthetic(normals.sample(frac=1.0, random_state=1), **PLACE, seed=7)
    assert again == Weather.synthetic(normals, **PLACE, seed=7) and again.checksum == year.checksum
    other = Weather.synthetic(normals, **PLACE, seed=8)
    assert other.checksum != year.checksum


def test_normals_come_back(year: Weather, normals: pd.DataFrame) -> None:
    found = year.normals()
    assert list(found.columns) == list(normals.columns) and list(found.index) == list(range(1, 13))
    np.testing.assert_allclose(found, normals, rtol=0.01)


def test_normals_are_the_means_that_they_are_called() -> None:
    """Worked again from the sample's hours, the sun above the air by pvlib."""
    miami = Weather.sample("miami")
    frame = miami.frame.loc["1990-07"]
    july = miami.normals().loc[7]
    assert july["temp_air"] == pytest.approx(frame["temp_air"].mean())
    assert july["temp_dew"] == pytest.approx(frame["temp_dew"].mean())
    days = frame["temp_air"].resample("D")
    assert july["daily_range"] == pytest.approx((days.max() - days.min()).mean())
    middles = miami.midpoints[miami.frame.index.month == 7]
    zenith = pvlib.solarposition.get_solarposition(middles, 25.8, -80.2667)["zenith"]
    above = pvlib.irradiance.get_extra_radiation(middles) * np.cos(np.radians(zenith)).clip(lower=0)
    assert july["clearness"] == pytest.approx(frame["ghi"].sum() / above.sum(), rel=1e-6)


def test_days_hang_together(year: Weather) -> None:
    """Persistent from day to day, cloudier with less range, damper when warmer, never over 100 %."""
    frame = year.frame
    by_day = frame.groupby(frame.index.normalize())
    day = by_day[["temp_air", "temp_dew", "ghi"]].mean()
    day["range"] = by_day["temp_air"].max() - by_day["temp_air"].min()
    months = day.index.month
    odd = day - day.groupby(months).transform("mean")
    assert 0.4 < odd["temp_air"].autocorr(1) < 0.85
    assert 0.4 < odd["temp_dew"].autocorr(1) < 0.85
    assert odd["temp_air"].corr(odd["temp_dew"]) > 0.4
    assert odd["range"].corr(odd["ghi"]) > 0.3
    humidity = air.over(
        air.relative_humidity, frame["temp_air"], frame["humidity_ratio"], frame["pressure"]
    )
    assert humidity.max() <= 1.0 + 1e-9
    assert (frame["wind_speed"] > 0.0).all()


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda n: n.to_dict(), f"normals: cannot use a dict. Use {TABLE}"),
        (lambda n: n.iloc[:11], f"normals: 11 rows. Use {TABLE}"),
        (
            lambda n: n.drop(columns="clearness"),
            f"normals, clearness: no such column, or several. Use {TABLE}",
        ),
        (
            lambda n: n.assign(temp_air=[75.0, *n["temp_air"][1:]]),
            (
                "normals month 1, column temp_air: cannot use 75.0. Use -50 to 45 degC, mean of "
                "the month."
            ),
        ),
        (
            lambda n: n.assign(temp_dew=n["temp_air"] + 1.0),
            None,
        ),
        (
            lambda n: n.assign(clearness=0.79),
            None,
        ),
    ],
)
def test_normals_that_cannot_be(normals: pd.DataFrame, spoil, sentence: str | None) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(WeatherError) as caught:
        Weather.synthetic(spoil(normals), **PLACE, seed=1)
    if sentence is not None:
        assert str(caught.value) == sentence
    else:
        assert str(caught.value).startswith("normals month 1, ")
        assert ". Use a value of at most " in str(caught.value)


def test_normals_that_cannot_come_back(normals: pd.DataFrame) -> None:
    """Half a degree from night to noon, where one day differs from the next by several."""
    with pytest.raises(WeatherError, match="daily_range: cannot use 0.5. Use what the other"):
        Weather.synthetic(normals.assign(daily_range=0.5), **PLACE, seed=1)


def test_a_seed_that_is_none(normals: pd.DataFrame) -> None:
    with pytest.raises(WeatherError, match="synthetic, seed: cannot use 'x'. Use a whole number"):
        Weather.synthetic(normals, **PLACE, seed="x")  # type: ignore[arg-type]


def test_part_of_a_year_has_no_normals(year: Weather) -> None:
    part = Weather.from_frame(year.frame.loc["1990-02":], **PLACE, label="start")
    with pytest.raises(WeatherError) as caught:
        part.normals()
    assert str(caught.value) == ("normals: no hour of month 1. Use weather with all twelve months.")
