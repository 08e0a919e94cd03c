"""One run and its result: an hourly table, the meter, the balances, and what made them."""

import os
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Any, NamedTuple, cast

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.attribution import Attribution, Tally, attribution, tally
from moistsim.engine import parameters
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY
from moistsim.engine.disturbance import disturb, window
from moistsim.engine.driver import Machine
from moistsim.engine.forcing import OUTDOOR_RH, Forcing, force
from moistsim.engine.recording import Record
from moistsim.engine.records import REFUSALS, State, Step
from moistsim.engine.zone import SORBED_ENTHALPY
from moistsim.equipment import Equipment
from moistsim.events import Change, last_step, log_events
from moistsim.faults import Fault
from moistsim.house import House
from moistsim.meter import END_USES, Meter, read_meter
from moistsim.strategies.interface import Strategy
from moistsim.units import InputError, one_of, to_si
from moistsim.weather import Weather

START_TEMPERATURE, START_RH = 23.0, 0.5
"""State of the house before the spin-up, degC and 0 to 1."""


class Column(NamedTuple):
    """A column of the hourly table: its name, the step's quantity, how an hour is made of it."""

    name: str
    field: str
    how: str
    """mean; percent (mean of 0 to 1, times 100); h (time); kWh (energy of W); kg (mass of kg/s);
    m3 (volume of m3/s); sum; end (state at the hour's end)."""
    meaning: str


