"""One actual year of a place from NASA POWER: hourly reanalysis and satellite data for the world.

pvlib's client of this service (`pvlib.iotools.get_nasa_power`) has no timeout. It keeps neither the
status of a refusal nor the units of the columns, and its releases differ in the unit of pressure. So
the question is asked and checked here; a test holds the numbers against pvlib's reader.

Keys, stamps at the start of the hour and the fill value are as pvlib reads them. From memory, and not
yet seen in an answer of the service: units and their spelling, the time standard in the header,
messages, sizes of grid cells, and that values are means of their hour.
"""

from __future__ import annotations

import json
import time
from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import Fix, Problem, brief, listed
from moistsim.weather.asking import UnreadableError, answer_to
from moistsim.weather.checks import Place, WeatherError
from moistsim.weather.clock import HOUR
from moistsim.weather.sun import SUN_DOWN, check_sun, solar_position
from moistsim.weather.weather import Weather

NASA_POWER = "https://power.larc.nasa.gov/api/temporal/hourly/point"
"""Address of the service. Another service with the same answers may replace it."""

_Floats = NDArray[np.float64]

_FILL = -999.0
"""Value of an hour without data, unless the answer states another."""
_WATTS = {"wh/m2": 1.0, "w/m2": 1.0, "w-hr/m2": 1.0, "kwh/m2": 1000.0, "kw-hr/m2": 1000.0}
_PARAMETERS: dict[str, tuple[str, dict[str, float]]] = {
    "temp_air": ("T2M", {"c": 1.0, "degc": 1.0}),
    "temp_dew": ("T2MDEW", {"c": 1.0, "degc": 1.0}),
    "relative_humidity": ("RH2M", {"%": 1.0}),
    "pressure": ("PS", {"kpa": 1000.0, "hpa": 100.0, "mb": 100.0, "mbar": 100.0, "pa": 1.0}),
    "wind_speed": ("WS10M", {"m/s": 1.0}),
    "ghi": ("ALLSKY_SFC_SW_DWN", _WATTS),
    "dhi": ("ALLSKY_SFC_SW_DIFF", _WATTS),
    "dni": ("ALLSKY_SFC_SW_DNI", _WATTS),
}
"""Columns: the service's parameter, and the factor to our unit by the service's unit.

The energy of an hour in Wh/m2 is its mean in W/m2. Wind is at 10 m, as in EPW files.
"""
_WITNESSES = ["relative_humidity", "dni"]
"""Columns that are not used but check others: the dew point, and the hours of the sun."""
_APART_RH = 5.0
"""Median difference, percent RH, from which humidity and dew point disagree. Our own choice."""
_SUPERSATURATED = 1.0
"""Largest excess of the dew point over the dry bulb, K, that is cut. Our own choice."""
_APART = 1.0
"""Largest distance, degrees, between the place asked for and that of the answer."""
_ANOTHER = Fix("Try another year, or use a weather file")

_COVERED = "a place and years that the service covers"


def fetch_year(
    place: Place, year: int, *, reason: str, name: str, timeout: float, url: str
) -> Weather:
    """Fetch one calendar year in local standard time.

    Parameters
    ----------
    place : Place
        Its elevation is not used: that of the answer is.
    reason : str
        Where its offset from UTC comes from.
    year, name, timeout, url
        As for `fetch_actual_years`.

    Raises
    ------
    WeatherError
        If the service does not answer, or its answer is not this whole year at this place.
    """
    origin = f"NASA POWER {year}"
    hours = _hours_of(year, place.utc_offset)
    # Half a year at a time: a local year touches 367 days of UTC in a leap year, and a shorter
    # answer more often arrives within the timeout.
    first = hours < pd.Timestamp(year, 7, 1, tz="UTC")
    halves = [
        _half(place, hours[part], origin, timeout=timeout, url=url) for part in (first, ~first)
    ]
    elevation, sources = halves[0][:2]
    columns = {name: np.concatenate([half[2][name] for half in halves]) for name in _PARAMETERS}
    place = place._replace(elevation=elevation)
    # Sizes of cells from memory.
    notes = [
        f"UTC {place.utc_offset:+g} h is taken as local standard time ({reason})",
        "means of a grid cell (about 50 km, its sun about 100 km), not of a station; elevation and "
        "pressure are those of the cell, and wind is at 10 m",
    ]
    middles = hours + HOUR / 2
    notes += _no_sun_at_night(columns, middles, place)
    _refuse_gaps(columns, hours, origin)
    notes += _cut_to_saturation(columns, origin)
    _check_humidity(columns, origin)
    table = pd.DataFrame(columns, index=hours)
    try:
        made = Weather.from_frame(
            table.drop(columns=_WITNESSES),
            **place._asdict(),
            label="start",
            name=f"{name or f'{place.latitude:.4f}, {place.longitude:.4f}'} {year}",
            source=f"NASA POWER, hourly{sources}",
            kind="actual",
            derive=["dni"],
        )
        # Derived direct sun fits any hour. That of the service shows whether the hours are right.
        known = table["dni"].notna().to_numpy()
        check_sun(
            table[known], middles[known], place, made.solar_position.elevation[known], "frame",
            lambda row: f"frame row {hours[known][row]}",
        )  # fmt: skip
    except WeatherError as error:
        where = error.where.replace("frame row ", "frame, hour ", 1).replace("frame", origin, 1)
        wrong = (
            error.found if isinstance(error.found, Problem) else f"cannot use {brief(error.found)}"
        )
        raise _refused(where, error.column, f"{wrong}, in place of {error.accepted}") from None
    return attrs.evolve(made, notes=(*notes, *made.notes))


