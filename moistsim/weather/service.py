"""A typical year from the European Commission's PVGIS service, through pvlib's client."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import Problem
from moistsim.weather.checks import WeatherError, checked_offset, number_between
from moistsim.weather.clock import BEFORE_LABEL, YEAR_OF_NO_YEAR
from moistsim.weather.weather import Weather

#: The service; anything that answers like it may stand in its place.
PVGIS = "https://re.jrc.ec.europa.eu/api/"

_TAKEN = ("temp_air", "relative_humidity", "pressure", "wind_speed", "ghi", "dni", "dhi")


def fetch_typical_year(
    latitude: float,
    longitude: float,
    *,
    utc_offset: float | None = None,
    name: str = "",
    timeout: float = 60.0,
    url: str | None = None,
) -> Weather:
    """Fetch a typical year of a place: needs a connection to the internet.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive; on land.
    utc_offset : float, optional
        Local standard time less UTC, h. Left out, it is the longitude's own hour (a fifteenth of
        the longitude, rounded), which may be an hour from the legal one; ``notes`` says so.
    name : str
        The place.
    timeout : float
        Seconds in which the service must begin to answer, and go on answering.
    url : str, optional
        Where the service is; by default `PVGIS`.

    Returns
    -------
    Weather
        Of kind "typical", in local standard time; its months come from several years.

    Raises
    ------
    WeatherError
        One sentence: no connection, no answer in time, a place over sea, another refusal, or an
        answer that is no typical year.

    Notes
    -----
    The service (PVGIS, European Commission, Joint Research Center) gives readings of air at the
    whole hour UTC, and sun at an instant some minutes after it, which its answer states. A row is
    therefore taken as the middle of its hour or as its start, whichever is nearer to the sun's
    instant; a dew point follows from its relative humidity. Hours of the turn of the year that the
    shift to local time would push out of it are moved to its other end.
    """
    latitude = number_between("PVGIS", "latitude", latitude, -90, 90, "degrees, north positive")
    longitude = number_between("PVGIS", "longitude", longitude, -180, 180, "degrees, east positive")
    if utc_offset is None:
        offset, reason = float(round(longitude / 15.0)), "the longitude's own, not a legal zone"
    else:
        offset = checked_offset("PVGIS", utc_offset)
        reason = "as asked for"
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
            Problem(f"an answer without {error}"),
            "the service's typical year in JSON",
        ) from None

    label = "middle" if abs(sun_after % 1.0 - 0.5) > 0.25 else "start"
    starts = utc + timedelta(hours=offset) - BEFORE_LABEL[label]
    # Months of several years stand under one; so do the hours that the shift moves across it.
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
    """What the service says, or one sentence of why it does not."""
    import requests
    from pvlib.iotools import get_pvgis_tmy

    file = "the service within reach, or a weather file"
    try:
        frame, meta = get_pvgis_tmy(
            latitude, longitude, url=url, timeout=timeout, coerce_year=YEAR_OF_NO_YEAR
        )
    except requests.Timeout:
        found, accepted = f"no answer within {timeout:g} s", f"{file}, or a longer timeout"
    except requests.ConnectionError:
        found, accepted = "no connection: is this computer online?", file
    except requests.HTTPError as error:
        found, accepted = (
            f"a refusal ({str(error).strip().rstrip('.')})",
            "a place that it covers, on land",
        )
        if error.response is not None:
            accepted = "the service in good order: try again later"
    except (json.JSONDecodeError, KeyError, TypeError, ValueError) as error:
        found = f"an answer that cannot be read ({type(error).__name__}: {error})"
        accepted = "the service's typical year in JSON"
    else:
        return frame, meta
    raise WeatherError(f"PVGIS at {url}", None, Problem(found), accepted)
