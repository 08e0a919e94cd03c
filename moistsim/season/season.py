"""One run and its result: the hourly table, the meter, the balances and all inputs."""

import re
from collections.abc import Iterator
from datetime import timezone
from functools import cached_property
from typing import Any, TypeVar, cast

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Fault, Strategy
from moistsim.core.display import Show
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.summary import Summarized, Summary
from moistsim.core.units import to_si
from moistsim.engine import (
    DEW_POINT,
    END_USES,
    HOTTEST_STRIPS,
    HOTTEST_SUPPLY,
    STEP_FIELDS,
    Flow,
    Forcing,
    Machine,
    Record,
    State,
    column_catalog,
    window,
)
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.season.air_leakage import AirLeakage, air_leakage
from moistsim.season.attribution import Attribution, Tally, attribution, tally
from moistsim.season.balance import balance, contents
from moistsim.season.columns import DEW_POINT_AT, MINUTES, SLOW_STATES, columns_of, described
from moistsim.season.events import Change, log_events
from moistsim.season.meter import Meter, read_meter
from moistsim.season.summarizing import season_summary
from moistsim.weather import Weather

Tabled = TypeVar("Tabled", pd.DataFrame, pd.Series)
START_TEMPERATURE, START_RH = 23.0, 0.5
"""State of the house before the spin-up, degC and 0 to 1."""
BUSY_QUANTILE, MILD_SHARE = 0.9, 0.5
"""A busy day's quantile of the compressor's daily runtime, and its share that still is mild.
Round figures of our own, with which the Miami sample's mild humid day is a rainy day near 75 degF."""
SHORT_SEASON_MILD = 6.0
"""Hours a day up to which cooling is mild in a season of days that are all alike; round figure."""


