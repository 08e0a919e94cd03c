"""Hourly weather: read it, check it, describe its climate.

A `Weather` is an unbroken run of hourly rows at one place. Nothing in it is guessed, filled or
clipped: a gap, a wrong unit or a label that puts the sun in the wrong half hour is refused in one
sentence that names the row, what was found and what is accepted.

Sources of the definitions: humidity ratio from `moistsim.air` (ASHRAE Handbook, Fundamentals,
ch. 1); design conditions by annual cumulative frequency and mean coincident values after ASHRAE
Handbook, Fundamentals, ch. 14 (Climatic Design Information).
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterable
from datetime import timedelta, timezone
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.units import InputError, from_si, to_si

HOUR = pd.Timedelta(hours=1)
DAY = pd.Timedelta(days=1)

#: Columns of `Weather.frame`, in this order.
COLUMNS = (
    "temp_air",
    "temp_dew",
    "humidity_ratio",
    "pressure",
    "wind_speed",
    "ghi",
    "dni",
    "dhi",
)

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
_INPUTS = {
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
            kind = "column " if self.column == "time" or self.column in _INPUTS else ""
            place = f"{place}, {kind}{self.column}"
        return f"{place}: found {self.found}; accepted: {self.accepted}"


def _frame_digest(frame: pd.DataFrame) -> bytes:
    # The humidity ratio follows from the other columns, and its last bits from the machine that
    # computed it; so do a dew point's that was derived from relative humidity: hence the rounding.
    numbers = frame.drop(columns="humidity_ratio").to_numpy(dtype="<f8").round(6) + 0.0
    stamps = frame.index.to_numpy().astype("datetime64[s]").astype("<i8")
    return hashlib.sha256(stamps.tobytes() + numbers.tobytes()).digest()


@attrs.frozen(kw_only=True, repr=False)
class Weather:
    """An unbroken run of hourly weather at one place.

    Make it with `Weather.read`, `Weather.from_frame` or `Weather.sample`, which check every row;
    the constructor does not.

    Attributes
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    utc_offset : float
        Local standard time less UTC, h; may be fractional. No daylight saving.
    elevation : float
        Metres above sea level.
    label : {"start", "middle", "end"}
        What the time stamps meant in the source; `frame` is always stamped at the start.
    name, source : str
        The station, and where its data came from.
    """

    _frame: pd.DataFrame = attrs.field(eq=_frame_digest)
    latitude: float
    longitude: float
    utc_offset: float
    elevation: float
    label: str = attrs.field(eq=False)
    name: str = ""
    source: str = ""

    # ------------------------------------------------------------------ making one

    @classmethod
    def read(cls, path: str | Path) -> Weather:
        """Read a weather file.

        The file is plain text: commented header lines ``# key: value``, then a table. Required
        keys: ``latitude``, ``longitude`` (degrees), ``elevation`` (m), ``utc_offset`` (h) and
        ``label`` (start, middle or end); ``station`` and ``source`` are kept, other keys are
        notes. The table has the columns ``time`` (ISO, local standard time), and those of
        `from_frame`.

        Parameters
        ----------
        path : str or Path
            The file.

        Returns
        -------
        Weather

        Raises
        ------
        WeatherError
            One sentence: file, line, column, what was found, what is accepted.
        """
        path = Path(path)
        try:
            text = path.read_text(encoding="utf-8-sig")
        except FileNotFoundError:
            raise WeatherError(
                str(path), None, "no such file", "the path of a weather file"
            ) from None
        except (UnicodeDecodeError, IsADirectoryError) as error:
            raise WeatherError(
                path.name, None, f"something that is no text file ({error})", "UTF-8 text"
            ) from None
        lines = text.splitlines()
        header = _read_header(path.name, lines)
        table, first_line = _read_table(path.name, lines)
        times = _read_times(path.name, table["time"], first_line)

        def where(row: int) -> str:
            return f"{path.name} line {first_line + row} ({table['time'].iloc[row]})"

        return cls._checked(
            table.drop(columns="time").set_index(times),
            path.name,
            where,
            latitude=_header_number(path.name, header, "latitude"),
            longitude=_header_number(path.name, header, "longitude"),
            utc_offset=_header_number(path.name, header, "utc_offset"),
            elevation=_header_number(path.name, header, "elevation"),
            label=header["label"],
            name=header.get("station", path.stem),
            source=header.get("source", ""),
        )

    @classmethod
    def from_frame(
        cls,
        frame: pd.DataFrame,
        *,
        latitude: float,
        longitude: float,
        utc_offset: float,
        elevation: float | str,
        label: str,
        name: str = "",
        source: str = "",
    ) -> Weather:
        """Take hourly weather from a frame whose columns carry pvlib's names.

        Parameters
        ----------
        frame : pandas.DataFrame
            Columns ``temp_air`` (degC), ``temp_dew`` (degC) or ``relative_humidity`` (per cent),
            ``pressure`` (Pa, at the station), ``wind_speed`` (m/s), ``ghi``, ``dni``, ``dhi``
            (W/m2, means of the hour); others are ignored. With both measures of humidity
            ``temp_dew`` is used. A dew point below 0 degC is taken as ASHRAE tables it, over ice;
            a relative humidity is of the saturation pressure that `moistsim.air` gives.
            The index gives one time stamp an hour: time-zone aware (converted to local standard
            time) or naive (taken as local standard time, without daylight saving).
        latitude, longitude : float
            Degrees, north and east positive.
        utc_offset : float
            Local standard time less UTC, h; may be fractional.
        elevation : float or str
            Metres above sea level, or a text with its unit.
        label : {"start", "middle", "end"}
            Which part of its hour a time stamp marks. Half an hour wrong moves every façade's
            sun, so it is asked for, and checked against the sun.
        name, source : str, optional
            The station, and where its data came from.

        Returns
        -------
        Weather

        Raises
        ------
        WeatherError
            One sentence: row, column, what was found, what is accepted.

        Notes
        -----
        In typical years of the TMY kind irradiance is the mean of the hour before the stamp, but
        temperature, dew point, pressure and wind are readings at the stamp. They are used here as
        the hour's values; the air then runs half an hour ahead of the sun.

        Examples
        --------
        pvlib leaves a TMY3 file's pressure in millibar, which is refused here, so convert it::

            frame, meta = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
            frame["pressure"] *= 100
            Weather.from_frame(
                frame, latitude=meta["latitude"], longitude=meta["longitude"],
                utc_offset=meta["TZ"], elevation=meta["altitude"], label="end",
            )
        """
        if not isinstance(frame.index, pd.DatetimeIndex):
            raise WeatherError(
                "frame", "index", f"a {type(frame.index).__name__}", "a DatetimeIndex of hours"
            )
        stamps = frame.index

        def where(row: int) -> str:
            return f"frame row {stamps[row]}"

        return cls._checked(
            frame,
            "frame",
            where,
            latitude=latitude,
            longitude=longitude,
            utc_offset=utc_offset,
            elevation=elevation,
            label=label,
            name=name,
            source=source,
        )

    @classmethod
    def sample(cls, name: str) -> Weather:
        """Read one of the sample years that come with the package.

        Parameters
        ----------
        name : str
            ``"miami"``, ``"greensboro"`` or ``"sand_point"``.

        Returns
        -------
        Weather

        Raises
        ------
        WeatherError
            If there is no such sample; the sentence lists those that exist.
        """
        package = Path(__file__).resolve().parent
        # Inside the wheel the samples stand in the package, in a checkout beside it.
        for folder in (package / "weather_samples", package.parent / "weather_samples"):
            files = {path.stem: path for path in sorted(folder.glob("*.csv"))}
            if files:
                break
        if name not in files:
            raise WeatherError("weather samples", None, repr(name), " or ".join(files) or "none")
        return cls.read(files[name])

    @classmethod
    def _checked(
        cls,
        table: pd.DataFrame,
        origin: str,
        where: Callable[[int], str],
        *,
        latitude: float,
        longitude: float,
        utc_offset: float,
        elevation: float | str,
        label: str,
        name: str,
        source: str,
    ) -> Weather:
        """Check position, stamps, values and sun, in this order, and make the canonical frame."""
        latitude = _number(origin, "latitude", latitude, -90, 90, "degrees, north positive")
        longitude = _number(origin, "longitude", longitude, -180, 180, "degrees, east positive")
        utc_offset = _number(origin, "utc_offset", utc_offset, -12, 14, "h")
        elevation = _number(origin, "elevation", _metres(origin, elevation), -430, 6000, "m")
        if label not in BEFORE_LABEL:
            raise WeatherError(origin, "label", repr(label), "start, middle or end")

        starts = _starts(table, origin, where, utc_offset, label)
        columns = _values(table, origin, where)
        humidity = _humidity(columns, where)
        frame = pd.DataFrame(
            {**columns, **humidity}, index=pd.DatetimeIndex(starts, name="time"), dtype=float
        )[list(COLUMNS)]
        weather = cls(
            frame=frame,
            latitude=latitude,
            longitude=longitude,
            utc_offset=utc_offset,
            elevation=elevation,
            label=label,
            name=name,
            source=source,
        )
        _check_pressure_and_sun(weather, origin, where)
        return weather

    # ------------------------------------------------------------------ reading it

    @property
    def frame(self) -> pd.DataFrame:
        """The hours, one row each.

        The index ``time`` is the start of the hour in local standard time, without time zone,
        whatever the source's label was. Columns: ``temp_air``, ``temp_dew`` (degC),
        ``humidity_ratio`` (kg/kg dry air), ``pressure`` (Pa), ``wind_speed`` (m/s), ``ghi``,
        ``dni``, ``dhi`` (W/m2). A copy (on write): changing it does not change the weather.
        """
        return self._frame.copy(deep=False)

    @property
    def midpoints(self) -> pd.DatetimeIndex:
        """Middles of the hours, with the fixed offset from UTC: where to put the sun."""
        zone = timezone(timedelta(hours=self.utc_offset))
        return _index(self._frame).tz_localize(zone) + HOUR / 2

    @cached_property
    def checksum(self) -> str:
        """Sixteen hexadecimal digits (sha256) that tell this weather's numbers and position."""
        position = np.array([self.latitude, self.longitude, self.utc_offset, self.elevation])
        digest = hashlib.sha256(_frame_digest(self._frame))
        digest.update((position.round(6) + 0.0).astype("<f8").tobytes())
        return digest.hexdigest()[:16]

    def __len__(self) -> int:
        return len(self._frame)

    def __repr__(self) -> str:
        stamps = _index(self._frame)
        return (
            f"<Weather {self.name or 'unnamed'}: {len(self)} h, {stamps[0]:%Y-%m-%d %H:%M} to "
            f"{stamps[-1] + HOUR:%Y-%m-%d %H:%M} (UTC{self.utc_offset:+g} h), "
            f"{self.latitude:.2f}, {self.longitude:.2f}, {self.elevation:g} m, {self.checksum}>"
        )

    def between(self, start: str | None = None, end: str | None = None) -> slice:
        """Rows of a season, the end day included.

        Parameters
        ----------
        start, end : str, optional
            ``"MM-DD"`` or ``"YYYY-MM-DD"``; None is the first or last hour of the data. A season
            may run over New Year where the data do.

        Returns
        -------
        slice
            Of row numbers, for ``weather.frame.iloc``.

        Raises
        ------
        WeatherError
            If the data do not hold the season without a break, or hold several.
        """
        stamps = _index(self._frame)
        first, last = stamps[0], stamps[-1] + HOUR
        cover = f"data of {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}"
        years = range(first.year, stamps[-1].year + 1)
        starts = [first] if start is None else _dates("start", start, years, cover)
        # `ends` are the moments at which the season is over.
        ends = [last] if end is None else [d + DAY for d in _dates("end", end, years, cover)]
        if start is not None and end is not None:
            # A season runs from its start to the next end, and of several starts the last counts.
            next_end = {s: min((e for e in ends if e > s), default=None) for s in starts}
            last_start = {e: s for s, e in next_end.items() if e is not None}
            pairs = [(s, e) for e, s in last_start.items()]
        else:
            pairs = [(s, e) for s in starts for e in ends if s < e]
        # Hours that begin at half past leave part of the first day bare: that is no gap.
        held = [(s, e) for s, e in pairs if first < s + HOUR and last > e - HOUR]
        asked = f"{start or 'the first hour'} to {end or 'the last hour'}"
        if len(held) != 1:
            raise WeatherError(
                "season",
                None,
                f"{asked}, {'not held by' if not held else f'held {len(held)} times by'} {cover}",
                "a season that lies within the data without a break (MM-DD or YYYY-MM-DD)"
                if not held
                else "dates with their years (YYYY-MM-DD)",
            )
        begin, over = held[0]
        return slice(int(stamps.searchsorted(begin)), int(stamps.searchsorted(over)))

    def describe(self, units: Literal["si", "us"] = "si") -> pd.Series:
        """The climate in the trade's terms.

        Parameters
        ----------
        units : {"si", "us"}
            degC and g/kg, or degF and grains/lb.

        Returns
        -------
        pandas.Series
            Named after the station, and saying that it comes from this file alone.

        Notes
        -----
        * Percentages are of the hours present. For part of a year they are not annual.
        * Design conditions follow the annual cumulative frequency of ASHRAE Handbook,
          Fundamentals, ch. 14: the dew point exceeded in 0.4, 1 or 2 per cent of hours, the
          humidity ratio at that dew point, and the mean coincident dry bulb (MCDB), here the mean
          over hours whose dew point lies within 0.5 K of the design value. The humidity ratio
          is at the mean pressure of those hours, where ASHRAE takes the standard pressure of the
          elevation. ASHRAE's tables come from many years (often 25); these come from one file, and
          a typical year leaves out extremes on purpose: size nothing on them alone.
        * *Humid mild hours*: dew point above 15.6 degC (60 degF) while the dry bulb is above 12.8
          and below 25.6 degC (55 and 78 degF). The definition is ours: hours in which ventilation
          brings in moisture while the thermostat has little reason to cool.
        * A dew point of 18.3 degC (65 degF) is that of a room at 24 degC and 70 per cent RH.
        """
        if units not in ("si", "us"):
            raise WeatherError("describe", "units", repr(units), "'si' or 'us'")
        frame = self._frame
        dry, dew = frame["temp_air"], frame["temp_dew"]
        humid_mild = (dew > 15.6) & (dry < 25.6) & (dry > 12.8)
        degree, ratio = ("degF", "grains/lb") if units == "us" else ("degC", "g/kg")
        threshold = "65 degF" if units == "us" else "18.3 degC"

        def shown(celsius: float) -> float:
            return from_si(celsius, "degC", "degF") if units == "us" else celsius

        rows: dict[str, float] = {
            "hours": float(len(frame)),
            f"mean dry bulb [{degree}]": shown(float(dry.mean())),
            f"mean dew point [{degree}]": shown(float(dew.mean())),
            f"dew point above {threshold} [h]": float((dew > 18.3).sum()),
            "humid mild hours [h]": float(humid_mild.sum()),
        }
        for per_cent in (0.4, 1.0, 2.0):
            design = float(np.quantile(dew, 1 - per_cent / 100))
            coincident = frame[(dew - design).abs() <= 0.5]
            vapour = float(air.saturation_pressure(design))
            humidity_ratio = float(air.humidity_ratio(vapour, float(coincident["pressure"].mean())))
            head = f"dew point {per_cent:g} %"
            rows[f"{head} [{degree}]"] = shown(design)
            rows[f"{head} humidity ratio [{ratio}]"] = from_si(
                humidity_ratio, "fraction", "grain/pound" if units == "us" else "g/kg"
            )
            rows[f"{head} MCDB [{degree}]"] = shown(float(coincident["temp_air"].mean()))
        name = f"{self.name or 'weather'} (this one file, not a many-year record)"
        return pd.Series(rows, name=name)


