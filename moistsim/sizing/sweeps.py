"""What a larger or smaller machine changes over a season: the air conditioner, the dehumidifier."""

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import InputError
from moistsim.engine import column_catalog
from moistsim.equipment import Cooling, Dehumidifier, Equipment
from moistsim.season import Season

ENOUGH = 0.99
"""Share of the excess humidity that the largest size takes away, at which more stops helping."""


class Control(NamedTuple):
    """How a sized dehumidifier is controlled, percent RH."""

    setpoint: float
    upper_edge: float
    """Where it turns on."""


def scaled(machines: Equipment, scale: float) -> Equipment:
    """The same with every cooling stage, its airflow and its coil so many times as large."""
    cooling: Any = machines.cooling
    stages = [
        attrs.evolve(stage, capacity=scale * stage.capacity, airflow=scale * stage.airflow)
        for stage in cooling.stages
    ]
    larger: Cooling = attrs.evolve(
        cooling, stages=stages, coil_face_area=scale * cooling.coil_face_area
    )
    whole: Any = machines
    return attrs.evolve(whole, cooling=larger)  # type: ignore[no-any-return]


def of_size(dehumidifier: Dehumidifier, size: float) -> Dehumidifier:
    """A dehumidifier of another rated water removal, kg/s, its airflow in proportion."""
    scale = size / dehumidifier.capacity
    whole: Any = dehumidifier
    try:
        return attrs.evolve(  # type: ignore[no-any-return]
            whole, capacity=size, airflow=scale * dehumidifier.airflow
        )
    except InputError as error:
        raise InputError(
            f"size sizes: {error.where}", error.found, error.accepted, error.problem
        ) from None


def in_parallel(
    tasks: Iterable[Callable[[], dict[str, float]]], told: Callable[[], Any]
) -> list[dict[str, float]]:
    """Rows of a sweep, on threads, in the order asked for; no season is kept."""
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        rows = []
        for task in [pool.submit(task) for task in tasks]:
            rows.append(task.result())
            told()
        return rows


def humid(season: Season) -> dict[str, float]:
    """Hours above levels of RH, and the mean dew point."""
    return {measure.name: season.meter.of(measure) for measure in _HUMID}


_HUMID = (
    column_catalog.HOURS_OVER_55, column_catalog.HOURS_OVER_60, column_catalog.HOURS_OVER_65, column_catalog.MEAN_DEW_POINT,
)  # fmt: skip


def cooling_row(season: Season) -> dict[str, float]:
    """What a size of the air conditioner does with the thermostat alone."""
    meter = season.meter
    return {
        **humid(season),
        "compressor_starts": meter.of(column_catalog.COMPRESSOR_STARTS),
        "warm_h": meter.of(column_catalog.TOO_WARM),
        column_catalog.TOTAL.name: meter.total_kwh,
    }


_DRYING = (
    column_catalog.DEHUMIDIFIER_H,
    column_catalog.DEHUMIDIFIER_STARTS,
    column_catalog.DEHUMIDIFIER_WATER,
)


def dehumidifier_row(season: Season, edge: float) -> dict[str, float]:
    """What a size of the dehumidifier does.

    Parameters
    ----------
    edge : float
        RH at which its humidistat turns it on, percent. `excess_pct_h` is what lies above,
        integrated over the season's hours.
    """
    meter = season.meter
    above = np.maximum(season.hourly["indoor_rh_pct"].to_numpy(float) - edge, 0.0)
    return {
        "excess_pct_h": float(above.sum()),
        **humid(season),
        **{measure.name: meter.of(measure) for measure in _DRYING},
        column_catalog.TOTAL.name: meter.total_kwh,
    }


def enough(table: pd.DataFrame) -> float | None:
    """The size at which more stops helping, kg a day; None if none is needed.

    The smallest that takes away `ENOUGH` of the excess humidity (above the edge at which its
    humidistat turns it on) that the largest of the sweep takes away.

    Parameters
    ----------
    table : DataFrame
        Rows by size with `excess_pct_h`, the first that without a machine.
    """
    wet, driest = float(table["excess_pct_h"].iloc[0]), float(table["excess_pct_h"].iloc[-1])
    if wet - driest <= 0.0:
        return None
    helped = (wet - table["excess_pct_h"]) / (wet - driest)
    return float(table.index[(helped >= ENOUGH).to_numpy()][0])
