"""Hourly weather at one place: reading, checks and a description of the climate.

A `Weather` is an unbroken run of hourly rows at one place. Nothing in it is guessed, filled or
clipped. Gaps, wrong units, and labels that put the sun in the wrong half hour are refused. The
sentence has the row, the problem and the fix. Methods import the modules that a first result does
not need.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from datetime import timezone
from functools import cached_property
from pathlib import Path

import attrs
import numpy as np
import pandas as pd

from moistsim.core.display import Show, Units, units_or_default
from moistsim.core.summary import Summarized, Summary
from moistsim.weather.checks import (
    WeatherError,
    check_pressure,
    checked_label,
    checked_place,
    checked_stamps,
)
from moistsim.weather.climate import KINDS, climate
from moistsim.weather.clock import HOUR, hours_of, middles_of, zone_of
from moistsim.weather.deriving import renamed
from moistsim.weather.file import read_weather_file, sample_file, write_weather_file
from moistsim.weather.hours import hours_from
from moistsim.weather.plausible import check_plausible
from moistsim.weather.seasons import rows_between, whole_years
from moistsim.weather.summarizing import weather_summary
from moistsim.weather.sun import SolarPosition, above_air, check_sun, solar_position


def _frame_digest(frame: pd.DataFrame) -> bytes:
    # The humidity ratio follows from the other columns, so it is excluded. The last bits of a dew
    # point derived from relative humidity depend on the computer, so all numbers are rounded.
    numbers = frame.drop(columns="humidity_ratio").to_numpy(dtype="<f8").round(6) + 0.0
    stamps = frame.index.to_numpy().astype("datetime64[s]").astype("<i8")
    return hashlib.sha256(stamps.tobytes() + numbers.tobytes()).digest()


# The hash is a digest of all rows, and each run needs it.
@attrs.frozen(kw_only=True, repr=False, cache_hash=True)
class Weather(Summarized):
    """An unbroken run of hourly weather at one place.

    Make it with `Weather.read`, `Weather.from_frame`, `Weather.from_log`, `Weather.synthetic` or
    `Weather.sample`. They check each row; the constructor does not.

    Attributes
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    utc_offset : float
        Local standard time less UTC, h; may be fractional. No daylight saving.
    elevation : float
        Meters above sea level.
    label : {"start", "middle", "end"}
        Meaning of the time stamps in the source. `frame` always has stamps at the start of the hour.
    name, source : str
        The station, and the source of its data.
    kind : {"", "typical", "actual", "synthetic"}
        A year joined from typical months, measured hours, or a year made from normals.
    notes : tuple of str
        Changes to the source's rows: derived, averaged, shifted, or moved in time.

    Examples
    --------
    >>> weather = Weather.sample("greensboro")
    >>> weather.name, len(weather), weather.label
    ('Greensboro NC 723170', 8760, 'end')
    >>> round(float(weather.describe("us")["dew point 1 % [degF]"]), 1)
    73.0
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
            One sentence with the file, the line, the column, the problem and the fix.

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
        """Make weather from an hourly table whose columns have pvlib's names.

        Parameters
        ----------
        frame : pandas.DataFrame
            Columns ``temp_air`` (degC), ``temp_dew`` (degC) or ``relative_humidity`` (percent),
            ``pressure`` (Pa, at the station), ``wind_speed`` (m/s), ``ghi``, ``dni``, ``dhi``
            (W/m2, means of the hour). Other columns are ignored. ``temp_dew`` is used if both
            measures of humidity are there. A dew point below 0 degC is over ice, as in ASHRAE's
            tables. Relative humidity refers to the saturation pressure of `moistsim.air`.
            ``atmospheric_pressure``, the name from `pvlib.iotools.read_epw`, works as ``pressure``.
            The index has one time stamp an hour. Stamps with a time zone are converted to local
            standard time; naive stamps are local standard time, without daylight saving.
        latitude, longitude : float
            Degrees, north and east positive.
        utc_offset : float
            Local standard time less UTC, h; may be fractional.
        elevation : float or str
            Meters above sea level, or a text with its unit.
        label : {"start", "middle", "end"}
            Part of its hour that a time stamp marks. Half an hour wrong moves the sun on each
            wall, so the label is required, and checked against the sun.
        name, source : str, optional
            The station, and the source of its data.
        kind : {"", "typical", "actual", "synthetic"}
            Kind of the hours, which `describe` shows. Hours of kind synthetic may be such as no place
            has: a constant temperature, a weak sun or a storm of weeks, as for a test bench.
        derive : iterable of {"pressure", "ghi", "dni", "dhi"}
            Missing columns to derive; ``notes`` records them. No other column is derived, apart
            from the dew point. ``pressure`` is that of the standard atmosphere at the elevation.
            One of the three columns of the sun follows from the other two. ``dni`` and ``dhi``
            together follow from ``ghi`` by Erbs's correlation (Erbs, Klein & Duffie 1982, as in
            pvlib).

        Returns
        -------
        Weather

        Raises
        ------
        WeatherError
            One sentence with the row, the column, the problem and the fix.

        Notes
        -----
        In typical years of the TMY kind, irradiance is the mean of the hour before the stamp.
        Temperature, dew point, pressure and wind are readings at the stamp. Here they are the values
        of that hour, so the air runs half an hour ahead of the sun.

        `read` takes EPW and TMY3 files directly.

        Examples
        --------
        >>> table = Weather.sample("miami").frame.iloc[:48]
        >>> weather = Weather.from_frame(
        ...     table, latitude=25.8, longitude=-80.27, utc_offset=-5, elevation="7 ft",
        ...     label="start", name="Miami", kind="typical",
        ... )  # fmt: skip
        >>> len(weather), round(weather.elevation, 1)
        (48, 2.1)
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
        """Average a log of several rows an hour to hourly weather; ``notes`` records the changes.

        Parameters
        ----------
        frame : pandas.DataFrame
            As for `from_frame`, but with rows at equal intervals of 1 to 30 min. A missing or empty
            row is refused and named, never filled.
        latitude, longitude, utc_offset, elevation, name, source, derive
            As for `from_frame`.
        label : {"start", "middle", "end"}
            Part of its interval that a row's stamp marks; for most loggers the end.

        Returns
        -------
        Weather
            Weather of kind "actual" in local clock hours. Rows before the first and after the last
            whole hour are not used; ``notes`` counts them.

        Raises
        ------
        WeatherError
            One sentence with the row, the column, the problem and the fix.

        Notes
        -----
        Dry bulb, pressure, wind speed and sun are arithmetic means. The dew point follows from the
        mean vapor pressure, so moisture is conserved. A mean of dew points or of relative
        humidities would not conserve it.

        Examples
        --------
        >>> hours = Weather.sample("miami").frame.iloc[:72].resample("30min").ffill()
        >>> weather = Weather.from_log(
        ...     hours, latitude=25.8, longitude=-80.27, utc_offset=-5, elevation=2, label="start",
        ... )  # fmt: skip
        >>> weather.kind, len(weather)
        ('actual', 71)
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
            bulb, degC), ``daily_range`` (mean of each day's highest less lowest hour, K),
            ``temp_dew`` (mean dew point, degC), ``wind_speed`` (mean, m/s) and ``clearness`` (the
            month's global horizontal irradiation over that above the air, 0 to 1).
            `Weather.normals` gives such a table.
        latitude, longitude, utc_offset, elevation
            As for `from_frame`.
        seed : int
            Seed of the random draw. Equal seeds give equal years; several show the spread.
        name : str
            The place; "(synthetic)" is added.

        Returns
        -------
        Weather
            8760 hours of kind "synthetic".

        Raises
        ------
        WeatherError
            One sentence with the month, the column, the problem and the fix.

        Notes
        -----
        The year has the given normals within rounding (the daily range within 1 percent). The
        variation of days comes from nine typical years of the eastern and southern United States;
        elsewhere it is an assumption. Tests with the normals of Miami and Greensboro and three
        seeds: humid mild hours are within 8 percent of the real year. Humid mild spells are a
        quarter longer in Greensboro. The additional use of reheat, compared with a dehumidifier, is
        13 percent too low in Miami and 16 percent in Greensboro
        (`tests/sources/test_synthetic_year.py` prints it). Pressure is that of the standard
        atmosphere. The dew point has no daily cycle of its own. Heat waves and cold snaps follow a
        skewed normal distribution, so do not size machines on a synthetic year.

        Examples
        --------
        >>> normals = Weather.sample("greensboro").normals()
        >>> year = Weather.synthetic(
        ...     normals, latitude=36.1, longitude=-79.95, utc_offset=-5, elevation=273, seed=1
        ... )
        >>> len(year), year.kind
        (8760, 'synthetic')
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
        """Read a sample year that comes with the package.

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
            If the sample is unknown. The sentence lists the samples.

        Examples
        --------
        >>> Weather.sample("sand_point").elevation
        7.0
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
        if kind != "synthetic":
            check_plausible(frame, height, above_air(weather.midpoints, height), origin, where)
        return weather

    # ------------------------------------------------------------------ reading it

    @property
    def frame(self) -> pd.DataFrame:
        """The hours, one row each.

        The index ``time`` is the start of the hour in local standard time, without time zone, for
        any label of the source. Columns: ``temp_air``, ``temp_dew`` (degC),
        ``humidity_ratio`` (kg/kg dry air), ``pressure`` (Pa), ``wind_speed`` (m/s), ``ghi``,
        ``dni``, ``dhi`` (W/m2). It is a copy, so changes do not reach the weather.
        """
        return self._frame.copy()

    @property
    def hours(self) -> pd.DatetimeIndex:
        """Starts of the hours in local standard time, without time zone."""
        return hours_of(self._frame)

    @property
    def midpoints(self) -> pd.DatetimeIndex:
        """Middles of the hours, with the fixed offset from UTC, for the sun's position."""
        return middles_of(hours_of(self._frame), self.utc_offset)

    @cached_property
    def solar_position(self) -> SolarPosition:
        """Position of the sun at the `midpoints`, by pvlib; calculated once."""
        return solar_position(self.midpoints, self.latitude, self.longitude, self.elevation)

    @cached_property
    def checksum(self) -> str:
        """Checksum of this weather's numbers and position: sixteen hexadecimal digits of sha256."""
        position = np.array([self.latitude, self.longitude, self.utc_offset, self.elevation])
        digest = hashlib.sha256(_frame_digest(self._frame))
        digest.update((position.round(6) + 0.0).astype("<f8").tobytes())
        return digest.hexdigest()[:16]

    @property
    def time_zone(self) -> timezone:
        """Local standard time, in which all stamps are: a fixed offset without daylight saving."""
        return zone_of(self.utc_offset)

    def __len__(self) -> int:
        return len(self._frame)

    def summary(self, show: Show) -> Summary:
        """Place, period and climate, as a notebook shows them."""
        return weather_summary(self, show)

    def __repr__(self) -> str:
        stamps = hours_of(self._frame)
        return (
            f"<Weather {self.name or 'unnamed'}: {len(self)} h, {stamps[0]:%Y-%m-%d %H:%M} to "
            f"{stamps[-1] + HOUR:%Y-%m-%d %H:%M} (UTC{self.utc_offset:+g} h), "
            f"{self.latitude:.2f}, {self.longitude:.2f}, {self.elevation:g} m, {self.checksum}>"
        )

    def between(self, start: str | None = None, end: str | None = None) -> slice:
        """Return the rows of a season, end day included.

        Parameters
        ----------
        start, end : str, optional
            ``"MM-DD"`` or ``"YYYY-MM-DD"``; None means the first or last hour of the data. A season
            may span New Year if the data do.

        Returns
        -------
        slice
            Row numbers for ``weather.frame.iloc``.

        Raises
        ------
        WeatherError
            If the data do not hold the season without a break, or hold it several times.
        """
        return rows_between(hours_of(self._frame), start, end)

    def years(self) -> dict[int, Weather]:
        """Return the whole calendar years of a record, each as a weather.

        Use them with `Study.over` to see how much years differ. Hours outside a whole year are not
        used; ``notes`` counts them.

        Returns
        -------
        dict of int to Weather
            Weather by calendar year, in local standard time.

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
        """Return twelve monthly normals, as for `Weather.synthetic`.

        Returns
        -------
        pandas.DataFrame
            Normals by month, 1 to 12: ``temp_air`` (degC), ``daily_range`` (K), ``temp_dew`` (degC),
            ``wind_speed`` (m/s), and ``clearness`` (the month's global horizontal irradiation over
            extraterrestrial irradiation, with the sun at mid-hour by pvlib).

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
        """Return the weather shifted to a warmer, cooler, drier or more humid climate.

        Parameters
        ----------
        temp_air, temp_dew : float, str, or twelve of them
            Shift of dry bulb and dew point, K or a text with its unit, for the year or for each
            month, January first.

        Returns
        -------
        Weather
            The dew point never exceeds the dry bulb; ``notes`` counts the hours at this limit. Sun,
            wind and pressure do not change. Shifts change in a step between months.

        Raises
        ------
        WeatherError
            One sentence with the argument, the problem and the fix.

        Examples
        --------
        >>> warmer = Weather.sample("miami").shifted(temp_air="3 delta_degF", temp_dew=2.0)
        >>> warmer.name
        'Miami FL 12839 (shifted)'
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
        """Write a weather file that `read` reads back bit for bit.

        Parameters
        ----------
        path : str or Path
            The file; an existing file is overwritten.
        """
        write_weather_file(Path(path), self._frame, attrs.asdict(self, recurse=False))

    def describe(self, units: Units | None = None) -> pd.Series:
        """Describe the climate in the trade's terms.

        Parameters
        ----------
        units : {"us", "si"}, optional
            degC and g/kg, or degF and grains/lb.

        Returns
        -------
        pandas.Series
            Climate of these hours. Its name has the station and the kind of data behind the design
            dew points, which is never a many-year record.

        Notes
        -----
        * Percentages refer to the hours present. For part of a year they are not annual.
        * Design conditions follow the annual cumulative frequency of ASHRAE Handbook,
          Fundamentals, ch. 14. They are the dew point exceeded in 0.4, 1 or 2 percent of hours, its
          humidity ratio, and the mean coincident dry bulb (MCDB). MCDB is the mean over hours whose
          dew point lies within 0.5 K of the design value. The humidity ratio is at the mean pressure of those hours, where ASHRAE takes the standard pressure of the
          elevation. ASHRAE's tables come from many years (often 25), and these from one file. A
          typical year omits extremes on purpose, so do not size machines on these values alone.
        * *Humid mild hours*: dew point above 15.6 °C (60 °F) while the dry bulb is above 12.8
          and below 25.6 degC (55 and 78 degF). The definition is ours: in these hours ventilation
          brings in moisture, but the thermostat hardly calls for cooling.
        * A room at 24 degC and 70 percent RH has a dew point of 18.3 °C (65 °F).
        """
        rows = climate(self._frame, units_or_default(units, "describe units"))
        name = f"{self.name or 'weather'} ({KINDS[self.kind]})"
        return pd.Series(rows, name=name)