# ---------------------------------------------------------------------- reading a file


def _read_header(file: str, lines: list[str]) -> dict[str, str]:
    header: dict[str, str] = {}
    for number, line in enumerate(lines, start=1):
        if not line.startswith("#"):
            break
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), value.strip()
        if not colon:
            continue  # a remark
        if key in header:
            raise WeatherError(f"{file} line {number}", key, "a second one", "each key once")
        header[key] = value
    for key in ("latitude", "longitude", "elevation", "utc_offset", "label"):
        if key not in header:
            raise WeatherError(file, key, "none", f"a line '# {key}: value' above the table")
    return header


def _header_number(file: str, header: dict[str, str], key: str) -> float:
    try:
        return float(header[key])
    except ValueError:
        raise WeatherError(file, key, repr(header[key]), "a number") from None


def _read_table(file: str, lines: list[str]) -> tuple[pd.DataFrame, int]:
    """The table as text, and the line number of its first row."""
    comments = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = lines[comments:]
    if not table:
        raise WeatherError(file, None, "no table", "a line of column names, then hourly rows")
    names = [name.strip() for name in table[0].split(",")]
    # pandas would fill a short row, and skip an empty one.
    for row, line in enumerate(table[1:]):
        if line.count(",") != len(names) - 1:
            fields = line.count(",") + 1 if line.strip() else 0
            raise WeatherError(
                f"{file} line {comments + 2 + row}",
                None,
                f"{fields} fields",
                f"{len(names)} fields, as in the line of column names",
            )
    if names.count("time") != 1:
        found = f"{names.count('time')} of them" if "time" in names else "none"
        raise WeatherError(file, "time", found, "one column 'time' of ISO time stamps")
    parsed = pd.read_csv(
        io.StringIO("\n".join(table)),
        dtype=str,
        keep_default_na=False,
        skipinitialspace=True,
        quoting=csv.QUOTE_NONE,
    )
    parsed.columns = pd.Index(names)  # as written: pandas renames a repeated name
    return parsed, comments + 2


