"""A structure's house run over the hours of a log."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.calibration.adjusted import (
    DEEP,
    DRIFT,
    EXTRA,
    LEAST_SHARE,
    OFFSET,
    Adjusted,
    described,
    values_at,
)
from moistsim.calibration.goodness import by_period
from moistsim.calibration.structures import Structure
from moistsim.controls import Strategy
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.loggers import HouseLog
from moistsim.season import HouseState, Season, simulate
from moistsim.weather import Weather

GRAMS = 1000.0
MONTH = 720.0
"""Hours in 30 days."""
DRIEST, DAMPEST = 0.05, 0.98
"""Limits of a relative humidity at the start."""
MACHINES = {"compressor": "calls.cooling", "dehumidifier": "calls.dehumidifier"}
"""Calls that a power clamp stands for, by the machine's name in a log."""
RUNS_ABOVE = 0.1
"""Share of a machine's largest logged power above which it runs."""
MOST_DEVIATIONS = 3.0
"""Deviations from its mean at which an extra input is cut off."""
REMOVED, ADDED = "condensate", "vapor_added"
"""Columns of a log with water that was weighed: out of the air, and into it."""


@attrs.frozen(eq=False)
class Hours:
    """A log by the hour, as a model is compared with it."""

    weather: Weather
    index: pd.DatetimeIndex
    measured: NDArray[np.float64]
    """Humidity ratio, g/kg; NaN where nothing was logged."""
    outdoors: NDArray[np.float64]
    """Outdoor humidity ratio, g/kg."""
    warm: NDArray[np.float64]
    """Measured indoor temperature, degC; NaN where nothing was logged."""
    per_rh: NDArray[np.float64]
    """Humidity ratio of one percent RH at the measured temperature, g/kg."""
    impose: pd.Series | None
    """Indoor temperature, degC, that the model follows; None if it finds its own."""
    series: dict[str, pd.Series]
    first_state: HouseState
    known_water: NDArray[np.float64] | None
    """Water added to the air less water taken out, by hour, kg/s."""
    extras: Mapping[str, NDArray[np.float64]]
    """Extra inputs by name, each less its mean and over its standard deviation."""

    @property
    def elapsed(self) -> NDArray[np.float64]:
        """Time since the first row, h."""
        return np.arange(len(self.index), dtype=float)

    @property
    def compared(self) -> tuple[NDArray[np.float64], ...]:
        """What runs are compared with: humidity, and the temperature unless they follow it."""
        return (self.measured,) if self.impose is not None else (self.measured, self.warm)

    def start(self, deeper: float) -> HouseState:
        """State in which a run starts, with the depth of materials so many percent RH more humid."""
        first: Any = self.first_state
        deep = first.relative_humidity + 0.01 * deeper
        state: HouseState = attrs.evolve(first, deep_humidity=min(max(deep, DRIEST), DAMPEST))
        return state

    def known(self, first: int, last: int) -> NDArray[np.intp]:
        """Rows with a measured humidity, from `first` up to but not including `last`."""
        return first + np.flatnonzero(np.isfinite(self.measured[first:last]))


def hours_of(log: HouseLog, *, impose: bool, extra: Sequence[str] = ()) -> Hours:
    """A log by the hour.

    Parameters
    ----------
    extra : sequence of str
        Columns of the log that household moisture may rise with.

    Raises
    ------
    InputError
        If the log has no humidity, or an extra column is missing or has a gap.
    """
    weather = log.weather
    index = pd.DatetimeIndex(weather.frame.index)
    humidity = log.indoor_humidity_ratio
    temperature = log.indoor_temperature
    by_hour = by_period(pd.DataFrame({"w": humidity, "t": temperature}), "h").reindex(index)
    if not by_hour["w"].notna().any():
        raise InputError(
            "calibrate log", Problem("no indoor humidity"), "temperature and RH of a room"
        )
    warm = by_hour["t"].interpolate(limit_direction="both").to_numpy(float)
    pressure = weather.frame["pressure"].to_numpy(float)
    saturated = np.array(
        [
            air.humidity_ratio(air.saturation_pressure(t), p)
            for t, p in zip(warm, pressure, strict=True)
        ]
    )
    measured = by_hour["w"].to_numpy(float)
    day = slice(0, 24)
    first_rh = float(
        np.clip(np.nanmean(measured[day]) / np.nanmean(saturated[day]), DRIEST, DAMPEST)
    )
    known: NDArray[np.float64] | None = None
    if REMOVED in log.frame or ADDED in log.frame:
        zero = pd.Series(0.0, log.frame.index)
        net = log.frame.get(ADDED, zero).fillna(0.0) - log.frame.get(REMOVED, zero).fillna(0.0)
        known = np.asarray(by_period(net / log.step, "h").reindex(index).fillna(0.0), float)
    return Hours(
        weather=weather,
        index=index,
        measured=GRAMS * measured,
        outdoors=GRAMS * weather.frame["humidity_ratio"].to_numpy(float),
        warm=by_hour["t"].to_numpy(float),
        per_rh=10.0 * saturated,
        impose=temperature if impose else None,
        series=_running(log),
        first_state=HouseState.at(temperature=float(warm[day].mean()), relative_humidity=first_rh),
        known_water=known,
        extras={name: _standardized(log, name, index) for name in extra},
    )


