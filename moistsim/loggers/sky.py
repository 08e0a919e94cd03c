"""Sun for a log that has none: a clear sky times a cloud factor from what was logged.

pvlib makes the clear sky (simplified Solis; Ineichen 2008, "A broadband simplified version of the
Solis clear sky model", Solar Energy 82). Its aerosol is a constant here, because a map of turbidity
would be a file of its own, and its water vapor comes from the log.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

AEROSOL = 0.1
"""Aerosol optical depth at 700 nm, a usual value over land (pvlib's default)."""

_Floats = NDArray[np.float64]


def sun_from_sky(
    midpoints: pd.DatetimeIndex,
    latitude: float,
    longitude: float,
    elevation: float,
    *,
    temperature: _Floats,
    relative_humidity: _Floats,
    pressure: _Floats,
    cloud_cover: _Floats | None,
) -> tuple[pd.DataFrame, str]:
    """Return ``ghi``, ``dni`` and ``dhi``, W/m2, at the midpoints (with their zone), and a note.

    Parameters
    ----------
    temperature, relative_humidity, pressure : array
        Outdoor air in each interval, degC, percent and Pa.
    cloud_cover : array or None
        Share of the sky, 0 to 1.
    """
    from pvlib.atmosphere import gueymard94_pw
    from pvlib.clearsky import simplified_solis
    from pvlib.irradiance import erbs, get_extra_radiation
    from pvlib.solarposition import get_solarposition

    sun = get_solarposition(midpoints, latitude, longitude, altitude=elevation)
    extra = np.asarray(get_extra_radiation(midpoints), float)
    water = np.maximum(gueymard94_pw(temperature, np.maximum(relative_humidity, 1.0)), 0.1)
    height = sun["apparent_elevation"].to_numpy()
    clear = np.nan_to_num(
        np.asarray(
            simplified_solis(
                height, aod700=AEROSOL, precipitable_water=water, pressure=pressure, dni_extra=extra
            )["ghi"],
            float,
        )
    )
    clear = np.where(height > 0.0, np.maximum(clear, 0.0), 0.0)
    zenith = sun["zenith"].to_numpy()
    if cloud_cover is not None:
        # Kasten & Czeplak 1980, Solar Energy 24: global radiation by cloud cover (from memory).
        share = 1.0 - 0.75 * cloud_cover**3.4
        how = "cloud cover, by Kasten and Czeplak"
    else:
        above = extra * np.maximum(np.cos(np.radians(zenith)), 0.0)
        share = _share_by_range(midpoints, temperature, above, clear)
        how = "the daily range of outdoor temperature, by Bristow and Campbell"
    ghi = share * clear
    parts = erbs(ghi, zenith, midpoints)
    made = {
        "ghi": ghi,
        "dni": np.asarray(parts["dni"], float),
        "dhi": np.asarray(parts["dhi"], float),
    }
    note = (
        f"no sun was logged: clear sky by pvlib (simplified Solis, aerosol optical depth {AEROSOL:g}) times "
        f"{how}; beam and diffuse parts by Erbs"
    )
    return pd.DataFrame(made, index=midpoints), note


def _share_by_range(
    midpoints: pd.DatetimeIndex, temperature: _Floats, above: _Floats, clear: _Floats
) -> _Floats:
    """Share of the clear sky's radiation on each day, from the daily range of temperature.

    Bristow & Campbell 1984, Agricultural and Forest Meteorology 31 (from memory): the day's global
    radiation is A (1 - exp(-B D^C)) of that above the air, with A = 0.7, C = 2.4 and B =
    0.036 exp(-0.154 mean D). D is the day's maximum less the mean of its own minimum and the next
    day's, K; its mean is over about a month.
    """
    days = midpoints.tz_localize(None).normalize()
    by_day = pd.DataFrame({"t": temperature, "above": above, "clear": clear, "n": 1.0}, index=days)
    groups = by_day.groupby(level=0)
    low, high = groups["t"].min(), groups["t"].max()
    whole = groups["n"].sum() >= 0.8 * groups["n"].sum().max()
    spread = (high - 0.5 * (low + low.shift(-1).fillna(low))).clip(lower=0.0).where(whole)
    usual = spread.rolling(31, center=True, min_periods=1).mean()
    share_above = 0.7 * (1.0 - np.exp(-0.036 * np.exp(-0.154 * usual) * spread**2.4))
    day_share = (share_above * groups["above"].sum() / groups["clear"].sum()).clip(0.15, 1.0)
    # The parts of days at the ends of a log have no range of their own.
    day_share = day_share.ffill().bfill().fillna(0.6)
    return np.asarray(day_share.reindex(days), float)
