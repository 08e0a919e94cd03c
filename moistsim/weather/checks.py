"""Checks of an hourly weather table, each with one sentence.

Refused are gaps, wrong units, impossible values, and labels that put the sun in the wrong half hour.
The sentence has the row, the column, the problem and the fix.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import InputError, Problem, sentences
from moistsim.core.units import to_si
from moistsim.weather.clock import BEFORE_LABEL, hours_of, in_standard_time

#: Accepted excess of the dew point over the dry bulb, K. Both are commonly rounded to 0.1 K (or
#: to 0.1 °F), each on its own, so a saturated hour can be off by one last digit. A dew point
#: within this tolerance is kept unchanged.
DEW_POINT_TOLERANCE = 0.1

#: Minimum number of rows in a run of weather: one day.
FEWEST_ROWS = 24

_Floats = NDArray[np.float64]


@attrs.frozen
class _Column:
    """Accepted range of one input column, and a hint on its most common mistake."""

    low: float
    high: float
    unit: str
    hint: str = ""

    def accepted(self) -> str:
        text = f"{self.low:g} to {self.high:g} {self.unit}"
        return f"{text} ({self.hint})" if self.hint else text


# The ranges are wider than the records of the Earth's surface, yet narrow enough for the usual
# wrong unit to fall outside in some hour of a season.
_TEMPERATURE_HINT = "convert a value in degF or K first"
_SUN_HINT = "a small negative night reading must be set to 0 first"
INPUTS = {
    "temp_air": _Column(-70.0, 60.0, "degC", _TEMPERATURE_HINT),
    "temp_dew": _Column(-90.0, 40.0, "degC", _TEMPERATURE_HINT),
    "relative_humidity": _Column(0.1, 100.0, "percent"),
    "pressure": _Column(
        50000.0, 110000.0, "Pa", "station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa"
    ),
    "wind_speed": _Column(0.0, 80.0, "m/s"),
    "ghi": _Column(0.0, 1500.0, "W/m2", _SUN_HINT),
    "dni": _Column(0.0, 1415.0, "W/m2", _SUN_HINT),
    "dhi": _Column(0.0, 1000.0, "W/m2", _SUN_HINT),
}

_PRESSURE_OFF = 0.05  # of the standard atmosphere; the means of typical years stay within 0.01


class WeatherError(InputError):
    """Weather that cannot be used, in one sentence.

    Examples
    --------
    >>> print(WeatherError("w.csv line 12", "wind_speed", "calm", "0 to 80 m/s"))
    w.csv line 12, column wind_speed: cannot use 'calm'. Use 0 to 80 m/s.

    Parameters
    ----------
    where : str
        The file (with line) or ``"frame"``, and the row by its time stamp where there is one.
    column : str or None
        The column, header line or argument at fault.
    found, accepted
        As for `InputError`.
    """

    def __init__(self, where: str, column: str | None, found: object, accepted: str) -> None:
        super().__init__(where, found, accepted)
        self.column = column
        # Needed for pickling between the processes of a sweep.
        self.args = (where, column, found, accepted)

    def __str__(self) -> str:
        place = self.where
        if self.column is not None:
            kind = "column " if self.column == "time" or self.column in INPUTS else ""
            place = f"{place}, {kind}{self.column}"
        return sentences(place, self.found, self.accepted)


def number_between(origin: str, key: str, value: Any, low: float, high: float, unit: str) -> float:
    accepted = f"{low:g} to {high:g} {unit}"
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise WeatherError(origin, key, value, accepted) from None
    if not low <= number <= high:
        raise WeatherError(origin, key, Problem(f"cannot use {number:g}"), accepted)
    return number


def _meters(origin: str, elevation: float | str) -> float:
    try:
        return to_si(elevation, "m", "elevation")
    except InputError as error:
        raise WeatherError(origin, "elevation", elevation, error.accepted) from None


class Place(NamedTuple):
    """Location of weather: degrees north and east, hours ahead of UTC, and elevation in meters."""

    latitude: float
    longitude: float
    utc_offset: float
    elevation: float


def checked_place(
    origin: str, latitude: Any, longitude: Any, utc_offset: Any, elevation: Any
) -> Place:
    return Place(
        number_between(origin, "latitude", latitude, -90, 90, "degrees, north positive"),
        number_between(origin, "longitude", longitude, -180, 180, "degrees, east positive"),
        checked_offset(origin, utc_offset),
        checked_elevation(origin, elevation),
    )


def checked_offset(origin: str, utc_offset: Any) -> float:
    return number_between(origin, "utc_offset", utc_offset, -12, 14, "h")


def fetched_offset(origin: str, longitude: float, utc_offset: Any) -> tuple[float, str]:
    """Local standard time less UTC of a fetched place, h, and where it comes from."""
    if utc_offset is None:
        return float(round(longitude / 15.0)), "the longitude's own, not a legal zone"
    return checked_offset(origin, utc_offset), "as asked for"


def checked_elevation(origin: str, elevation: Any) -> float:
    return number_between(origin, "elevation", _meters(origin, elevation), -430, 6000, "m")


def checked_label(origin: str, label: str) -> str:
    if label not in BEFORE_LABEL:
        raise WeatherError(origin, "label", label, "start, middle or end")
    return label


def checked_stamps(frame: pd.DataFrame) -> pd.DatetimeIndex:
    """The index of a user's frame."""
    if not isinstance(frame.index, pd.DatetimeIndex):
        raise WeatherError(
            "frame",
            "index",
            Problem(f"cannot use a {type(frame.index).__name__}"),
            "a DatetimeIndex of hours",
        )
    return frame.index


