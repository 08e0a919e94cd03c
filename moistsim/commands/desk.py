"""`moistsim desk`: sliders over a house, in a browser on this machine."""

import argparse
import importlib.util
from collections.abc import Callable
from pathlib import Path
from typing import Any

from moistsim.commands.process import STOPPED, say_stopped, stops_in_order
from moistsim.core.errors import Fix, InputError, Problem
from moistsim.scenario import DEMO, read_scenario

MOST_PORT = 65535


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    desk = commands.add_parser(
        "desk",
        help="move a house's sliders in a browser, and see hours, bill and answer move",
        description="Open a page on this machine with sliders for the house, its machines, setpoints and price. "
        "The whole season of all options runs while a slider moves. The page saves houses in this folder "
        "and prints on one sheet. Ctrl-C ends it. No other machine can reach it.",
    )
    desk.add_argument(
        "scenario", nargs="?", type=Path, metavar="HOUSE.toml",
        help="the scenario file to begin with; default: the demo, an invented house",
    )  # fmt: skip
    desk.add_argument(
        "--units", choices=("us", "si"), default="us",
        help="units that the page begins with: trade units or SI; default: us",
    )  # fmt: skip
    arguments_of_a_page(desk)
    desk.set_defaults(run=run)


def arguments_of_a_page(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of a command that serves a page."""
    parser.add_argument(
        "--port",
        type=int,
        default=0,
        metavar="N",
        help="port of the page; default: one that is free",
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address; open no browser"
    )


def check_page(chosen: argparse.Namespace, *packages: str) -> None:
    """Refuse a page without its packages, or at a port that is none.

    Raises
    ------
    InputError
    """
    missing = [name for name in packages if importlib.util.find_spec(name) is None]
    if missing:
        raise InputError(
            "moistsim desk and lesson",
            Problem(f"the package {missing[0]} is not installed"),
            Fix("Install the extra: python -m pip install 'moistsim[desk]'"),
        )
    if not 0 <= chosen.port <= MOST_PORT:
        raise InputError("--port", chosen.port, f"from 0 to {MOST_PORT}")


def say_address(what: str, address: str, more: str = "") -> None:
    """Print where a page is, and how it ends."""
    print(f"{what} is open on this machine only, at", flush=True)
    print(f"  {address}", flush=True)
    print(f"Other browsers on this machine may open it too{more}. Ctrl-C ends it.", flush=True)


def serve_until_stopped(chosen: argparse.Namespace, served: Callable[[], None]) -> None:
    """Serve a page; Ctrl-C ends it with one line.

    Raises
    ------
    InputError
        If the port is taken.
    """
    stops_in_order()
    try:
        served()
    except KeyboardInterrupt:
        say_stopped("the page has ended")
        raise SystemExit(STOPPED) from None
    except OSError as error:
        taken = Problem(f"cannot serve a page at port {chosen.port} ({error.strerror or error})")
        raise InputError("--port", taken, "another port, or none for one that is free") from None


def run(chosen: argparse.Namespace) -> None:
    """Serve the desk until Ctrl-C."""
    check_page(chosen, "tornado")
    scenario = read_scenario(chosen.scenario or DEMO)
    from moistsim.desk import run_desk

    def served() -> None:
        run_desk(
            scenario,
            units=chosen.units,
            folder=Path.cwd(),
            port=chosen.port,
            opens=not chosen.no_browser,
            started=lambda address: say_address("The desk", address, ", each with its own house"),
        )

    serve_until_stopped(chosen, served)
