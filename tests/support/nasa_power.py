"""Answers in the shape of NASA POWER's hourly service, with invented numbers.

The keys that pvlib's reader uses (`pvlib.iotools.nasa_power`: properties, parameter, header,
fill_value, times, parameters, geometry, coordinates, the stamps) are from its source. The rest is
from memory: units and long names, time_standard, sources, messages, and the wording of refusals.
The real service was not asked.
"""

import json
from functools import lru_cache
from http.server import BaseHTTPRequestHandler
from typing import Any
from urllib.parse import parse_qs, urlparse

import numpy as np
import pandas as pd
import pvlib

UNITS = {
    "T2M": "C", "T2MDEW": "C", "RH2M": "%", "PS": "kPa", "WS10M": "m/s",
    "ALLSKY_SFC_SW_DWN": "Wh/m^2", "ALLSKY_SFC_SW_DIFF": "Wh/m^2", "ALLSKY_SFC_SW_DNI": "Wh/m^2",
}  # fmt: skip
ELEVATION = 3.2


@lru_cache(maxsize=12)
def _columns(
    first: str, last: str, latitude: float, longitude: float, sun_after: float
) -> pd.DataFrame:
    """Invented hours of UTC: waves of day and year, days of weather, and the sun of one instant."""
    hours = pd.date_range(first, pd.Timestamp(last) + pd.Timedelta(hours=23), freq="h", tz="UTC")
    middles = hours + pd.Timedelta(minutes=sun_after)
    place = pvlib.location.Location(latitude, longitude)
    zenith = place.get_solarposition(middles)
    # Each day has its own number, so that a day is the same in every answer.
    since = (
        (hours.normalize() - pd.Timestamp("1990-01-01", tz="UTC")) // pd.Timedelta(days=1)
    ).to_numpy()
    days = np.random.default_rng(7).normal(0.0, 1.0, 20_000)[since]
    clear = np.clip(0.8 + 0.25 * days, 0.15, 1.0)
    ghi = clear * pvlib.clearsky.haurwitz(zenith["apparent_zenith"])["ghi"].to_numpy()
    parts = pvlib.irradiance.erbs(ghi, zenith["zenith"].to_numpy(), middles)
    solar = (hours.hour + 0.5 + longitude / 15.0) % 24.0
    season = -np.cos(2.0 * np.pi * (hours.day_of_year - 20) / 365.0)
    dry = 23.0 + 5.0 * season + 4.0 * np.cos(2.0 * np.pi * (solar - 15.0) / 24.0) + days
    dew = np.minimum(18.0 + 5.0 * season + 1.2 * days + 0.2 * np.sin(solar), dry)
    return pd.DataFrame(
        {
            "T2M": dry.round(2),
            "T2MDEW": dew.round(2),
            "RH2M": np.minimum(pvlib.atmosphere.rh_from_tdew(dry, dew), 100.0).round(2),
            "PS": (101.3 + 0.2 * days).round(2),
            "WS10M": (3.5 + 0.8 * days).clip(0.1).round(2),
            "ALLSKY_SFC_SW_DWN": ghi.round(2),
            "ALLSKY_SFC_SW_DIFF": np.asarray(parts["dhi"]).round(2),
            "ALLSKY_SFC_SW_DNI": np.asarray(parts["dni"]).round(2),
        },
        index=hours,
    )


def answer_to(path: str, sun_after: float = 30.0) -> dict[str, Any]:
    """A whole answer to a question, in the service's shape; its sun that many minutes after the stamp."""
    asked = {key: values[0] for key, values in parse_qs(urlparse(path).query).items()}
    latitude, longitude = float(asked["latitude"]), float(asked["longitude"])
    table = _columns(asked["start"], asked["end"], latitude, longitude, sun_after)
    names = asked["parameters"].split(",")
    keys = table.index.strftime("%Y%m%d%H")
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [longitude, latitude, ELEVATION]},
        "properties": {
            "parameter": {
                name: dict(zip(keys, table[name].tolist(), strict=True)) for name in names
            }
        },
        "header": {
            "title": "NASA/POWER Source Native Resolution Hourly Data",
            "sources": ["INVENTED-AIR", "INVENTED-SUN"],
            "fill_value": -999.0,
            "time_standard": asked["time-standard"],
            "start": asked["start"],
            "end": asked["end"],
        },
        "messages": [],
        "parameters": {name: {"units": UNITS[name], "longname": "invented"} for name in names},
        "times": {"data": 1.0, "process": 0.1},
    }


def send(handler: BaseHTTPRequestHandler, status: int, content: bytes, **headers: str) -> None:
    """Send an answer of HTTP."""
    handler.send_response(status)
    for name, value in {"Content-Length": str(len(content)), **headers}.items():
        handler.send_header(name.replace("_", "-"), value)
    handler.end_headers()
    handler.wfile.write(content)


def power(handler: BaseHTTPRequestHandler) -> None:
    """The service as it should be."""
    send(
        handler, 200, json.dumps(answer_to(handler.path)).encode(), Content_Type="application/json"
    )
