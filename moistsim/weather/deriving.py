"""Missing columns of a weather table, derived from other columns on request."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import Problem
from moistsim.weather.checks import Place, WeatherError

_Floats = NDArray[np.float64]

#: Columns that may be derived, in the order of error texts.
DERIVABLE = ("pressure", "ghi", "dni", "dhi")

_LOW_SUN = 87.0
"""Zenith angle, degrees, above which the beam cannot be found from its horizontal component."""


def renamed(frame: pd.DataFrame) -> pd.DataFrame:
    """Rename pvlib's `atmospheric_pressure` of EPW files to `pressure`."""
    if "pressure" in frame.columns:
        return frame
    return frame.rename(columns={"atmospheric_pressure": "pressure"})


def checked_derive(derive: Iterable[str], table: pd.DataFrame, origin: str) -> tuple[str, ...]:
    """Check the columns to derive; the table must not have them."""
    names = (derive,) if isinstance(derive, str) else tuple(derive)
    for name in names:
        if name not in DERIVABLE:
            raise WeatherError(origin, "derive", name, "one of " + ", ".join(DERIVABLE))
        if name in table.columns:
            raise WeatherError(
                origin,
                "derive",
                Problem(f"{name}, which the table has already"),
                "columns that are missing",
            )
    sun = {"ghi", "dni", "dhi"} & set(names)
    if "ghi" in sun and len(sun) > 1:
        raise WeatherError(
            origin,
            "derive",
            Problem(" and ".join(sorted(sun)) + " together"),
            "dni and dhi from ghi, or one of the three",
        )
    return names


def derived(
    lacking: tuple[str, ...],
    columns: dict[str, _Floats],
    midpoints: pd.DatetimeIndex,
    place: Place,
) -> tuple[dict[str, _Floats], tuple[str, ...]]:
    """Return derived columns, and notes in words.

    The columns of the sun satisfy ghi = dhi + dni cos(zenith) at the middle of the hour.
    """
    out: dict[str, _Floats] = {}
    told: list[str] = []
    if "temp_dew" not in columns:
        told.append("dew point from relative humidity and dry bulb")
    if "pressure" in lacking:
        from pvlib.atmosphere import alt2pres

        out["pressure"] = np.full(len(midpoints), float(alt2pres(place.elevation)))
        told.append(f"pressure of the standard atmosphere at {place.elevation:g} m, constant")
    sun = [name for name in lacking if name != "pressure"]
    if not sun:
        return out, tuple(told)

    from pvlib.irradiance import erbs, get_extra_radiation
    from pvlib.solarposition import get_solarposition

    sun_at = get_solarposition(midpoints, place.latitude, place.longitude)
    zenith = sun_at["zenith"].to_numpy(dtype=float)
    cosine = np.maximum(np.cos(np.radians(zenith)), 0.0)
    if len(sun) == 2:
        parts = erbs(columns["ghi"], zenith, midpoints)
        out["dni"] = np.asarray(parts["dni"], dtype=float)
        out["dhi"] = np.asarray(parts["dhi"], dtype=float)
        told.append("dni and dhi from ghi by Erbs's correlation")
    elif sun == ["ghi"]:
        out["ghi"] = columns["dhi"] + columns["dni"] * cosine
        told.append("ghi from dni and dhi")
    elif sun == ["dhi"]:
        beam = columns["dni"] * cosine
        out["dhi"] = np.maximum(columns["ghi"] - beam, 0.0)
        held = int((beam > columns["ghi"] + 1.0).sum())
        told.append(f"dhi from ghi and dni; dhi is 0 in {held} h whose dni exceeds ghi")
    else:
        beam = np.maximum(columns["ghi"] - columns["dhi"], 0.0)
        most = np.asarray(get_extra_radiation(midpoints), dtype=float)
        found = np.divide(beam, cosine, out=np.zeros_like(beam), where=zenith < _LOW_SUN)
        out["dni"] = np.minimum(found, most)
        told.append(
            f"dni from ghi and dhi, none while the sun is within {90 - _LOW_SUN:g} degrees of the "
            f"horizon; {int((found > most).sum())} h held at the sun's own strength, and "
            f"{int((columns['dhi'] > columns['ghi'] + 1.0).sum())} h whose dhi exceeds their ghi "
            "have none"
        )
    return out, tuple(told)
