"""EPW and TMY3 files, as they come from their publishers.

TMY3 files are the two that pvlib's wheel carries (NREL, public domain). No EPW file can be carried
here, so one is written: the Miami sample in the format that its publisher documents (8 header lines
and 35 fields a row; units and codes of missing values as documented there).
"""

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pvlib
import pytest
from support.scenario_files import HOUSE, read

from moistsim import Weather, WeatherError

WHEEL = Path(pvlib.__file__).parent / "data"
GREENSBORO = WHEEL / "723170TYA.CSV"
SAND_POINT = WHEEL / "703165TY.csv"
TMY2 = WHEEL / "12839.tm2"
MONTHS_FROM = (1988, 1996, 1990, 1980, 1986, 1989, 1988, 1981, 2001, 1996, 2003, 1994)
"""Years of an invented typical year; its February comes from a leap year."""

HEADER = """\
LOCATION,{city},FL,USA,TMY invented,722020,25.8,-80.26667,-5.0,2.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,Invented for a test
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31
"""
Lines = list[str]


def epw(hours: pd.DataFrame, years: tuple[int, ...] | None = MONTHS_FROM) -> Lines:
    """Lines of an EPW file from hours that are stamped at their start; of its own years if None."""
    lines = HEADER.format(city="Town").splitlines()
    for start, row in hours.iterrows():
        assert isinstance(start, pd.Timestamp)
        year = start.year if years is None else years[start.month - 1]
        lines.append(
            f"{year},{start.month},{start.day},{start.hour + 1},60,?9?9?9?9E0?9,"
            f"{row.temp_air},{row.temp_dew},50,{row.pressure:.0f},0,0,300,"
            f"{row.ghi:.0f},{row.dni:.0f},{row.dhi:.0f},999999,999999,999999,9999,"
            f"180,{row.wind_speed},5,5,9999,99999,9,999999999,999,0.999,999,99,0.2,0,1"
        )
    return lines


def write(path: Path, lines: Lines, encoding: str = "utf-8") -> Path:
    path.write_text("\n".join(lines) + "\n", encoding=encoding)
    return path


def refusal(path: Path) -> str:
    with pytest.raises(WeatherError) as caught:
        Weather.read(path)
    return str(caught.value)


@pytest.fixture(scope="module")
def typical_epw(miami: Weather) -> Lines:
    return epw(miami.frame)


# ------------------------------------------------------------------------------- TMY3


@pytest.mark.parametrize(
    ("file", "sample"), [(GREENSBORO, "greensboro"), (SAND_POINT, "sand_point")]
)
def test_a_tmy3_file_is_the_sample_that_was_made_from_it(file: Path, sample: str) -> None:
    read, kept = Weather.read(file), Weather.sample(sample)
    pd.testing.assert_frame_equal(read.frame, kept.frame, check_freq=False, check_exact=True)
    assert read.checksum == kept.checksum
    assert (read.label, read.kind) == ("end", "typical")


def test_a_tmy3_row_by_hand() -> None:
    """Row 07/15/1981 15:00 of the file, read by eye: 31.1 degC, dew point 17.8 degC, 982 mbar,
    3.6 m/s, 805, 809 and 109 W/m2. By equation 6 of ASHRAE Fundamentals ch. 1 the vapor pressure is
    2038.4 Pa, so the humidity ratio is 0.621945 x 2038.4 / (98200 - 2038.4) = 0.013184."""
    weather = Weather.read(GREENSBORO)
    row = weather.frame.loc["1990-07-15 14:00"]
    assert row.drop("humidity_ratio").tolist() == [31.1, 17.8, 98200.0, 3.6, 805.0, 809.0, 109.0]
    assert row["humidity_ratio"] == pytest.approx(0.013184, abs=2e-6)
    assert (weather.latitude, weather.longitude) == (36.1, -79.95)
    assert (weather.elevation, weather.utc_offset) == (273.0, -5.0)
    assert weather.name == "GREENSBORO PIEDMONT TRIAD INT NC 723170"
    assert weather.notes == (
        "months of the years 1988, 1996, 1990, 1980, 1986, 1989, 1981, 2001, 2003, 1994, all "
        "stamped 1990",
    )


def test_february_of_a_leap_year_ends_on_its_28th() -> None:
    """Greensboro's February is of 1996: its hour 24 on the 28th is followed by March 1."""
    weather = Weather.read(GREENSBORO)
    lines = GREENSBORO.read_text(encoding="utf-8").splitlines()
    last = next(line.split(",") for line in lines if line.startswith("02/28/1996,24:00"))
    columns = lines[1].split(",")
    dry = float(last[columns.index("Dry-bulb (C)")])
    assert weather.frame.loc["1990-02-28 23:00", "temp_air"] == dry
    assert len(weather) == 8760