def _standardized(log: HouseLog, name: str, index: pd.DatetimeIndex) -> NDArray[np.float64]:
    """An extra input by the hour, less its mean and over its standard deviation."""
    where = f"calibrate extra {name!r}"
    if name not in log.frame:
        raise InputError(where, Problem("no such column in the log"), one_of(name, [*log.frame]))
    values = np.asarray(by_period(log.frame[name], "h").reindex(index), float)
    missing = np.flatnonzero(~np.isfinite(values))
    if len(missing):
        raise InputError(
            where, Problem(f"no value at {index[missing[0]]}"), "a column without gaps"
        )
    if np.ptp(values) == 0.0:
        raise InputError(where, Problem("the same value in all hours"), "a column that varies")
    # A few extreme hours, such as an oven at its peak, are not allowed to rule the rest.
    deviations = (values - values.mean()) / values.std()
    return np.asarray(np.clip(deviations, -MOST_DEVIATIONS, MOST_DEVIATIONS))


def _running(log: HouseLog) -> dict[str, pd.Series]:
    """Calls that made the machines with a power clamp run as they did."""
    found = {}
    for machine, call in MACHINES.items():
        power = log.frame.get(f"power.{machine}")
        if power is not None and power.notna().all() and float(power.max()) > 0.0:
            found[call] = (power > RUNS_ABOVE * float(power.max())).astype(float)
    return found


class Run(NamedTuple):
    """A run of a structure over the hours of a log."""

    humidity: NDArray[np.float64]
    """Humidity ratio that loggers would show, g/kg."""
    season: Season


@attrs.frozen(eq=False)
class Model:
    """A structure with its values, over the hours of a log."""

    structure: Structure
    strategy: Strategy
    names: tuple[Adjusted, ...]
    hours: Hours
    step: float | str
    scatter: float = 0.0

    def run(self, values: Mapping[str, float]) -> Run:
        """Run the house with these values, by dotted name in SI."""
        hours = self.hours
        made = described(self.structure, self.strategy, self.names, values)
        series: dict[str, Any] = dict(hours.series)
        moved = {
            name.removeprefix(EXTRA): b for name, b in values.items() if name.startswith(EXTRA)
        }
        if hours.known_water is not None or moved:
            profile = np.array(made.house.gains.moisture_profile)[hours.index.hour]
            for name, b in moved.items():
                profile = profile * np.maximum(1.0 + b * hours.extras[name], LEAST_SHARE)
            rate = made.house.moisture_gain * profile
            if hours.known_water is not None:
                rate = rate + hours.known_water
            series["moisture"] = pd.Series(rate, hours.index)
        season = simulate(
            made.house, made.equipment, made.strategy, hours.weather, step=self.step,
            impose=hours.impose, series=series, first_state=hours.start(values.get(DEEP, 0.0)),
        )  # fmt: skip
        humidity = GRAMS * season.column("indoor_humidity_ratio")
        error = values.get(OFFSET, 0.0) + values.get(DRIFT, 0.0) * hours.elapsed / MONTH
        return Run(humidity + error * hours.per_rh, season)

    def shown(self, z: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
        """What loggers would show at a point of the standard normal scale, as `Hours.compared`."""
        humidity, season = self.run(values_at(self.names, z))
        if self.hours.impose is not None:
            return (humidity,)
        return humidity, season.column("indoor_temperature_C")
