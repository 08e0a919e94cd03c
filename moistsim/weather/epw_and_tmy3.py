"""EPW and TMY3 weather files, read by pvlib.

EPW is an open format of 8 header lines and 35 fields a row, documented by its publisher. TMY3 is
the format of Wilcox & Marion (2008), NREL/TP-581-43156. Both label an hour by its end, in local
standard time. Their first line has position, elevation and offset from UTC. Units of EPW are degC,
percent, Pa, m/s, and Wh/m2 in the hour. Pressure in TMY3 is in millibar. pvlib names the columns
of both: its `temp_dew` is the dew point, its `temp_air` the dry bulb.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import Problem, brief
from moistsim.weather.checks import INPUTS, WeatherError
from moistsim.weather.clock import HOUR, YEAR_OF_NO_YEAR, hours_of

Table = tuple[pd.DataFrame, Callable[[int], str], dict[str, Any]]
"""Hours by the stamps of their ends, a function that names a row, and the header as `Weather`'s
fields."""

_MISSING = {
    "temp_air": 99.9,
    "temp_dew": 99.9,
    "relative_humidity": 999.0,
    "pressure": 999999.0,
    "wind_speed": 999.0,
    "ghi": 9999.0,
    "dni": 9999.0,
    "dhi": 9999.0,
}
"""EPW's codes for a missing value."""
_MISSING_IN_TMY3 = -9900.0
_EPW_FIELDS = 35
_PASCAL_PER_MILLIBAR = 100.0
_TMY2 = re.compile(r"\s?\d{5} .{22} [A-Z]{2} +[+-]?\d+ [NS]")


def reader_of(text: str) -> Callable[[str, str], Table] | None:
    """Return the function that reads a text, by its first two lines; None for other formats."""
    lines = text[:4000].splitlines()[:2]
    if lines and lines[0].upper().startswith("LOCATION,"):
        return read_epw_text
    if len(lines) == 2 and lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return read_tmy3_text
    if lines and _TMY2.match(lines[0]):
        return _refuse_tmy2
    return None


def read_epw_text(text: str, file: str) -> Table:
    """Read an EPW file.

    Months of several years become one year without a leap day; hours of a real year, or of
    several in a row, keep their dates.

    Raises
    ------
    WeatherError
        If the file is not hourly, is cut or damaged, or marks a value that is needed as missing.
    """
    from pvlib.iotools import read_epw

    _check_epw_header(text.splitlines()[:9], file)
    frame, meta = _parsed(lambda: read_epw(io.StringIO(text)), file, "EPW")
    frame = frame.rename(columns={"atmospheric_pressure": "pressure"})
    years, months, days, hours = (
        frame[name].to_numpy() for name in ("year", "month", "day", "hour")
    )

    def where(row: int) -> str:
        day = f"{years[row]}-{months[row]:02d}-{days[row]:02d}"
        return f"{file} line {row + 9} ({day} hour {hours[row]})"

    # pvlib stamps the start of an hour.
    starts = hours_of(frame).tz_localize(None)
    joined = _is_joined(starts)
    if joined:
        leap = np.flatnonzero((starts.month == 2) & (starts.day == 29))
        if leap.size:
            raise _leap_day(where(int(leap[0])))
        starts = pd.DatetimeIndex([stamp.replace(year=YEAR_OF_NO_YEAR) for stamp in starts])
    _check_missing(frame, where, _MISSING)
    place = " ".join(meta[key].strip() for key in ("city", "state-prov", "WMO_code"))
    fields = {
        "name": place,
        "source": f"EPW file {file} ({meta['data_type'].strip()}), read by pvlib",
        "kind": "typical" if joined else "",
        "notes": _note_of_years(years) if joined else (),
    }
    return frame.set_index(starts + HOUR), where, {**_position(meta), **fields}


def read_tmy3_text(text: str, file: str) -> Table:
    """Read a TMY3 file: months of several years, stamped as one year without a leap day.

    Raises
    ------
    WeatherError
        If the year is not whole, or the file is damaged or marks a value that is needed as missing.
    """
    from pvlib.iotools import read_tmy3

    frame, meta = _parsed(
        lambda: read_tmy3(io.StringIO(text), coerce_year=YEAR_OF_NO_YEAR, map_variables=True),
        file,
        "TMY3",
    )
    dates, times = (frame[name] for name in ("Date (MM/DD/YYYY)", "Time (HH:MM)"))

    def where(row: int) -> str:
        return f"{file} line {row + 3} ({dates.iloc[row]} {times.iloc[row]})"

    last = len(frame) - 1
    if not (re.match("12/31/", dates.iloc[last]) and times.iloc[last].startswith("24")):
        raise WeatherError(
            where(last), None, Problem("the last row"), "a whole year, up to 12/31 24:00"
        )
    leap = np.flatnonzero(dates.str.match("0?2/29/"))
    if leap.size:
        raise _leap_day(where(int(leap[0])))
    _check_missing(frame, where, dict.fromkeys(_MISSING, _MISSING_IN_TMY3))
    if "pressure" in frame:
        millibar = pd.to_numeric(frame["pressure"], errors="coerce")
        frame["pressure"] = millibar * _PASCAL_PER_MILLIBAR
    fields = {
        "name": " ".join(str(meta[key]).strip(' "') for key in ("Name", "State", "USAF")),
        "source": f"TMY3 file {file}, read by pvlib",
        "kind": "typical",
        "notes": _note_of_years(dates.str[-4:].to_numpy()),
    }
    stamps = hours_of(frame).tz_localize(None)
    return frame.set_index(stamps), where, {**_position(meta), **fields}


