"""Natural infiltration by month, in a season and over the year, next to the blower door's result."""

from typing import TYPE_CHECKING, Any, NamedTuple, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.core.units import Role
from moistsim.engine import infiltration_in

if TYPE_CHECKING:
    from moistsim.season.season import Season


class AirLeakage(NamedTuple):
    """Blower-door airflow of a house, and the natural infiltration that follows from it.

    Natural infiltration is what wind and stack alone bring in, without fans and duct leakage.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1500 ft2", ach50=6.0),
    ...     ms.Equipment(),
    ...     ms.strategies.temperature_only,
    ...     ms.Weather.sample("greensboro"),
    ...     start="07-01",
    ...     end="07-02",
    ... )
    >>> leakage = season.air_leakage
    >>> round(leakage.at_50_pa, 3), bool(leakage.year < leakage.in_the_open)
    (0.581, True)
    """

    at_50_pa: float
    """Airflow of the blower door at 50 Pa, m3/s."""
    months: pd.Series
    """Mean natural infiltration by month of the year, 1 to 12, m3/s.

    Hours of the season are those of the run. The other hours follow from the weather, with the house
    at outdoor temperature, but never below the heating setpoint or above the cooling setpoint. If a
    control declares no such setpoint, the season's mean indoor temperature takes its place."""
    run: frozenset[int]
    """Months with hours of the season."""
    season: float
    """Mean natural infiltration of the season as run, m3/s."""
    year: float | None
    """Mean over the weather's year, m3/s, as for `months`; None if the weather is shorter than a year."""
    in_the_open: float
    """Mean over the same hours, m3/s, if the house had shelter class 1 in open country.

    The hours are those of the year, or of the season if the weather is shorter than a year. The indoor
    temperature is the same. Terrain is a part of the enhanced model only."""


def air_leakage(season: "Season") -> AirLeakage:
    """Natural infiltration of a season and of its weather's year; see `AirLeakage`."""
    house, weather, hourly = season.house, season.weather, season.hourly
    mean = float(hourly["indoor_temperature_C"].mean())
    heating, cooling = (season.strategy.setpoint(role) for role in (Role.HEATING, Role.COOLING))
    high = mean if cooling is None else cooling
    low = min(mean if heating is None else heating, high)
    outdoors = weather.frame["temp_air"].to_numpy(float)
    indoors, rows = np.clip(outdoors, low, high), weather.between(season.start, season.end)
    indoors[rows] = hourly["indoor_temperature_C"]
    flow, run = infiltration_in(house, weather, indoors), hourly["natural_infiltration_m3"] / 3600.0
    # The run has the temperature at the start of each hour.
    flow[rows] = run
    terrain = {} if house.leakage.model == "basic" else {"terrain": "open country"}
    leakage: Any = attrs.evolve(cast(Any, house.leakage), **terrain)
    bare: Any = attrs.evolve(cast(Any, house), shelter=1.0, leakage=leakage)
    in_the_open = infiltration_in(bare, weather, indoors)
    month = pd.DatetimeIndex(weather.frame.index).month
    months = pd.Series(flow).groupby(month).mean().rename_axis("month")
    whole = len(flow) >= 365 * 24 and len(months) == 12
    return AirLeakage(
        at_50_pa=house.flow_coefficient * 50.0**house.leakage_exponent,
        months=months.rename("natural_infiltration_m3_s"),
        run=frozenset(pd.DatetimeIndex(run.index).month),
        season=float(run.mean()),
        year=float(flow.mean()) if whole else None,
        in_the_open=float((in_the_open if whole else in_the_open[rows]).mean()),
    )