def _read_times(file: str, text: pd.Series, first_line: int) -> pd.DatetimeIndex:
    accepted = "an ISO time such as 1990-07-01T14:00, either all or none with an offset from UTC"
    try:
        times = pd.to_datetime(text, format="ISO8601", errors="coerce")
    except ValueError:
        raise WeatherError(
            file, "time", "stamps with different offsets from UTC", accepted
        ) from None
    bad = np.flatnonzero(times.isna())
    if bad.size:
        row = int(bad[0])
        raise WeatherError(
            f"{file} line {first_line + row}", "time", repr(text.iloc[row]), accepted
        )
    return pd.DatetimeIndex(times)


# ---------------------------------------------------------------------- checks


def _number(origin: str, key: str, value: Any, low: float, high: float, unit: str) -> float:
    accepted = f"{low:g} to {high:g} {unit}"
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise WeatherError(origin, key, repr(value), accepted) from None
    if not low <= number <= high:
        raise WeatherError(origin, key, f"{number:g}", accepted)
    return number


def _metres(origin: str, elevation: float | str) -> float:
    try:
        return to_si(elevation, "m", "elevation")
    except InputError as error:
        raise WeatherError(origin, "elevation", repr(elevation), error.accepted) from None


def _index(frame: pd.DataFrame) -> pd.DatetimeIndex:
    index = frame.index
    assert isinstance(index, pd.DatetimeIndex)
    return index