def _cell(line: int, column: str, value: str) -> Callable[[Lines], Lines]:
    def plant(lines: Lines) -> Lines:
        cells = lines[line - 1].split(",")
        cells[lines[1].split(",").index(column)] = value
        return [*lines[: line - 1], ",".join(cells), *lines[line:]]

    return plant


def _without(column: str) -> Callable[[Lines], Lines]:
    def plant(lines: Lines) -> Lines:
        return [lines[0], lines[1].replace(column, f"Other {column}"), *lines[2:]]

    return plant


TMY3_DEFECTS: dict[str, tuple[Callable[[Lines], Lines], str]] = {
    "missing value": (
        _cell(100, "Dew-point (C)", "-9900"),
        (
            "w.csv line 100 (01/05/1988 02:00), column temp_dew: -9900, the code for a missing "
            "value. Use -90 to 40 degC (convert a value in degF or K first)."
        ),
    ),
    "empty cell": (
        _cell(100, "Pressure (mbar)", ""),
        (
            "w.csv line 100 (01/05/1988 02:00), column pressure: cannot use nan. Use 50000 to 110000 "
            "Pa (station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa)."
        ),
    ),
    "pressure in Pa": (
        _cell(100, "Pressure (mbar)", "98200"),
        (
            "w.csv line 100 (01/05/1988 02:00), column pressure: cannot use 9.82e+06. Use 50000 to "
            "110000 Pa (station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa)."
        ),
    ),
    "no wind": (
        _without("Wspd (m/s)"),
        "w.csv, column wind_speed: missing. Use one column of 0 to 80 m/s.",
    ),
    "lost row": (
        lambda lines: [*lines[:99], *lines[100:]],
        (
            "w.csv line 100 (01/05/1988 03:00), column time: 2 h since the row before. Use rows "
            "exactly 1 h apart, in order, in local standard time."
        ),
    ),
    "cut": (
        lambda lines: lines[:5000],
        "w.csv line 5000 (07/28/1981 06:00): the last row. Use a whole year, up to 12/31 24:00.",
    ),
    "leap day": (
        lambda lines: [line.replace("03/01/1990", "02/29/1996") for line in lines],
        (
            "w.csv line 1419 (02/29/1996 01:00): a leap day in a year joined from several. Use "
            "typical years of 365 days."
        ),
    ),
    "position in words": (
        lambda lines: [lines[0].replace("36.100", "north"), *lines[1:]],
        ("w.csv: a damaged TMY3 file. Use a whole, unchanged TMY3 file."),
    ),
    "no rows": (
        lambda lines: lines[:2],
        ("w.csv: a damaged TMY3 file. Use a whole, unchanged TMY3 file."),
    ),
}


@pytest.mark.parametrize("defect", TMY3_DEFECTS)
def test_planted_defects_in_tmy3(tmp_path: Path, defect: str) -> None:
    plant, sentence = TMY3_DEFECTS[defect]
    lines = GREENSBORO.read_text(encoding="utf-8").splitlines()
    assert refusal(write(tmp_path / "w.csv", plant(lines))) == sentence


def test_tmy2_is_told_by_its_name() -> None:
    assert refusal(TMY2) == (
        "12839.tm2: a TMY2 file. Use the station's TMY3 or EPW file, or a frame for "
        "Weather.from_frame."
    )


# -------------------------------------------------------------------------------- EPW


def test_a_typical_epw_year_is_the_hours_it_was_written_from(
    miami: Weather, typical_epw: Lines, tmp_path: Path
) -> None:
    """Whatever its name ends with: the first line tells what it is."""
    weather = Weather.read(write(tmp_path / "anything.txt", typical_epw))
    pd.testing.assert_frame_equal(weather.frame, miami.frame, check_freq=False, check_exact=True)
    assert (weather.latitude, weather.longitude) == (25.8, -80.26667)
    assert (weather.elevation, weather.utc_offset) == (2.0, -5.0)
    assert (weather.label, weather.kind, weather.name) == ("end", "typical", "Town FL 722020")
    assert weather.source == "EPW file anything.txt (TMY invented), read by pvlib"
    assert weather.notes == (
        "months of the years 1988, 1996, 1990, 1980, 1986, 1989, 1981, 2001, 2003, 1994, all "
        "stamped 1990",
    )


def test_what_was_read_is_written_as_our_own_file(typical_epw: Lines, tmp_path: Path) -> None:
    weather = Weather.read(write(tmp_path / "town.epw", typical_epw))
    weather.write(tmp_path / "own.csv")
    again = Weather.read(tmp_path / "own.csv")
    assert again == weather and again.notes == weather.notes