def _refuse_tmy2(text: str, file: str) -> Table:
    raise WeatherError(
        file, None, Problem("a TMY2 file"),
        "the station's TMY3 or EPW file, or a frame for Weather.from_frame",
    )  # fmt: skip


def _parsed(read: Callable[[], Any], file: str, form: str) -> Any:
    """Return pvlib's result, or raise one sentence with the reason."""
    try:
        with warnings.catch_warnings():
            # A column of numbers and texts: what is needed of it is checked.
            warnings.simplefilter("ignore", pd.errors.DtypeWarning)
            frame, meta = read()
    except (KeyError, IndexError, TypeError, ValueError, AttributeError) as error:
        raise WeatherError(
            file, None, Problem(f"a damaged {form} file{_damage(str(error))}"),
            f"a whole, unchanged {form} file",
        ) from None  # fmt: skip
    return frame, meta


def _damage(reason: str) -> str:
    """What is damaged, as far as the reader of the format says so."""
    fields = re.search(r"Expected (\d+) fields in line \d+, saw (\d+)", reason)
    if fields is not None:
        return f", with a row of {fields[2]} fields instead of {fields[1]}"
    date = re.search(r"time data \W?(.*?)\W? doesn't match", reason)
    if date is not None:
        return f", with {brief(date[1])} in place of a date"
    return ""


def _check_epw_header(lines: list[str], file: str) -> None:
    """Refuse an EPW file that pvlib would misread."""
    periods = lines[7].split(",") if len(lines) > 7 else [""]
    if periods[0].strip().upper() != "DATA PERIODS" or len(periods) < 3:
        raise WeatherError(
            f"{file} line 8", None, periods[0], "DATA PERIODS, the last of 8 header lines"
        )
    if periods[2].strip() != "1":
        raise WeatherError(
            f"{file} line 8", "records per hour", periods[2].strip(),
            "1 (Weather.from_log averages several rows an hour)",
        )  # fmt: skip
    fields = lines[8].count(",") + 1 if len(lines) > 8 else 0
    if fields > _EPW_FIELDS:
        raise WeatherError(
            f"{file} line 9", None, Problem(f"{fields} fields"), f"at most the {_EPW_FIELDS} of EPW"
        )


def _is_joined(starts: pd.DatetimeIndex) -> bool:
    """Return whether months of several years follow each other, as in a typical year."""
    steps = np.diff(starts.to_numpy()) / np.timedelta64(1, "h")
    return bool(starts.year.nunique() > 1 and (steps != 1.0).any())


def _check_missing(
    frame: pd.DataFrame, where: Callable[[int], str], codes: dict[str, float]
) -> None:
    """Refuse a row whose value is the format's code for a missing one."""
    for name in ("temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi"):
        if name not in frame:
            continue  # refused by name with the other checks
        bad = np.flatnonzero(pd.to_numeric(frame[name], errors="coerce") == codes[name])
        if bad.size:
            raise WeatherError(
                where(int(bad[0])), name, Problem(f"{codes[name]:g}, the code for a missing value"),
                INPUTS[name].accepted(),
            )  # fmt: skip


def _leap_day(where: str) -> WeatherError:
    return WeatherError(
        where,
        None,
        Problem("a leap day in a year joined from several"),
        "typical years of 365 days",
    )


def _note_of_years(years: Any) -> tuple[str]:
    named = ", ".join(dict.fromkeys(str(year) for year in years))
    return (f"months of the years {named}, all stamped {YEAR_OF_NO_YEAR}",)


def _position(meta: dict[str, Any]) -> dict[str, Any]:
    """Return position and label as `Weather`'s fields."""
    return {
        "latitude": meta["latitude"],
        "longitude": meta["longitude"],
        "elevation": meta["altitude"],
        "utc_offset": meta["TZ"],
        "label": "end",
    }