def _half(
    place: Place, hours: pd.DatetimeIndex, origin: str, *, timeout: float, url: str
) -> tuple[float, str, dict[str, _Floats]]:
    """Elevation, data sources and columns of some hours of a year."""
    question = {
        "latitude": repr(place.latitude),
        "longitude": repr(place.longitude),
        "start": f"{hours[0]:%Y%m%d}",
        "end": f"{hours[-1]:%Y%m%d}",
        "community": "RE",
        "parameters": ",".join(parameter for parameter, _ in _PARAMETERS.values()),
        "format": "JSON",
        "header": "true",
        "time-standard": "UTC",
    }
    answer = answer_to(
        lambda: _asked(url, question, timeout), f"{origin} at {url}", timeout, _COVERED
    )
    elevation, sources = _head(answer, place, origin)
    return elevation, sources, {name: _values(answer, name, hours, origin) for name in _PARAMETERS}


def _refused(origin: str, column: str | None, found: str) -> WeatherError:
    return WeatherError(origin, column, Problem(found), _ANOTHER)


def _hours_of(year: int, utc_offset: float) -> pd.DatetimeIndex:
    """Hours of UTC that begin in a year of local standard time."""
    ahead = pd.Timedelta(hours=utc_offset)
    first, after = (pd.Timestamp(y, 1, 1, tz="UTC") - ahead for y in (year, year + 1))
    return pd.date_range(first.ceil("h"), after, freq="h", inclusive="left")


def _asked(url: str, question: dict[str, str], timeout: float) -> dict[str, Any]:
    """The service's answer. It is left where all of it takes longer than the timeout."""
    import requests

    over = time.monotonic() + timeout
    with requests.get(url, params=question, timeout=timeout, stream=True) as response:
        if not response.ok:
            # Reading it here keeps the words of a refusal after the connection is closed.
            _ = response.content
            raise requests.HTTPError(response=response)
        content = bytearray()
        for part in response.iter_content(1 << 14):
            content += part
            if time.monotonic() > over:
                raise requests.Timeout
        kind = response.headers.get("Content-Type", "no stated kind")
    try:
        answer = json.loads(content)
    except ValueError as error:
        begins = brief(bytes(content[:40]).decode("utf-8", "replace"))
        raise UnreadableError(
            f"{len(content):,} bytes of {kind}, {begins}, are not JSON: {error}"
        ) from None
    if not isinstance(answer, dict):
        raise UnreadableError(f"{brief(answer)} in place of a year's hours")
    return answer


def _within(answer: dict[str, Any], *keys: str) -> dict[str, Any]:
    """A table inside an answer; empty where the answer has another thing or nothing."""
    for key in keys:
        inner = answer.get(key)
        answer = inner if isinstance(inner, dict) else {}
    return answer


def _head(answer: dict[str, Any], place: Place, origin: str) -> tuple[float, str]:
    """Elevation and data sources of an answer, after a check of its place and its time."""
    header = _within(answer, "header")
    at: list[Any] = _within(answer, "geometry").get("coordinates") or []
    standard = header.get("time_standard", "UTC")
    if str(standard).upper() != "UTC":
        raise _refused(origin, None, f"the answer's time is {brief(standard)}, not UTC")
    try:
        longitude, latitude, elevation = map(float, at)
    except (TypeError, ValueError):
        found = f"the answer's place is {brief(at)}, not longitude, latitude and elevation"
        raise _refused(origin, None, found + _said(answer)) from None
    if not max(abs(latitude - place.latitude), abs(longitude - place.longitude)) <= _APART:
        asked = f"{place.latitude:g}, {place.longitude:g}"
        raise _refused(
            origin, None, f"the answer is for {latitude:g}, {longitude:g}, not for {asked}"
        )
    sources = header.get("sources")
    if not isinstance(sources, list) or not sources:
        return elevation, ""
    return elevation, f", from {' and '.join(map(str, sources))}"


