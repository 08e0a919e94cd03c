"""Electricity of each extra liter: more kWh than the base option, over more water removed."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import Units, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.core.measures import Measure, in_trade
from moistsim.core.units import from_si
from moistsim.engine import END_USES, column_catalog
from moistsim.machine_checks import least_works
from moistsim.season import Season

if TYPE_CHECKING:
    from moistsim.study.study import Comparison

EXTRA_WATER = Measure("extra_water_kg", "kg", "extra water removed", digits=1)
FROM_MATERIALS = Measure(
    "from_materials_kg", "kg", "extra water that materials gave to the room", digits=1
)
PER_LITER = {
    use: Measure(f"{use}_kWh_per_liter", "kWh/L", measure.label, digits=2)
    for use, measure in column_catalog.USES.items()
}
"""Electricity of each end use for an extra liter, by end use."""
TOTAL = Measure("total_kWh_per_liter", "kWh/L", "all electricity", digits=2)
LEAST = Measure("least_kWh_per_liter", "kWh/L", "least possible work", digits=3)
EVERY = (EXTRA_WATER, FROM_MATERIALS, *PER_LITER.values(), TOTAL, LEAST)
SOME = 1.0
"""Extra water below which there is nothing to divide by, kg."""


def per_extra_liter(
    comparison: "Comparison", days: Iterable[str] | None, units: Units | None
) -> pd.DataFrame:
    """The table of `Comparison.per_extra_liter`."""
    units = units_or_default(units, "per_extra_liter units")
    base = comparison.seasons[comparison.base]
    chosen = None if days is None else _chosen(base, list(days))
    rows = {
        name: _row(season, base, chosen)
        for name, season in comparison.seasons.items()
        if name != comparison.base
    }
    table = pd.DataFrame.from_dict(rows, orient="index", columns=[each.name for each in EVERY])
    table.index.name = "option"
    kept = [
        each.name
        for each in EVERY
        if each not in PER_LITER.values() or (table[each.name].fillna(0.0) != 0.0).any()
    ]
    return in_trade(table[kept], EVERY) if units == "us" else table[kept]


def _chosen(base: Season, days: list[str]) -> NDArray[np.bool_]:
    """Hours of the chosen days; every day must be within the season."""
    index = pd.DatetimeIndex(base.hourly.index)
    stamps = [set(index.strftime(form)) for form in ("%Y-%m-%d", "%m-%d")]
    for day in days:
        if not any(day in known for known in stamps):
            raise InputError(
                "per_extra_liter days",
                day,
                f"days such as '07-15' within the season, {index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}",
            )
    if not days:
        raise InputError("per_extra_liter days", Problem("no day"), "one day or more")
    return np.asarray(
        index.strftime("%Y-%m-%d").isin(days) | index.strftime("%m-%d").isin(days), bool
    )


def _row(season: Season, base: Season, chosen: NDArray[np.bool_] | None) -> dict[str, float]:
    hourly, before = (
        one.hourly if chosen is None else one.hourly.loc[chosen] for one in (season, base)
    )
    now, then = hourly.sum(), before.sum()
    water = _removed(now) - _removed(then)
    stored = column_catalog.FLOWS[_STORED].column
    row = {EXTRA_WATER.name: water, FROM_MATERIALS.name: float(now[stored] - then[stored])}
    liters = from_si(water, "kg", "L") if water >= SOME else float("nan")
    for use, measure in PER_LITER.items():
        column = column_catalog.USES[use].name
        more = column_catalog.in_both_systems(now, column) - column_catalog.in_both_systems(
            then, column
        )
        row[measure.name] = float(more) / liters
    row[TOTAL.name] = sum(row[PER_LITER[use].name] for use in END_USES)
    row[LEAST.name] = least_work_of(season, chosen)
    return row


_STORED = next(k for k, flow in enumerate(column_catalog.FLOWS) if flow.field == "water_stored")


def _removed(totals: pd.Series) -> float:
    """Water that coil and dehumidifier removed, kg."""
    removed = (column_catalog.COIL_WATER, column_catalog.DEHUMIDIFIER_WATER)
    columns = (column for measure in removed for column in measure.columns)
    return -sum(float(column_catalog.in_both_systems(totals, column)) for column in columns)


def least_work_of(season: Season, chosen: NDArray[np.bool_] | None = None) -> float:
    """Least work for a liter of the water that a season's machines removed, kWh/L.

    It is the mean over the hours, weighted by the water removed in each, with the room of that hour
    and with the heat left in it (`machine_checks.least_work`). nan if nothing was removed.
    """
    hourly = season.hourly if chosen is None else season.hourly.loc[chosen]
    pressure = season.weather.frame["pressure"].reindex(hourly.index, method="ffill").to_numpy()
    room = hourly["indoor_temperature_C"].to_numpy(float)
    vapor = air.over(air.vapor_pressure, hourly["indoor_humidity_ratio"].to_numpy(float), pressure)
    removed = -sum(
        column_catalog.in_both_systems(hourly, column).to_numpy(float)
        for measure in (column_catalog.COIL_WATER, column_catalog.DEHUMIDIFIER_WATER)
        for column in measure.columns
    )
    weights = np.maximum(removed, 0.0)
    if not weights.any():
        return float("nan")
    each = np.average(least_works(room, vapor, room), weights=weights)
    return float(each) / from_si(1.0, "kg", "L")
