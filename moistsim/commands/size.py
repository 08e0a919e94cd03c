"""`moistsim size`: design loads, what is left to dry, and sizes."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.commands.screen import CAUTIONS, head, item, told
from moistsim.core.errors import InputError, Problem
from moistsim.scenario import ScenarioError, read_scenario


def add(commands: Any) -> None:
    """What is asked on the command line."""
    size = commands.add_parser(
        "size",
        help="design loads, what is left to dry, and what size of machine that asks for",
        description="Design loads by source at the humid and the hot condition and on a mild day, "
        "what the air conditioner dries by itself, and sizes: of a dehumidifier, of the air "
        "conditioner, of strips for reheat with their circuit.",
    )
    size.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the scenario")
    size.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units (the default) or SI"
    )
    for name, words in (("indoor", "temperature"), ("indoor-rh", "relative humidity")):
        size.add_argument(
            f"--{name}", metavar="SET-POINT",
            help=f"{words} that the room is to have; left out, the setpoint of the option that dries",
        )  # fmt: skip
    size.add_argument("--figure", type=Path, metavar="FILE", help="also as a picture, png or svg")
    size.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Size, and print loads and sizes."""
    from moistsim.figures import sizing_figure
    from moistsim.sizing import CAUTIONS as OF_SIZES
    from moistsim.sizing import lines, size

    scenario = read_scenario(chosen.scenario)
    out = chosen.figure
    if out is not None and out.suffix.lower() not in (".png", ".svg", ".pdf"):
        raise ScenarioError(
            f"--figure {out}", Problem("another kind of file name"), "a name that ends in .png"
        )
    if out is not None and not out.parent.is_dir():
        raise ScenarioError(
            f"--figure {out}", Problem("no such folder"), "a file in a folder that exists"
        )
    try:
        with told():
            sizing = size(scenario.study, temperature=chosen.indoor, rh=chosen.indoor_rh)
    except InputError as error:
        where = error.where
        for ours, theirs in (
            ("size temperature", "--indoor"), ("size rh", "--indoor-rh"), ("size", ""),
            ("simulate step", "[season] step"),
        ):  # fmt: skip
            where = where.replace(ours, theirs)
        raise InputError(
            f"{scenario.path.name} {where.strip()}", error.found, error.accepted, error.problem
        ) from None
    for line in (*head(scenario, chosen.units), "", *lines(sizing, chosen.units), "", "Cautions:"):
        print(line)
    for caution in (*OF_SIZES, *CAUTIONS):
        for line in item(caution):
            print(line)
    if out is not None:
        sizing_figure(sizing, chosen.units).savefig(out, dpi=150)
        print(f"\n{out}: loads and sizes as a picture")
