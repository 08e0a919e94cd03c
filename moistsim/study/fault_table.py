"""Effect of each fault on each option: humidity, temperature, energy, and time until it shows."""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import Any, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.controls import Fault
from moistsim.core.display import Units, units_or_default
from moistsim.core.errors import InputError
from moistsim.core.measures import Measure, in_trade
from moistsim.core.progress import progress_bar
from moistsim.core.units import Role
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import HOTTEST_STRIPS, column_catalog, window
from moistsim.equipment import Enable, Equipment
from moistsim.season import Season, simulate
from moistsim.study.study import Study

ROOM_OFF, ROOM_OFF_H = 2.0, 2
"""Deviation from a setpoint, K, and its duration, h, from which people notice it."""
DAMP_RH, DAMP_H = 65.0, 24
"""RH, percent, and the hours above it, from which people notice it."""
BILL_UP = 0.20
"""Increase of a month's bill, as a share, from which people notice it."""

MEASURES = (
    column_catalog.HOURS_OVER_60,
    Measure("coldest_C", "degC", "coldest hour of the room", digits=1),
    Measure("hottest_C", "degC", "hottest hour of the room", digits=1),
    Measure("wasted_kWh", "kWh", "electricity beyond the option without the fault"),
    Measure("fought_min", "minute", "time with strips heating against cooling"),
    Measure("strips_without_air_min", "minute", "time with strips on in still air"),
    Measure("limit_switch_max_C", "degC", "highest temperature at the strips' limit switch"),
    column_catalog.STRIP_TRIPS,
    Measure("shows_after_h", "hour", "time until the fault would be noticed"),
    Measure("shows_by", "text", "what is noticed first"),
)
"""The columns of `fault_table`."""


def fault_table(
    study: Study,
    faults: Mapping[str, Fault | Sequence[Fault]],
    *,
    enable: Enable | None = None,
    units: Units | None = None,
    progress: bool = True,
    workers: int | None = None,
) -> pd.DataFrame:
    """Simulate every option of a study with every fault, with and without the hard-wired enable.

    Parameters
    ----------
    study : Study
    faults : dict
        A fault by name, or several that occur together; `ms.faults.usual` gives a set.
    enable : Enable, optional
        The hard-wired enable; default: ``Enable()``. An option's own enable replaces it, and is
        removed in the rows without an enable.
    units : {"us", "si"}, optional
    progress : bool
        Show a progress bar.
    workers : int, optional
        Number of threads; default: one for each core.

    Returns
    -------
    DataFrame
        Indexed by option, fault and enable ("none", "hard-wired"). The fault "none" is the season
        without a fault.

        Columns for the room are hours above 60 % RH, and the coldest and the hottest hour.
        `wasted_kWh` is the extra energy against the same option and wiring without the fault. It is
        negative where the fault withholds a service.

        Columns for the strips are minutes of simultaneous heating and cooling, minutes without
        airflow, the highest temperature at the limit switch, and its number of trips. Heating and
        cooling count as simultaneous in a room drier than 45 % RH or warmer than its setpoint.

        `shows_after_h` is the time from the fault's first minute until somebody would notice it.
        `shows_by` is the first sign: the room 2 K beyond a setpoint for two hours, RH above 65 % for
        a day, or a month's bill 20 % higher. A sign counts only where the option without the fault
        does not show it.

    Raises
    ------
    InputError
        If there is no fault, a name is "none", or a fault does not fit the season.

    Examples
    --------
    >>> import moistsim as ms
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {"Thermostat": (ms.Equipment(cooling=unit), ms.strategies.temperature_only)},
    ...     ms.Weather.sample("miami"),
    ...     start="07-01",
    ...     end="07-02",
    ... )
    >>> blower = ms.faults.FailedBlower(start="07-01 12:00", lasts="6 h")
    >>> table = ms.fault_table(study, {"blower stopped": blower}, progress=False)
    >>> hottest = table["hottest_F"].xs("none", level="enable").droplevel("option")
    >>> bool(hottest["blower stopped"] > hottest["none"])
    True
    """
    units = units_or_default(units, "fault_table units")
    if not faults or "none" in faults:
        raise InputError("fault_table faults", list(faults), "faults by name, none called 'none'")
    sets: dict[str, tuple[Fault, ...]] = {"none": ()}
    for name, given in faults.items():
        sets[name] = tuple(given) if isinstance(given, Sequence) else (given,)

    def run(option: str, wired: str, failing: tuple[Fault, ...]) -> Season:
        machines, strategy, house = study.resolved[option]
        return simulate(
            house, _wired(machines, wired, enable), strategy, study.weather,
            start=study.start, end=study.end, step=study.step, faults=failing,
        )  # fmt: skip

    ways = [(option, wired) for option in study.options for wired in ("none", "hard-wired")]
    rows: dict[tuple[str, str, str], dict[str, float | str]] = {}
    with (
        progress_bar(len(ways) * len(sets), "faults", "season", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "fault_table workers")) as pool,
    ):
        # The first run computes the forcing, which the others then share.
        first, others = ways[0], ways[1:]
        normal = {first: run(first[0], first[1], ())}
        normal |= zip(others, pool.map(lambda way: run(way[0], way[1], ()), others), strict=True)

        def row(option: str, fault: str, wired: str) -> dict[str, float | str]:
            # The row is made on the season's own thread, so each thread keeps only one season.
            before = normal[option, wired]
            season = run(option, wired, sets[fault]) if sets[fault] else before
            return _row(season, before, study)

        tasks = {
            pool.submit(row, option, fault, wired): (option, fault, wired)
            for fault in sets
            for option, wired in ways
        }
        for task in as_completed(tasks):
            rows[tasks[task]] = task.result()
            bar.update()
    order = [(o, f, w) for o in study.options for f in sets for w in ("none", "hard-wired")]
    table = pd.DataFrame.from_dict(rows, orient="index").reindex(order)
    table.index = pd.MultiIndex.from_tuples(order, names=["option", "fault", "enable"])
    return in_trade(table, MEASURES) if units == "us" else table


