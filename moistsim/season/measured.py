"""Measured series in place of calculated values: indoor temperature, household, air, setpoints, calls.

A run reads them from tables by hour and step. The indoor temperature is linear between its stamps.
Every other value holds from its stamp to the next one.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.controls import Strategy
from moistsim.core.errors import Fix, InputError, Problem, one_of
from moistsim.engine import (
    GIVEN_CALLS,
    NOT_GIVEN,
    Forcing,
    Plant,
    nothing_imposed,
    opened_as_given,
    with_household,
    with_infiltration,
    with_windows,
)
from moistsim.equipment import Equipment
from moistsim.house import House

SECOND = 10**9
"""Nanoseconds in a second, in which pandas counts."""
HOUR = 3600 * SECOND
LONGEST_STEP = 3600.0
"""Longest time between two stamps of a measured temperature, s."""
GAP = 1.5
"""Multiple of the usual time between two stamps beyond which stamps are missing."""
SETTING, CALL = "strategy.", "calls."


class _Kind(NamedTuple):
    """A series that a run takes: its unit, and the range of its values."""

    unit: str
    low: float
    high: float


IMPOSE = _Kind("degC", -30.0, 60.0)
KINDS = {
    # Below zero where more water is taken out, as weighed, than the household gives off.
    "moisture": _Kind("kg/s", -0.01, 0.01),
    "gains": _Kind("W", 0.0, 1e5),
    "air_flow": _Kind("m3/s", 0.0, 20.0),
    "occupied": _Kind("0 or 1", 0.0, 1.0),
    "windows": _Kind("0 or 1", 0.0, 1.0),
    **{f"{CALL}{name}": _Kind("stage", 0.0, 10.0) for name in GIVEN_CALLS},
}
"""Series by name, apart from the setpoints ``strategy.NAME``."""
CALLED = {
    "calls.cooling": ("cooling",),
    "calls.heating": ("heating", "furnace", "strips", "room_heater"),
    "calls.dehumidifier": ("dehumidifier",),
    "calls.fan": ("cooling",),
}
"""Machines of which a house needs one for a series of calls."""


class Readings(NamedTuple):
    """A series as numbers, checked."""

    where: str
    """Name of the series in an error."""
    times: NDArray[np.int64]
    """Stamps, ns."""
    values: NDArray[np.float64]
    usual: int
    """Usual time between two stamps, ns."""

    def covering(self, first: int, last: int) -> "Readings":
        """These readings, if they cover a time.

        The first and the last reading stand for one usual interval beyond them.

        Raises
        ------
        InputError
            With the first time without a reading.
        """
        missing = None
        if first < self.times[0] - self.usual:
            missing = first
        elif last > self.times[-1] + self.usual:
            missing = int(self.times[-1]) + self.usual
        if missing is not None:
            raise InputError(
                self.where,
                Problem(f"no value at {_shown(missing)}"),
                f"values from {_shown(first)} to {_shown(last)}, spin-up and season, or a shorter spin_up",
            )
        return self

    def linear(self, at: NDArray[np.int64]) -> NDArray[np.float64]:
        """Values on straight lines between the stamps."""
        return np.interp(at, self.times, self.values)

    def held(self, at: NDArray[np.int64]) -> NDArray[np.float64]:
        """Values that hold from their stamps to the next ones."""
        place = np.searchsorted(self.times, at, side="right") - 1
        return np.asarray(self.values[np.maximum(place, 0)])

    def hourly(self, starts: NDArray[np.int64]) -> NDArray[np.float64]:
        """Means over the hours that begin at `starts`, of values that hold to the next stamp."""
        # The first value holds before its stamp and the last one after it.
        bounds = np.concatenate([[starts[0]], self.times[1:], [starts[-1] + HOUR]])
        bounds = np.clip(bounds, starts[0], starts[-1] + HOUR)
        whole = np.concatenate([[0.0], np.cumsum(np.diff(bounds) * self.values)])
        ends = np.interp(starts + HOUR, bounds, whole)
        return np.asarray((ends - np.interp(starts, bounds, whole)) / HOUR)


def _shown(time: int) -> str:
    return f"{pd.Timestamp(time):%Y-%m-%d %H:%M}"


def read(series: Any, where: str, kind: _Kind, longest: float | None = None) -> Readings:
    """A series as numbers.

    Raises
    ------
    InputError
        With the first missing or impossible value, and its time.
    """
    if not isinstance(series, pd.Series) or not isinstance(series.index, pd.DatetimeIndex):
        raise InputError(where, series, "a pandas Series with a DatetimeIndex")
    index = series.index
    if index.tz is not None:
        raise InputError(
            where,
            Problem(f"stamps with the time zone {index.tz}"),
            "stamps in local standard time without a time zone",
        )
    if len(index) < 2 or index.hasnans:
        raise InputError(where, Problem(f"{len(index)} stamps"), "two or more, each with a time")
    times = index.to_numpy().astype("datetime64[ns]").astype(np.int64)
    steps = np.diff(times)
    if steps.min() <= 0:
        at = int(np.argmax(steps <= 0)) + 1
        raise InputError(
            where, Problem(f"{index[at]} after {index[at - 1]}"), "stamps in order, each once"
        )
    try:
        values = series.to_numpy(float)
    except (TypeError, ValueError):
        raise InputError(where, Problem("values that are not numbers"), kind.unit) from None
    if not np.isfinite(values.sum()):
        at = int(np.argmin(np.isfinite(values)))
        raise InputError(
            where,
            Problem(f"no value at {index[at]}"),
            Fix("Fill it with a stated rule, or choose a stretch without gaps"),
        )
    if values.min() < kind.low or values.max() > kind.high:
        at = int(np.argmax((values < kind.low) | (values > kind.high)))
        raise InputError(
            where,
            Problem(f"{values[at]:g} at {index[at]}"),
            f"{kind.unit} from {kind.low:g} to {kind.high:g}",
        )
    usual = int(np.median(steps))
    most = GAP * usual if longest is None else min(GAP * usual, longest * SECOND)
    if steps.max() > most:
        at = int(np.argmax(steps > most))
        raise InputError(
            where,
            Problem(f"no value between {index[at]} and {index[at + 1]}"),
            f"stamps at most {(most if longest is not None else usual) / SECOND / 60.0:g} min apart",
        )
    return Readings(where, times, values, usual)


class Run(NamedTuple):
    """Forcing and parameters of a run, with measured values in place of calculated ones."""

    forcing: Forcing
    plant: Plant
    start_temperature: float | None
    """Measured indoor temperature at the start, degC."""


def impose_series(
    forcing: Forcing,
    plant: Plant,
    index: pd.DatetimeIndex,
    steps: int,
    house: House,
    machines: Equipment,
    strategy: Strategy,
    impose: Any,
    series: Mapping[str, Any] | None,
) -> Run:
    """Put measured series in place of calculated values.

    Parameters
    ----------
    forcing : Forcing
        Forcing of the rows of `index`: spin-up and season.
    plant : Plant
        Parameters of the run.

    Raises
    ------
    InputError
        If a series has an unknown name or a gap, or does not cover all hours.
    """
    given = dict(series or {})
    settings = strategy.main.settings
    names = [*KINDS, *(f"{SETTING}{name}" for name in settings)]
    for name in given:
        if name not in names:
            raise InputError(
                "simulate series", Problem(f"unknown name {name!r}"), one_of(name, names)
            )
    starts = index.to_numpy().astype("datetime64[ns]").astype(np.int64)
    n, step = len(starts), HOUR // steps
    ends = starts[:, None] + step * np.arange(1, steps + 1)
    imposed, start_temperature = nothing_imposed(n), None

    def covering(series: Any, where: str, kind: _Kind, longest: float | None = None) -> Readings:
        found = read(series, where, kind, longest)
        return found.covering(int(starts[0]), int(starts[-1]) + HOUR)

    if impose is not None:
        if house.second_zone is not None:
            raise InputError(
                "simulate impose", Problem("the house has two zones"), "it in a house of one zone"
            )
        found = covering(impose, "simulate impose", IMPOSE, LONGEST_STEP)
        imposed = imposed._replace(temperature=found.linear(ends))
        start_temperature = float(found.linear(starts[:1])[0])

    hourly: dict[str, NDArray[np.float64]] = {}
    calls = np.full((n, len(GIVEN_CALLS) * steps), NOT_GIVEN)
    by_hour: dict[str, NDArray[np.float64]] = {}
    for name, values in given.items():
        where = f"simulate series {name!r}"
        if name.startswith(SETTING):
            found = covering(values, where, _Kind("numbers", -np.inf, np.inf))
            by_hour[name.removeprefix(SETTING)] = found.held(starts + HOUR // 2)
            continue
        found = covering(values, where, KINDS[name])
        if not name.startswith(CALL):
            hourly[name] = found.hourly(starts)
            continue
        machines_called = CALLED[name]
        if all(getattr(machines, field) is None for field in machines_called):
            raise InputError(
                where,
                Problem("the house has no such machine"),
                f"it with Equipment.{' or '.join(machines_called)}",
            )
        k = GIVEN_CALLS.index(name.removeprefix(CALL))
        calls[:, k * steps : (k + 1) * steps] = found.held(ends - step // 2)
    if any(name.startswith(CALL) for name in given):
        imposed = imposed._replace(calls=calls)
        plant = _without_own_calls(plant, given)
    if by_hour:
        imposed = imposed._replace(settings=_packed(strategy, by_hour))
    forcing = forcing._replace(imposed=imposed)
    if {"moisture", "gains", "occupied"} & hourly.keys():
        forcing = with_household(
            forcing, house, index,
            hourly.get("moisture"), hourly.get("gains"), hourly.get("occupied"),
        )  # fmt: skip
    if "air_flow" in hourly:
        forcing = with_infiltration(forcing, hourly["air_flow"])
        plant = plant._replace(zone=plant.zone._replace(stack=0.0))
    if "windows" in hourly:
        if house.window_opening is None:
            raise InputError(
                "simulate series 'windows'",
                Problem("the house has no windows that open"),
                "it with House.window_opening, which gives their area",
            )
        forcing = with_windows(forcing, hourly["windows"] >= 0.5)
        plant = plant._replace(opening=opened_as_given(plant.opening))
    return Run(forcing, plant, start_temperature)


def _without_own_calls(plant: Plant, given: Mapping[str, Any]) -> Plant:
    """Parameters without a humidistat or fan switch of a machine's own, where its calls are given."""
    if "calls.dehumidifier" in given:
        plant = plant._replace(
            dehumidifier=plant.dehumidifier._replace(humidistat_on=0.0, humidistat_off=0.0)
        )
    if "calls.fan" in given:
        plant = plant._replace(unit=plant.unit._replace(idle_airflow=0.0, circulation=0.0))
    return plant


def _packed(strategy: Strategy, by_hour: Mapping[str, NDArray[np.float64]]) -> NDArray[np.float64]:
    """Settings of a strategy in each hour, in the order in which its function takes them.

    The strategy checks each combination of values once.
    """
    table = np.column_stack([*by_hour.values()])
    unique, place = np.unique(table, axis=0, return_inverse=True)
    main = strategy.main
    rows = [
        main(**dict(zip(by_hour, map(float, row), strict=True))).packed_settings for row in unique
    ]
    return np.ascontiguousarray(np.array(rows, dtype=float)[place.ravel()])
