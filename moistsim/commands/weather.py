"""`moistsim weather`: fetch a typical year of a place, or actual years, and write weather files."""

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from moistsim.commands.screen import item, told
from moistsim.core.display import Show, number
from moistsim.core.errors import Problem
from moistsim.scenario import ScenarioError

if TYPE_CHECKING:
    from moistsim.weather import Weather


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    weather = commands.add_parser(
        "weather",
        help="fetch a typical weather year of a place, or actual years, from the internet",
        description="Fetch a typical weather year of a place from the European Commission's PVGIS "
        "service, and write it as a weather file. With --years, fetch actual years from NASA POWER "
        "into a folder, one file a year. Both cover most land and need no account.",
    )
    weather.add_argument("latitude", type=float, metavar="LAT", help="degrees, north positive")
    weather.add_argument("longitude", type=float, metavar="LON", help="degrees, east positive")
    weather.add_argument(
        "--out", type=Path, metavar="PATH", required=True,
        help="a new file; with --years a folder, whose years are kept and not fetched again",
    )  # fmt: skip
    weather.add_argument(
        "--years", metavar="FIRST-LAST", help="actual years, such as 2014-2023, or one year"
    )
    weather.add_argument(
        "--utc-offset", type=float, metavar="HOURS",
        help="local standard time minus UTC; default: the hour of the longitude",
    )  # fmt: skip
    weather.add_argument("--name", default="", help="name of the place, for titles")
    weather.add_argument(
        "--timeout", type=float, default=60.0, metavar="SECONDS", help="default: 60"
    )
    weather.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    weather.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Fetch one year or several, write them, and describe them."""
    if not chosen.timeout > 0.0:
        raise ScenarioError(
            "--timeout", Problem(f"cannot use {chosen.timeout:g} s"), "more than 0 s"
        )
    if chosen.years is None:
        _typical(chosen)
    else:
        _actual(chosen)


def _typical(chosen: argparse.Namespace) -> None:
    from moistsim.weather import fetch_typical_year

    if chosen.out.exists():
        raise ScenarioError(f"--out {chosen.out}", Problem("the file exists already"), "a new file")
    if not chosen.out.parent.is_dir():
        raise ScenarioError(
            f"--out {chosen.out}", Problem("no such folder"), "a file in a folder that exists"
        )
    weather = fetch_typical_year(
        chosen.latitude,
        chosen.longitude,
        utc_offset=chosen.utc_offset,
        name=chosen.name,
        timeout=chosen.timeout,
    )
    weather.write(chosen.out)
    print(f"{chosen.out}: {_words(weather, Show(chosen.units))}")
    for text in (weather.source, *weather.notes):
        print("\n".join(item(text)))


def _actual(chosen: argparse.Namespace) -> None:
    from moistsim.weather import fetch_actual_years

    match = re.fullmatch(r"(\d{4})(?:-(\d{4}))?", chosen.years.strip())
    first, last = (0, -1) if match is None else (int(match[1]), int(match[2] or match[1]))
    if first > last:
        raise ScenarioError(
            "--years", chosen.years, "the first and the last year, such as 2014-2023"
        )
    if chosen.out.exists() and not chosen.out.is_dir():
        raise ScenarioError(
            f"--out {chosen.out}", Problem("this is a file"), "a folder, new or not"
        )
    before = {path.name for path in chosen.out.glob("*")}
    with told():
        years = fetch_actual_years(
            chosen.latitude,
            chosen.longitude,
            range(first, last + 1),
            chosen.out,
            utc_offset=chosen.utc_offset,
            name=chosen.name,
            timeout=chosen.timeout,
        )
    show = Show(chosen.units)
    for year, weather in years.items():
        file = f"{year}.csv"
        was = " (there already)" if file in before else ""
        climate = weather.describe("si")
        warm = (
            f"dew point above {show(18.3, 'temperature', 0)} in "
            f"{number(climate['dew point above 18.3 degC [h]'])} hours"
        )
        print(f"{chosen.out / file}: {_words(weather, show)}, {warm}{was}")
    print(f"Notes of {max(years)} (each file has its own):")
    for text in (weather.source, *weather.notes):
        print("\n".join(item(text)))


def _words(weather: "Weather", show: Show) -> str:
    elevation = show(weather.elevation, "length")
    return f"{weather.name}, {len(weather):,} hours, elevation {elevation}"
