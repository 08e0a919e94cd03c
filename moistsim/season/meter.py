"""What a season used and how humid it was: totals from the hourly sums, nothing computed anew."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.measures import Measure
from moistsim.core.units import Role
from moistsim.engine import HOTTEST_SUPPLY, PARTS, REFUSALS, key, measures_of


@attrs.frozen(eq=False)
class Meter:
    """Totals of a season, each a Series by name."""

    kwh: pd.Series
    """Electricity by end use (`END_USES`), kWh."""
    runtime_h: pd.Series
    """Hours that each machine or stage ran."""
    starts: pd.Series
    """Starts of each machine or stage; a stage's starts are those of it from below it."""
    peak_kw: pd.DataFrame
    """Highest mean power over clock quarters and clock hours: kW and when it began."""
    water_kg: pd.Series
    """Water that left by each machine, kg: coil (net of re-evaporation) and dehumidifier."""
    humidity: pd.Series
    """Mean dew point (degC), mean RH (percent), RH-hours above 55 and 60 (the integral) and hours
    above 50, 55, 60 and 65 percent, counted by the step."""
    comfort_h: pd.Series
    """Hours more than 1 K above and below the cooling setpoint and below the heating setpoint;
    empty if the strategy declares none."""
    refused: pd.Series
    """Calls that the machines would not follow, by reason."""
    gas_kwh: float
    """Gas burnt, by its higher heating value; no part of `kwh`."""
    strips: pd.Series
    """Times that the limit switch opened, mean temperature rise across the strips while on (K; 0
    if they never were) and highest supply temperature of a step (degC)."""
    ventilation: pd.Series
    """Outdoor air that fans brought in: its mean rate (m3/s), whatever held it back, and the hours
    for which a lockout did."""
    stages: int
    """Cooling stages of the air conditioner."""

    @property
    def total_kwh(self) -> float:
        """All electricity, kWh."""
        return float(self.kwh.sum())

    def holds(self, measure: Measure) -> bool:
        """Whether a measure of the catalogue stands in one of the Series."""
        return bool(measure.part) and key(measure) in getattr(self, measure.part).index

    def of(self, measure: Measure) -> float:
        """The value of a measure of the catalogue that stands in one of the Series."""
        return float(getattr(self, measure.part)[key(measure)])


@lru_cache(maxsize=64)
def _index(names: tuple[str, ...]) -> pd.Index:
    return pd.Index(names)


def _series(values: Mapping[str, float], name: str) -> pd.Series:
    """The values by their names, whose index a sweep makes once and not each time."""
    return pd.Series(np.array([*values.values()]), _index(tuple(values)), name=name)


def value_of(measure: Measure, totals: Mapping[str, float], hours: int) -> float:
    """A measure by the sums of the hourly table's columns, as its entry in the catalogue says.

    >>> from moistsim.engine import MEASURE
    >>> value_of(MEASURE["mean_rh_pct"], {"indoor_rh_pct": 110.0}, 2)
    55.0
    """
    sums = [totals[column] for column in measure.columns or (measure.name,)]
    if measure.how == "removed":
        # From 0.0 on: a machine that is not there removes 0, not -0.
        removed = 0.0
        for each in sums:
            removed -= each
        return removed
    (total,) = sums
    if measure.how == "count":
        return round(total)
    return total / hours if measure.how == "mean" else total


def read_meter(
    totals: Mapping[str, float],
    hours: int,
    stages: int,
    quarters: pd.Series,
    roles: set[Role | None],
) -> Meter:
    """Add up a season.

    Parameters
    ----------
    totals : dict of float
        Sums of the columns of `Season.hourly`; the highest of the hottest supply air.
    hours, stages : int
        Hours of the season; cooling stages.
    quarters : Series
        Mean power of each clock quarter, kW, by its start.
    roles : set of units.Role
        Roles that the strategy's settings declare.
    """
    parts: dict[str, dict[str, float]] = {name: {} for name in PARTS}
    for measure in measures_of(stages):
        if measure.part and (measure.needs is None or measure.needs in roles):
            parts[measure.part][key(measure)] = value_of(measure, totals, hours)
    # Hours run from the first row, which a weather may begin at half past.
    by_hour = pd.Series(quarters.to_numpy().reshape(-1, 4).mean(axis=1), quarters.index[::4])
    peaks = {"15 min": quarters, "60 min": by_hour}
    strips_h = parts["runtime_h"]["reheat"] + parts["runtime_h"]["backup_heat"]
    series: dict[str, Any] = {
        name: _series(values, name=PARTS[name].series) for name, values in parts.items()
    }
    return Meter(
        **series,
        peak_kw=pd.DataFrame(
            {
                "kW": [s.max() for s in peaks.values()],
                "begins": [s.idxmax() for s in peaks.values()],
            },
            index=list(peaks),
        ),
        refused=_series(
            {name.removeprefix("refused_"): round(totals[name]) for name in REFUSALS}, name="calls"
        ),
        gas_kwh=float(totals["gas_kWh"]),
        strips=_series(
            {
                "trips": totals["strip_trips"],
                "mean_rise_K": totals["strip_rise_K_h"] / strips_h if strips_h else 0.0,
                "highest_supply_C": totals[HOTTEST_SUPPLY],
            },
            name="strips",
        ),
        ventilation=_series(
            {
                "mean_rate_m3_s": totals["ventilation_m3"] / (3600.0 * hours),
                "locked_h": totals["ventilation_locked_h"],
            },
            name="ventilation",
        ),
        stages=stages,
    )
