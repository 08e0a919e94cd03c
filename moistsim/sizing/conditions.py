"""Hours for which machines are sized: those near a design condition, and a mild day."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.display import Show
from moistsim.core.errors import InputError, Problem
from moistsim.season import Season
from moistsim.weather import Weather

HUMID, HOT, MILD = "dew point", "dry bulb", "mild day"
"""The three conditions. The first two are design values, exceeded in a percentage of hours."""
PER_CENTS = (0.4, 1.0, 2.0)
"""Percentages of the year's hours in which a design value may be exceeded."""
NEAR = 0.5
"""Distance from a design value within which an hour counts, K, as in `Weather.describe`."""


@attrs.frozen(eq=False)
class Condition:
    """Hours of a season with similar outdoor air."""

    name: str
    """`HUMID`, `HOT` or `MILD`."""
    words: str
    """The condition in words, such as "1 % dew point"."""
    hours: NDArray[np.bool_]
    """Mask of the rows of the season's hourly table."""
    outdoor: float
    """Dry bulb, degC: the design value, the coincident value, or the mean of the mild day."""
    outdoor_dew_point: float
    """Outdoor dew point, degC: the design value, the coincident value, or the mean of the mild day."""
    pressure: float
    """Mean atmospheric pressure in these hours, Pa."""
    day: pd.Timestamp | None = None
    """The date of a mild day."""

    def label(self, show: Show) -> str:
        """The condition for a reader, such as "mild day, March 7"."""
        return self.words if self.day is None else f"{self.words}, {show.day(self.day)}"

    @property
    def outdoor_rh(self) -> float:
        """Relative humidity outdoors, percent."""
        ratio = air.humidity_ratio(air.saturation_pressure(self.outdoor_dew_point), self.pressure)
        return 100.0 * float(air.relative_humidity(self.outdoor, ratio, self.pressure))


def conditions(season: Season, per_cent: float) -> dict[str, Condition]:
    """Find the three conditions in a season.

    Design values are exceeded in `per_cent` of the hours of the whole weather (ASHRAE Handbook,
    Fundamentals, ch. 14). The coincident value is the mean over the hours near the design value.
    Design dew points equal those of `Weather.describe`. A condition has the hours of the season near
    the design value, with their own sun, wind and people.

    Parameters
    ----------
    season : Season
        Season with the thermostat alone, which decides which day is mild and humid.
    per_cent : float
        One of `PER_CENTS`.

    Returns
    -------
    dict
        Conditions by name. A season without a mild day has no such entry.

    Raises
    ------
    InputError
        If the season has no hour near a design value, or `per_cent` is not in `PER_CENTS`.
    """
    if per_cent not in PER_CENTS:
        raise InputError("size per_cent", per_cent, "0.4, 1 or 2 (percent of hours)")
    whole, frame = season.weather.frame, _rows(season)
    climate = season.weather.describe("si")
    head = f"dew point {per_cent:g} %"
    hot = float(np.quantile(whole["temp_air"], 1.0 - per_cent / 100.0))
    coincident = whole[(whole["temp_air"] - hot).abs() <= NEAR]
    ratio = float(coincident["humidity_ratio"].mean())
    at = float(coincident["pressure"].mean())
    found = {
        HUMID: (
            float(climate[f"{head} MCDB [degC]"]),
            float(climate[f"{head} [degC]"]),
            (frame["temp_dew"] - climate[f"{head} [degC]"]).abs() <= NEAR,
        ),
        HOT: (
            hot,
            float(air.dew_point(air.vapor_pressure(ratio, at))),
            (frame["temp_air"] - hot).abs() <= NEAR,
        ),
    }
    result = {}
    for name, (dry, dew, hours) in found.items():
        if not hours.any():
            raise InputError(
                "size season",
                Problem(
                    f"no hour within {NEAR:g} K of the {per_cent:g} % {name}, "
                    f"{dew if name == HUMID else dry:.1f} °C"
                ),
                "a season that has the hot and the humid months of its weather",
            )
        result[name] = _condition(name, f"{per_cent:g} % {name}", frame, hours, dry, dew)
    try:
        day = season.mild_humid_day()
    except InputError:
        return result
    hours = pd.Series(frame.index.strftime("%Y-%m-%d") == day, frame.index)
    result[MILD] = _condition(
        MILD,
        MILD,
        frame,
        hours,
        float(frame["temp_air"][hours].mean()),
        float(frame["temp_dew"][hours].mean()),
        pd.Timestamp(day),
    )
    return result


def _rows(season: Season) -> Any:
    """The weather's rows of a season."""
    weather: Weather = season.weather
    return weather.frame.iloc[weather.between(season.start, season.end)]


def _condition(
    name: str,
    words: str,
    frame: Any,
    hours: Any,
    dry: float,
    dew: float,
    day: pd.Timestamp | None = None,
) -> Condition:
    pressure = float(frame["pressure"][hours].mean())
    return Condition(name, words, hours.to_numpy(), dry, dew, pressure, day)
