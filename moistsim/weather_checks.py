"""What an hourly weather table must be: the checks that `Weather` makes, each in one sentence.

A gap, a wrong unit, an impossible value, or a label that puts the sun in the wrong half hour is
refused with the row, the column, what was found and what is accepted.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import timedelta, timezone
from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.units import InputError, to_si

HOUR = pd.Timedelta(hours=1)

#: What a label says: how much of the hour lies before the stamp.
BEFORE_LABEL = {"start": 0 * HOUR, "middle": HOUR / 2, "end": HOUR}

#: A dew point may stand this far above the dry bulb, K: both are commonly rounded to 0.1 K (or
#: to 0.1 °F), each on its own, so a saturated hour can be off by one last digit. Within it the
#: value is kept as it is.
DEW_POINT_TOLERANCE = 0.1

#: Fewest rows that make a run of weather: one day.
FEWEST_ROWS = 24

_Floats = NDArray[np.float64]


@attrs.frozen
class _Column:
    """Accepted range of one input column, and the mistake that most often breaks it."""

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
    "relative_humidity": _Column(0.1, 100.0, "per cent"),
    "pressure": _Column(
        50000.0, 110000.0, "Pa", "station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa"
    ),
    "wind_speed": _Column(0.0, 80.0, "m/s"),
    "ghi": _Column(0.0, 1500.0, "W/m2", _SUN_HINT),
    "dni": _Column(0.0, 1415.0, "W/m2", _SUN_HINT),
    "dhi": _Column(0.0, 1000.0, "W/m2", _SUN_HINT),
}

# Sun checks. Refraction and the sun's radius lift its edge by about 0.8 deg at the horizon, and
# deep twilight is worth a few W/m2 at most.
_SUN_DOWN = -1.0  # deg, elevation below which an hour has no sun
_DARK_LIMIT = 20.0  # W/m2, more than twilight and a pyranometer's offset
_BRIGHT = 200.0  # W/m2, hours in which the three sun columns are compared
_CLOSURE_GOOD = 20.0  # W/m2 rms; typical years close to 1-10, half an hour off gives 25-45
_CLOSURE_BAD = 100.0  # W/m2 rms; no time shift needed to call the columns contradictory
_PRESSURE_OFF = 0.05  # of the standard atmosphere; the means of typical years stay within 0.01


class WeatherError(InputError):
    """Weather that cannot be used, in one sentence.

    Parameters
    ----------
    where : str
        The file (with line) or ``"frame"``, and the row by its time stamp where there is one.
    column : str or None
        The column, header line or argument at fault.
    found, accepted : str
        What stood there, and what would be accepted.
    """

    def __init__(self, where: str, column: str | None, found: str, accepted: str) -> None:
        super().__init__(where, found, accepted)
        self.column = column
        # So that it survives pickling between the processes of a sweep.
        self.args = (where, column, found, accepted)

    def __str__(self) -> str:
        place = self.where
        if self.column is not None:
            kind = "column " if self.column == "time" or self.column in INPUTS else ""
            place = f"{place}, {kind}{self.column}"
        return f"{place}: found {self.found}; accepted: {self.accepted}"


def number_between(origin: str, key: str, value: Any, low: float, high: float, unit: str) -> float:
    accepted = f"{low:g} to {high:g} {unit}"
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise WeatherError(origin, key, repr(value), accepted) from None
    if not low <= number <= high:
        raise WeatherError(origin, key, f"{number:g}", accepted)
    return number


def metres(origin: str, elevation: float | str) -> float:
    try:
        return to_si(elevation, "m", "elevation")
    except InputError as error:
        raise WeatherError(origin, "elevation", repr(elevation), error.accepted) from None


def hours_of(frame: pd.DataFrame) -> pd.DatetimeIndex:
    index = frame.index
    assert isinstance(index, pd.DatetimeIndex)
    return index


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
        raise WeatherError(origin, None, f"{len(stamps)} rows", f"at least {FEWEST_ROWS} hours")
    missing = np.flatnonzero(stamps.isna())
    if missing.size:
        raise WeatherError(f"{origin} row {missing[0] + 1}", "index", "no time", accepted)
    if stamps.tz is not None:
        stamps = stamps.tz_convert(timezone(timedelta(hours=utc_offset))).tz_localize(None)
    steps = np.diff(stamps.to_numpy()) / np.timedelta64(1, "h")
    wrong = np.flatnonzero(steps != 1.0)
    if wrong.size:
        usual = float(np.median(steps))
        if 0 < usual != 1.0:
            raise WeatherError(
                origin, None, f"rows {usual * 60:g} min apart",
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
        raise WeatherError(where(row), "time", found, accepted)
    return stamps - BEFORE_LABEL[label]


def values_in_range(
    table: pd.DataFrame,
    origin: str,
    where: Callable[[int], str],
    lacking: Collection[str] = (),
) -> dict[str, _Floats]:
    """The input columns as floats, each value in its range; those of `lacking` are not asked for."""
    names = list(table.columns)
    humidity = "temp_dew" if "temp_dew" in names else "relative_humidity"
    if humidity not in names:
        raise WeatherError(
            origin, "temp_dew", "none", "temp_dew in degC or relative_humidity in per cent"
        )
    columns: dict[str, _Floats] = {}
    for name in ("temp_air", humidity, "pressure", "wind_speed", "ghi", "dni", "dhi"):
        if name in lacking:
            continue
        limits = INPUTS[name]
        if names.count(name) != 1:
            found = f"{names.count(name)} of them" if name in names else "none"
            raise WeatherError(origin, name, found, f"one column of {limits.accepted()}")
        given = table[name]
        values = pd.to_numeric(given, errors="coerce").to_numpy(dtype=float, na_value=np.nan)
        # No place stays below 1.5 per cent all day, and a fraction may overshoot 1 a little.
        if name == "relative_humidity" and 0.0 < (top := np.nanmax(values, initial=0.0)) <= 1.5:
            raise WeatherError(
                origin,
                name,
                f"no value above {top:g}",
                "per cent, 0.1 to 100 (multiply a fraction by 100)",
            )
        bad = np.flatnonzero(~((values >= limits.low) & (values <= limits.high)))
        if bad.size:
            row = int(bad[0])
            value = given.iloc[row]
            found = repr(value) if isinstance(value, str) else f"{value}"
            if not np.isnan(values[row]):
                found = f"{values[row]:g}"
            raise WeatherError(where(row), name, found, limits.accepted())
        columns[name] = values
    return columns


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
            f"{dew[row]:g} degC at a dry bulb of {dry[row]:g} degC",
            f"at most {DEW_POINT_TOLERANCE:g} K above the dry bulb",
        )
    return dew


def check_pressure_and_sun(
    frame: pd.DataFrame,
    midpoints: pd.DatetimeIndex,
    position: tuple[float, float, float],
    sun: _Floats,
    origin: str,
    where: Callable[[int], str],
) -> None:
    """Hold the columns against the place: air pressure to elevation, irradiance to the sun.

    `sun` is its elevation at the midpoints, degrees; pvlib tells it for other times (imported here
    because it is slow to import). Global irradiance must be the sum of its parts, ghi = dhi + dni
    cos(zenith), at the middle of the hour; where the sum fits much better with the sun half an hour
    or an hour away, the stamps are wrong.
    """
    from pvlib.atmosphere import alt2pres
    from pvlib.solarposition import get_solarposition

    latitude, longitude, elevation = position
    standard = float(alt2pres(elevation))
    mean = float(frame["pressure"].mean())
    if abs(mean / standard - 1) > _PRESSURE_OFF:
        raise WeatherError(
            origin,
            "pressure",
            f"a mean of {mean:.0f} Pa at an elevation of {elevation:g} m",
            f"within {_PRESSURE_OFF:.0%} of {standard:.0f} Pa, the standard atmosphere there "
            "(station pressure, not reduced to sea level; elevation in m, not ft)",
        )

    ghi, dni, dhi = (frame[name].to_numpy() for name in ("ghi", "dni", "dhi"))

    def elevation_of_sun(rows: NDArray[np.intp], minutes: int) -> _Floats:
        when = midpoints[rows] + pd.Timedelta(minutes=minutes)
        there = get_solarposition(when, latitude, longitude, altitude=elevation)
        return np.asarray(there["elevation"], dtype=float)

    cure = "a label, utc_offset and longitude that agree (one of them is wrong)"
    # The sun moves at most 7.5 degrees in half an hour: only hours dark in their middle are in
    # doubt, and a sound file has none that are also bright.
    doubt = np.flatnonzero((ghi > _DARK_LIMIT) & (sun < _SUN_DOWN))
    if doubt.size:
        edges = np.maximum(elevation_of_sun(doubt, -30), elevation_of_sun(doubt, 30))
        dark = doubt[edges < _SUN_DOWN]
        if dark.size:
            row = int(dark[0])
            raise WeatherError(
                where(row),
                "ghi",
                f"{ghi[row]:g} W/m2 while the sun is below the horizon all hour "
                f"(such hours: {dark.size})",
                cure,
            )
    high = sun > 10.0
    if high.sum() > FEWEST_ROWS and ghi.max() < _DARK_LIMIT:
        raise WeatherError(
            origin,
            "ghi",
            f"at most {ghi.max():g} W/m2 in {high.sum()} hours of sun above 10 degrees",
            "global horizontal irradiance in W/m2 (1 kW/m2 is 1000 W/m2)",
        )
    bright = np.flatnonzero((ghi > _BRIGHT) | (dni > _BRIGHT))
    if bright.size < FEWEST_ROWS:
        return

    def closure(height: _Floats) -> float:
        sine = np.maximum(np.sin(np.radians(height)), 0.0)
        gap = ghi[bright] - dhi[bright] - dni[bright] * sine
        return float(np.sqrt(np.mean(gap**2)))

    as_given = closure(sun[bright])
    if as_given <= _CLOSURE_GOOD:
        return
    best, minutes = min(
        (closure(elevation_of_sun(bright, m)), m) for m in (-90, -60, -30, 30, 60, 90)
    )
    if best < as_given / 2:
        raise WeatherError(
            origin,
            "ghi, dni, dhi",
            f"sums that fit the sun of {abs(minutes)} min {'later' if minutes > 0 else 'earlier'}",
            cure,
        )
    if as_given > _CLOSURE_BAD:
        raise WeatherError(
            origin,
            "ghi, dni, dhi",
            f"ghi {as_given:.0f} W/m2 (rms) away from dhi + dni * cos(zenith)",
            f"three columns that agree within {_CLOSURE_BAD:g} W/m2",
        )
