"""Typical years from the European Commission's PVGIS service, through pvlib's client."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import Problem
from moistsim.weather.asking import answer_to
from moistsim.weather.checks import WeatherError, fetched_offset, number_between
from moistsim.weather.clock import BEFORE_LABEL, YEAR_OF_NO_YEAR
from moistsim.weather.weather import Weather

#: Address of the service. Another service with the same answers may replace it.
PVGIS = "https://re.jrc.ec.europa.eu/api/"

_TAKEN = ("temp_air", "relative_humidity", "pressure", "wind_speed", "ghi", "dni", "dhi")

_COVERED = "a place on land that the service covers"


def fetch_typical_year(
    latitude: float,
    longitude: float,
    *,
    utc_offset: float | None = None,
    name: str = "",
    timeout: float = 60.0,
    url: str | None = None,
) -> Weather:
    """Fetch a typical weather year of a place over the internet.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive. The place must be on land.
    utc_offset : float, optional
        Local standard time less UTC, h. Default: a fifteenth of the longitude, rounded. That may
        be an hour from the legal time zone; ``notes`` says so.
    name : str
        Name of the place.
    timeout : float
        Longest wait for the service's answer, s.
    url : str, optional
        Address of the service; default: `PVGIS`.

    Returns
    -------
    Weather
        Weather of kind "typical" in local standard time; its months come from several years.

    Raises
    ------
    WeatherError
        If there is no connection or no answer in time, if the place is at sea, or if the answer is
        not a typical year.

    Notes
    -----
    The service (PVGIS, European Commission, Joint Research Center) gives air readings at the whole
    hour UTC, and sun some minutes later. Its answer states this instant. A row therefore
    marks the middle or the start of its hour, whichever is closer to the sun's instant. The dew
    point follows from relative humidity. Hours that the shift to local time moves out of the year
    are placed at its other end.

    Examples
    --------
    >>> weather = fetch_typical_year(29.9, -90.1, utc_offset=-6)  # doctest: +SKIP
    """
    latitude = number_between("PVGIS", "latitude", latitude, -90, 90, "degrees, north positive")
    longitude = number_between("PVGIS", "longitude", longitude, -180, 180, "degrees, east positive")
    offset, reason = fetched_offset("PVGIS", longitude, utc_offset)
    frame, meta = _answer(latitude, longitude, PVGIS if url is None else url, timeout)
    try:
        at = meta["inputs"]["location"]
        elevation = float(at["elevation"])
        sun_after = float(at.get("irradiance_time_offset") or 0.0)
        years = [int(month["year"]) for month in meta["months_selected"]]
        data = meta["inputs"]["meteo_data"]
        origin = f"{data['radiation_db']} and {data['meteo_db']}"
        columns = frame[list(_TAKEN)]
        utc = pd.DatetimeIndex(frame.index).tz_convert("UTC").tz_localize(None)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise WeatherError(
            "PVGIS",
            None,
            Problem(f"the answer lacks {error}"),
            "the service's typical year in JSON",
        ) from None

    label = "middle" if abs(sun_after % 1.0 - 0.5) > 0.25 else "start"
    starts = utc + timedelta(hours=offset) - BEFORE_LABEL[label]
    # The months are from several years, but all stamps get one year. Hours that the offset moves
    # past its end come back at its start.
    starts = pd.DatetimeIndex([stamp.replace(year=YEAR_OF_NO_YEAR) for stamp in starts])
    order = np.argsort(starts, kind="stable")
    local = columns.iloc[order].set_axis(starts[order] + BEFORE_LABEL[label])
    made = Weather.from_frame(
        local,
        latitude=latitude,
        longitude=longitude,
        utc_offset=offset,
        elevation=elevation,
        label=label,
        name=name or f"{latitude:.4f}, {longitude:.4f}",
        source=f"PVGIS typical year, European Commission, from {origin}, by pvlib's client",
        kind="typical",
    )
    notes = (
        f"UTC {offset:+g} h is taken as local standard time ({reason}); rows mark the {label} of "
        f"their hour, their sun stands {60 * sun_after:.0f} min after the stamp",
        f"months of the years {', '.join(map(str, years))}, all stamped {YEAR_OF_NO_YEAR}",
    )
    return attrs.evolve(made, notes=(*notes, *made.notes))


def _answer(
    latitude: float, longitude: float, url: str, timeout: float
) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Return the service's answer, or raise one sentence with the reason."""
    from pvlib.iotools import get_pvgis_tmy

    def ask() -> tuple[pd.DataFrame, dict[str, Any]]:
        return get_pvgis_tmy(  # type: ignore[no-any-return]
            latitude, longitude, url=url, timeout=timeout, coerce_year=YEAR_OF_NO_YEAR
        )

    return answer_to(ask, f"PVGIS at {url}", timeout, _COVERED)
