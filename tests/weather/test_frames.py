"""What pvlib reads and fetches, in the shapes in which it hands it over.

The shapes (names, units, stamps, zones) are those of pvlib's readers; the numbers are the Miami
sample's, or invented where said.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from support.miami_frames import HOUR

from moistsim import Weather, WeatherError, air


@pytest.fixture(scope="module")
def place(miami: Weather) -> dict[str, float]:
    return {
        "latitude": miami.latitude,
        "longitude": miami.longitude,
        "utc_offset": miami.utc_offset,
        "elevation": miami.elevation,
    }


@pytest.fixture(scope="module")
def hours(miami: Weather) -> pd.DataFrame:
    """Thirty days in June, stamped at the start of the hour, without the derived column."""
    return miami.frame.loc["1990-06-01":"1990-06-30"].drop(columns="humidity_ratio")


def relative_humidity(frame: pd.DataFrame) -> np.ndarray:
    ratio = air.over(air.saturation_pressure, frame["temp_dew"]) / air.over(
        air.saturation_pressure, frame["temp_air"]
    )
    return 100.0 * np.minimum(ratio, 1.0)


# ---------------------------------------------------------------------- readers and fetchers


def epw_text(frame: pd.DataFrame) -> str:
    """An EPW file: 35 fields a row, hour 1 ends at one o'clock, pressure in Pa.

    Fields that moistsim does not use hold the format's own marks for missing values.
    """
    head = ["LOCATION,Invented,-,-,TEST,0,25.8,-80.2667,-5.0,2.0"]
    head += [f"{name}," for name in (
        "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES",
        "HOLIDAYS/DAYLIGHT SAVINGS", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS",
    )]  # fmt: skip
    rows = []
    for stamp, row in frame.iterrows():
        rows.append(
            f"{stamp.year},{stamp.month},{stamp.day},{stamp.hour + 1},0,?9,{row.temp_air},"
            f"{row.temp_dew},{relative_humidity(frame.loc[[stamp]])[0]:.0f},{row.pressure:.0f},"
            f"9999,9999,9999,{row.ghi},{row.dni},{row.dhi},999999,999999,999999,9999,180,"
            f"{row.wind_speed},5,5,16,77777,9,999999999,0,0,0,88,0.2,0,0"
        )
    return "\n".join([*head, *rows]) + "\n"


def test_an_epw_file(hours: pd.DataFrame, miami: Weather, tmp_path: Path) -> None:
    """`read_epw` stamps the start of the hour, and calls the pressure `atmospheric_pressure`."""
    (tmp_path / "miami.epw").write_text(epw_text(hours), encoding="utf-8")
    frame, meta = pvlib.iotools.read_epw(tmp_path / "miami.epw", coerce_year=1990)
    assert "pressure" not in frame.columns
    read = Weather.from_frame(
        frame, latitude=meta["latitude"], longitude=meta["longitude"], utc_offset=meta["TZ"],
        elevation=meta["altitude"], label="start", kind="typical",
    )  # fmt: skip
    pd.testing.assert_frame_equal(read.frame, miami.frame.loc[hours.index], check_freq=False)
    assert read.notes == ()


def test_an_nsrdb_frame(hours: pd.DataFrame, place: dict[str, float], miami: Weather) -> None:
    """`read_nsrdb_psm4` of hourly data: middle of the hour, a fixed zone, millibar, other columns."""
    frame = hours.assign(
        pressure=hours["pressure"] / 100, albedo=0.2, solar_zenith=30.0,
        relative_humidity=relative_humidity(hours),
    )  # fmt: skip
    frame.index = (frame.index + HOUR / 2).tz_localize("Etc/GMT+5")
    with pytest.raises(WeatherError, match="1 hPa or mbar is 100 Pa"):
        Weather.from_frame(frame, **place, label="middle")
    frame["pressure"] *= 100
    read = Weather.from_frame(frame, **place, label="middle", kind="actual")
    # Times of pressure by a hundred and back differ in the last bit.
    pd.testing.assert_frame_equal(read.frame, miami.frame.loc[hours.index], check_freq=False)


def test_a_satellite_or_reanalysis_frame_in_utc(
    hours: pd.DataFrame, place: dict[str, float], miami: Weather
) -> None:
    """The shape of `get_nasa_power` with all parameters: UTC, both humidities, Pa."""
    frame = hours.assign(relative_humidity=relative_humidity(hours), wind_speed_2m=1.0)
    frame.index = frame.index.tz_localize("Etc/GMT+5").tz_convert("UTC")
    read = Weather.from_frame(frame, **place, label="start")
    pd.testing.assert_frame_equal(read.frame, miami.frame.loc[hours.index], check_freq=False)


def test_a_source_without_humidity_is_refused(hours: pd.DataFrame, place: dict[str, float]) -> None:
    """The shape of `get_pvgis_hourly`: sun, dry bulb and wind. Nothing makes up its humidity."""
    frame = hours[["temp_air", "wind_speed", "ghi", "dni", "dhi", "pressure"]]
    with pytest.raises(WeatherError, match="temp_dew: missing"):
        Weather.from_frame(frame, **place, label="start")


# ---------------------------------------------------------------------- derived on demand


def test_nothing_is_derived_that_is_not_asked_for(
    hours: pd.DataFrame, place: dict[str, float]
) -> None:
    for column in ("pressure", "ghi", "dni", "dhi"):
        with pytest.raises(WeatherError, match=f"column {column}: missing"):
            Weather.from_frame(hours.drop(columns=column), **place, label="start")


def test_pressure_of_the_standard_atmosphere(hours: pd.DataFrame, place: dict[str, float]) -> None:
    """ISA at 1000 m: 89,875 Pa (ICAO standard atmosphere, from memory; pvlib rounds constants)."""
    high = Weather.from_frame(
        hours.drop(columns="pressure"), **{**place, "elevation": 1000.0}, label="start",
        derive=["pressure"],
    )  # fmt: skip
    assert high.frame["pressure"].nunique() == 1
    assert high.frame["pressure"].iloc[0] == pytest.approx(89875, rel=1e-3)
    assert high.notes == ("pressure of the standard atmosphere at 1000 m, constant",)


@pytest.mark.parametrize("column", ["ghi", "dhi", "dni"])
def test_one_of_the_sun_s_columns_from_the_other_two(
    hours: pd.DataFrame, place: dict[str, float], column: str
) -> None:
    """ghi = dhi + dni cos(zenith); the sample itself closes within 10 W/m2 or so."""
    made = Weather.from_frame(hours.drop(columns=column), **place, label="start", derive=[column])
    frame = made.frame
    sun = pvlib.solarposition.get_solarposition(made.midpoints, made.latitude, made.longitude)
    cosine = np.cos(np.radians(sun["zenith"].to_numpy()))
    # Rows of the source that contradict themselves are held at zero, and counted in the note.
    beam = {"dni": hours["ghi"] - hours["dhi"], "dhi": hours["ghi"] - hours["dni"] * cosine}
    high = (cosine > 0.2) & (beam.get(column, hours["ghi"]) > -1.0)
    closed = frame["dhi"] + frame["dni"] * cosine - frame["ghi"]
    assert closed[high].abs().max() < 1.0 + 1e-9
    assert (frame[column] - hours[column])[high].abs().mean() < 15.0
    assert any(column in note for note in made.notes)


def test_beam_and_diffuse_by_erbs(hours: pd.DataFrame, place: dict[str, float]) -> None:
    """Against pvlib's own function and, loosely, against the sample's parts."""
    made = Weather.from_frame(
        hours.drop(columns=["dni", "dhi"]), **place, label="start", derive=("dni", "dhi")
    )
    assert made.notes == ("dni and dhi from ghi by Erbs's correlation",)
    assert made.frame["dhi"].sum() == pytest.approx(hours["dhi"].sum(), rel=0.15)
    sun = pvlib.solarposition.get_solarposition(made.midpoints, made.latitude, made.longitude)
    parts = pvlib.irradiance.erbs(hours["ghi"].to_numpy(), sun["zenith"].to_numpy(), made.midpoints)
    np.testing.assert_allclose(made.frame["dhi"], parts["dhi"])


def test_a_dew_point_made_from_relative_humidity_is_said(
    hours: pd.DataFrame, place: dict[str, float]
) -> None:
    frame = hours.assign(relative_humidity=relative_humidity(hours)).drop(columns="temp_dew")
    made = Weather.from_frame(frame, **place, label="start")
    assert made.notes == ("dew point from relative humidity and dry bulb",)
    np.testing.assert_allclose(
        made.frame["temp_dew"], np.minimum(hours["temp_dew"], hours["temp_air"]), atol=0.11
    )


@pytest.mark.parametrize(
    ("derive", "drop", "sentence"),
    [
        (["wind_speed"], [], "frame, derive: cannot use 'wind_speed'. Use one of pressure, ghi, "
                             "dni, dhi."),
        (
            ["pressure"], [],
            (
                "frame, derive: pressure, which the table has already. Use columns that are "
                "missing."
            ),
        ),
        (
            ["ghi", "dni"], ["ghi", "dni"],
            (
                "frame, derive: dni and ghi together. Use dni and dhi from ghi, or one of the "
                "three."
            ),
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_derived(
    hours: pd.DataFrame, place: dict[str, float], derive: list[str], drop: list[str], sentence: str
) -> None:
    with pytest.raises(WeatherError) as caught:
        Weather.from_frame(hours.drop(columns=drop), **place, label="start", derive=derive)
    assert str(caught.value) == sentence
