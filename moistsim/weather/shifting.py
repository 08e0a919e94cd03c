"""Monthly shifts of dry bulb and dew point to another climate."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import InputError, Problem
from moistsim.core.units import to_si
from moistsim.weather.checks import WeatherError
from moistsim.weather.clock import hours_of


def shifted_months(frame: pd.DataFrame, temp_air: Any, temp_dew: Any) -> tuple[pd.DataFrame, str]:
    """Return the shifted frame and a note.

    A dew point never exceeds its dry bulb; the note counts the hours at this limit.
    """
    dry, dew = _by_month(temp_air, "temp_air"), _by_month(temp_dew, "temp_dew")
    month = hours_of(frame).month - 1
    out = frame.drop(columns="humidity_ratio")
    out["temp_air"] = frame["temp_air"] + dry[month]
    wanted = frame["temp_dew"] + dew[month]
    held = wanted > out["temp_air"]
    out["temp_dew"] = wanted.where(~held, out["temp_air"])
    note = (
        f"dry bulb moved by {_said(dry)} and dew point by {_said(dew)}; "
        f"{int(held.sum())} of {len(frame)} h held at saturation; sun, wind and pressure unchanged"
    )
    return out, note


def _by_month(value: Any, name: str) -> NDArray[np.float64]:
    given = (
        [value] * 12
        if isinstance(value, str) or not isinstance(value, Sequence | np.ndarray | pd.Series)
        else list(value)
    )
    accepted = "a difference within 15 K such as 2.0 or '3.6 delta_degF', or twelve, January first"
    if len(given) != 12:
        raise WeatherError("shifted", name, Problem(f"{len(given)} values"), accepted)
    try:
        shifts = np.array([to_si(one, "delta_degC", name) for one in given])
    except InputError as error:
        raise WeatherError("shifted", name, error.found, accepted) from None
    far = np.flatnonzero(np.abs(shifts) > 15.0)
    if far.size:
        raise WeatherError("shifted", name, Problem(f"cannot use {shifts[far[0]]:g} K"), accepted)
    return shifts


def _said(shifts: NDArray[np.float64]) -> str:
    if np.ptp(shifts) == 0.0:
        return f"{shifts[0]:+g} K"
    return ", ".join(f"{shift:+g}" for shift in shifts) + " K by month"