def test_an_epw_of_a_real_leap_year_keeps_its_dates(miami: Weather, tmp_path: Path) -> None:
    late = miami.frame.loc["1990-02-25":"1990-03-03"]  # type: ignore[misc]
    days = [late.loc[day] for day in ("1990-02-27", "1990-02-28", "1990-02-28", "1990-03-01")]
    hours = pd.concat(days).set_axis(pd.date_range("2024-02-27", periods=96, freq="h"))
    weather = Weather.read(write(tmp_path / "leap.epw", epw(hours, years=None)))
    assert list(weather.frame.index) == list(hours.index)
    assert weather.frame["temp_air"].tolist() == hours["temp_air"].tolist()
    assert (weather.kind, weather.notes) == ("", ())


def test_a_station_with_letters_of_an_older_encoding(typical_epw: Lines, tmp_path: Path) -> None:
    lines = [typical_epw[0].replace("Town", "Pueblo Peña"), *typical_epw[1:]]
    path = write(tmp_path / "town.epw", lines, encoding="latin-1")
    assert Weather.read(path).name == "Pueblo Peña FL 722020"


def _epw_cell(line: int, field: int, value: str) -> Callable[[Lines], Lines]:
    def plant(lines: Lines) -> Lines:
        cells = lines[line - 1].split(",")
        cells[field - 1] = value
        return [*lines[: line - 1], ",".join(cells), *lines[line:]]

    return plant


EPW_DEFECTS: dict[str, tuple[Callable[[Lines], Lines], str]] = {
    "missing dew point": (
        _epw_cell(20, 8, "99.9"),
        (
            "w.epw line 20 (1988-01-01 hour 12), column temp_dew: 99.9, the code for a missing "
            "value. Use -90 to 40 degC (convert a value in degF or K first)."
        ),
    ),
    "missing pressure": (
        _epw_cell(20, 10, "999999"),
        (
            "w.epw line 20 (1988-01-01 hour 12), column pressure: 999999, the code for a missing "
            "value. Use 50000 to 110000 Pa (station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 "
            "Pa)."
        ),
    ),
    "text": (
        _epw_cell(20, 7, "warm"),
        (
            "w.epw line 20 (1988-01-01 hour 12), column temp_air: cannot use 'warm'. Use -70 to 60 "
            "degC (convert a value in degF or K first)."
        ),
    ),
    "four rows an hour": (
        lambda lines: [*lines[:7], lines[7].replace("1,1,Data", "1,4,Data"), *lines[8:]],
        (
            "w.epw line 8, records per hour: cannot use '4'. Use 1 (Weather.from_log averages "
            "several rows an hour)."
        ),
    ),
    "lost header line": (
        lambda lines: [*lines[:4], *lines[5:]],
        "w.epw line 8: cannot use '1988'. Use DATA PERIODS, the last of 8 header lines.",
    ),
    "a field too many": (
        lambda lines: [*lines[:8], *(f"{line},0" for line in lines[8:])],
        "w.epw line 9: 36 fields. Use a value of at most the 35 of EPW.",
    ),
    "lost row": (
        lambda lines: [*lines[:19], *lines[20:]],
        (
            "w.epw line 20 (1988-01-01 hour 13), column time: 2 h since the row before. Use rows "
            "exactly 1 h apart, in order, in local standard time."
        ),
    ),
    "leap day": (
        lambda lines: [line.replace("1990,3,1,", "1996,2,29,") for line in lines],
        (
            "w.epw line 1425 (1996-02-29 hour 1): a leap day in a year joined from several. Use "
            "typical years of 365 days."
        ),
    ),
}


@pytest.mark.parametrize("defect", EPW_DEFECTS)
def test_planted_defects_in_epw(typical_epw: Lines, tmp_path: Path, defect: str) -> None:
    plant, sentence = EPW_DEFECTS[defect]
    assert refusal(write(tmp_path / "w.epw", plant(typical_epw))) == sentence


def test_an_epw_whose_hours_are_counted_from_0_is_refused(
    typical_epw: Lines, tmp_path: Path
) -> None:
    def earlier(line: str) -> str:
        year, month, day, hour, *rest = line.split(",")
        return ",".join([year, month, day, str(int(hour) - 1), *rest])

    lines = [*typical_epw[:8], *(earlier(line) for line in typical_epw[8:])]
    assert "a damaged EPW file" in refusal(write(tmp_path / "w.epw", lines))


def test_an_epw_whose_offset_is_an_hour_wrong_is_refused_by_its_sun(
    typical_epw: Lines, tmp_path: Path
) -> None:
    lines = [typical_epw[0].replace(",-5.0,", ",-7.0,"), *typical_epw[1:]]
    assert "sun" in refusal(write(tmp_path / "w.epw", lines))


def test_a_scenario_takes_an_epw_file(typical_epw: Lines, tmp_path: Path) -> None:
    write(tmp_path / "town.epw", typical_epw)
    study = read(tmp_path, HOUSE.replace("june.csv", "town.epw")).study
    assert (study.weather.name, len(study.weather)) == ("Town FL 722020", 8760)
