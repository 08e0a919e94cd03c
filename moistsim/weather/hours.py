"""Conversion of a table from any source to hours of weather.

Source of the humidity ratio: `moistsim.air` (ASHRAE Handbook, Fundamentals, ch. 1).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import pandas as pd

from moistsim import air
from moistsim.weather.checks import Place, dew_point_of, starts_of_hours, values_in_range
from moistsim.weather.clock import middles_of
from moistsim.weather.deriving import checked_derive, derived

#: Columns of `Weather.frame`, in this order.
COLUMNS = (
    "temp_air",
    "temp_dew",
    "humidity_ratio",
    "pressure",
    "wind_speed",
    "ghi",
    "dni",
    "dhi",
)


def hours_from(
    table: pd.DataFrame,
    origin: str,
    where: Callable[[int], str],
    place: Place,
    label: str,
    derive: Iterable[str],
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Check stamps and values; return the frame of a `Weather` and notes on derived columns."""
    starts = starts_of_hours(table, origin, where, place.utc_offset, label)
    lacking = checked_derive(derive, table, origin)
    columns = values_in_range(table, origin, where, lacking)
    dew = dew_point_of(columns, where)
    made, told = derived(lacking, columns, middles_of(starts, place.utc_offset), place)
    columns = {**columns, **made, "temp_dew": dew}
    # Always from the dew point, so a written file gives equal bits.
    columns["humidity_ratio"] = air.over(
        air.humidity_ratio, air.over(air.saturation_pressure, dew), columns["pressure"]
    )
    index = pd.DatetimeIndex(starts, name="time", freq="h")
    return pd.DataFrame(columns, index=index, dtype=float)[list(COLUMNS)], told