def _columns() -> Iterator[Column]:
    yield from (
        Column("zone_temperature_C", "zone_temperature", "mean", "room dry bulb"),
        Column("zone_humidity_ratio", "zone_humidity_ratio", "mean", "room humidity ratio, kg/kg"),
        Column("zone_rh_pct", "zone_rh", "percent", "room relative humidity"),
        Column("sensed_temperature_C", "sensed_temperature", "mean", "sensor's dry bulb"),
        Column("sensed_rh_pct", "sensed_rh", "percent", "sensor's relative humidity"),
        Column("outdoor_temperature_C", "outdoor_temperature", "mean", "outdoor dry bulb"),
        Column("outdoor_humidity_ratio", "outdoor_humidity_ratio", "mean", "kg/kg"),
    )
    for mark in (50, 55, 60, 65):
        yield Column(f"above_{mark}_h", f"above_{mark}", "h", f"time with room RH above {mark} %")
    for mark in (55, 60):
        yield Column(
            f"rh_over_{mark}_pct_h", f"rh_over_{mark}", "h", f"RH above {mark} %, integrated"
        )
    yield from (
        Column("warm_h", "warm", "h", "time more than 1 K above the cooling set-point"),
        Column("cool_h", "cool", "h", "time more than 1 K below the cooling set-point"),
        Column("cold_h", "cold", "h", "time more than 1 K below the heating set-point"),
        Column("reheat_h", "reheat_on", "h", "time with strips on as reheat"),
        Column("heat_pump_h", "heat_pump_on", "h", "time with the heat pump heating"),
        Column("backup_heat_h", "backup_on", "h", "time with strips on as heat"),
        Column("dehumidifier_h", "dehumidifier_on", "h", "time with the dehumidifier on"),
        Column("indoor_fan_h", "fan_on", "h", "time with the indoor blower on"),
        Column("strips_starts", "strips_start", "sum", "times that strips came on"),
        Column("heat_pump_starts", "heat_pump_start", "sum", "starts in heating"),
        Column("dehumidifier_starts", "dehumidifier_start", "sum", "starts of the dehumidifier"),
        Column("airflow_fraction", "airflow", "mean", "indoor blower, of its full flow"),
        Column("duct_space_temperature_C", "duct_space_temperature", "mean", "around the ducts"),
        Column("entering_temperature_C", "entering_temperature", "mean", "into the air handler"),
        Column("dry_coil_h", "dry_coil", "h", "time with a coil that runs and stays dry"),
        Column("off_curve_h", "off_curve", "h", "time with a performance curve held at its limit"),
        Column("frost_h", "frost", "h", "time with a coil that frosts, or rests to melt"),
    )
    for use in END_USES:
        yield Column(f"{use}_kWh", use, "kWh", f"electricity, {use.replace('_', ' ')}")
    yield from (
        Column("gas_kWh", "gas", "kWh", "gas burnt in the furnace (higher heating value)"),
        Column("hot_gas_h", "hot_gas_on", "h", "time with hot-gas reheat"),
        Column("furnace_h", "furnace_on", "h", "time with the furnace on"),
        Column("furnace_starts", "furnace_start", "sum", "starts of the furnace"),
        Column("strip_trips", "strip_trip", "sum", "times that the strips' limit switch opened"),
        Column("strip_rise_K_h", "strip_rise", "h", "temperature rise across strips, integrated"),
    )
    for name, meaning in (
        ("infiltration", "in with air that leaks in"),
        ("ventilation", "in with air that fans bring in"),
        ("out", "out with all air that leaves (negative)"),
        ("return_leak", "in with air that leaks into return ducts outside the envelope"),
        ("supply_leak", "out with air that supply ducts outside the envelope lose (negative)"),
    ):
        yield Column(f"air_{name}_kg", f"air_{name}", "kg", f"dry air {meaning}")
        yield Column(f"water_{name}_kg", f"water_{name}", "kg", f"water {meaning}")
        yield Column(f"heat_{name}_kWh", f"heat_{name}", "kWh", f"enthalpy {meaning}")
    for name, meaning in (
        ("gains", "from the household"),
        ("stored", "from the surface layer of the store to the air"),
        ("stored_deep", "from the deep layer of the store to the surface layer"),
        ("coil", "condensed on the coil (negative)"),
        ("reevaporated", "from an idle wet coil back to the air"),
        ("drained", "from the coil to the drain (negative)"),
        ("dehumidifier", "taken by the dehumidifier (negative)"),
        ("dehumidifier_straight", "of it, from outdoors without having met the room (negative)"),
        ("surfaces", "condensed on wet room surfaces and wiped away (negative)"),
    ):
        yield Column(f"water_{name}_kg", f"water_{name}", "kg", f"water {meaning}")
    for name, meaning in (
        ("duct_walls", "through the walls of ducts outside the envelope"),
        ("opaque", "through walls and roof"),
        ("windows", "by conduction through windows"),
        ("sun", "sun through windows"),
        ("ground", "from the ground"),
        ("gains", "sensible, people and appliances"),
        ("moisture", "enthalpy of the household's vapour"),
        ("ventilation_fan", "of the ventilation fan that stays in the house"),
        ("standby", "of controls and a resting dehumidifier"),
        ("refrigerant", "taken by the refrigerant (negative)"),
        ("heat_pump", "given by the heat pump"),
        ("furnace", "given by the furnace"),
        ("hot_gas", "given back by the refrigerant's hot gas"),
        ("drained", "with the coil's condensate (negative)"),
        ("dehumidifier_drain", "with the dehumidifier's condensate (negative)"),
        ("surfaces", "with water wiped off surfaces (negative)"),
        ("pressure", "work of the weather's pressure on the room's air"),
        ("stored", "from the fast mass to the air"),
        ("stored_deep", "from the slow mass to the fast mass"),
    ):
        yield Column(f"heat_{name}_kWh", f"heat_{name}", "kWh", f"heat {meaning}")
    yield Column("coil_total_kWh", "coil_total", "kWh", "enthalpy that the coil took from the air")
    yield Column("coil_sensible_kWh", "coil_sensible", "kWh", "sensible part of it")
    yield from (
        Column(
            "dehumidifier_defrost_h", "dehumidifier_defrost", "h", "time that it spent defrosting"
        ),
        Column("bucket_full_h", "bucket_full", "h", "time with the dehumidifier's bucket full"),
        Column("ventilation_locked_h", "ventilation_locked", "h", "time that a lockout held it"),
        Column("ventilation_m3", "ventilation_volume", "m3", "outdoor air that fans brought in"),
        Column("air_opening_kg", "air_opening", "kg", "dry air in through opened windows"),
        Column("water_opening_kg", "water_opening", "kg", "water in with that air"),
        Column("heat_opening_kWh", "heat_opening", "kWh", "enthalpy in with that air"),
        Column("water_contents_kg", "water_contents", "kg", "water from the contents to the air"),
        Column(
            "water_contents_deep_kg", "water_contents_deep", "kg", "water, deep in them to surface"
        ),
        Column("water_ground_kg", "water_ground", "kg", "vapour from the ground or a basement"),
        Column("water_construction_kg", "water_construction", "kg", "water from new materials"),
        Column("heat_ground_vapour_kWh", "heat_ground_vapour", "kWh", "enthalpy of that vapour"),
        Column("heat_construction_kWh", "heat_construction", "kWh", "enthalpy of that water"),
        Column("windows_open_h", "windows_open", "h", "time with windows open"),
        Column("bedroom_rh_pct", "bedroom_rh", "percent", "bedroom behind its door; else the zone"),
        Column("bedroom_above_60_h", "bedroom_above_60", "h", "time with it above 60 % RH"),
        Column("occupied_h", "occupied", "h", "time in which people live there"),
        Column("strips_without_air_h", "strips_without_air", "h", "strips on in still air"),
        Column("fighting_h", "fighting", "h", "strips against cooling in a dry or warm room"),
    )
    for name in REFUSALS:
        yield Column(name, name, "sum", f"calls refused: {name.removeprefix('refused_')}")
    yield from (
        Column("fast_mass_temperature_C", "fast_temperature", "end", "board and contents"),
        Column("slow_mass_temperature_C", "slow_temperature", "end", "slab and structure"),
        Column("surface_store_rh_pct", "surface_rh", "end", "surface layer of the moisture store"),
        Column("deep_store_rh_pct", "deep_rh", "end", "deep layer of the moisture store"),
        Column("contents_surface_rh_pct", "contents_rh", "end", "surface layer of the contents"),
        Column("contents_deep_rh_pct", "contents_deep_rh", "end", "deep layer of the contents"),
        Column("coil_water_kg", "coil_water", "end", "water on the coil"),
        Column("bucket_kg", "bucket", "end", "water in the dehumidifier's bucket"),
    )


