"""Effect of a larger or smaller air conditioner or dehumidifier over a season."""

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import InputError
from moistsim.core.units import Stated
from moistsim.engine import column_catalog
from moistsim.equipment import Cooling, Dehumidifier, Equipment
from moistsim.season import Season

ENOUGH = 0.99
"""Share of the largest size's humidity reduction beyond which a larger size stops helping."""


class Control(NamedTuple):
    """Humidity setpoint of a sized dehumidifier, and the upper edge of its deadband, percent RH."""

    setpoint: float
    upper_edge: float
    """RH at which the dehumidifier turns on, percent."""


def scaled(machines: Equipment, scale: float) -> Equipment:
    """Scale every cooling stage, its airflow and the coil's face area by one factor."""
    cooling: Any = machines.cooling
    stages = [
        attrs.evolve(
            stage, capacity=Stated(scale * stage.capacity), airflow=Stated(scale * stage.airflow)
        )
        for stage in cooling.stages
    ]
    larger: Cooling = attrs.evolve(
        cooling, stages=stages, coil_face_area=Stated(scale * cooling.coil_face_area)
    )
    whole: Any = machines
    return attrs.evolve(whole, cooling=larger)  # type: ignore[no-any-return]


def of_size(dehumidifier: Dehumidifier, size: float) -> Dehumidifier:
    """A dehumidifier of another rated water removal, kg/s, its airflow in proportion."""
    scale = size / dehumidifier.capacity
    whole: Any = dehumidifier
    try:
        return attrs.evolve(  # type: ignore[no-any-return]
            whole, capacity=Stated(size), airflow=Stated(scale * dehumidifier.airflow)
        )
    except InputError as error:
        raise InputError(
            f"size sizes: {error.where}", error.found, error.accepted, error.problem
        ) from None


def in_parallel(
    tasks: Iterable[Callable[[], dict[str, float]]], told: Callable[[], Any]
) -> list[dict[str, float]]:
    """Run tasks on threads; return their rows in the order of the tasks, and keep no season."""
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
    """Results of a season with one size of the air conditioner and the thermostat alone."""
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
    """Results of a season with one size of the dehumidifier.

    Parameters
    ----------
    edge : float
        RH at which its humidistat turns it on, percent. `excess_pct_h` is the excess of hourly RH
        above it, integrated over the season.
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
    """Size above which a larger dehumidifier stops helping, kg/day; None if sizes do not help.

    It is the smallest size with the share `ENOUGH` of the largest size's reduction in excess
    humidity. The excess is counted above the RH at which the humidistat turns the machine on.

    Parameters
    ----------
    table : DataFrame
        Rows by size with `excess_pct_h`. The first row is without a dehumidifier.
    """
    wet, driest = float(table["excess_pct_h"].iloc[0]), float(table["excess_pct_h"].iloc[-1])
    if wet - driest <= 0.0:
        return None
    helped = (wet - table["excess_pct_h"]) / (wet - driest)
    return float(table.index[(helped >= ENOUGH).to_numpy()][0])