def _starts(
    table: pd.DataFrame,
    origin: str,
    where: Callable[[int], str],
    utc_offset: float,
    label: str,
) -> pd.DatetimeIndex:
    """Starts of the hours in naive local standard time; refuse all but hour after hour."""
    stamps = _index(table)
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
                origin, None, f"rows {usual * 60:g} min apart", "hourly rows, 60 min apart"
            )
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


def _values(table: pd.DataFrame, origin: str, where: Callable[[int], str]) -> dict[str, _Floats]:
    """The input columns as floats, each value in its range."""
    names = list(table.columns)
    humidity = "temp_dew" if "temp_dew" in names else "relative_humidity"
    if humidity not in names:
        raise WeatherError(
            origin, "temp_dew", "none", "temp_dew in degC or relative_humidity in per cent"
        )
    columns: dict[str, _Floats] = {}
    for name in ("temp_air", humidity, "pressure", "wind_speed", "ghi", "dni", "dhi"):
        limits = _INPUTS[name]
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


def _humidity(columns: dict[str, _Floats], where: Callable[[int], str]) -> dict[str, _Floats]:
    """Dew point and humidity ratio, from whichever measure of humidity was given."""
    dry = columns["temp_air"]
    if "temp_dew" in columns:
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
        vapour = air.over(air.saturation_pressure, dew)
    else:
        vapour = air.over(air.saturation_pressure, dry) * columns.pop("relative_humidity") / 100
        dew = air.over(air.dew_point, vapour)
    ratio = air.over(air.humidity_ratio, vapour, columns["pressure"])
    return {"temp_dew": dew, "humidity_ratio": ratio}


