"""Hourly weather at one place: the front door to reading it, checking it and describing its climate.

A `Weather` is an unbroken run of hourly rows at one place. Nothing in it is guessed, filled or
clipped: a gap, a wrong unit or a label that puts the sun in the wrong half hour is refused in one
sentence that names the row, what was found and what is accepted. What is done to a table of hours
stands in the modules named `weather_...`, one thing in each; those that a first result does not need
are imported by the methods that do.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from pathlib import Path
from typing import Literal

import attrs
import numpy as np
import pandas as pd

from moistsim.weather.checks import (
    WeatherError,
    check_pressure,
    checked_label,
    checked_place,
    checked_stamps,
)
from moistsim.weather.climate import KINDS, climate
from moistsim.weather.clock import HOUR, hours_of, middles_of
from moistsim.weather.deriving import renamed
from moistsim.weather.file import read_weather_file, sample_file, write_weather_file
from moistsim.weather.hours import hours_from
from moistsim.weather.seasons import rows_between, whole_years
from moistsim.weather.sun import SolarPosition, check_sun, solar_position


def _frame_digest(frame: pd.DataFrame) -> bytes:
    # The humidity ratio follows from the other columns, and its last bits from the machine that
    # computed it; so do a dew point's that was derived from relative humidity: hence the rounding.
    numbers = frame.drop(columns="humidity_ratio").to_numpy(dtype="<f8").round(6) + 0.0
    stamps = frame.index.to_numpy().astype("datetime64[s]").astype("<i8")
    return hashlib.sha256(stamps.tobytes() + numbers.tobytes()).digest()


# Its hash is a digest of all rows, and asked for by every run.
@attrs.frozen(kw_only=True, repr=False, cache_hash=True)
class Weather:
    """An unbroken run of hourly weather at one place.

    Make it with `Weather.read`, `Weather.from_frame`, `Weather.from_log`, `Weather.synthetic` or
    `Weather.sample`, which check every row; the constructor does not.

    Attributes
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    utc_offset : float
        Local standard time less UTC, h; may be fractional. No daylight saving.
    elevation : float
        Meters above sea level.
    label : {"start", "middle", "end"}
        What the time stamps meant in the source; `frame` is always stamped at the start.
    name, source : str
        The station, and where its data came from.
    kind : {"", "typical", "actual", "synthetic"}
        A year joined from typical months, hours that were measured, or a year made from normals.
    notes : tuple of str
        What was done to the source's rows: derived, averaged, shifted, moved in time.
    """

    _frame: pd.DataFrame = attrs.field(eq=_frame_digest)
    latitude: float
    longitude: float
    utc_offset: float
    elevation: float
    label: str = attrs.field(eq=False)
    name: str = ""
    source: str = ""
    kind: str = attrs.field(default="", eq=False)
    notes: tuple[str, ...] = attrs.field(default=(), eq=False)

    # ------------------------------------------------------------------ making one

    @classmethod
    def read(cls, path: str | Path) -> Weather:
        """Read a weather file: EPW, TMY3, or the format that `write` makes.

        The first lines of the file tell its format; its name does not matter. Position, offset from
        UTC, elevation and label come from the file, so nothing else has to be given.

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
            One sentence with the file, the line, the column, the value found and the values
            accepted.

        Notes
        -----
        *EPW and TMY3* are read by pvlib. Used are dry bulb, dew point, station pressure, wind speed
        and the three columns of the sun (``ghi``, ``dni``, ``dhi``); all other fields are ignored.
        The humidity ratio follows from dew point and pressure. Rows are labeled by the end of their
        hour, in local standard time; daylight saving in an EPW header is not applied. Months of
        several years are stamped 1990, which has no leap day, and ``notes`` lists their years. An
        EPW file of one real year keeps its dates and its leap day. A missing value is refused, never
        filled.

        *Our own format* is plain text: header lines ``# key: value``, then a comma-separated table.
        Required keys are ``latitude``, ``longitude`` (degrees), ``elevation`` (m), ``utc_offset``
        (h) and ``label`` (start, middle or end). Optional keys are ``station``, ``source``, ``kind``
        (typical, actual or synthetic) and any that begin with ``note``. The table has the column
        ``time`` (ISO, local standard time) and those of `from_frame`.

        Examples
        --------
        A TMY3 file that comes with pvlib:

        >>> import pvlib
        >>> file = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
        >>> weather = Weather.read(file)
        >>> weather.name, weather.elevation, len(weather)
        ('GREENSBORO PIEDMONT TRIAD INT NC 723170', 273.0, 8760)
        """
        path = Path(path)
        table, where, fields = read_weather_file(path)
        return cls._checked(table, path.name, where, **fields)

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
        kind: str = "",
        derive: Iterable[str] = (),
    ) -> Weather:
        """Take hourly weather from a frame whose columns carry pvlib's names.

        Parameters
        ----------
        frame : pandas.DataFrame
            Columns ``temp_air`` (degC), ``temp_dew`` (degC) or ``relative_humidity`` (percent),
            ``pressure`` (Pa, at the station), ``wind_speed`` (m/s), ``ghi``, ``dni``, ``dhi``
            (W/m2, means of the hour); others are ignored. With both measures of humidity
            ``temp_dew`` is used. A dew point below 0 degC is taken as ASHRAE tables it, over ice;
            a relative humidity is of the saturation pressure that `moistsim.air` gives.
            The index gives one time stamp an hour: time-zone aware (converted to local standard
            time) or naive (taken as local standard time, without daylight saving).
            ``atmospheric_pressure``, the name that `pvlib.iotools.read_epw` gives, serves as
            ``pressure``.
        latitude, longitude : float
            Degrees, north and east positive.
        utc_offset : float
            Local standard time less UTC, h; may be fractional.
        elevation : float or str
            Meters above sea level, or a text with its unit.
        label : {"start", "middle", "end"}
            Which part of its hour a time stamp marks. Half an hour wrong moves every façade's
            sun, so it is asked for, and checked against the sun.
        name, source : str, optional
            The station, and where its data came from.
        kind : {"", "typical", "actual", "synthetic"}
            What the hours are; `describe` says so.
        derive : iterable of {"pressure", "ghi", "dni", "dhi"}
            Columns that the frame lacks and that shall be derived, which ``notes`` then records.
            Nothing is derived that is not asked for, but the dew point from relative humidity.
            ``pressure`` is that of the standard atmosphere at the elevation; one of the sun's three
            columns follows from the other two; ``dni`` and ``dhi`` together follow from ``ghi`` by
            Erbs's correlation (Erbs, Klein & Duffie 1982, as in pvlib).

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
                utc_offset=meta["TZ"], elevation=meta["altitude"], label="end", kind="typical",
            )

        An EPW file, whose rows `pvlib.iotools.read_epw` stamps at the start of their hour::

            frame, meta = pvlib.iotools.read_epw(path, coerce_year=1990)
            Weather.from_frame(
                frame, latitude=meta["latitude"], longitude=meta["longitude"],
                utc_offset=meta["TZ"], elevation=meta["altitude"], label="start", kind="typical",
            )
        """
        stamps = checked_stamps(frame)

        def where(row: int) -> str:
            return f"frame row {stamps[row]}"

        return cls._checked(
            renamed(frame),
            "frame",
            where,
            latitude=latitude,
            longitude=longitude,
            utc_offset=utc_offset,
            elevation=elevation,
            label=label,
            name=name,
            source=source,
            kind=kind,
            derive=derive,
        )

    @classmethod
    def from_log(
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
        derive: Iterable[str] = (),
    ) -> Weather:
        """Average a log of several rows an hour; ``notes`` says what was done.

        Parameters
        ----------
        frame : pandas.DataFrame
            As for `from_frame`, but with rows evenly 1 to 30 min apart. A logged row that is
            missing, or empty, is refused and named: it is for its owner to say what stood there.
        latitude, longitude, utc_offset, elevation, name, source, derive
            As for `from_frame`.
        label : {"start", "middle", "end"}
            Which part of its own interval a row's stamp marks; most loggers: the end.

        Returns
        -------
        Weather
            Of kind "actual". Hours are local clock hours; rows before the first and after the
            last whole hour are left out, and counted in ``notes``.

        Raises
        ------
        WeatherError
            One sentence: row, column, what was found, what is accepted.

        Notes
        -----
        Dry bulb, pressure, wind speed and sun are arithmetic means. Humidity is the mean of the
        vapor pressures, of which the dew point is taken, so that no moisture is made or lost; a
        mean of dew points or of relative humidities would not do.
        """
        from moistsim.weather.resampling import hourly_means

        hours, note = hourly_means(frame, utc_offset, label)
        made = cls.from_frame(
            hours,
            latitude=latitude,
            longitude=longitude,
            utc_offset=utc_offset,
            elevation=elevation,
            label="start",
            name=name,
            source=source,
            kind="actual",
            derive=derive,
        )
        return attrs.evolve(made, notes=(note, *made.notes))

    @classmethod
    def synthetic(
        cls,
        normals: pd.DataFrame,
        *,
        latitude: float,
        longitude: float,
        utc_offset: float,
        elevation: float | str,
        seed: int,
        name: str = "",
    ) -> Weather:
        """Make an hourly year from twelve monthly normals, for a place that has no file.

        Parameters
        ----------
        normals : pandas.DataFrame
            Twelve rows, January first, indexed 1 to 12 or 0 to 11. Columns: ``temp_air`` (mean dry
            bulb, degC), ``daily_range`` (mean of each day's highest hour less its lowest, K),
            ``temp_dew`` (mean dew point, degC), ``wind_speed`` (mean, m/s) and ``clearness`` (the
            month's global horizontal irradiation over that above the air, 0 to 1).
            `Weather.normals` gives such a table.
        latitude, longitude, utc_offset, elevation
            As for `from_frame`.
        seed : int
            The same seed gives the same year; several show how much hangs on the draw.
        name : str
            The place; "(synthetic)" is added.

        Returns
        -------
        Weather
            8760 hours of kind "synthetic".

        Raises
        ------
        WeatherError
            One sentence: month, column, what was found, what is accepted.

        Notes
        -----
        The normals come back within rounding (the daily range within 1 percent). How days
        vary about them is not in the normals: it is taken from nine typical years of the eastern
        and southern United States, and is an assumption elsewhere. From Miami's and Greensboro's
        own normals the mean of three seeds has the real year's humid mild hours within 8 percent;
        humid mild spells are a quarter longer in Greensboro; and what reheat uses beyond a
        dehumidifier comes out 13 percent too low in Miami and 16 in Greensboro, for single seeds
        11 to 17 (`tests/sources/test_synthetic_year.py` prints it). Pressure is that of the
        standard atmosphere, the dew point has no course of its own through the day, and heat waves
        and cold snaps are no more extreme than a skewed normal law makes them: size nothing on a
        synthetic year.
        """
        from moistsim.weather.synthetic import synthetic_hours

        return cls.from_frame(
            synthetic_hours(normals, latitude, longitude, utc_offset, elevation, seed),
            latitude=latitude,
            longitude=longitude,
            utc_offset=utc_offset,
            elevation=elevation,
            label="start",
            name=f"{name or 'unnamed'} (synthetic)",
            source=f"synthetic, made by moistsim from twelve monthly normals with seed {seed}",
            kind="synthetic",
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
        return cls.read(sample_file(name))

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
        kind: str = "",
        notes: tuple[str, ...] = (),
        derive: Iterable[str] = (),
    ) -> Weather:
        """Check position, stamps, values and sun, in this order, and make the canonical frame."""
        place = checked_place(origin, latitude, longitude, utc_offset, elevation)
        checked_label(origin, label)
        if kind not in KINDS:
            raise WeatherError(origin, "kind", kind, "typical, actual or synthetic, or none")
        frame, told = hours_from(table, origin, where, place, label, derive)
        weather = cls(
            frame=frame,
            latitude=place.latitude,
            longitude=place.longitude,
            utc_offset=place.utc_offset,
            elevation=place.elevation,
            label=label,
            name=name,
            source=source,
            kind=kind,
            notes=(*notes, *told),
        )
        check_pressure(frame, place.elevation, origin)
        height = weather.solar_position.elevation
        check_sun(frame, weather.midpoints, place, height, origin, where)
        return weather

    # ------------------------------------------------------------------ reading it

    @property
    def frame(self) -> pd.DataFrame:
        """The hours, one row each.

        The index ``time`` is the start of the hour in local standard time, without time zone,
        whatever the source's label was. Columns: ``temp_air``, ``temp_dew`` (degC),
        ``humidity_ratio`` (kg/kg dry air), ``pressure`` (Pa), ``wind_speed`` (m/s), ``ghi``,
        ``dni``, ``dhi`` (W/m2). A copy: changing it does not change the weather.
        """
        return self._frame.copy()

    @property
    def midpoints(self) -> pd.DatetimeIndex:
        """Middles of the hours, with the fixed offset from UTC: where to put the sun."""
        return middles_of(hours_of(self._frame), self.utc_offset)

    @cached_property
    def solar_position(self) -> SolarPosition:
        """The sun at the `midpoints`, by pvlib. Kept, since it takes longer than to read the file."""
        return solar_position(self.midpoints, self.latitude, self.longitude, self.elevation)

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
        stamps = hours_of(self._frame)
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
        return rows_between(hours_of(self._frame), start, end)

    def years(self) -> dict[int, Weather]:
        """The whole calendar years of a record of several, each a weather of its own.

        One year hides how much years differ: run a study over them with `Study.over`. Hours
        outside a whole year are left out, which ``notes`` says.

        Returns
        -------
        dict of int to Weather
            By year, in local standard time.

        Raises
        ------
        WeatherError
            If the data hold no whole calendar year.
        """
        whole = whole_years(hours_of(self._frame))
        left = len(self) - sum(int(rows.sum()) for rows in whole.values())
        told = (f"{left} h of the record lie in no whole calendar year, and are left out",)
        return {
            year: attrs.evolve(
                self,
                frame=self._frame[rows],
                name=f"{self.name} {year}".strip(),
                notes=self.notes + (told if left else ()),
            )
            for year, rows in whole.items()
        }

    def normals(self) -> pd.DataFrame:
        """Twelve monthly normals, as `Weather.synthetic` takes them.

        Returns
        -------
        pandas.DataFrame
            By month, 1 to 12: ``temp_air`` (degC), ``daily_range`` (K), ``temp_dew`` (degC),
            ``wind_speed`` (m/s), ``clearness`` (global horizontal irradiation over that above the
            air, of the month's sums; the sun's place at the middle of each hour, from pvlib).

        Raises
        ------
        WeatherError
            If a month is missing.
        """
        from moistsim.weather.normals import normals_of

        return normals_of(self._frame, self.midpoints, self.latitude, self.longitude)

    def shifted(
        self,
        *,
        temp_air: float | str | Sequence[float | str] = 0.0,
        temp_dew: float | str | Sequence[float | str] = 0.0,
    ) -> Weather:
        """The same weather in a warmer or cooler, more or less humid climate.

        Parameters
        ----------
        temp_air, temp_dew : float, str, or twelve of them
            Added to dry bulb and dew point, K or a text with its unit, for the year or for each
            month, January first.

        Returns
        -------
        Weather
            Its dew point is nowhere above its dry bulb; ``notes`` says how many hours were held
            there. Sun, wind and pressure are unchanged, and months meet in a step.

        Raises
        ------
        WeatherError
            One sentence: argument, what was found, what is accepted.
        """
        from moistsim.weather.shifting import shifted_months

        frame, note = shifted_months(self._frame, temp_air, temp_dew)
        made = Weather.from_frame(
            frame,
            latitude=self.latitude,
            longitude=self.longitude,
            utc_offset=self.utc_offset,
            elevation=self.elevation,
            label="start",
            name=f"{self.name or 'unnamed'} (shifted)",
            source=self.source,
            kind=self.kind,
        )
        return attrs.evolve(made, label=self.label, notes=(*self.notes, note))

    def write(self, path: str | Path) -> None:
        """Write a file that `read` reads back bit for bit.

        Parameters
        ----------
        path : str or Path
            The file; one that is there is overwritten.
        """
        write_weather_file(Path(path), self._frame, attrs.asdict(self, recurse=False))

    def describe(self, units: Literal["si", "us"] = "si") -> pd.Series:
        """The climate in the trade's terms.

        Parameters
        ----------
        units : {"si", "us"}
            degC and g/kg, or degF and grains/lb.

        Returns
        -------
        pandas.Series
            Named after the station, and saying of what its design dew points are: of one typical
            year, of a synthetic one, of these hours alone, never of a many-year record.

        Notes
        -----
        * Percentages are of the hours present. For part of a year they are not annual.
        * Design conditions follow the annual cumulative frequency of ASHRAE Handbook,
          Fundamentals, ch. 14: the dew point exceeded in 0.4, 1 or 2 percent of hours, the
          humidity ratio at that dew point, and the mean coincident dry bulb (MCDB), here the mean
          over hours whose dew point lies within 0.5 K of the design value. The humidity ratio
          is at the mean pressure of those hours, where ASHRAE takes the standard pressure of the
          elevation. ASHRAE's tables come from many years (often 25); these come from one file, and
          a typical year leaves out extremes on purpose: size nothing on them alone.
        * *Humid mild hours*: dew point above 15.6 degC (60 degF) while the dry bulb is above 12.8
          and below 25.6 degC (55 and 78 degF). The definition is ours: hours in which ventilation
          brings in moisture while the thermostat has little reason to cool.
        * A dew point of 18.3 degC (65 degF) is that of a room at 24 degC and 70 percent RH.
        """
        rows = climate(self._frame, units)
        name = f"{self.name or 'weather'} ({KINDS[self.kind]})"
        return pd.Series(rows, name=name)