SLOW_STATES = (
    "fast_temperature", "slow_temperature", "surface_rh", "deep_rh", "contents_rh",
    "contents_deep_rh",
)  # fmt: skip
"""What a spin-up is for."""

COLUMNS = tuple(_columns())
"""Every column of the hourly table but those of the cooling stages, the dew point, which is that
of the hour's mean humidity ratio, and `supply_temperature_max_C`, its hottest step's."""


@attrs.frozen(eq=False)
class Season:
    """The result of one run, with everything that made it attached."""

    house: House
    machines: Equipment
    strategy: Strategy
    weather: Weather
    start: str | None
    end: str | None
    step: float
    """s."""
    spin_up: float
    """Time simulated before the first row and not counted, s."""
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

    @cached_property
    def hourly(self) -> pd.DataFrame:
        """One row an hour, indexed by its start in local standard time; see `COLUMNS`."""
        return self._table(
            self._record.hourly, self._record.states, self._index, self._machine.steps
        )

    def _table(
        self,
        sums: NDArray[np.float64],
        states: NDArray[np.float64] | None,
        index: pd.DatetimeIndex,
        steps: int,
    ) -> pd.DataFrame:
        """Sums over `steps` steps a row as a table of `COLUMNS`."""
        factor = {
            "mean": 1.0 / steps,
            "percent": 100.0 / steps,
            "h": self.step / 3600.0,
            "kWh": self.step / 3.6e6,
            "kg": self.step,
            "m3": self.step,
            "sum": 1.0,
        }
        shown = [column for column in COLUMNS if column.how != "end" or states is not None]
        names = [column.name for column in shown]
        names.insert(3, "zone_dew_point_C")
        pressure = self._forcing.nodes[1::2, 4]
        extra: dict[str, NDArray[np.float64]] = {}
        if states is None:
            pressure = np.interp(
                index.asi8,
                self._index.asi8 + (self._index[1] - self._index[0]).value // 2,
                pressure,
            )
        else:
            stages, hottest = self._record.stages, self._record.hottest
            for k in range(len(self._machine.stages)):
                extra[f"cooling_stage_{k + 1}_h"] = stages[:, 2 * k] * self.step / 3600.0
                extra[f"cooling_stage_{k + 1}_starts"] = stages[:, 2 * k + 1]
            extra["supply_temperature_max_C"] = hottest[:, 0]
            extra["strip_limit_temperature_max_C"] = hottest[:, 1]
        names += extra
        # One array, a row a column of the table, which pandas takes as it is.
        data = np.empty((len(names), len(sums)))
        rows = dict(zip(names, data, strict=True))
        for column in shown:
            if column.how != "end":
                k = Step._fields.index(column.field)
                np.multiply(sums[:, k], factor[column.how], out=rows[column.name])
            elif states is not None:
                scale = 100.0 if column.name.endswith("_pct") else 1.0
                k = State._fields.index(column.field)
                np.multiply(states[:, k], scale, out=rows[column.name])
        rows["zone_dew_point_C"][:] = air.dew_points(
            rows["zone_humidity_ratio"], np.ascontiguousarray(pressure)
        )
        for name, values in extra.items():
            rows[name][:] = values
        return pd.DataFrame(data.T, index=index, columns=names, copy=False)

    @property
    def spin_up_report(self) -> pd.DataFrame:
        """How far what is slow still moved in the last day of the spin-up.

        A house that has forgotten how it began moves with the weather alone; a deep layer or a
        slab that still drifts by much more than its neighbours wants a longer `spin_up`.

        Returns
        -------
        DataFrame
            Rows by the hourly table's columns of masses (degC) and stores (per cent RH);
            `day_before` and `first` (at the start of the season's first row), `moved`, their
            difference. Without a spin-up nothing has moved.
        """
        rows = {}
        for column in COLUMNS:
            if column.field not in SLOW_STATES:
                continue
            k = State._fields.index(column.field)
            scale = 100.0 if column.name.endswith("_pct") else 1.0
            before, first = scale * self._day_before[k], scale * self._first_state[k]
            rows[column.name] = (before, first, first - before)
        return pd.DataFrame.from_dict(
            rows, orient="index", columns=["day_before", "first", "moved"]
        )

    @property
    def memory(self) -> pd.DataFrame:
        """What the strategy kept in its memory at the end of each hour, by slot."""
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
            self.hourly, len(self._machine.stages), self.quarters, set(self.strategy.settings)
        )

    def minutes(self, day: str) -> pd.DataFrame:
        """One day at the run's own step.

        The day is simulated again from the state at its midnight, which gives the same bits.

        Parameters
        ----------
        day : str
            "MM-DD" or "YYYY-MM-DD".

        Returns
        -------
        DataFrame
            The columns of `hourly` that a step has, each for the step (energies and masses are
            the step's own), with `cooling_stage`, `reheat_stage`, `heating_stage` and
            `supply_temperature_C` beside them, and `power_kW`, the whole house's machines.

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
            self._index[first], periods=len(record.trace), freq=f"{self.step:g}s", name="time"
        )
        frame = self._table(record.trace, None, index, 1)
        for name, field in (
            ("cooling_stage", "cooling_stage"),
            ("reheat_stage", "reheat_stage"),
            ("heating_stage", "heating_stage"),
            ("supply_temperature_C", "supply_temperature"),
        ):
            frame[name] = record.trace[:, Step._fields.index(field)]
        frame["power_kW"] = sum(frame[f"{use}_kWh"] for use in END_USES) * 3600.0 / self.step
        return frame

    def steps(self, *fields: str) -> pd.DataFrame:
        """Some quantities of every step of the season, which is stepped once more for them.

        Parameters
        ----------
        *fields : str
            Names of `engine.records.Step`, in SI.

        Returns
        -------
        DataFrame
            Indexed by `time`, the start of each step; `minutes` is the same of one day, with units.

        Raises
        ------
        InputError
            If a step has no such field.
        """
        for name in fields:
            if name not in Step._fields:
                raise InputError("Season.steps", name, one_of(name, Step._fields))
        chosen = [Step._fields.index(name) for name in fields]
        hours, steps = len(self._index), self._machine.steps
        values = np.empty((hours * steps, len(chosen)))
        state, memory = self._first_state.copy(), self._first_memory.copy()
        # Day by day, since a traced step holds everything.
        for first in range(0, hours, 24):
            part = self._forcing.part(first, min(first + 24, hours))
            traced = self._machine.run(part, state, memory, trace=True).trace
            values[first * steps : first * steps + len(traced)] = traced[:, chosen]
        index = pd.date_range(
            self._index[0], periods=len(values), freq=f"{self.step:g}s", name="time"
        )
        return pd.DataFrame(values, index=index, columns=list(fields))

    @cached_property
    def events(self) -> pd.DataFrame:
        """Every call, change of a machine and refusal of the season with its minute.

        The season is stepped once more, the first time that this is asked for. Filter it as any
        DataFrame: ``events.loc["1990-07-15"]``, ``events.query("kind == 'refusal'")``; write it
        with ``events.to_csv(file)``.

        Returns
        -------
        DataFrame
            Indexed by `time`, the start (local standard time) of the step in which the change is
            seen; in a step what is called stands before what is refused and what runs. ``kind`` is
            "fault", "call" (of the control), "relay" (what the machines were told, where messages,
            relays or an enable stand between), "refusal" (it begins; the reasons are those of
            `meter.refused`) or "machine"; ``what`` has changed, from ``was`` to ``now``, in the
            units of `Calls` and of stages (the blower as a fraction of its full flow; 0 and 1 for
            off and on). ``temperature_C`` and ``rh_pct`` are the room as the control read it in
            that step. A call in proportion or a compressor that follows it changes step by step,
            and each change is a row.
        """
        return log_events(
            self._machine, self._forcing, self._index, self._first_state, self._first_memory,
            self._step_before, self._fault_changes(),
        )  # fmt: skip

    def _fault_changes(self) -> Iterator[Change]:
        """Each fault of the run as it begins and, within the season, ends."""
        steps, rows = self._machine.steps, slice(0, len(self._index))
        for fault in self.faults:
            spell = window(fault, self._index, rows, steps)
            for at, was in ((spell.first, 0.0), (spell.last, 1.0)):
                time = self._index[0] + at * pd.Timedelta(hours=1) / steps
                yield Change(time, fault.words, was, 1.0 - was)

    def _hours_of(self, day: str, where: str) -> tuple[int, int]:
        """First and last row, not counted, of a day."""
        rows = np.flatnonzero(
            [day in (stamp.strftime("%m-%d"), stamp.strftime("%Y-%m-%d")) for stamp in self._index]
        )
        if not len(rows):
            raise InputError(
                where,
                day,
                f"a day such as '07-15' within the season, {self._index[0]:%Y-%m-%d} to "
                f"{self._index[-1]:%Y-%m-%d}",
            )
        return int(rows[0]), int(rows[-1]) + 1

    def attribution(self, day: str | None = None) -> Attribution:
        """Where each litre and each kWh came from that a machine took, and where all went.

        The season is stepped once more, the first time that this is asked for, and the tags of
        `engine.tags` follow every step.

        Parameters
        ----------
        day : str, optional
            "MM-DD" or "YYYY-MM-DD"; by default the whole season. A day begins with what the days
            before it left in the house, under its own tags.

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
        """Water and heat by source, a day: what comes in, where it goes, what machines must take.

        Parameters
        ----------
        day : str, optional
            "MM-DD" or "YYYY-MM-DD"; by default the mean day of the season.

        Returns
        -------
        DataFrame
            As `Attribution.loads`, for a day, from the tags that account for the electricity too.

        Raises
        ------
        InputError
            If the season has no such day.
        """
        table = self.attribution(day).loads
        return table if day is not None else table / (len(self._index) / 24.0)

    def mild_humid_day(self) -> str:
        """The most humid day on which the thermostat is nearly satisfied.

        Among the days on which the compressor runs less than a quarter of the time and nothing
        heats, the one with the highest mean indoor dew point; "YYYY-MM-DD".

        Raises
        ------
        InputError
            If the season has no such day.
        """
        hourly = self.hourly
        stages = [c for c in hourly.columns if c.startswith("cooling_stage_") and c.endswith("_h")]
        by_day = hourly.groupby(pd.DatetimeIndex(hourly.index).date)
        running = by_day[stages].sum().sum(axis=1)
        heating = by_day[["heat_pump_h", "furnace_h", "backup_heat_h"]].sum().sum(axis=1)
        mild = (running < 6.0) & (heating == 0.0)
        if not mild.any():
            raise InputError(
                "mild_humid_day",
                "no day with cooling under a quarter of the time and no heating",
                "a season that has one",
            )
        return str(by_day["zone_dew_point_C"].mean()[mild].idxmax())

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
        """Residual of the dry-air, water and energy balance of the season.

        An audit from outside: what the house holds at the end less what it held at the start,
        against what crossed its skin, by the meter's own columns. Energy is drawn up from the
        electricity that went in, not from the air streams that stepped the state: fans, strips
        and dehumidifier count as their kWh, the coil as the refrigerant's heat. Contents are
        recomputed from temperatures, humidities and pV/(R T).

        Returns
        -------
        DataFrame
            Rows dry_air (kg), water (kg), energy (kWh); columns `change` of contents, `net` flow,
            `residual`, `gross` (the sum of all flows' absolute values) and `relative`.
        """
        total = self.hourly.sum()
        magnitude = self.hourly.abs().sum()
        rows = {}
        before, after = (
            contents(self._machine, state, pressure)
            for state, pressure in (
                (self._first_state, self._forcing.nodes[0, 4]),
                (self._record.states[-1], self._forcing.nodes[-1, 4]),
            )
        )
        for name, flows in BALANCES.items():
            change = after[name] - before[name]
            net = float(total[list(flows)].sum())
            gross = float(magnitude[list(flows)].sum())
            residual = change - net
            rows[name] = (change, net, residual, gross, residual / gross if gross else 0.0)
        return pd.DataFrame.from_dict(
            rows, orient="index", columns=["change", "net", "residual", "gross", "relative"]
        )

    @property
    def provenance(self) -> dict[str, Any]:
        """What produced this result: versions, inputs, weather checksum."""
        return {
            **{name: package_version(name) for name in ("moistsim", "numba", "numpy")},
            "weather": f"{self.weather.name} {self.weather.checksum}",
            "season": f"{self._index[0]:%Y-%m-%d} to {self._index[-1]:%Y-%m-%d}",
            "step_s": self.step,
            "spin_up_s": self.spin_up,
            "spin_up_last_day_moved": self.spin_up_report["moved"].to_dict(),
            "strategy": {self.strategy.name: self.strategy.description},
            "house": attrs.asdict(cast(Any, self.house)),
            "machines": attrs.asdict(cast(Any, self.machines)),
        }