@attrs.frozen(eq=False)
class Season(Summarized):
    """Result of one run: the hourly table, the totals and the balances, with all inputs.

    Examples
    --------
    >>> import moistsim as ms
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1900 ft2"),
    ...     ms.Equipment(cooling=unit),
    ...     ms.strategies.temperature_only,
    ...     ms.Weather.sample("miami"),
    ...     start="07-01",
    ...     end="07-02",
    ... )
    >>> len(season.hourly), season.meter.kwh.index[0]
    (48, 'compressor')
    >>> bool((season.balance["relative"].abs() < 1e-9).all())
    True
    """

    house: House
    equipment: Equipment
    strategy: Strategy
    weather: Weather
    start: str | None
    end: str | None
    step: float
    """Time step, s."""
    spin_up: float
    """Time simulated before the first row, s. It is not part of the results."""
    _machine: Machine = attrs.field(repr=False)
    _forcing: Forcing = attrs.field(repr=False)
    _index: pd.DatetimeIndex = attrs.field(repr=False)
    _first_state: NDArray[np.float64] = attrs.field(repr=False)
    _first_memory: NDArray[np.float64] = attrs.field(repr=False)
    _record: Record = attrs.field(repr=False)
    _day_before: NDArray[np.float64] = attrs.field(repr=False)
    """The state 24 hours before the first row."""
    _step_before: NDArray[np.float64] | None = attrs.field(repr=False)
    """The last step before the first row, as `events` watches it; None without a spin-up."""
    faults: tuple[Fault, ...] = attrs.field(default=(), kw_only=True)
    measured: tuple[str, ...] = attrs.field(default=(), kw_only=True)
    """Series that took the place of calculated values, such as ``impose`` or ``moisture``."""
    notes: tuple[str, ...] = attrs.field(default=(), kw_only=True)
    """Facts about the run that differ from what was asked, such as a shorter spin-up."""

    def summary(self, show: Show) -> Summary:
        """What ran and its main totals, as a notebook shows them."""
        return season_summary(self, show)

    def __repr__(self) -> str:
        first, last = self._index[0], self._index[-1]
        return (
            f"<Season of {self.strategy.name} in {self.weather.name or 'unnamed weather'}, "
            f"{first:%Y-%m-%d} to {last:%Y-%m-%d}, step {self.step:g} s>"
        )

    @cached_property
    def hourly(self) -> pd.DataFrame:
        """Table with one row for each hour, by its start in local standard time; see `columns`."""
        return self._table(
            self._record.hourly, self._record.states, self._index, self._machine.steps
        )

    def column(self, name: str) -> NDArray[np.float64]:
        """One column of `hourly` as an array, without the cost of the whole table.

        Parameters
        ----------
        name : str
            A column that is summed or averaged over the steps of an hour.

        Raises
        ------
        InputError
            If there is no such column.
        """
        summed = {column.column: column for column in self._columns if column.how != "end"}
        if name not in summed:
            raise InputError("Season.column", name, one_of(name, summed))
        flow = summed[name]
        row = self._record.hourly[:, self._machine.fields.index(flow.field)]
        return np.asarray(row * self._factors(self._machine.steps)[flow.how])

    def _table(
        self,
        sums: NDArray[np.float64],
        states: NDArray[np.float64] | None,
        index: pd.DatetimeIndex,
        steps: int,
    ) -> pd.DataFrame:
        """Table of `COLUMNS` from rows that are each the sum of `steps` steps."""
        factor = self._factors(steps)
        shown = [column for column in self._columns if column.how != "end" or states is not None]
        names = [column.column for column in shown]
        names.insert(DEW_POINT_AT, DEW_POINT)
        pressure = self._forcing.nodes[1::2, 4]
        extra: dict[str, NDArray[np.float64]] = {}
        if states is None:
            # Not by `asi8`, whose unit may differ between two indexes.
            hour = self._index[1] - self._index[0]
            pressure = np.interp(
                ((index - self._index[0]) / hour).to_numpy(float),
                np.arange(len(self._index)) + 0.5,
                pressure,
            )
        else:
            stages, hottest = self._record.stages, self._record.hottest
            for k, name in enumerate(self._stages):
                extra[f"{name}_h"] = stages[:, 2 * k] * self.step / 3600.0
                extra[f"{name}_starts"] = stages[:, 2 * k + 1]
            extra |= dict(zip(self._hottest, hottest.T, strict=True))
        names += extra
        # pandas uses one array without a copy if each of its rows is a column of the table.
        data = np.empty((len(names), len(sums)))
        rows = dict(zip(names, data, strict=True))
        for column in shown:
            if column.how != "end":
                k = self._machine.fields.index(column.field)
                np.multiply(sums[:, k], factor[column.how], out=rows[column.column])
            elif states is not None:
                k = State._fields.index(column.field)
                np.multiply(states[:, k], _scale(column), out=rows[column.column])
        rows[DEW_POINT][:] = _dew_points(
            rows["indoor_humidity_ratio"], rows["indoor_temperature_C"], pressure
        )
        for name, values in extra.items():
            rows[name][:] = values
        return pd.DataFrame(data.T, index=index, columns=names, copy=False)

    @property
    def columns(self) -> pd.DataFrame:
        """Unit and meaning of each column of `hourly`, by its name.

        Returns
        -------
        DataFrame
            Indexed by `name`; `unit` as a reader writes it, empty for counts and fractions; and
            `meaning`. Flows into the house are positive.

        Examples
        --------
        >>> import moistsim as ms
        >>> season = ms.simulate(
        ...     ms.House(floor_area="1900 ft2"), ms.Equipment(), ms.strategies.temperature_only,
        ...     ms.Weather.sample("miami"), start="07-01", end="07-01",
        ... )  # fmt: skip
        >>> season.columns.loc["water_gains_kg"].tolist()
        ['kg', 'water from the household']
        """
        return described(self._columns, self._stages, self._hottest)

    @property
    def time_zone(self) -> timezone:
        """Local standard time, in which all stamps are: a fixed offset without daylight saving."""
        return self.weather.time_zone

    def aware(self, table: Tabled | None = None) -> Tabled | pd.DataFrame:
        """Copy a table of this season with its time zone in the index.

        Parameters
        ----------
        table : DataFrame or Series, optional
            Such as `quarters`, `events` or that of `minutes`; default: `hourly`. Values stay as
            they are; ``tz_convert`` then gives clocks with daylight saving.

        Returns
        -------
        DataFrame or Series
            Its index has `time_zone`, and `freq` as before.

        Raises
        ------
        InputError
            If the table has no time stamps, or has a time zone.

        Examples
        --------
        >>> import moistsim as ms
        >>> season = ms.simulate(
        ...     ms.House(floor_area="1900 ft2"), ms.Equipment(), ms.strategies.temperature_only,
        ...     ms.Weather.sample("miami"), start="07-01", end="07-01",
        ... )  # fmt: skip
        >>> season.aware().index[0], season.aware().index.freqstr
        (Timestamp('1990-07-01 00:00:00-0500', tz='UTC-05:00'), 'h')
        """
        chosen: Any = self.hourly if table is None else table
        index = getattr(chosen, "index", None)
        if not isinstance(index, pd.DatetimeIndex) or index.tz is not None:
            raise InputError(
                "Season.aware",
                Problem("a table without time stamps in local standard time"),
                "a table of this season, such as its quarters",
            )
        # A table of events has no even steps.
        stamps: Any = pd.DatetimeIndex(index.tz_localize(self.time_zone), name=index.name)
        stamps.freq = index.freq
        return cast("Tabled | pd.DataFrame", chosen.set_axis(stamps))

    @property
    def over(self) -> pd.Timestamp:
        """Time at which the season ends, in local standard time."""
        return pd.Timestamp(self._index[-1] + pd.Timedelta(hours=1))

    @property
    def spaces(self) -> tuple[str, ...]:
        """Names of the spaces next to the house, such as ``crawl_space``, as columns begin."""
        return tuple(self._machine.spaces)

    @property
    def _columns(self) -> tuple[Flow, ...]:
        """Columns of the hourly table: the house's, and those of each space next to it."""
        return columns_of(self.spaces, self._machine.second is not None)

    @property
    def _stages(self) -> list[str]:
        """Cooling stages as their columns begin: those of the first system, then of a second one."""
        second = self._machine.second
        own = 0 if second is None else len(second.stages)
        return [
            *(f"cooling_stage_{k + 1}" for k in range(len(self._machine.stages))),
            *(f"{column_catalog.SECOND_SYSTEM}_cooling_stage_{k + 1}" for k in range(own)),
        ]

    @property
    def _hottest(self) -> list[str]:
        """Columns of the hottest supply air and limit switch, of one system or of two."""
        first = [HOTTEST_SUPPLY, HOTTEST_STRIPS]
        if self._machine.second is None:
            return first
        return [*first, *(f"{column_catalog.SECOND_SYSTEM}_{name}" for name in first)]

    def _factors(self, steps: int) -> dict[str, float]:
        """Factor that turns a sum over `steps` steps into a column, by `Flow.how`."""
        return {
            "mean": 1.0 / steps,
            "percent": 100.0 / steps,
            "hours": self.step / 3600.0,
            "energy": self.step / 3.6e6,
            "mass": self.step,
            "volume": self.step,
            "sum": 1.0,
        }

    def _totals(self) -> dict[str, float]:
        """Sums of the hourly columns and the hottest supply air, without the table itself.

        A sweep needs only these.
        """
        record, factor = self._record, self._factors(self._machine.steps)
        totals = {
            column.column: factor[column.how]
            * float(self._sums[self._machine.fields.index(column.field)])
            for column in self._columns
            if column.how != "end"
        }
        counts = record.stages.sum(axis=0).reshape(-1, 2)
        for name, (ran, begun) in zip(self._stages, counts, strict=True):
            totals[f"{name}_h"] = float(ran) * self.step / 3600.0
            totals[f"{name}_starts"] = float(begun)
        wet, warm = (
            record.hourly[:, STEP_FIELDS.index(f"indoor_{name}")] * factor["mean"]
            for name in ("humidity_ratio", "temperature")
        )
        dew_points = _dew_points(wet, warm, self._forcing.nodes[1::2, 4])
        totals[DEW_POINT] = float(dew_points.sum())
        totals[HOTTEST_SUPPLY] = float(record.hottest[:, 0::2].max())
        return totals

    @cached_property
    def _sums(self) -> NDArray[np.float64]:
        """Sum over all steps of each field of `Step`."""
        return np.asarray(self._record.hourly.sum(axis=0))

    @property
    def spin_up_report(self) -> pd.DataFrame:
        """Movement of masses and moisture stores in the last day of the spin-up.

        After a sufficient spin-up, the house follows the weather alone. If a deep layer or a slab
        still drifts much more than its neighbors, use a longer `spin_up`.

        Returns
        -------
        DataFrame
            Rows by the hourly table's columns of masses (degC) and stores (percent RH);
            `day_before` and `first` (at the start of the season's first row), `moved`, their
            difference. Without a spin-up nothing has moved.
        """
        rows = {}
        for state in SLOW_STATES:
            k, scale = State._fields.index(state.field), _scale(state)
            before, first = scale * self._day_before[k], scale * self._first_state[k]
            rows[state.column] = (before, first, first - before)
        return pd.DataFrame.from_dict(
            rows, orient="index", columns=["day_before", "first", "moved"]
        )

    @property
    def memory(self) -> pd.DataFrame:
        """Memory of the strategy at the end of each hour, by slot."""
        own = self._record.memories[:, : self.strategy.memory_size]
        return pd.DataFrame(own, index=self._index)

    @cached_property
    def quarters(self) -> pd.Series:
        """Mean electric power of each clock quarter, kW, by its start in local standard time."""
        return pd.Series(
            self._record.quarters / 1000.0,
            index=pd.date_range(
                self._index[0], periods=len(self._record.quarters), freq="15min", name="time"
            ),
            name="kW",
        )

    @cached_property
    def meter(self) -> Meter:
        """Totals of the season."""
        return read_meter(
            self._totals(), len(self._index), len(self._machine.stages), self.spaces, self.quarters,
            {setting.role for setting in self.strategy.declared.values()},
            None if self._machine.second is None else len(self._machine.second.stages),
        )  # fmt: skip

    @cached_property
    def air_leakage(self) -> AirLeakage:
        """Natural infiltration by month, and its means over the season and the year."""
        return air_leakage(self)

    def minutes(self, day: str) -> pd.DataFrame:
        """Table of one day, one row per step.

        The day is simulated again from the state at its midnight, which gives the same bits.

        Parameters
        ----------
        day : str
            "MM-DD" or "YYYY-MM-DD".

        Returns
        -------
        DataFrame
            The columns of `hourly` that a step has; energies and masses are those of the step. Added
            are `cooling_stage`, `reheat_stage`, `heating_stage`, `supply_temperature_C`, and
            `power_kW`, the power of all machines.

        Raises
        ------
        InputError
            If the season has no such day.
        """
        first, last = self._hours_of(day, "Season.minutes")
        if first == 0:
            state, memory = self._first_state.copy(), self._first_memory.copy()
        else:
            state = self._record.states[first - 1].copy()
            memory = self._record.memories[first - 1].copy()
        record = self._machine.run(self._forcing.part(first, last), state, memory, trace=True)
        index = pd.date_range(
            self._index[first],
            periods=len(record.trace),
            freq=pd.Timedelta(seconds=self.step),
            name="time",
        )
        frame = self._table(record.trace, None, index, 1)
        fields = self._machine.fields
        for flow in MINUTES:
            if flow.field in fields:
                frame[flow.column] = record.trace[:, fields.index(flow.field)]
        energy = sum(column_catalog.in_both_systems(frame, f"{use}_kWh") for use in END_USES)
        frame["power_kW"] = energy * 3600.0 / self.step
        return frame

    def steps(self, *fields: str) -> pd.DataFrame:
        """Chosen quantities of every step of the season.

        The season is simulated once more.

        Parameters
        ----------
        *fields : str
            Names of `engine.STEP_FIELDS`, in SI, and those of a space next to the house, such as
            ``attic_temperature``.

        Returns
        -------
        DataFrame
            Indexed by `time`, the start of each step. `minutes` gives one day with units.

        Raises
        ------
        InputError
            If a step has no such field.
        """
        for name in fields:
            if name not in self._machine.fields:
                raise InputError("Season.steps", name, one_of(name, self._machine.fields))
        chosen = [self._machine.fields.index(name) for name in fields]
        hours, steps = len(self._index), self._machine.steps
        values = np.empty((hours * steps, len(chosen)))
        state, memory = self._first_state.copy(), self._first_memory.copy()
        # The run goes day by day, because a traced step holds every quantity.
        for first in range(0, hours, 24):
            part = self._forcing.part(first, min(first + 24, hours))
            traced = self._machine.run(part, state, memory, trace=True).trace
            values[first * steps : first * steps + len(traced)] = traced[:, chosen]
        index = pd.date_range(
            self._index[0], periods=len(values), freq=pd.Timedelta(seconds=self.step), name="time"
        )
        return pd.DataFrame(values, index=index, columns=list(fields))

    def table_every(self, every: float | str) -> pd.DataFrame:
        """Table with the columns of `hourly` at the interval of a logger, such as "10 min".

        The season is simulated once more.

        Parameters
        ----------
        every : float or str
            Interval, s, or a text with a unit: whole steps, of which whole numbers make an hour.

        Returns
        -------
        DataFrame
            Indexed by `time`, the start of each interval. Means, energies and masses are those of
            the interval. States at the hour's end and stages are not in it.

        Raises
        ------
        InputError
            If an hour is not a whole number of intervals, or an interval not one of steps.
        """
        seconds = to_si(every, "s", "Season.table_every")
        each = round(seconds / self.step)
        if each < 1 or self._machine.steps % each or abs(each * self.step - seconds) > 1e-6:
            raise InputError(
                "Season.table_every",
                every,
                f"whole steps of {self.step:g} s, of which whole numbers make an hour",
            )
        hours, steps, width = len(self._index), self._machine.steps, len(self._machine.fields)
        sums = np.empty((hours * steps // each, width))
        state, memory = self._first_state.copy(), self._first_memory.copy()
        for first in range(0, hours, 24):
            part = self._forcing.part(first, min(first + 24, hours))
            traced = self._machine.run(part, state, memory, trace=True).trace
            rows = traced.reshape(-1, each, width).sum(axis=1)
            at = first * steps // each
            sums[at : at + len(rows)] = rows
        index = pd.date_range(
            self._index[0], periods=len(sums), freq=pd.Timedelta(seconds=seconds), name="time"
        )
        return self._table(sums, None, index, each)

    @cached_property
    def events(self) -> pd.DataFrame:
        """Table of every call, change of a machine and refusal of the season, with its minute.

        The first use simulates the season once more. Filter the table as any DataFrame:
        ``events.loc["1990-07-15"]``, ``events.query("kind == 'refusal'")``. Write it with
        ``events.to_csv(file)``.

        Returns
        -------
        DataFrame
            Indexed by `time`, the start (local standard time) of the step with the change. Within a
            step, calls come before refusals and machines. ``kind`` is "fault", "call", "relay",
            "refusal" or "machine". A "call" is the control's. A "relay" is the call that reaches the
            machines, if messages, relays or an enable are in between. A "refusal" is logged at its
            start, with the reasons of `meter.refused`.
            ``what`` changed from ``was`` to ``now``, in the units of `Calls` and of stages. The
            blower is a fraction of its full flow, and 0 and 1 are off and on. ``temperature_C`` and
            ``rh_pct`` are the room as the control read it in that step. A proportional call changes
            step by step, as does the compressor that follows it. Each change is a row.
        """
        return log_events(
            self._machine, self._forcing, self._index, self._first_state, self._first_memory,
            self._step_before, self._fault_changes(),
        )  # fmt: skip

    def _fault_changes(self) -> Iterator[Change]:
        """The beginning of each fault of the run and, within the season, its end."""
        steps, rows = self._machine.steps, slice(0, len(self._index))
        for fault in self.faults:
            spell = window(fault, self._index, rows, steps)
            for at, was in ((spell.first, 0.0), (spell.last, 1.0)):
                time = self._index[0] + at * pd.Timedelta(hours=1) / steps
                yield Change(time, fault.words, was, 1.0 - was)

    def _hours_of(self, day: str, where: str) -> tuple[int, int]:
        """First row of a day, and the row after its last one."""
        index, rows = self._index, np.empty(0, dtype=np.intp)
        if found := re.fullmatch(r"(?:(\d{4})-)?(\d\d)-(\d\d)", day):
            year, month, day_of_month = found.groups()
            of_it = (index.month == int(month)) & (index.day == int(day_of_month))
            rows = np.flatnonzero(of_it & (year is None or index.year == int(year)))
        if not len(rows):
            raise InputError(
                where,
                day,
                f"a day such as '07-15' within the season, {self._index[0]:%Y-%m-%d} to "
                f"{self._index[-1]:%Y-%m-%d}",
            )
        return int(rows[0]), int(rows[-1]) + 1

    def attribution(self, day: str | None = None) -> Attribution:
        """Sources and destinations of the water and heat that machines removed.

        The first use simulates the season once more, and the tags of `engine.tags` follow every
        step. They follow the main zone and the first system: a second zone stands under its name.

        Parameters
        ----------
        day : str, optional
            "MM-DD" or "YYYY-MM-DD"; default: the whole season. A day starts with the contents of the
            house from earlier days, under their own tags.

        Raises
        ------
        InputError
            If the season has no such day.
        """
        if day is None:
            return attribution(self._tally)
        first, _ = self._hours_of(day, "Season.attribution")
        return attribution(self._tally, self._tally.dates.index(self._index[first].normalize()))

    def loads(self, day: str | None = None) -> pd.DataFrame:
        """Water and heat by source, per day, with the machines that remove them.

        Parameters
        ----------
        day : str, optional
            "MM-DD" or "YYYY-MM-DD"; default: the mean day of the season.

        Returns
        -------
        DataFrame
            Columns as in `Attribution.loads`, per day, from the same tags as the electricity.

        Raises
        ------
        InputError
            If the season has no such day.
        """
        table = self.attribution(day).loads
        return table if day is not None else table / (len(self._index) / 24.0)

    def mild_humid_day(self) -> str:
        """The mild day on which outdoor air brings in the most moisture.

        A day is mild if nothing heats and the compressor runs at most half as long as on a busy day,
        which one day in ten exceeds. So the size of the air conditioner does not matter. If a short
        season has no such day, a day counts with cooling up to a quarter of the time. Of the mild
        days, the one whose outdoor humidity ratio is highest above the room's is chosen: usually a
        rainy day, on which the thermostat calls for little cooling and so for little drying.

        Returns
        -------
        str
            "YYYY-MM-DD".

        Raises
        ------
        InputError
            If the season has no such day.
        """
        hourly = self.hourly
        stages = [f"cooling_stage_{k}_h" for k in range(1, self.meter.stages + 1)]
        by_day = hourly.groupby(pd.DatetimeIndex(hourly.index).date)
        running = by_day[stages].sum().sum(axis=1)
        heating = (
            by_day[["heat_pump_h", "furnace_h", "backup_heat_h", "room_heater_h"]].sum().sum(axis=1)
        )
        brought = by_day["outdoor_humidity_ratio"].mean() - by_day["indoor_humidity_ratio"].mean()
        for most in (MILD_SHARE * running.quantile(BUSY_QUANTILE), SHORT_SEASON_MILD):
            mild = (running <= most) & (heating == 0.0) & (brought > 0.0)
            if mild.any():
                return str(brought[mild].idxmax())
        raise InputError(
            "mild_humid_day",
            Problem("no mild day with outdoor air more humid than the room"),
            "a season that has one",
        )

    @cached_property
    def _tally(self) -> Tally:
        return self._tags()

    def _tags(self, **choices: Any) -> Tally:
        """The tags through the season; `choices` as for `tally`."""
        return tally(
            self._machine, self._forcing, self._index, self._first_state, self._first_memory,
            self._record.states, self._record.hourly, **choices,
        )  # fmt: skip

    @cached_property
    def balance(self) -> pd.DataFrame:
        """Residuals of the balances of dry air, water and energy.

        The audit compares the change of the house's contents with the flows through its envelope, by
        the meter's own columns. Energy counts the electricity that went in, not the air streams of
        the time loop. Fans, strips and dehumidifier count as their kWh, and the coil as the
        refrigerant's heat. Contents are recalculated from temperatures, humidities and pV/(R T).

        Returns
        -------
        DataFrame
            Rows dry_air (kg), water (kg), energy (kWh), of the house and then of each space next to
            it, such as ``attic_water``; columns `change` of contents, `net` flow, `residual`, `gross`
            (the sum of all flows' absolute values) and `relative`.
        """
        machine, nodes = self._machine, self._forcing.nodes
        return balance(
            self.hourly,
            self.spaces,
            contents(machine, self._first_state, nodes[0, 4]),
            contents(machine, self._record.states[-1], nodes[-1, 4]),
            machine.second is not None,
        )

    @property
    def provenance(self) -> dict[str, Any]:
        """Versions, inputs and weather checksum that produced this result."""
        return {
            **{name: package_version(name) for name in ("moistsim", "numba", "numpy")},
            "weather": f"{self.weather.name} {self.weather.checksum}",
            "season": f"{self._index[0]:%Y-%m-%d} to {self._index[-1]:%Y-%m-%d}",
            "step_s": self.step,
            "spin_up_s": self.spin_up,
            "spin_up_last_day_moved": self.spin_up_report["moved"].to_dict(),
            "measured": self.measured,
            "notes": self.notes,
            "strategy": {self.strategy.name: self.strategy.description},
            "house": attrs.asdict(cast(Any, self.house)),
            "equipment": attrs.asdict(cast(Any, self.equipment)),
        }


def _dew_points(
    humidity_ratio: NDArray[np.float64],
    temperature: NDArray[np.float64],
    pressure: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Dew point of each hour's mean humidity ratio, degC, at most the hour's mean temperature.

    Saturation rises more than in proportion to temperature. In an hour of saturated air whose
    temperature changes, the dew point of the mean lies a little above the mean of the dew points.
    """
    dew_points = air.dew_points(humidity_ratio, np.ascontiguousarray(pressure))
    return np.minimum(dew_points, temperature)


def _scale(state: Flow) -> float:
    """Factor from a state to its column: relative humidities are shown in percent."""
    return 100.0 if state.unit == "1" else 1.0


def package_version(name: str) -> str:
    """Version of an installed package. A source tree without installation has no version."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
