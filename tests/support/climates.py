"""Invented climates in which nothing changes, so that a run can be worked by hand.

No such weather exists. `Weather`'s constructor takes it as it is, where `Weather.from_frame` would
refuse a sky without a sun.
"""

import pandas as pd

from moistsim import Weather, air


def flat(
    temp_air: float,
    humidity_ratio: float,
    *,
    days: int,
    pressure: float = air.STANDARD_PRESSURE,
    wind_speed: float = 0.0,
) -> Weather:
    """Constant, sunless and, unless told otherwise, still air.

    Parameters
    ----------
    temp_air : float
        Dry bulb, degC.
    humidity_ratio : float
        kg/kg.
    days : int
        From 1 January of a year without a leap day.
    pressure : float
        Pa.
    wind_speed : float
        m/s.
    """
    frame = pd.DataFrame(
        {
            "temp_air": temp_air,
            "temp_dew": float(air.dew_point(air.vapor_pressure(humidity_ratio, pressure))),
            "humidity_ratio": humidity_ratio,
            "pressure": pressure,
            "wind_speed": wind_speed,
            "ghi": 0.0,
            "dni": 0.0,
            "dhi": 0.0,
        },
        index=pd.date_range("2001-01-01", periods=24 * days, freq="h", name="time"),
    )
    return Weather(
        frame=frame,
        latitude=30.0,
        longitude=-90.0,
        utc_offset=-6.0,
        elevation=0.0,
        label="start",
        name="invented flat climate",
    )
