"""`moistsim weather`: fetch a typical year of a place and write it as a weather file."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.commands.screen import item
from moistsim.core.display import Show
from moistsim.core.errors import Problem
from moistsim.scenario import ScenarioError


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    weather = commands.add_parser(
        "weather",
        help="fetch a typical weather year of a place from the internet",
        description="Fetch a typical weather year of a place from the European Commission's PVGIS "
        "service, and write it as a weather file. It covers most land and needs no account.",
    )
    weather.add_argument("latitude", type=float, metavar="LAT", help="degrees, north positive")
    weather.add_argument("longitude", type=float, metavar="LON", help="degrees, east positive")
    weather.add_argument("--out", type=Path, metavar="FILE", required=True, help="a new file")
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
    """Fetch the year, write it, and describe it."""
    from moistsim.weather import fetch_typical_year

    if chosen.out.exists():
        raise ScenarioError(f"--out {chosen.out}", Problem("the file exists already"), "a new file")
    if not chosen.out.parent.is_dir():
        raise ScenarioError(
            f"--out {chosen.out}", Problem("no such folder"), "a file in a folder that exists"
        )
    if not chosen.timeout > 0.0:
        raise ScenarioError(
            "--timeout", Problem(f"cannot use {chosen.timeout:g} s"), "more than 0 s"
        )
    weather = fetch_typical_year(
        chosen.latitude,
        chosen.longitude,
        utc_offset=chosen.utc_offset,
        name=chosen.name,
        timeout=chosen.timeout,
    )
    weather.write(chosen.out)
    elevation = Show(chosen.units)(weather.elevation, "length")
    print(f"{chosen.out}: {weather.name}, {len(weather):,} hours, elevation {elevation}")
    for text in (weather.source, *weather.notes):
        print("\n".join(item(text)))
