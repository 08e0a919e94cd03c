"""The log of a measured house: what its loggers wrote, in SI and in equal steps."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from pathlib import Path

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import number
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import to_si
from moistsim.loggers.catalog import kind_of, part_of
from moistsim.loggers.findings import LogReview
from moistsim.loggers.gaps import filled, refuse_gaps
from moistsim.loggers.outdoors import weather_of
from moistsim.loggers.reading import TIME, columns_of, powers_of, read_table
from moistsim.loggers.stamps import in_standard_time, on_grid, read_stamps
from moistsim.weather import Weather


@attrs.frozen(kw_only=True, repr=False, eq=False)
class HouseLog:
    """The log of a measured house, in SI and in equal steps of local standard time.

    Make it with `HouseLog.read`, which checks each column.

    Attributes
    ----------
    frame : DataFrame
        The rows; the index ``time`` is the start of each interval in local standard time. Columns
        have the names given to `read`: temperature and dew point in degC, RH in percent, pressure in
        Pa, wind in m/s, sun in W/m2, power in W, condensate in kg and energy in Wh of the interval.
        NaN where nothing was logged.
    step : float
        Length of an interval, s.
    latitude, longitude : float
        Degrees, north and east positive.
    utc_offset : float
        Local standard time less UTC, h.
    elevation : float
        Meters above sea level.
    rooms : tuple of str
        Rooms whose mean is the house.
    notes : tuple of str
        All that was done to the file's rows.

    Examples
    --------
    >>> import numpy as np, pandas as pd
    >>> times = pd.date_range("2025-06-01", periods=288, freq="10min")
    >>> rows = pd.DataFrame({"t": times, "hall F": 75.0, "hall RH": np.linspace(50, 58, 288)})
    >>> log = HouseLog.read(
    ...     rows,
    ...     {"time": "t", "indoor_temperature.hall": "hall F", "indoor_rh.hall": "hall RH"},
    ...     units={"indoor_temperature": "degF", "indoor_rh": "%"},
    ...     latitude=30.0, longitude=-90.1, utc_offset=-6, elevation="10 ft", label="start",
    ... )  # fmt: skip
    >>> log
    <HouseLog: 288 rows of 10 min, 2025-06-01 00:00 to 2025-06-03 00:00, rooms hall>
    >>> round(1000 * float(log.indoor_humidity_ratio.iloc[0]), 2)
    9.24
    """

    frame: pd.DataFrame
    step: float
    latitude: float
    longitude: float
    utc_offset: float
    elevation: float
    rooms: tuple[str, ...]
    name: str = ""
    notes: tuple[str, ...] = ()
    not_in_file: pd.DatetimeIndex = attrs.field(factory=lambda: pd.DatetimeIndex([]))
    """Intervals for which the file had no row."""

    @classmethod
    def read(
        cls,
        source: str | Path | pd.DataFrame,
        columns: Mapping[str, str],
        *,
        units: Mapping[str, str],
        latitude: float,
        longitude: float,
        elevation: float | str,
        label: str,
        timezone: str | None = None,
        utc_offset: float | None = None,
        gaps: float | str = "1 h",
        rooms: Sequence[str] | None = None,
        wind_speed: float | str | None = None,
        volts: Mapping[str, float | str] | None = None,
        power_factor: Mapping[str, float | str] | None = None,
        missing: Collection[float] = (),
        time_format: str | None = None,
        name: str = "",
    ) -> HouseLog:
        """Read a log from a CSV file or a table; each column and its unit are stated.

        Parameters
        ----------
        source : str, Path or DataFrame
            A CSV file with one line of column names (it may be gzipped), or a table.
        columns : dict
            Our name of a column: the file's name. ``time`` is the column of time stamps. Others are
            ``indoor_temperature.ROOM``, ``indoor_rh.ROOM`` or ``indoor_dew_point.ROOM``;
            ``outdoor_temperature``, ``outdoor_rh`` or ``outdoor_dew_point``, ``pressure`` (at the
            station), ``wind_speed``, ``ghi``, ``dni``, ``dhi``, ``cloud_cover``, ``visibility``;
            ``power.MACHINE`` or ``current.MACHINE``; ``condensate``, ``vapor_added`` (by a humidifier that is weighed or of
            known output) and ``energy``, amounts in each
            interval. A second outdoor sensor is ``outdoor_temperature.NAME``; only `review` uses it.
        units : dict
            Unit of each column, by our name with or without its part after the dot:
            ``{"indoor_temperature": "degF", "indoor_rh": "%"}``.
        latitude, longitude : float
            Degrees, north and east positive.
        elevation : float or str
            Meters above sea level, or a text with its unit.
        label : {"start", "middle", "end"}
            Part of its interval that a row's stamp marks; for most loggers the end.
        timezone : str, optional
            Name of the zone, such as "America/Chicago", if the stamps are civil time. Daylight saving
            is taken out. The hour that occurs twice is resolved by the order of the rows.
        utc_offset : float, optional
            Local standard time less UTC, h, if the stamps are standard time all year. One of the two
            is required.
        gaps : float or str
            Longest gap that is interpolated in outdoor columns and indoor temperatures. Humidity
            indoors, power, weighed water and energy are never filled.
        rooms : sequence of str, optional
            Rooms whose unweighted mean is the house; default: all with a humidity.
        wind_speed : float or str, optional
            Constant wind, if none is logged.
        volts, power_factor : dict, optional
            For each machine with a ``current``: its voltage and power factor.
        missing : collection of float, optional
            Numbers that stand for a missing value, such as -999.
        time_format : str, optional
            Format of stamps that are not ISO, such as ``"%m/%d/%Y %H:%M"``.
        name : str, optional
            Name of the house.

        Returns
        -------
        HouseLog

        Raises
        ------
        InputError
            One sentence with the file, row or column, the problem and the fix.
        """
        table, where = read_table(source)
        place = {
            "latitude": _within(latitude, 90.0, f"{where} latitude"),
            "longitude": _within(longitude, 180.0, f"{where} longitude"),
        }
        if TIME not in columns or columns[TIME] not in table.columns:
            problem = Problem(
                "no column for 'time'"
                if TIME not in columns
                else f"no column {columns[TIME]!r} for time"
            )
            raise InputError(
                f"{where} columns",
                problem,
                one_of(columns.get(TIME, TIME), map(str, table.columns)),
            )
        if table.empty:
            raise InputError(where, Problem("no rows"), "rows of a day or more")
        frame, notes = columns_of(table, where, columns, units, missing)
        stamps = read_stamps(table[columns[TIME]], time_format, where)
        if len(stamps) > 1 and stamps.is_monotonic_decreasing and stamps[0] > stamps[-1]:
            frame, stamps = frame.iloc[::-1], stamps[::-1]
            notes = (*notes, "rows were newest first, and turned round")
        told = in_standard_time(stamps, timezone, utc_offset, where)
        grid = on_grid(told.stamps, label, where)
        frame = frame.iloc[grid.rows].set_axis(grid.starts)
        every = pd.date_range(grid.starts[0], grid.starts[-1], freq=f"{grid.step:g}s", name=TIME)
        not_in_file = every.difference(grid.starts)
        frame = frame.reindex(every)
        frame, of_clamps = powers_of(frame, volts or {}, power_factor or {}, where)
        if wind_speed is not None:
            if "wind_speed" in frame.columns:
                raise InputError(
                    f"{where} wind_speed", Problem("a constant and a column"), "one of them"
                )
            wind = to_si(wind_speed, "m/s", f"{where} wind_speed", within=(0.0, 40.0))
            if not 0.0 <= wind <= 40.0:
                raise InputError(f"{where} wind_speed", wind_speed, "from 0 to 40 m/s")
            frame["wind_speed"] = wind
            of_clamps = (
                *of_clamps,
                f"wind was not logged: {number(wind, 1)} m/s, as stated, in all rows",
            )
        frame, of_gaps = filled(frame, grid.step, to_si(gaps, "s", f"{where} gaps"))
        height = to_si(elevation, "m", f"{where} elevation")
        if "pressure" not in frame.columns:
            of_clamps = (
                *of_clamps,
                f"pressure was not logged: standard atmosphere at {height:g} m",
            )
        log = cls(
            frame=frame,
            step=grid.step,
            **place,
            utc_offset=told.utc_offset,
            elevation=height,
            rooms=(),
            name=name,
            not_in_file=not_in_file,
            notes=(*told.notes, *grid.notes, *notes, *of_clamps, *of_gaps),
        )
        return log.with_rooms(rooms if rooms is not None else log.rooms_with_humidity)

    # ------------------------------------------------------------------ parts of it

    def between(self, start: str, end: str) -> HouseLog:
        """Return the rows from `start` to `end`, local standard time; a day as `end` is included.

        Parameters
        ----------
        start, end : str
            ``"YYYY-MM-DD"`` or ``"YYYY-MM-DD HH:MM"``.

        Raises
        ------
        InputError
            If no row is left.
        """
        try:
            part = self.frame.loc[start:end]
        except (ValueError, KeyError):
            raise InputError(
                "log.between", (start, end), "times such as '2025-06-01' or '2025-06-01 12:00'"
            ) from None
        if part.empty:
            first, last = self.frame.index[0], self.frame.index[-1]
            raise InputError("log.between", (start, end), f"times from {first} to {last}")
        return attrs.evolve(self, frame=part)

    def split(self, share: float) -> tuple[HouseLog, HouseLog]:
        """Return the first share of the rows, and the others.

        Parameters
        ----------
        share : float
            Above 0 and below 1.
        """
        if not 0.0 < share < 1.0:
            raise InputError("log.split", share, "a share above 0 and below 1")
        cut = round(share * len(self))
        if not 0 < cut < len(self):
            raise InputError(
                "log.split", share, f"a share that leaves rows on both sides of {len(self)}"
            )
        return attrs.evolve(self, frame=self.frame.iloc[:cut]), attrs.evolve(
            self, frame=self.frame.iloc[cut:]
        )

    def joined(self, earlier: pd.DataFrame, gaps: float | str = "1 h") -> HouseLog:
        """Return the log with the rows of an earlier frame; where both have a row, this log's holds.

        Parameters
        ----------
        earlier : DataFrame
            The ``frame`` of an earlier log of the same house.
        gaps : float or str
            Longest gap between the two that is interpolated, as in `read`.

        Raises
        ------
        InputError
            If the two have other columns or other steps.
        """
        if set(earlier.columns) != set(self.frame.columns):
            odd = sorted(map(str, set(earlier.columns) ^ set(self.frame.columns)))
            raise InputError(
                "log",
                Problem(f"columns {', '.join(odd)} in one part alone"),
                "parts with the same columns",
            )
        away = (earlier.index - self.frame.index[0]) % pd.Timedelta(seconds=self.step)
        if (away != pd.Timedelta(0)).any():
            raise InputError(
                "log",
                Problem(f"earlier rows off steps of {self.step / 60.0:g} min"),
                "parts with the same step",
            )
        both = self.frame.combine_first(earlier)[list(self.frame.columns)]
        whole = pd.date_range(both.index[0], both.index[-1], freq=f"{self.step:g}s", name=TIME)
        frame, notes = filled(both.reindex(whole), self.step, to_si(gaps, "s", "log gaps"))
        return attrs.evolve(self, frame=frame, notes=tuple(dict.fromkeys((*self.notes, *notes))))

    def with_rooms(self, rooms: Sequence[str]) -> HouseLog:
        """Return the log with other rooms as the house.

        Raises
        ------
        InputError
            If a room has no temperature and humidity in the log.
        """
        known = self.rooms_with_humidity
        for room in rooms:
            if room not in known:
                raise InputError(
                    "log rooms", Problem(f"no humidity in room {room!r}"), one_of(str(room), known)
                )
        return attrs.evolve(self, rooms=tuple(rooms))

    # ------------------------------------------------------------------ what it says

    @property
    def rooms_with_humidity(self) -> tuple[str, ...]:
        """All rooms that have a dew point, or a temperature and RH."""
        names = dict.fromkeys(
            part_of(name) for name in self.frame.columns if kind_of(name).startswith("indoor")
        )
        there = set(self.frame.columns)
        return tuple(
            room for room in names
            if f"indoor_dew_point.{room}" in there
            or {f"indoor_rh.{room}", f"indoor_temperature.{room}"} <= there
        )  # fmt: skip

    @cached_property
    def pressure(self) -> pd.Series:
        """Air pressure, Pa: as logged, or of the standard atmosphere at the elevation."""
        if "pressure" in self.frame.columns:
            return self.frame["pressure"]
        from pvlib.atmosphere import alt2pres

        return pd.Series(float(alt2pres(self.elevation)), self.frame.index, name="pressure")

    @cached_property
    def humidity_ratios(self) -> pd.DataFrame:
        """Humidity ratio of each room that has a humidity, kg/kg, from its own sensors."""
        pressure = self.pressure.to_numpy()
        out = {}
        for room in self.rooms_with_humidity:
            if (dew := f"indoor_dew_point.{room}") in self.frame.columns:
                vapor = air.over(air.saturation_pressure, self.frame[dew])
            else:
                saturated = air.over(
                    air.saturation_pressure, self.frame[f"indoor_temperature.{room}"]
                )
                vapor = saturated * self.frame[f"indoor_rh.{room}"].to_numpy() / 100.0
            out[room] = air.over(air.humidity_ratio, vapor, pressure)
        return pd.DataFrame(out, index=self.frame.index)

    @property
    def indoor_humidity_ratio(self) -> pd.Series:
        """Humidity ratio of the house, kg/kg: mean of its rooms, NaN where one of them is missing."""
        self._need_rooms("humidity")
        return (
            self.humidity_ratios[list(self.rooms)]
            .mean(axis=1, skipna=False)
            .rename("humidity_ratio")
        )

    @property
    def indoor_temperature(self) -> pd.Series:
        """Temperature of the house, degC: mean of its rooms.

        Raises
        ------
        InputError
            If the log has a gap that is longer than those that were interpolated.
        """
        names = [
            f"indoor_temperature.{room}"
            for room in self.rooms
            if f"indoor_temperature.{room}" in self.frame.columns
        ]
        if not names:
            self._need_rooms("temperature")
            raise InputError(
                "log", Problem("no indoor temperature"), "a column indoor_temperature.ROOM"
            )
        refuse_gaps(self.frame, names, self.step, "a run with this temperature needs each row")
        return self.frame[names].mean(axis=1).rename("temperature")

    def _need_rooms(self, what: str) -> None:
        if not self.rooms:
            raise InputError(
                "log",
                Problem(f"no room with {what}"),
                "columns indoor_temperature.ROOM and indoor_rh.ROOM",
            )

    @cached_property
    def weather(self) -> Weather:
        """Hourly weather of kind "actual" from the outdoor columns; its notes say what was derived.

        Raises
        ------
        InputError
            If a needed column is missing, or a gap is longer than those that were interpolated.
        """
        return weather_of(
            self.frame,
            self.step,
            latitude=self.latitude,
            longitude=self.longitude,
            utc_offset=self.utc_offset,
            elevation=self.elevation,
            name=self.name or "logged house",
        )

    @property
    def empty_rows(self) -> NDArray[np.bool_]:
        """Whether the file had no row for an interval."""
        return np.isin(self.frame.index.to_numpy(), self.not_in_file.to_numpy())

    def review(self) -> LogReview:
        """Look for sensors that are stuck, drift or were replaced, and for columns, clocks and places.

        Returns
        -------
        LogReview
            ``findings``, each with what, where, from, to and its effect on the answer; ``limits``,
            what this log cannot tell. It prints, and ``table()`` gives a DataFrame.

        Notes
        -----
        Rooms are compared with the median of the other rooms, day by day. A change is told from 2
        points of RH and 5 standard errors on, with the days' correlation counted. The daily cycle of
        outdoor air is compared with the sun. The pages of the checks (``moistsim/loggers/checks``)
        have each limit and its reason.
        """
        from moistsim.loggers.reviewing import review

        return review(self)

    def __len__(self) -> int:
        return len(self.frame)

    def __repr__(self) -> str:
        first, last = self.frame.index[0], self.frame.index[-1] + pd.Timedelta(seconds=self.step)
        return (
            f"<HouseLog: {len(self)} rows of {self.step / 60.0:g} min, {first:%Y-%m-%d %H:%M} to "
            f"{last:%Y-%m-%d %H:%M}, rooms {', '.join(self.rooms) or 'none'}>"
        )


def _within(degrees: float, most: float, where: str) -> float:
    """Degrees as a float, from minus to plus `most`."""
    try:
        value = float(degrees)
    except (TypeError, ValueError):
        value = float("nan")
    if not -most <= value <= most:
        raise InputError(
            where, degrees, f"from -{most:g} to {most:g} degrees, north and east positive"
        )
    return value
