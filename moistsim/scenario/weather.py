"""The weather of a scenario file: sample or file, season, and further years."""

import datetime
import os
from pathlib import Path
from typing import Any

from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.core.units import to_si
from moistsim.scenario.places import Place, check_keys, text_of
from moistsim.study import Study
from moistsim.weather import Weather, WeatherError

_ENDINGS = (".csv", ".epw")
"""Ends of the names of weather files in a folder of years."""


def weather_of(table: Any, place: Place) -> tuple[Weather, str | Path]:
    """The weather of a table, and the name of its sample or its file.

    Raises
    ------
    ScenarioError
    """
    check_keys(table, ("sample", "file", "checksum"), place)
    given = [key for key in ("sample", "file") if key in table]
    if len(given) != 1:
        found = "both sample and file" if given else "neither sample nor file"
        raise place.error("", Problem(found), "one of sample = 'name' and file = 'path'")
    text = text_of(table, given[0], place)
    source: str | Path = text if "sample" in table else place.folder / text
    if isinstance(source, Path) and not source.is_file():
        accepted = "the path of a weather file, relative to the folder of the scenario"
        raise place.error("file", Problem(f"{brief(text)} is not a file"), accepted)
    try:
        weather = Weather.read(source) if isinstance(source, Path) else Weather.sample(source)
    except OSError as error:
        raise place.error(
            "file", Problem(f"cannot use {brief(text)} ({error.strerror})"), "a readable file"
        ) from None
    except WeatherError as error:
        if isinstance(source, Path):
            at = ", ".join(["file", error.where, *([error.column] if error.column else [])])
            raise place.error(at, error.found, error.accepted, error.problem) from None
        # The sentence of `Weather.sample` lists the samples that there are.
        known = error.accepted.split(" or ")
        raise place.error("sample", error.found, one_of(source, known)) from None
    sum_given = text_of(table, "checksum", place, weather.checksum)
    if sum_given != weather.checksum:
        raise place.error(
            "checksum",
            Problem(f"{brief(sum_given)} is not the checksum of the weather, {weather.checksum!r}"),
            "the weather that the scenario was run with, or no checksum",
        )
    return weather, source


def season_of(table: Any, weather: Weather, place: Place) -> dict[str, Any]:
    """Start, end and step for `Study`, if the table has them.

    Raises
    ------
    ScenarioError
        If the weather does not contain these days.
    """
    check_keys(table, ("start", "end", "step"), place)
    # TOML has dates of its own: a day that is written without quotes arrives as one.
    season = {
        key: value.isoformat() if isinstance(value, datetime.date) else value
        for key, value in table.items()
    }
    try:
        if "step" in season:
            to_si(season["step"], "s", "step")
        weather.between(season.get("start"), season.get("end"))
    except WeatherError as error:
        # A TOML file has no None, so such a value is omitted.
        accepted = error.accepted.replace("None for", "left out for")
        raise place.error(error.column or "", error.found, accepted) from None
    except InputError as error:
        raise place.moved(error, "", season) from None
    return season


def years_of(
    table: dict[str, Any], place: Place, study: Study
) -> tuple[dict[str, Weather], dict[str, str | Path]]:
    """The equally likely weathers and their sources, by label.

    Raises
    ------
    ScenarioError
        If a weather does not contain the season of the study.
    """
    rows = table.get("years", [])
    if isinstance(rows, str):
        rows = [{"file": file} for file in _files_of(rows, place)]
    if not isinstance(rows, list) or ("years" in table and not rows):
        accepted = "a folder of weather files, or a list of tables, each with a sample or a file"
        raise place.error("years", rows, accepted)
    weathers: dict[str, Weather] = {}
    sources: dict[str, str | Path] = {}
    for number, row in enumerate(rows, 1):
        inner = place.inside("years", number)
        weather, source = weather_of(row, inner)
        season_of(
            {k: v for k, v in (("start", study.start), ("end", study.end)) if v}, weather, inner
        )
        label = source if isinstance(source, str) else source.stem
        while label in weathers:
            label += "'"
        weathers[label], sources[label] = weather, source
    return weathers, sources


def _files_of(folder: str, place: Place) -> list[str]:
    """The weather files of a folder, as seen from the scenario, in the order of their names."""
    at = place.folder / folder
    if not at.is_dir():
        accepted = "the path of a folder of weather files, relative to the folder of the scenario"
        raise place.error("years", Problem(f"{brief(folder)} is not a folder"), accepted)
    found = sorted(
        path.name
        for path in at.iterdir()
        if path.suffix.lower() in _ENDINGS and not path.name.startswith(".")
    )
    if not found:
        endings = ", ".join(_ENDINGS)
        raise place.error(
            "years",
            Problem(f"{brief(folder)} has no weather file"),
            f"a folder of files ({endings})",
        )
    return [f"{folder}/{name}" for name in found]


def weather_as_table(folder: Path, source: str | Path, weather: Weather) -> dict[str, Any]:
    """The table of a weather, for a file in a folder."""
    where = {"file": seen_from(folder, source)} if isinstance(source, Path) else {"sample": source}
    return {**where, "checksum": weather.checksum}


def seen_from(folder: Path, file: Path) -> str:
    """A file's path as seen from a folder."""
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # another drive
        return file.resolve().as_posix()
