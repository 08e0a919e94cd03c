"""Actual years of a place in a folder, one file a year; a year that is there is not fetched again."""

from __future__ import annotations

import datetime
import logging
from collections.abc import Iterable
from pathlib import Path

from moistsim.core.errors import Fix, Problem
from moistsim.core.progress import progress_bar
from moistsim.core.whole_numbers import whole_number
from moistsim.weather.asking import NoAnswerError
from moistsim.weather.checks import Place, WeatherError, fetched_offset, number_between
from moistsim.weather.nasa_power import NASA_POWER, fetch_year
from moistsim.weather.seasons import whole_years
from moistsim.weather.weather import Weather

_SERVICE = "NASA POWER"
_FIRST = 1900


def fetch_actual_years(
    latitude: float,
    longitude: float,
    years: Iterable[int],
    folder: str | Path,
    *,
    utc_offset: float | None = None,
    name: str = "",
    timeout: float = 60.0,
    url: str | None = None,
    progress: bool = True,
) -> dict[int, Weather]:
    """Fetch actual weather years of a place over the internet into a folder.

    Parameters
    ----------
    latitude, longitude : float
        Degrees, north and east positive.
    years : iterable of int
        Calendar years that are over, such as ``range(2014, 2024)``.
    folder : str or Path
        A folder, new or not. It receives a weather file for each year, such as ``2014.csv``. A
        file that is there is read, checked and not fetched again.
    utc_offset : float, optional
        Local standard time less UTC, h. Default: a fifteenth of the longitude, rounded.
    name : str
        Name of the place.
    timeout : float
        Longest wait for the answer on one year, s.
    url : str, optional
        Address of the service; default: NASA POWER.
    progress : bool
        Show a progress bar.

    Returns
    -------
    dict of int to Weather
        Weather of kind "actual" by year, in local standard time, as for `Study.over`.

    Raises
    ------
    WeatherError
        If the service does not answer, or if a year's answer is not that whole year at this place.
        Years that have arrived stay in the folder, so the next call asks only for the others.
    OSError
        If the folder or a file cannot be written.

    Notes
    -----
    The service (NASA POWER) gives means of each hour of UTC in a grid cell, from a reanalysis and
    from satellites. A cell is tens of kilometers wide, so a coast or a mountain may differ from it.
    Used are dry bulb, dew point, surface pressure, wind at 10 m, and global and diffuse sun. Direct
    sun follows from those two. The service's own direct sun shows that the hours are right, and its
    relative humidity that the dew point is. An hour without a value is refused, except sun at night.

    Examples
    --------
    >>> years = fetch_actual_years(29.9, -90.1, range(2014, 2024), "years")  # doctest: +SKIP
    >>> study.over(years).groupby("option")["total_kWh"].describe()  # doctest: +SKIP
    """
    place, reason = _place(latitude, longitude, utc_offset)
    latest = datetime.date.today().year - 1
    accepted = f"a year that is over, {_FIRST} to {latest}"
    asked = sorted({whole_number(year, "years", _FIRST, latest, accepted) for year in years})
    if not asked:
        raise WeatherError("years", None, Problem("none"), "one year or more")
    folder = Path(folder)
    # What is there is checked first, so that a folder of another place costs no question.
    found = {year: there for year in asked if (there := _kept(folder / f"{year}.csv", place, year))}
    folder.mkdir(parents=True, exist_ok=True)
    failed: list[int] = []
    with progress_bar(len(asked), "weather", "year", shown=progress, done=len(found)) as bar:
        for year in asked:
            if year in found:
                continue
            try:
                found[year] = fetch_year(
                    place,
                    year,
                    reason=reason,
                    name=name,
                    timeout=timeout,
                    url=NASA_POWER if url is None else url,
                )
            except NoAnswerError:
                raise
            except WeatherError as error:
                # Other years may be whole.
                logging.getLogger("moistsim").warning("%s", error)
                failed.append(year)
            else:
                found[year].write(folder / f"{year}.csv")
            bar.update()
    if failed:
        lacks = ", ".join(map(str, failed))
        raise WeatherError(
            str(folder), None, Problem(f"{len(found)} of {len(asked)} years are there, not {lacks}"),
            Fix("Ask for other years; those that are there are kept"),
        )  # fmt: skip
    return {year: found[year] for year in asked}


def _place(latitude: float, longitude: float, utc_offset: float | None) -> tuple[Place, str]:
    """The place asked for, at an elevation yet unknown, and where its offset comes from."""
    north = number_between(_SERVICE, "latitude", latitude, -90, 90, "degrees, north positive")
    east = number_between(_SERVICE, "longitude", longitude, -180, 180, "degrees, east positive")
    offset, reason = fetched_offset(_SERVICE, east, utc_offset)
    return Place(north, east, offset, 0.0), reason


def _kept(file: Path, place: Place, year: int) -> Weather | None:
    """The year that a file of the folder holds; None where there is no file."""
    if not file.exists():
        return None
    fix = Fix("Delete this file, or use another folder")
    try:
        weather = Weather.read(file)
        whole = set(whole_years(weather.hours)) == {year}
    except WeatherError as error:
        raise WeatherError(
            str(file), None, Problem(f"cannot be used: {str(error).rstrip('.')}"), fix
        ) from None
    at = Place(weather.latitude, weather.longitude, weather.utc_offset, 0.0)
    if at != place or not whole:
        held, asked = (
            f"{p.latitude:g}, {p.longitude:g}, UTC {p.utc_offset:+g} h" for p in (at, place)
        )
        text = (
            f"holds weather of {held}, not of {asked}"
            if at != place
            else f"does not hold all of {year} alone"
        )
        raise WeatherError(str(file), None, Problem(text), fix)
    return weather
