"""Net benefit of each option and readings of each measurement, draw by draw, from engine runs."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.calibration import OFFSET, Fitted, carried
from moistsim.core.errors import InputError, Problem
from moistsim.core.progress import progress_bar
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import column_catalog
from moistsim.measuring.measurements import Measurement
from moistsim.measuring.visit import Visit
from moistsim.prices import Purchase, Terms, YearlyEnergy, cash_flow, kept
from moistsim.season import Season, simulate
from moistsim.study import Study

Array = NDArray[np.float64]


class Drawn(NamedTuple):
    """Net benefits and readings by draw."""

    benefit: Array
    """Life-cycle cost as a negative number, USD, shape (draws, options)."""
    dew_points: Array
    """Mean indoor dew point, degC, shape (draws, options)."""
    readings: dict[str, Array]
    """Readings without error by measurement, shape (draws, m)."""


@attrs.frozen(eq=False)
class Visiting:
    """When and with which control measurements are made."""

    strategy: Any
    weather: Any
    start: pd.Timestamp
    end: pd.Timestamp
    impose: "pd.Series[float] | None" = None

    def house_of(self, fit: Fitted, values: Mapping[str, Any], step: float | str) -> Visit:
        """One draw's house as it is found."""
        house, machines = fit.described(values)
        offset = float(values.get(OFFSET, 0.0))
        return Visit(
            house,
            machines,
            self.strategy,
            self.weather,
            self.start,
            self.end,
            step,
            self.impose,
            offset,
        )


def run_options(
    study: Study,
    fit: Fitted,
    draws: pd.DataFrame,
    purchases: Mapping[str, Purchase],
    terms: Terms,
    measured: Mapping[str, Measurement],
    visiting: Visiting,
    workers: int | None,
    progress: bool,
) -> Drawn:
    """Simulate each draw's house with each option, and as instruments find it.

    Raises
    ------
    InputError
        If a description refuses a draw, or a reading is not a number.
    """
    rows = draws.to_dict("records")

    def one(values: dict[Any, Any]) -> tuple[list[float], list[float], dict[str, Array]]:
        costs, dew_points = [], []
        for name, (machines, strategy, own) in study.resolved.items():
            house, fitted = carried(fit, values, machines, own, study.house)
            season = simulate(
                house, fitted, strategy, study.weather,
                start=study.start, end=study.end, step=study.step,
            )  # fmt: skip
            costs.append(_life_cycle(study, name, season, purchases, terms))
            dew_points.append(season.meter.of(column_catalog.MEAN_DEW_POINT))
        visit = visiting.house_of(fit, values, study.step)
        return costs, dew_points, {name: of.reads(visit) for name, of in measured.items()}

    done: dict[int, Any] = {}
    with (
        progress_bar(len(rows), "draws", "draw", shown=progress) as bar,
        ThreadPoolExecutor(worker_count(workers, "next_measurement workers")) as pool,
    ):
        tasks = {pool.submit(one, values): number for number, values in enumerate(rows)}
        for task in as_completed(tasks):
            done[tasks[task]] = task.result()
            bar.update()
    costs, dew_points, readings = zip(*(done[k] for k in range(len(rows))), strict=True)
    by_name = {name: np.array([each[name] for each in readings], float) for name in measured}
    for name, values in by_name.items():
        if not np.isfinite(values).all():
            found = Problem("a reading that is not a number")
            raise InputError(f"next_measurement {name!r}", found, "days with the machines running")
    return Drawn(-np.array(costs, float), np.array(dew_points, float), by_name)


def _life_cycle(
    study: Study, option: str, season: Season, purchases: Mapping[str, Purchase], terms: Terms
) -> float:
    """Present value of all costs of an option in one house, USD."""
    bill = study.bill(season)
    energy = YearlyEnergy(
        season.meter.total_kwh, bill.electricity, bill.unrounded - bill.electricity
    )
    flow = cash_flow(kept(option, terms), purchases, {option: energy}, terms)
    return flow.present_value
