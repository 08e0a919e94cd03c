"""The command line: arguments, commands and exit codes."""

import argparse
import sys
from collections.abc import Sequence

from moistsim.commands.process import STOPPED, of_a_command, say_stopped


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Default: the arguments of the process.

    Returns
    -------
    int
        Exit code: 0; 2 with one sentence on stderr if the input cannot be used; 130 after Ctrl-C.
    """
    with of_a_command(whole_process=arguments is None):
        try:
            return _run(arguments)
        except KeyboardInterrupt:
            say_stopped()
            return STOPPED


def _run(arguments: Sequence[str] | None) -> int:
    # Imported here, so that Ctrl-C during the import ends in one line.
    from moistsim.core.errors import InputError

    try:
        try:
            chosen = _parser().parse_args(arguments)
            chosen.run(chosen)
        finally:
            # A disk that is full is found here, and not when Python ends.
            if sys.stdout is not None:
                sys.stdout.flush()
    except (InputError, OSError) as error:
        print(f"moistsim: {_sentence(error)}", file=sys.stderr)
        return 2
    return 0


def _parser() -> argparse.ArgumentParser:
    from moistsim.commands import (
        calibrate,
        desk,
        lesson,
        new,
        sequence,
        size,
        study,
        sweep,
        watch,
        weather,
    )
    from moistsim.season import package_version

    parser = argparse.ArgumentParser(
        prog="moistsim",
        description="How humid a house gets, hour by hour, and what each way of drying it costs.",
    )
    parser.add_argument(
        "--version", action="version", version=f"moistsim {package_version('moistsim')}"
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    for command in (new, study, desk, weather, sequence, sweep, size, calibrate, watch, lesson):
        command.add(commands)
    return parser


def _sentence(error: Exception) -> str:
    """One sentence for an error of the input or of the disk."""
    from moistsim.core.errors import Problem, sentences

    if not isinstance(error, OSError):
        return str(error)
    where = error.filename or "the disk"
    problem = Problem(f"cannot be written ({error.strerror or error})")
    return sentences(str(where), problem, "a place that can be written to")


if __name__ == "__main__":
    sys.exit(main())
