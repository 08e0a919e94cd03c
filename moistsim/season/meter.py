"""The meter: totals of a season, added up from the hourly sums."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.measures import Measure
from moistsim.core.units import Role
from moistsim.engine import HOTTEST_SUPPLY, PARTS, REFUSALS, column_catalog, key, measures_of


@attrs.frozen(eq=False)
class Meter:
    """Totals of a season, each a Series by name.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1900 ft2"),
    ...     ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day")),
    ...     ms.strategies.with_dehumidifier(target_rh=52),
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-11",
    ... )
    >>> list(season.meter.water_kg.index), season.meter.total_kwh > 0.0
    (['coil', 'dehumidifier'], True)
    """

    kwh: pd.Series
    """Electricity by end use (`END_USES`), kWh."""
    runtime_h: pd.Series
    """Runtime of each machine or stage, h."""
    starts: pd.Series
    """Number of starts of each machine or stage. A stage starts when it follows a lower one."""
    peak_kw: pd.DataFrame
    """Highest mean power over a clock quarter and over a clock hour, kW, and when it `begins`."""
    water_kg: pd.Series
    """Water removed by each machine, kg: the coil (less re-evaporation) and the dehumidifier."""
    humidity: pd.Series
    """Mean dew point (degC), mean RH (percent), RH-hours above limits, and hours beyond limits.

    RH-hours are the excess integrated, % h. Hours above and below limits are counted by the step.
    """
    comfort_h: pd.Series
    """Time more than 1 K above and below the cooling setpoint and below the heating setpoint, h.

    Measures without their setpoint are absent.
    """
    spaces: pd.Series
    """Measures of each space next to the house, such as ``crawl_space_mean_rh_pct``."""
    second_system: pd.Series
    """Measures of a second zone's own system, such as ``second_system_compressor_kWh``.

    `kwh`, `water_kg`, `gas_kwh`, `refused` and `strips` hold both systems together. `runtime_h` and
    `starts` are those of the first system alone. Without a second system this is empty.
    """
    refused: pd.Series
    """Calls that the machines refused, by reason."""
    gas_kwh: float
    """Gas burned, kWh by its higher heating value; not part of `kwh`."""
    strips: pd.Series
    """Trips of the limit switch, mean temperature rise of the strips, and hottest supply air.

    The mean rise is that with strips on, K, and 0 if they never run. The hottest supply air is that
    of a step, degC.
    """
    ventilation: pd.Series
    """Mean rate of outdoor air by fans, m3/s, and hours with ventilation reduced by a lockout."""
    stages: int
    """Cooling stages of the air conditioner."""
    beside: tuple[str, ...]
    """Names of the spaces next to the house."""
    second_stages: int | None = None
    """Cooling stages of a second system; None in a house of one system."""

    @property
    def total_kwh(self) -> float:
        """Electricity of all end uses, kWh."""
        return float(self.kwh.sum())

    def holds(self, measure: Measure) -> bool:
        """Whether this meter has a measure of the catalog in one of its Series."""
        return bool(measure.part) and key(measure) in getattr(self, measure.part).index

    def of(self, measure: Measure) -> float:
        """Value of a measure of the catalog, from the Series that holds it."""
        return float(getattr(self, measure.part)[key(measure)])


@lru_cache(maxsize=64)
def _index(names: tuple[str, ...]) -> pd.Index:
    return pd.Index(names)


def _series(values: Mapping[str, float], name: str) -> pd.Series:
    """Convert values to a Series. The index is cached, because a sweep repeats it many times."""
    return pd.Series(np.array([*values.values()]), _index(tuple(values)), name=name)


def value_of(measure: Measure, totals: Mapping[str, float], hours: int) -> float:
    """Value of a measure from the sums of the hourly columns, as the catalog declares it.

    >>> from moistsim.engine import MEASURE
    >>> value_of(MEASURE["mean_rh_pct"], {"indoor_rh_pct": 110.0}, 2)
    55.0
    """
    sums = [totals[column] for column in measure.columns or (measure.name,)]
    if measure.part in column_catalog.IN_BOTH_SYSTEMS:
        own = (
            f"{column_catalog.SECOND_SYSTEM}_{column}"
            for column in measure.columns or (measure.name,)
        )
        sums += [totals[column] for column in own if column in totals]
    if measure.how == "removed":
        # Subtraction from 0.0 makes an absent machine remove 0 and not -0.
        removed = 0.0
        for each in sums:
            removed -= each
        return removed
    total = sums[0] if len(sums) == 1 else sum(sums)
    if measure.how == "count":
        return round(total)
    return total / hours if measure.how == "mean" else total


def read_meter(
    totals: Mapping[str, float],
    hours: int,
    stages: int,
    spaces: tuple[str, ...],
    quarters: pd.Series,
    roles: set[Role | None],
    second: int | None = None,
) -> Meter:
    """Totals of a season.

    Parameters
    ----------
    totals : dict of float
        Sums of the columns of `Season.hourly`; the highest of the hottest supply air.
    hours, stages : int
        Hours of the season; cooling stages.
    spaces : tuple of str
        Names of the spaces next to the house.
    quarters : Series
        Mean power of each clock quarter, kW, by its start.
    roles : set of units.Role
        Roles that the strategy's settings declare.
    second : int, optional
        Cooling stages of a second system; default: no second system.
    """
    parts: dict[str, dict[str, float]] = {name: {} for name in PARTS}
    for measure in measures_of(stages, spaces, second):
        if measure.part and (measure.needs is None or measure.needs in roles):
            parts[measure.part][key(measure)] = value_of(measure, totals, hours)
    # Hours count from the first row, which may start at half past.
    by_hour = pd.Series(quarters.to_numpy().reshape(-1, 4).mean(axis=1), quarters.index[::4])
    peaks = {"15 min": quarters, "60 min": by_hour}
    strips_h = sum(
        column_catalog.in_both_systems(totals, f"{name}_h") for name in ("reheat", "backup_heat")
    )
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
            {
                name.removeprefix("refused_"): round(column_catalog.in_both_systems(totals, name))
                for name in REFUSALS
            },
            name="calls",
        ),
        gas_kwh=float(column_catalog.in_both_systems(totals, column_catalog.GAS.name)),
        strips=_series(
            {
                "trips": column_catalog.in_both_systems(totals, column_catalog.STRIP_TRIPS.name),
                "mean_rise_K": column_catalog.in_both_systems(totals, column_catalog.STRIP_RISE)
                / strips_h
                if strips_h
                else 0.0,
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
        beside=spaces,
        second_stages=second,
    )
