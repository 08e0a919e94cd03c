"""The command line: what is asked, and how it ends."""

import argparse
import sys
from collections.abc import Sequence

from moistsim.commands import sequence, size, study, sweep, weather
from moistsim.core.errors import InputError, Problem, sentences
from moistsim.season import package_version


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        By default those of the process.

    Returns
    -------
    int
        Exit code: 0, or 2 with one sentence on stderr if the input cannot be used.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console's encoding may lack a letter of a scenario's name: show a mark in its place.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    chosen = _parser().parse_args(arguments)
    try:
        chosen.run(chosen)
    except (InputError, OSError) as error:
        print(f"moistsim: {_sentence(error)}", file=sys.stderr)
        return 2
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="moistsim",
        description="How humid a house gets, hour by hour, and what each way of drying it costs.",
    )
    parser.add_argument(
        "--version", action="version", version=f"moistsim {package_version('moistsim')}"
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for command in (study, weather, sequence, sweep, size):
        command.add(commands)
    return parser


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename is not None:
        problem = Problem(f"cannot be written ({error.strerror})")
        return sentences(error.filename, problem, "a place that can be written to")
    return str(error)


if __name__ == "__main__":
    sys.exit(main())
