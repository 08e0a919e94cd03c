"""The command line: arguments, commands and exit codes."""

import argparse
import codecs
import sys
from collections.abc import Sequence

from moistsim.commands import new, sequence, size, study, sweep, weather
from moistsim.core.errors import InputError, Problem, sentences
from moistsim.season import package_version


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Default: the arguments of the process.

    Returns
    -------
    int
        Exit code: 0, or 2 with one sentence on stderr if the input cannot be used.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console's encoding may lack a sign, or a letter of a scenario's name.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="moistsim")
    chosen = _parser().parse_args(arguments)
    try:
        chosen.run(chosen)
    except (InputError, OSError) as error:
        print(f"moistsim: {_sentence(error)}", file=sys.stderr)
        return 2
    return 0


_PLAIN = {
    "\N{MINUS SIGN}": "-",
    "\u2013": "-",
    "\u2019": "'",
    "\u201c": '"',
    "\u201d": '"',
    "\u00b2": "2",
    "\u00b0": " deg ",
}
"""ASCII for signs that a console may lack."""


def _readable(error: UnicodeError) -> tuple[str, int]:
    """The nearest ASCII for signs that cannot be encoded, and a question mark for other letters."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object[error.start : error.end]
    return "".join(_PLAIN.get(sign, "?") for sign in text), error.end


codecs.register_error("moistsim", _readable)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="moistsim",
        description="How humid a house gets, hour by hour, and what each way of drying it costs.",
    )
    parser.add_argument(
        "--version", action="version", version=f"moistsim {package_version('moistsim')}"
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for command in (new, study, weather, sequence, sweep, size):
        command.add(commands)
    return parser


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename is not None:
        problem = Problem(f"cannot be written ({error.strerror})")
        return sentences(error.filename, problem, "a place that can be written to")
    return str(error)


if __name__ == "__main__":
    sys.exit(main())