def package_version(name: str) -> str:
    """Version of an installed package; a source tree that is not installed has none."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


BALANCES: dict[str, tuple[str, ...]] = {
    "dry_air": (
        "air_infiltration_kg",
        "air_ventilation_kg",
        "air_opening_kg",
        "air_out_kg",
        "air_return_leak_kg",
        "air_supply_leak_kg",
    ),
    "water": (
        "water_infiltration_kg",
        "water_ventilation_kg",
        "water_out_kg",
        "water_return_leak_kg",
        "water_supply_leak_kg",
        "water_gains_kg",
        "water_drained_kg",
        "water_dehumidifier_kg",
        "water_surfaces_kg",
        "water_opening_kg",
        "water_ground_kg",
        "water_construction_kg",
    ),
    "energy": (
        "heat_infiltration_kWh",
        "heat_ventilation_kWh",
        "heat_out_kWh",
        "heat_return_leak_kWh",
        "heat_supply_leak_kWh",
        "heat_duct_walls_kWh",
        "heat_opaque_kWh",
        "heat_windows_kWh",
        "heat_sun_kWh",
        "heat_ground_kWh",
        "heat_gains_kWh",
        "heat_moisture_kWh",
        "heat_ventilation_fan_kWh",
        "heat_standby_kWh",
        "heat_refrigerant_kWh",
        "heat_heat_pump_kWh",
        "heat_furnace_kWh",
        "heat_hot_gas_kWh",
        "heat_drained_kWh",
        "heat_dehumidifier_drain_kWh",
        "heat_surfaces_kWh",
        "heat_pressure_kWh",
        "heat_opening_kWh",
        "heat_ground_vapour_kWh",
        "heat_construction_kWh",
        "indoor_fan_kWh",
        "reheat_kWh",
        "backup_heat_kWh",
        "dehumidifier_kWh",
    ),
}
"""What crosses the skin of the house, by the hourly table's columns."""


