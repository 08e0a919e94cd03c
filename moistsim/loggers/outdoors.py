"""The weather of a log, from its outdoor columns."""

from __future__ import annotations

from datetime import timedelta, timezone
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.errors import Fix, InputError, Problem
from moistsim.loggers.gaps import refuse_gaps
from moistsim.loggers.sky import sun_from_sky
from moistsim.weather import Weather

_SUN = ("ghi", "dni", "dhi")
_DEW_EXCESS = 1.0
"""Accepted excess of a logged dew point over the dry bulb, K: two sensors, or two interpolations."""


def weather_of(
    frame: pd.DataFrame,
    step: float,
    *,
    latitude: float,
    longitude: float,
    utc_offset: float,
    elevation: float,
    name: str,
) -> Weather:
    """Make hourly weather of kind "actual" from the outdoor columns of a log.

    Raises
    ------
    InputError, WeatherError
        If a column is missing, or a gap is longer than those that were interpolated.
    """
    humidity = "outdoor_dew_point" if "outdoor_dew_point" in frame.columns else "outdoor_rh"
    needed = ["outdoor_temperature", humidity, "wind_speed"]
    fixes = {
        "outdoor_temperature": "a column outdoor_temperature",
        "outdoor_rh": "a column outdoor_rh or outdoor_dew_point",
        "wind_speed": "a column wind_speed, or the mean that you take as known, such as wind_speed='6 mph'",
    }
    for column in needed:
        if column not in frame.columns:
            raise InputError("log.weather", Problem(f"no {column}"), fixes[column])
    sun = [column for column in _SUN if column in frame.columns]
    if sun in (["dni"], ["dhi"]):
        raise InputError(
            "log.weather", Problem(f"{sun[0]} alone"), "ghi, or two of ghi, dni and dhi, or no sun"
        )
    clouds = ["cloud_cover"] if not sun and "cloud_cover" in frame.columns else []
    pressure = ["pressure"] if "pressure" in frame.columns else []
    refuse_gaps(frame, [*needed, *pressure, *sun, *clouds], step, "a run needs each row")

    notes = []
    dry = frame["outdoor_temperature"].to_numpy()
    made = pd.DataFrame({"temp_air": dry}, index=frame.index)
    saturated = air.over(air.saturation_pressure, dry)
    if humidity == "outdoor_dew_point":
        dew = frame[humidity].to_numpy()
        excess = dew - dry
        if (most := float(excess.max())) > _DEW_EXCESS:
            row = int(excess.argmax())
            raise InputError(
                f"log row {frame.index[row]}", Problem(f"outdoor dew point {most:.1f} K above the dry bulb"),
                Fix("Check that the two columns are not exchanged and have the right units"),
            )  # fmt: skip
        if held := int((excess > 0.0).sum()):
            notes.append(
                f"outdoor dew point held at the dry bulb in {held} rows, by at most {most:.2g} K"
            )
        made["temp_dew"] = np.minimum(dew, dry)
        rh = 100.0 * air.over(air.saturation_pressure, made["temp_dew"]) / saturated
    else:
        rh = frame[humidity].to_numpy()
        made["relative_humidity"] = rh
    made["wind_speed"] = frame["wind_speed"]
    derive = [] if pressure else ["pressure"]
    if pressure:
        made["pressure"] = frame["pressure"]
    midpoints = pd.DatetimeIndex(frame.index).tz_localize(timezone(timedelta(hours=utc_offset)))
    midpoints = midpoints + pd.Timedelta(seconds=step / 2.0)
    if sun:
        made[sun] = frame[sun]
        derive += [column for column in _SUN if column not in sun]
    else:
        sky, note = sun_from_sky(
            midpoints, latitude, longitude, elevation,
            temperature=dry, relative_humidity=rh,
            pressure=made["pressure"].to_numpy() if pressure else np.full(len(dry), _standard(elevation)),
            cloud_cover=frame["cloud_cover"].to_numpy() if clouds else None,
        )  # fmt: skip
        made[list(_SUN)] = sky[list(_SUN)].to_numpy()
        notes.append(note)
    place: dict[str, Any] = {
        "latitude": latitude, "longitude": longitude, "utc_offset": utc_offset, "elevation": elevation,
        "label": "start", "name": name, "source": "log", "derive": derive,
    }  # fmt: skip
    if step == 3600.0:
        weather = Weather.from_frame(made, kind="actual", **place)
    else:
        weather = Weather.from_log(made, **place)
    return attrs.evolve(weather, notes=(*weather.notes, *notes))


def _standard(elevation: float) -> float:
    from pvlib.atmosphere import alt2pres

    return float(alt2pres(elevation))
