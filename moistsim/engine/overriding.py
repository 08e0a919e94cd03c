"""Measured household, outdoor air and open windows in place of those that a forcing calculated."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.engine.division import division
from moistsim.engine.forcing_tables import Forcing, Hour, SpaceHour
from moistsim.engine.household import Household, apart, household, may_open
from moistsim.engine.records import OpeningParameters
from moistsim.house import House

_SPACE_HOUR = len(SpaceHour._fields)


def _replaced(forcing: Forcing, columns: dict[str, NDArray[np.float64]]) -> Forcing:
    """A forcing with other columns of `Hour`."""
    hours = forcing.hours.copy()
    for name, values in columns.items():
        hours[:, Hour._fields.index(name)] = values
    return forcing._replace(hours=hours)


def with_household(
    forcing: Forcing,
    house: House,
    index: pd.DatetimeIndex,
    moisture: NDArray[np.float64] | None,
    gains: NDArray[np.float64] | None,
    occupied: NDArray[np.float64] | None,
) -> Forcing:
    """A forcing with measured vapor, sensible gains or presence of the household by hour.

    Parameters
    ----------
    moisture, gains : array, optional
        Vapor, kg/s, and sensible heat, W, of the whole house, in place of all that the household
        gives. A second zone gets its share.
    occupied : array, optional
        Share of the hour with people at home. Without people, their heat and vapor are absent, and
        nobody opens windows.
    """
    columns: dict[str, NDArray[np.float64]] = {}
    second: dict[str, NDArray[np.float64]] = {}
    if occupied is not None:
        home, other = apart(house, household(house, index, occupied))
        columns |= _columns_of(home)
        columns["may_open"] = may_open(house, house.window_opening, index, occupied)
        second |= {"gains": other.sensible, "moisture": other.moisture}
    part = division(house)
    if gains is not None:
        columns["gains"] = (1.0 - part.gains) * gains
        second["gains"] = part.gains * gains
    if moisture is not None:
        none = np.zeros_like(moisture)
        columns |= dict.fromkeys(("shower", "shower_share", "cooking", "cooking_share"), none)
        columns["moisture"] = (1.0 - part.moisture) * moisture
        second["moisture"] = part.moisture * moisture
    made = _replaced(forcing, columns)
    if house.second_zone is not None:
        first = len(Hour._fields) + _SPACE_HOUR * house.spaces.index("second_zone")
        for name, values in second.items():
            made.hours[:, first + SpaceHour._fields.index(name)] = values
    return made


def _columns_of(home: Household) -> dict[str, NDArray[np.float64]]:
    """Columns of `Hour` that a household fills."""
    return {
        "gains": home.sensible,
        "moisture": home.moisture,
        "shower": home.shower,
        "shower_share": home.shower_share,
        "cooking": home.cooking,
        "cooking_share": home.cooking_share,
        "occupied": home.occupied,
    }


def with_infiltration(forcing: Forcing, flow: NDArray[np.float64]) -> Forcing:
    """A forcing with a known infiltration by hour, m3/s, for a zone without stack flow."""
    return _replaced(forcing, {"wind": flow})


def with_windows(forcing: Forcing, is_open: NDArray[np.bool_]) -> Forcing:
    """A forcing with windows that are open in known hours, for `opened_as_given`."""
    return _replaced(forcing, {"may_open": is_open.astype(float)})


def opened_as_given(opening: OpeningParameters) -> OpeningParameters:
    """Windows that are open in all hours in which people may open them, in any weather."""
    never = 1.0e6
    return opening._replace(
        low=-never, high=never, indoor_above=-never, cooler_by=-never, vapor_pressure=1.0e9
    )
