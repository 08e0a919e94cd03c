"""`moistsim lesson`: an hour's lesson, in a browser on this machine."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.commands.desk import (
    arguments_of_a_page,
    check_page,
    say_address,
    serve_until_stopped,
)
from moistsim.core.errors import Problem
from moistsim.scenario import ScenarioError


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    lesson = commands.add_parser(
        "lesson",
        help="show the lesson in a browser: why reheat costs energy, and what dries a house",
        description="Run the lesson's notebook once, and open it as a page on this machine. Its answers are "
        "hidden until somebody asks for them. Ctrl-C ends it. No other machine can reach it.",
    )
    lesson.add_argument(
        "notebook", nargs="?", type=Path, metavar="LESSON.ipynb",
        help="a notebook of your own; default: the lesson that comes with the program",
    )  # fmt: skip
    arguments_of_a_page(lesson)
    lesson.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Run the notebook, and serve its page until Ctrl-C."""
    check_page(chosen, "tornado", "nbconvert", "nbclient", "ipykernel")
    from moistsim.desk import LESSON, lesson_page, run_lesson

    notebook = chosen.notebook or LESSON
    if not notebook.is_file():
        raise ScenarioError(str(notebook), Problem("no such file"), "the path of a notebook")

    def served() -> None:
        print("The lesson runs once; this takes up to a minute.", flush=True)
        run_lesson(
            lesson_page(notebook),
            port=chosen.port,
            opens=not chosen.no_browser,
            started=lambda address: say_address("The lesson", address),
        )

    serve_until_stopped(chosen, served)
