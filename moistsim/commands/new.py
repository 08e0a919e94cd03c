"""`moistsim new`: a scenario file of a house to fill in."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.core.errors import Problem
from moistsim.core.files import write_whole
from moistsim.scenario import ScenarioError, new_house


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    new = commands.add_parser(
        "new",
        help="write a file of a house to fill in: ten lines, and what is optional as comments",
        description="Write a scenario file of a house with invented numbers, which runs as written. "
        "Ten lines describe the house: place, complaint, floor area, year, people, and the air "
        "conditioner by its label. Everything optional stands below as comments.",
    )
    new.add_argument("file", type=Path, metavar="FILE.toml", help="a new file")
    new.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    new.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Write the file, and print what to do with it."""
    file = chosen.file
    if file.exists():
        raise ScenarioError(str(file), Problem("the file exists already"), "a new name")
    if file.suffix.lower() != ".toml":
        found = Problem("another kind of file name")
        raise ScenarioError(str(file), found, "a name that ends in .toml")
    if not file.parent.is_dir():
        raise ScenarioError(str(file), Problem("no such folder"), "a folder that exists")
    write_whole(file, new_house(file.name, chosen.units).encode())
    print(f"{file}: a house with invented numbers, ready to run.")
    print("Change the lines that say so, then run:")
    print(f"  moistsim study {file}")