def _wired(machines: Equipment, wired: str, enable: Enable | None) -> Equipment:
    contact = (machines.enable or enable or Enable()) if wired == "hard-wired" else None
    wired_so: Equipment = attrs.evolve(cast(Any, machines), enable=contact)
    return wired_so


def _row(season: Season, normal: Season, study: Study) -> dict[str, float | str]:
    hourly = season.hourly
    room = hourly["indoor_temperature_C"]
    after, by = shows(season, normal, study)
    values = (
        season.meter.of(column_catalog.HOURS_OVER_60),
        room.min(),
        room.max(),
        season.meter.total_kwh - normal.meter.total_kwh,
        60.0 * hourly["fighting_h"].sum(),
        60.0 * hourly["strips_without_air_h"].sum(),
        hourly[HOTTEST_STRIPS].max(),
        hourly[column_catalog.STRIP_TRIPS.name].sum(),
        after,
        by,
    )
    return {measure.name: value for measure, value in zip(MEASURES, values, strict=True)}


def shows(season: Season, normal: Season, study: Study) -> tuple[float, str]:
    """Hours from the fault's first minute until somebody would notice it, and the sign they notice.

    Returns
    -------
    tuple
        Infinity and "never" if it would not be within the season; NaN and "" without a fault.
    """
    if not season.faults:
        return float("nan"), ""
    hourly, before = season.hourly, normal.hourly
    index = pd.DatetimeIndex(hourly.index)
    began = min(
        window(fault, index, slice(0, len(index)), 60).first for fault in season.faults
    ) / 60.0  # fmt: skip
    after = np.arange(len(index)) + 1.0 > began
    found = {
        "room": _first_run(after & _off(season, hourly) & ~_off(season, before), ROOM_OFF_H),
        "damp": _first_run(
            after & (hourly["indoor_rh_pct"] > DAMP_RH).to_numpy()
            & ~(before["indoor_rh_pct"] > DAMP_RH).to_numpy(),
            DAMP_H,
        ),
        "bill": _first_bill(season, normal, study, index, began),
    }  # fmt: skip
    by = min(found, key=lambda name: found[name])
    hours = found[by] - began
    return (hours, by) if np.isfinite(hours) else (float("inf"), "never")


def _off(season: Season, hourly: pd.DataFrame) -> np.ndarray:
    """Mark the hours in which the room is beyond its setpoints, if the control has setpoints."""
    room = hourly["indoor_temperature_C"].to_numpy()
    cooling = season.strategy.setpoint(Role.COOLING)
    heating = season.strategy.setpoint(Role.HEATING)
    warmest = np.inf if cooling is None else cooling + ROOM_OFF
    coldest = -np.inf if heating is None else heating - ROOM_OFF
    off: np.ndarray = (room > warmest) | (room < coldest)
    return off


def _first_run(states: np.ndarray, length: int) -> float:
    """End of the first run of `length` hours, h from the first hour; infinity without a run."""
    run = np.convolve(states.astype(int), np.ones(length, dtype=int))[: len(states)] == length
    return float(np.argmax(run)) + 1.0 if run.any() else float("inf")


def _first_bill(
    season: Season, normal: Season, study: Study, index: pd.DatetimeIndex, began: float
) -> float:
    """End of the first month with a noticeably higher bill; the last month ends with the season."""
    bills = [_bills(one, study) for one in (season, normal)]
    up = bills[0] > (1.0 + BILL_UP) * bills[1] + 1.0e-9
    months = index.month.to_numpy()
    for month in bills[0].index[up]:
        end = float(np.flatnonzero(months == month)[-1]) + 1.0
        if end > began:
            return end
    return float("inf")


def _bills(season: Season, study: Study) -> pd.Series:
    """Energy cost by month, USD."""
    total = study.bill(season).months["total"]
    return total.groupby(pd.PeriodIndex(total.index).month).sum()
