"""Errors of sensors and dated faults as arrays, one row an hour, to go with the forcing."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.controls import (
    KINDS,
    LINKS,
    RELAYS,
    FailedBlower,
    Fault,
    FouledCoil,
    FrozenSensor,
    LateMessages,
    LostLink,
    LostMessages,
    PowerCut,
    StoppedDehumidifier,
    StuckRelay,
    WeldedStrips,
)
from moistsim.core.errors import InputError, Problem
from moistsim.engine import wiring
from moistsim.engine.forcing_tables import Disturbance, nothing
from moistsim.equipment import Equipment, Sensor

YEAR_H = 8760.0
"""Length of the year, h."""
_PLAIN = {
    WeldedStrips: wiring.WELDED,
    FailedBlower: wiring.BLOWER_FAILED,
    FrozenSensor: wiring.FROZEN,
    StoppedDehumidifier: wiring.DEHUMIDIFIER_STOPPED,
    FouledCoil: wiring.FOULED,
}
_LOST = {"readings": wiring.LOST_READING, "calls": wiring.LOST_CALL}
_LATE = {"readings": wiring.LATE_READINGS, "calls": wiring.LATE_CALLS}


class Window(NamedTuple):
    """Steps in which a fault acts, counted from the weather's first row."""

    first: int
    """First step of the fault."""
    last: int
    """Step after the last step of the fault."""


def window(fault: Fault, index: pd.DatetimeIndex, rows: slice, steps: int) -> Window:
    """The steps in which a fault acts within a season.

    Parameters
    ----------
    index : DatetimeIndex
        Times of the weather's rows.
    rows : slice
        Rows of the season.

    Raises
    ------
    InputError
        If the fault does not begin within the season.
    """
    start, stop = steps * rows.start, steps * rows.stop
    first = start
    if fault.start is not None:
        first = start + _step_of(fault, index[rows], steps)
    last = stop
    if fault.lasts is not None:
        most = float(stop - first)
        last = first + max(round(min(fault.lasts * (steps / 3600.0), most)), 1)
    return Window(first, last)