def _said(answer: dict[str, Any]) -> str:
    """What the service says about its answer."""
    messages = answer.get("messages")
    return (
        f"; the service says {listed(messages)}" if isinstance(messages, list) and messages else ""
    )


def _values(answer: dict[str, Any], column: str, hours: pd.DatetimeIndex, origin: str) -> _Floats:
    """Values of a column by hour, in our unit; NaN where the service has none."""
    parameter, units = _PARAMETERS[column]
    there = _within(answer, "properties", "parameter")
    given = _within(there, parameter)
    if not given:
        has = listed(there) if there else "none"
        found = f"the answer has no {parameter}; its parameters are {has}{_said(answer)}"
        raise _refused(origin, column, found)
    unit = _within(answer, "parameters", parameter).get("units")
    factor = units.get(str(unit).lower().replace(" ", "").replace("^", ""))
    if factor is None:
        found = f"{parameter} is in {brief(unit)}, in place of {next(iter(units))}"
        raise _refused(origin, column, found)
    keys = hours.strftime("%Y%m%d%H")
    lacks = np.array([key not in given for key in keys])
    if lacks.any():
        raise _refused(origin, column, f"{parameter} lacks {_many(lacks, hours)}{_said(answer)}")
    fills = {_FILL, _within(answer, "header").get("fill_value", _FILL)}
    numbers = pd.to_numeric(pd.Series([given[key] for key in keys], dtype=object), errors="coerce")
    values = numbers.to_numpy(dtype=float, na_value=np.nan).copy()
    values[
        ~np.isfinite(values)
        | np.isin(values, [fill for fill in fills if type(fill) in (int, float)])
    ] = np.nan
    return values * factor


def _many(which: NDArray[np.bool_], hours: pd.DatetimeIndex) -> str:
    """Hours in words: how many, and the first of them."""
    first = hours[int(np.argmax(which))]
    return f"{int(which.sum()):,} of {len(hours):,} hours, the first {first:%Y-%m-%d %H:%M} UTC"


def _no_sun_at_night(
    columns: dict[str, _Floats], middles: pd.DatetimeIndex, place: Place
) -> list[str]:
    """Set sun without a value to 0 in hours of darkness; return a note on it."""
    empty = {name: np.isnan(columns[name]) for name in ("ghi", "dhi", "dni")}
    if not any(of.any() for of in empty.values()):
        return []
    highest = np.max(
        [
            solar_position(middles + side * HOUR / 2, *place[:2], place.elevation).elevation
            for side in (-1, 0, 1)
        ],
        axis=0,
    )
    night = highest < SUN_DOWN
    for name, of in empty.items():
        columns[name][of & night] = 0.0
    many = int((np.any([*empty.values()], axis=0) & night).sum())
    return [f"sun of 0 in {many:,} hours of darkness without a value"] if many else []


def _refuse_gaps(columns: dict[str, _Floats], hours: pd.DatetimeIndex, origin: str) -> None:
    for column, values in columns.items():
        empty = np.isnan(values)
        # Witnesses may have gaps, but not be empty.
        if empty.all() or (empty.any() and column not in _WITNESSES):
            found = f"{_PARAMETERS[column][0]} has no value in {_many(empty, hours)}"
            raise _refused(origin, column, found)


def _cut_to_saturation(columns: dict[str, _Floats], origin: str) -> list[str]:
    """Cut a dew point that is a little above the dry bulb; return a note on it."""
    dry, dew = columns["temp_air"], columns["temp_dew"]
    over = dew - dry
    many, most = int((over > 0.0).sum()), float(over.max())
    if most > _SUPERSATURATED:
        found = f"a dew point up to {most:.1f} K above the dry bulb, in {many:,} hours"
        raise _refused(origin, "temp_dew", found)
    columns["temp_dew"] = np.minimum(dew, dry)
    return (
        [f"dew point cut to the dry bulb in {many:,} hours, by at most {most:.2g} K"]
        if many
        else []
    )


def _check_humidity(columns: dict[str, _Floats], origin: str) -> None:
    """Refuse a dew point that relative humidity contradicts, such as one in another unit."""
    # Below freezing, sources differ in whether they mean saturation over ice or over water.
    warm = columns["temp_dew"] > 0.0
    if not warm.any():
        return
    vapor, saturated = (
        air.over(air.saturation_pressure, columns[name][warm]) for name in ("temp_dew", "temp_air")
    )
    apart = float(
        np.nanmedian(np.abs(100.0 * vapor / saturated - columns["relative_humidity"][warm]))
    )
    if not apart <= _APART_RH:
        found = f"dew point and relative humidity (RH2M) disagree by {apart:.0f} % RH in half of the hours"
        raise _refused(origin, "temp_dew", found)
