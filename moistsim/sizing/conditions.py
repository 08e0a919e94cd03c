"""The hours for which something is sized: those near a design condition, and a mild day."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import InputError, Problem
from moistsim.season import Season
from moistsim.weather import Weather

HUMID, HOT, MILD = "dew point", "dry bulb", "mild day"
"""The three conditions: the first two by what is exceeded in so many percent of hours."""
PER_CENTS = (0.4, 1.0, 2.0)
"""Of the hours of a year in which a design value is exceeded."""
NEAR = 0.5
"""K about a design value within which an hour counts, as in `Weather.describe`."""


@attrs.frozen(eq=False)
class Condition:
    """Hours of a season, and the outdoor air that they have in common."""

    name: str
    """`HUMID`, `HOT` or `MILD`."""
    words: str
    """As a reader would call it: "1 % dew point"."""
    hours: NDArray[np.bool_]
    """By row of the season's hourly table."""
    outdoor: float
    """Dry bulb, degC: the design value or the one coincident with it; of the mild day its mean."""
    outdoor_dew_point: float
    """degC, likewise."""
    pressure: float
    """Mean, Pa."""

    @property
    def outdoor_rh(self) -> float:
        """Percent."""
        ratio = air.humidity_ratio(air.saturation_pressure(self.outdoor_dew_point), self.pressure)
        return 100.0 * float(air.relative_humidity(self.outdoor, ratio, self.pressure))


def conditions(season: Season, per_cent: float) -> dict[str, Condition]:
    """The three conditions in a season.

    Design values are exceeded in `per_cent` of the hours of the whole weather (ASHRAE Handbook,
    Fundamentals, ch. 14), the coincident one is the mean over the hours near them: the dew points
    are `Weather.describe`'s. The hours are those of the season near them, with the sun, wind and
    people that they have.

    Parameters
    ----------
    season : Season
        Of the thermostat alone, which decides what day is mild and humid.
    per_cent : float
        One of `PER_CENTS`.

    Returns
    -------
    dict
        By name. Without a mild day in the season, that one is left out.

    Raises
    ------
    InputError
        If the season has no hour near a design value, or `per_cent` is another.
    """
    if per_cent not in PER_CENTS:
        raise InputError("size per_cent", per_cent, "0.4, 1 or 2 (percent of hours)")
    whole, frame = season.weather.frame, _rows(season)
    climate = season.weather.describe()
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
                    f"{dew if name == HUMID else dry:.1f} degC"
                ),
                "a season that has the hot and the humid months of its weather",
            )
        result[name] = _condition(name, f"{per_cent:g} % {name}", frame, hours, dry, dew)
    try:
        day = season.mild_humid_day()
    except InputError:
        return result
    hours = pd.Series(frame.index.strftime("%Y-%m-%d") == day, frame.index)
    stamp = pd.Timestamp(day)
    result[MILD] = _condition(
        MILD,
        f"mild day, {stamp.day} {stamp:%B}",
        frame,
        hours,
        float(frame["temp_air"][hours].mean()),
        float(frame["temp_dew"][hours].mean()),
    )
    return result


def _rows(season: Season) -> Any:
    """The weather's rows of a season."""
    weather: Weather = season.weather
    return weather.frame.iloc[weather.between(season.start, season.end)]


def _condition(name: str, words: str, frame: Any, hours: Any, dry: float, dew: float) -> Condition:
    return Condition(
        name, words, hours.to_numpy(), dry, dew, float(frame["pressure"][hours].mean())
    )