def _step_of(fault: Fault, season: pd.DatetimeIndex, steps: int) -> int:
    """Step of the season in which a fault begins."""
    accepted = (
        f"a minute such as '{season[0]:%m-%d} 14:30' within the season, {season[0]:%Y-%m-%d} to "
        f"{season[-1]:%Y-%m-%d}"
    )
    text = str(fault.start)
    error = InputError(f"{type(fault).__name__}.start", fault.start, accepted)
    for form in ("%m-%d %H:%M", "%m-%d"):
        # 2000 is a leap year, so February 29 is accepted.
        wanted = pd.to_datetime(f"2000-{text}", format=f"%Y-{form}", errors="coerce")
        if not pd.isna(wanted):
            break
    else:
        raise error
    hour = wanted.floor("h")
    same = (season.month == hour.month) & (season.day == hour.day) & (season.hour == hour.hour)
    at = np.flatnonzero(same)
    if not len(at):
        raise error
    # Rows of a weather with an offset of half an hour begin within the clock hour.
    into = (wanted - hour).total_seconds() - 60.0 * season[at[0]].minute
    return max(int(at[0]) * steps + int(into * steps // 3600.0), 0)


def disturb(
    machines: Equipment,
    faults: Sequence[Fault],
    index: pd.DatetimeIndex,
    outdoors: NDArray[np.float64],
    rows: slice,
    steps: int,
) -> Disturbance:
    """Errors and faults for all rows of a weather.

    Parameters
    ----------
    outdoors : array
        (n, 2) temperature, degC, and RH, percent, of each row.
    rows : slice
        The season, in which the faults act.
    steps : int
        Steps an hour.

    Raises
    ------
    InputError
        If a fault is not one of `ms.faults`, does not begin within the season, or repeats one of
        its kind.
    """
    n = len(index)
    given = nothing(n)
    if faults:
        given = given._replace(faults=_bits(faults, index, rows, steps).reshape(n, steps))
    if machines.sensor.errs:
        given = given._replace(errors=np.hstack(_errors(machines.sensor, n, steps)))
    if machines.outdoor_sensor is not None:
        given = given._replace(
            outdoors=np.hstack(_reported(machines.outdoor_sensor, outdoors, steps))
        )
    return given


def _bits(
    faults: Sequence[Fault], index: pd.DatetimeIndex, rows: slice, steps: int
) -> NDArray[np.float64]:
    """Bits of the faults that act in each step."""
    bits = np.zeros(len(index) * steps, dtype=np.int64)
    single: set[object] = set()
    for fault in faults:
        if not isinstance(fault, KINDS):
            raise InputError("simulate faults", fault, "faults of ms.faults")
        first, last = window(fault, index, rows, steps)
        acting = bits[first:last]
        key: object = (type(fault), getattr(fault, "link", ""))
        if isinstance(fault, LateMessages | FouledCoil) and key in single:
            raise InputError(
                "simulate faults",
                Problem(f"two of {type(fault).__name__}"),
                "one, since each has its size",
            )
        single.add(key)
        if isinstance(fault, LostMessages):
            acting |= np.where(
                _minutes(fault.seed, len(index), steps, LINKS.index(fault.link))[first:last]
                < fault.probability,
                _LOST[fault.link],
                0,
            )
        elif isinstance(fault, LostLink):
            acting |= _LOST[fault.link]
        elif isinstance(fault, LateMessages):
            acting |= _LATE[fault.link]
        elif isinstance(fault, StuckRelay):
            stuck = wiring.STUCK_ON if fault.position == "on" else wiring.STUCK_OFF
            acting |= stuck << RELAYS.index(fault.relay)
        elif isinstance(fault, PowerCut):
            relays = wiring.RELAYS_OPEN if fault.relays == "open" else 0
            forgets = wiring.FORGETS if fault.wakes == "with nothing" else 0
            acting |= wiring.POWER_CUT | relays | forgets
            awake = min(last + round(fault.controls_after * steps / 3600.0), steps * rows.stop)
            bits[last:awake] |= wiring.CONTROL_DOWN | relays | forgets
        else:
            acting |= _PLAIN[type(fault)]
    return bits.astype(float)


def _minutes(seed: float, hours: int, steps: int, stream: int) -> NDArray[np.float64]:
    """Uniform random draw for each step, drawn by the minute for any length of step."""
    draws = np.random.default_rng([int(seed), 1 + stream]).random(60 * hours)
    return _by_step(draws, hours, steps).ravel()


def _by_step(minutes: NDArray[np.float64], hours: int, steps: int) -> NDArray[np.float64]:
    """Values by minute as (hours, steps): each step has the value of its middle."""
    middle = ((np.arange(steps) + 0.5) * 60.0 / steps).astype(int)
    return minutes.reshape(hours, 60)[:, middle]


def _errors(
    sensor: Sensor, hours: int, steps: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Offset, drift and noise of a sensor for each step, K and percent."""
    noise = np.random.default_rng([int(sensor.seed), 0]).standard_normal((2, 60 * hours))
    year = ((np.arange(hours * steps) + 0.5) / (steps * YEAR_H)).reshape(hours, steps)
    return (
        sensor.temperature_offset
        + sensor.temperature_drift * year
        + sensor.temperature_noise * _by_step(noise[0], hours, steps),
        sensor.humidity_offset
        + sensor.humidity_drift * year
        + sensor.humidity_noise * _by_step(noise[1], hours, steps),
    )


def _reported(
    sensor: Sensor, truth: NDArray[np.float64], steps: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Readings of an outdoor sensor for each step, degC and percent.

    They have its lag, errors, resolution and report interval.
    """
    from scipy.signal import lfilter

    hours = len(truth)
    # The weather's values hold at the middle of their hour.
    at = (np.arange(hours * steps) + 0.5) / steps - 0.5
    dt = 3600.0 / steps
    tables = []
    for column, lag, error, resolution in zip(
        truth.T,
        (sensor.temperature_lag, sensor.humidity_lag),
        _errors(sensor, hours, steps),
        (sensor.temperature_resolution, sensor.humidity_resolution),
        strict=True,
    ):
        value = np.interp(at, np.arange(hours), column)
        if lag > 0.0:
            keeps = float(np.exp(-dt / lag))
            value = lfilter([1.0 - keeps], [1.0, -keeps], value, zi=[keeps * value[0]])[0]
        value = value + error.ravel()
        if resolution > 0.0:
            value = np.floor(value / resolution + 0.5) * resolution
        every = max(round(sensor.report_every / dt), 1)
        tables.append(value[np.arange(len(value)) // every * every].reshape(hours, steps))
    tables[1] = np.clip(tables[1], 0.1, 100.0)
    return tables[0], tables[1]