def _check_pressure_and_sun(weather: Weather, origin: str, where: Callable[[int], str]) -> None:
    """Hold the columns against the place: air pressure to elevation, irradiance to the sun.

    The sun's place is from pvlib (imported here because it is slow to import). Global irradiance
    must be the sum of its parts, ghi = dhi + dni cos(zenith), at the middle of the hour; where
    the sum fits much better with the sun half an hour or an hour away, the stamps are wrong.
    """
    from pvlib.atmosphere import alt2pres
    from pvlib.solarposition import get_solarposition

    frame = weather.frame
    standard = float(alt2pres(weather.elevation))
    mean = float(frame["pressure"].mean())
    if abs(mean / standard - 1) > _PRESSURE_OFF:
        raise WeatherError(
            origin,
            "pressure",
            f"a mean of {mean:.0f} Pa at an elevation of {weather.elevation:g} m",
            f"within {_PRESSURE_OFF:.0%} of {standard:.0f} Pa, the standard atmosphere there "
            "(station pressure, not reduced to sea level; elevation in m, not ft)",
        )

    ghi, dni, dhi = (frame[name].to_numpy() for name in ("ghi", "dni", "dhi"))

    def elevation_of_sun(rows: NDArray[np.intp] | slice, minutes: int = 0) -> _Floats:
        when = weather.midpoints[rows] + pd.Timedelta(minutes=minutes)
        sun = get_solarposition(when, weather.latitude, weather.longitude)
        return np.asarray(sun["elevation"], dtype=float)

    sun = elevation_of_sun(slice(None))
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

    def closure(elevation: _Floats) -> float:
        sine = np.maximum(np.sin(np.radians(elevation)), 0.0)
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


# ---------------------------------------------------------------------- dates of a season


def _dates(which: str, text: str, years: Iterable[int], cover: str) -> list[pd.Timestamp]:
    """The days that 'MM-DD' (in each year of the data) or 'YYYY-MM-DD' can mean."""
    match = re.fullmatch(r"(?:(\d{4})-)?(\d{2})-(\d{2})", text) if isinstance(text, str) else None
    accepted = "MM-DD or YYYY-MM-DD, or None for all of the data"
    if match is None:
        raise WeatherError("season", which, repr(text), accepted)
    year, month, day = match.groups()
    days = []
    for candidate in [int(year)] if year else years:
        try:
            days.append(pd.Timestamp(candidate, int(month), int(day)))
        except ValueError:
            continue
    if not days:
        raise WeatherError("season", which, f"{text}, a day that is not in {cover}", accepted)
    return days
