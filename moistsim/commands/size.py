"""`moistsim size`: design loads, remaining moisture load, and machine sizes."""

import argparse
import io
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from moistsim.commands.screen import CAUTIONS, WIDTH, head, item, title, told
from moistsim.core.display import Show, count
from moistsim.core.errors import InputError, Problem
from moistsim.core.files import write_whole
from moistsim.scenario import Scenario, ScenarioError, read_scenario


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    size = commands.add_parser(
        "size",
        help="calculate design loads, the remaining moisture load, and machine sizes",
        description="Calculate design loads by source (humid condition, hot condition, mild day), the "
        "moisture that the air conditioner removes by itself, and sizes: dehumidifier, air "
        "conditioner, and reheat strips with their circuit.",
    )
    size.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the scenario")
    size.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    for name, words in (("indoor", "temperature"), ("indoor-rh", "relative humidity")):
        size.add_argument(
            f"--{name}", metavar="SETPOINT",
            help=f"indoor {words}; default: the setpoint of the option that dries",
        )  # fmt: skip
    size.add_argument("--figure", type=Path, metavar="FILE", help="also write a figure, png or svg")
    size.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Calculate and print loads and sizes."""
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
    band: list[str] = []
    try:
        with told():
            sizing = size(scenario.study, temperature=chosen.indoor, rh=chosen.indoor_rh)
            if scenario.draws is not None:
                band = [*_band(scenario, chosen)]
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
    for line in (
        *title(scenario), "", *head(scenario, chosen.units), "", *lines(sizing, chosen.units), *band, "", "Cautions:",
    ):  # fmt: skip
        print(line)
    for caution in (*OF_SIZES, *CAUTIONS):
        for line in item(caution):
            print(line)
    if out is not None:
        drawn = io.BytesIO()
        kind = out.suffix.lower().removeprefix(".")
        sizing_figure(sizing, chosen.units).savefig(drawn, dpi=150, format=kind)
        write_whole(out, drawn.getvalue())
        print(f"\n{out}: loads and sizes as a figure")


def _band(scenario: Scenario, chosen: argparse.Namespace) -> Iterator[str]:
    """Sizes over the draws of a measured house, as lines."""
    from moistsim.uncertainty import measured_sizes

    show = Show(chosen.units)
    sizes = measured_sizes(
        scenario.study, scenario.draws, temperature=chosen.indoor, rh=chosen.indoor_rh
    )
    # A row with each share, from the 5 % of the draws with the smallest need up.
    low, middle, high = (row for _, row in sizes.quantile([0.05, 0.5, 0.95]).iterrows())
    box, loads = (
        [show(row[name] * factor, quantity, 0) for row in (low, middle, high)]
        for name, factor, quantity in (
            ("dehumidifier_kg_day", 1.0 / 86400.0, "removal"),
            ("sensible_W", 1.0, "capacity"),
        )
    )
    text = (
        f"Over {count(len(sizes), 'draw')} of the measured house: the largest need takes a dehumidifier rated "
        f"{box[0]} to {box[2]} (median {box[1]}), and the sensible load at the hot condition is {loads[0]} to "
        f"{loads[2]} (median {loads[1]}). Each range holds 90 % of the draws."
    )
    yield ""
    yield from textwrap.wrap(text, WIDTH)
