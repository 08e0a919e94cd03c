"""Energy, cost and humidity of the options in a year, case by case, with as few runs as possible."""

from collections.abc import Mapping
from concurrent.futures import Executor
from typing import Any, Literal

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError
from moistsim.engine import column_catalog
from moistsim.prices import YearlyEnergy
from moistsim.study import Comparison, Study
from moistsim.sweep import Sweep, varied
from moistsim.uncertainty.ranges import is_money

HUMIDITY = (column_catalog.MEAN_DEW_POINT.name, column_catalog.HOURS_OVER_60.name)
"""Measures of humidity in the results."""


def yearly_cases(
    study: Study,
    cases: pd.DataFrame,
    labels: Mapping[str, Any],
    as_set: Comparison,
    *,
    executor: Executor | Literal["threads", "processes"] | None = None,
    workers: int | None = None,
    progress: bool = True,
) -> pd.DataFrame:
    """Energy, its cost and humidity by case and option.

    Only the energy of the season counts, even if it is shorter than a year. If only prices differ,
    nothing is simulated and the seasons are billed again. Otherwise all options of a case are
    simulated with the same weather and prices, and in houses that differ only by the options' changes.

    Parameters
    ----------
    study : Study
    cases : DataFrame
        One row for each case and one column for each dotted name, in SI. An empty cell keeps the
        study's value. Names of purchases and terms are not read.
    labels : dict
        Values behind the labels of a column, by name: the weathers.
    as_set : Comparison
        The study, run.
    executor, workers, progress
        As for `Sweep.run`.

    Returns
    -------
    pandas.DataFrame
        Indexed by `case` and `option`: `electricity_kWh`, `electricity_USD`, `gas_USD`, those of
        `HUMIDITY`, and `status`, "ok" or why there are no numbers.
    """
    names = [str(name) for name in cases if not is_money(str(name))]
    if not names:
        here = {option: _row(as_set, option, study) for option in study.options}
        rows = {
            (case, option): row | {"status": "ok"} for case in cases.index
            for option, row in here.items()
        }  # fmt: skip
    elif all(name.startswith("tariff.") for name in names):
        rows = {}
        for case, values in zip(cases.index, cases[names].to_dict("records"), strict=True):
            given = {str(name): value for name, value in values.items() if value == value}
            for option, priced in varied(study, given):
                rows[case, option] = (
                    {"status": str(priced)}
                    if isinstance(priced, InputError)
                    else _row(as_set, option, priced) | {"status": "ok"}
                )
    else:
        vary: Any = {name: labels.get(name) or [*cases[name].dropna().unique()] for name in names}
        sweep = Sweep(study, vary, sample=cases[names])
        frame = sweep.run(executor, workers=workers, progress=progress)
        return _of_sweep(frame, study, as_set)
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index = pd.MultiIndex.from_tuples([*rows], names=["case", "option"])
    return table.reindex(
        columns=["electricity_kWh", "electricity_USD", "gas_USD", *HUMIDITY, "status"]
    )


def energy_of(row: Any) -> YearlyEnergy:
    """A year's energy, by a row of `yearly_cases`."""
    return YearlyEnergy(
        float(row["electricity_kWh"]), float(row["electricity_USD"]), float(row["gas_USD"])
    )


def _row(comparison: Comparison, option: str, priced: Study) -> dict[str, Any]:
    """A season at the prices of a study, which need not be those that it was run with."""
    season = comparison.seasons[option]
    bill = priced.bill(season)
    return {
        "electricity_kWh": season.meter.total_kwh,
        "electricity_USD": bill.electricity,
        "gas_USD": bill.unrounded - bill.electricity,
        **{name: float(season.meter.humidity[name]) for name in HUMIDITY},
    }


def _of_sweep(frame: pd.DataFrame, study: Study, as_set: Comparison) -> pd.DataFrame:
    """The frame of a sweep, with the bill divided into electricity and gas."""
    gas = pd.Series(0.0, index=frame.index)
    for option, described in study.resolved.items():
        if not described.equipment.burns_gas:
            continue
        months = float(study.bill(as_set.seasons[option]).use["covered"].sum())
        own = frame["option"] == option
        price, fixed = (
            frame.get(f"tariff.{name}", pd.Series(np.nan, frame.index)).fillna(
                getattr(study.tariff, name)
            )
            for name in ("gas_price", "gas_fixed_charge")
        )
        # The price is kept in USD/kWh, as the season's gas is in kWh.
        gas[own] = (price * frame["gas_kWh"] + fixed * months)[own]
    table = pd.DataFrame(
        {
            "electricity_kWh": frame[column_catalog.TOTAL.name],
            "electricity_USD": frame[column_catalog.COST.name] - gas,
            "gas_USD": gas,
            **{name: frame[name] for name in HUMIDITY},
            "status": frame["status"],
        }
    )
    table.index = pd.MultiIndex.from_frame(frame[["case", "option"]])
    return table