def contents(machine: Machine, row: NDArray[np.float64], pressure: float) -> dict[str, float]:
    """Dry air (kg), water (kg) and energy (kWh) that a house holds in a state."""
    zone, state = machine.plant.zone, State(*(float(x) for x in row))
    t, w = state.zone_temperature, state.zone_humidity_ratio
    dry_air = zone.volume * air.dry_air_density(t, w, pressure)
    stored = (
        zone.surface_store * state.surface_rh
        + zone.deep_store * state.deep_rh
        + zone.contents_store * state.contents_rh
        + zone.contents_deep_store * state.contents_deep_rh
    )
    energy = (
        dry_air * air.enthalpy(t, w)
        + zone.fast_capacity * state.fast_temperature
        + zone.slow_capacity * state.slow_temperature
        + stored * SORBED_ENTHALPY
        + state.coil_water * CONDENSATE_ENTHALPY
    )
    return {
        "dry_air": dry_air,
        "water": dry_air * w + stored + state.coil_water,
        "energy": energy / 3.6e6,
    }


_forced = lru_cache(maxsize=max(4, 2 * (os.cpu_count() or 1)))(force)


def simulate(
    house: House,
    machines: Equipment,
    strategy: Strategy,
    weather: Weather,
    *,
    start: str | None = None,
    end: str | None = None,
    step: float | str = "60 s",
    spin_up: float | str = "21 day",
    faults: Sequence[Fault] = (),
) -> Season:
    """Simulate a house through a season.

    Parameters
    ----------
    house, machines, strategy, weather
        The descriptions.
    start, end : str, optional
        First and last day, "MM-DD" or "YYYY-MM-DD"; by default all that the weather has.
    step : float or str
        Seconds, or a text with a unit; must divide a quarter of an hour.
    spin_up : float or str
        Time simulated ahead of the season and not counted, so that masses and the moisture store
        forget how they began. It is the weather before `start`; where there is not enough of it,
        the season's own first days are run ahead of it.
    faults : sequence, optional
        What fails, and when, as `moistsim.faults` describes it. Nothing fails in the spin-up.

    Returns
    -------
    Season

    Raises
    ------
    InputError, WeatherError
        Before the run, if anything cannot be used.
    """
    seconds = to_si(step, "s", "simulate step")
    steps = round(3600.0 / seconds) if seconds > 0.0 else 0
    if steps < 4 or steps % 4 or abs(steps * seconds - 3600.0) > 1e-6:
        raise InputError(
            "simulate step", step, "a time that divides 15 min into whole steps, such as '60 s'"
        )
    if not isinstance(strategy, Strategy):
        raise InputError("simulate strategy", strategy, "a strategy, made by @ms.strategy")
    rows = weather.between(start, end)
    whole = _forced(house, weather)
    frame = weather.frame
    disturbance = disturb(
        machines,
        faults,
        pd.DatetimeIndex(frame.index),
        np.column_stack([frame["temp_air"], whole.hours[:, OUTDOOR_RH]]),
        rows,
        steps,
    )
    whole = whole._replace(disturbance=disturbance)
    parameters_of_run = parameters.plant(house, machines, strategy, seconds, faults)
    machine = Machine(
        parameters_of_run,
        parameters.stage_table(machines.cooling),
        np.array(machines.strips.powers if machines.strips else (), dtype=float),
        strategy,
        steps,
    )
    forcing = whole.part(rows.start, rows.stop)
    days = int(to_si(spin_up, "s", "simulate spin_up") // 86400.0)
    warm_up = min(24 * days, rows.start)
    if warm_up < 24 * days:
        warm_up = min(24 * days, len(forcing.hours) // 24 * 24)
        ahead = forcing.part(0, warm_up)
    else:
        ahead = whole.part(rows.start - warm_up, rows.start)
    state = parameters.initial_state(
        parameters_of_run, START_TEMPERATURE, START_RH, ahead.nodes[0, 4]
    )
    ahead = ahead._replace(disturbance=ahead.disturbance.without_faults())
    memory = parameters.memory(parameters_of_run)
    day_before = state.copy()
    step_before = None
    if warm_up:
        settling = machine.run(ahead.part(0, warm_up - 1), state, memory).states
        if len(settling) >= 24:
            day_before = settling[-24].copy()
        step_before = last_step(
            machine.run(ahead.part(warm_up - 1, warm_up), state, memory, trace=True)
        )
        # The season's first pressure may differ from that at the end of the spin-up.
        column = State._fields.index
        state[column("zone_dry_air")] = parameters_of_run.zone.volume * air.dry_air_density(
            state[column("zone_temperature")],
            state[column("zone_humidity_ratio")],
            forcing.nodes[0, 4],
        )
    first_state, first_memory = state.copy(), memory.copy()
    record = machine.run(forcing, state, memory)
    index = pd.DatetimeIndex(weather.frame.index[rows])
    finite = np.isfinite(record.hourly).all(axis=1) & np.isfinite(record.states).all(axis=1)
    if not finite.all():
        raise InputError(
            f"simulate with strategy {strategy.name}",
            f"a result that is not a number at {index[int(np.argmin(finite))]}",
            "calls that are numbers, and a house whose state stays finite",
        )
    return Season(
        house, machines, strategy, weather, start, end, seconds, warm_up * 3600.0, machine,
        forcing, index, first_state, first_memory, record, day_before, step_before,
        faults=tuple(faults),
    )  # fmt: skip
