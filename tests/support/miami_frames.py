"""Frames at the Miami sample's place, and what they are refused with."""

import pandas as pd

from moistsim import Weather

HOUR = pd.Timedelta(hours=1)
PLACE = {"latitude": 25.8, "longitude": -80.2667, "utc_offset": -5.0, "elevation": 2.0}

# What is accepted.
HOURLY = "rows exactly 1 h apart, in order, in local standard time"
AGREE = "a label, utc_offset and longitude that agree (one of them is wrong)"
TEMPERATURE = "-70 to 60 degC (convert a value in degF or K first)"
PRESSURE = "50000 to 110000 Pa (station pressure; 1 hPa or mbar is 100 Pa, 1 kPa is 1000 Pa)"
SUN = "(a small negative night reading must be set to 0 first)"


def take(frame: pd.DataFrame, label: str = "end", **changes: object) -> Weather:
    return Weather.from_frame(frame, label=label, **{**PLACE, **changes})