def starts_of_hours(
    table: pd.DataFrame,
    origin: str,
    where: Callable[[int], str],
    utc_offset: float,
    label: str,
) -> pd.DatetimeIndex:
    """Starts of the hours in naive local standard time; refuse all but hour after hour."""
    stamps = hours_of(table)
    accepted = "rows exactly 1 h apart, in order, in local standard time"
    if len(stamps) < FEWEST_ROWS:
        raise WeatherError(
            origin, None, Problem(f"{len(stamps)} rows"), f"at least {FEWEST_ROWS} hours"
        )
    missing = np.flatnonzero(stamps.isna())
    if missing.size:
        raise WeatherError(f"{origin} row {missing[0] + 1}", "index", Problem("no time"), accepted)
    stamps = in_standard_time(stamps, utc_offset)
    steps = np.diff(stamps.to_numpy()) / np.timedelta64(1, "h")
    wrong = np.flatnonzero(steps != 1.0)
    if wrong.size:
        usual = float(np.median(steps))
        if 0 < usual != 1.0:
            raise WeatherError(
                origin, None, Problem(f"rows {usual * 60:g} min apart"),
                "hourly rows, 60 min apart (Weather.from_log averages those of a log)",
            )  # fmt: skip
        row = int(wrong[0]) + 1
        step = float(steps[row - 1])
        if step == 0:
            found = "the same time as the row before"
        elif step < 0:
            found = f"a time {-step:g} h before that of the row before"
        else:
            found = f"{step:g} h since the row before"
        raise WeatherError(where(row), "time", Problem(found), accepted)
    return stamps - BEFORE_LABEL[label]


def values_in_range(
    table: pd.DataFrame,
    origin: str,
    where: Callable[[int], str],
    lacking: Collection[str] = (),
) -> dict[str, _Floats]:
    """The input columns as floats, each value in its range; columns in `lacking` may be missing."""
    names = list(table.columns)
    humidity = "temp_dew" if "temp_dew" in names else "relative_humidity"
    if humidity not in names:
        raise WeatherError(
            origin,
            "temp_dew",
            Problem("missing"),
            "temp_dew in degC or relative_humidity in percent",
        )
    columns: dict[str, _Floats] = {}
    needed = ("temp_air", humidity, "pressure", "wind_speed", "ghi", "dni", "dhi")
    absent = [name for name in needed if name not in names and name not in lacking]
    if len(absent) > 1:
        units = ", ".join(f"{name} in {INPUTS[name].unit}" for name in absent)
        raise WeatherError(origin, ", ".join(absent), Problem("missing"), f"columns {units}")
    for name in ("temp_air", humidity, "pressure", "wind_speed", "ghi", "dni", "dhi"):
        if name in lacking:
            continue
        limits = INPUTS[name]
        if names.count(name) != 1:
            found = f"{names.count(name)} of them" if name in names else "missing"
            raise WeatherError(origin, name, Problem(found), f"one column of {limits.accepted()}")
        given = table[name]
        values = _floats(given)
        # No place stays below 1.5 percent all day, and a fraction may overshoot 1 a little.
        if name == "relative_humidity" and 0.0 < (top := np.nanmax(values, initial=0.0)) <= 1.5:
            raise WeatherError(
                origin,
                name,
                Problem(f"no value above {top:g}"),
                "percent, 0.1 to 100 (multiply a fraction by 100)",
            )
        bad = np.flatnonzero(~((values >= limits.low) & (values <= limits.high)))
        if bad.size:
            row = int(bad[0])
            value = given.iloc[row]
            found = repr(value) if isinstance(value, str) else f"{value}"
            if not np.isnan(values[row]):
                found = f"{values[row]:g}"
            raise WeatherError(where(row), name, Problem(f"cannot use {found}"), limits.accepted())
        columns[name] = values
    return columns


def _floats(given: pd.Series) -> _Floats:
    """Return values of a column as floats, NaN if a value is not a number."""
    numbers = pd.to_numeric(given, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    if pd.api.types.is_numeric_dtype(given):
        return numbers
    # Before pandas 3, `to_numeric` errs in a text's last bit.
    return np.array(
        [x if np.isnan(x) else float(text) for x, text in zip(numbers, given, strict=True)]
    )


def dew_point_of(columns: dict[str, _Floats], where: Callable[[int], str]) -> _Floats:
    """Dew point, as given or from relative humidity."""
    dry = columns["temp_air"]
    if "temp_dew" not in columns:
        saturated = air.over(air.saturation_pressure, dry)
        return air.over(air.dew_point, saturated * columns["relative_humidity"] / 100)
    dew = columns["temp_dew"]
    bad = np.flatnonzero(dew > dry + DEW_POINT_TOLERANCE + 1e-9)
    if bad.size:
        row = int(bad[0])
        raise WeatherError(
            where(row),
            "temp_dew",
            Problem(f"{dew[row]:g} °C at a dry bulb of {dry[row]:g} °C"),
            f"at most {DEW_POINT_TOLERANCE:g} K above the dry bulb",
        )
    return dew


def check_pressure(frame: pd.DataFrame, elevation: float, origin: str) -> None:
    """Check air pressure against the elevation."""
    from pvlib.atmosphere import alt2pres  # slow to import

    standard = float(alt2pres(elevation))
    mean = float(frame["pressure"].mean())
    if abs(mean / standard - 1) > _PRESSURE_OFF:
        raise WeatherError(
            origin,
            "pressure",
            Problem(f"a mean of {mean:.0f} Pa at an elevation of {elevation:g} m"),
            f"within {_PRESSURE_OFF:.0%} of {standard:.0f} Pa, the standard atmosphere there "
            "(station pressure, not reduced to sea level; elevation in m, not ft)",
        )
