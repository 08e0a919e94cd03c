"""Progress bars appear on a terminal and in a notebook, and nowhere else."""

import ast
import io
import sys
from pathlib import Path

import pytest

import moistsim
from moistsim.core.progress import is_watched, progress_bar


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_bar_is_for_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for stream, shown, expected in (
        (Terminal(), True, True),
        (Terminal(), False, False),
        (io.StringIO(), True, False),
    ):
        monkeypatch.setattr(sys, "stderr", stream)
        with progress_bar(3, "options", "season", shown=shown) as bar:
            bar.update()
        assert ("options" in stream.getvalue()) is expected


def test_a_notebook_shows_bars_and_a_closed_stream_shows_none() -> None:
    in_a_notebook = type("OutStream", (io.StringIO,), {"__module__": "ipykernel.iostream"})
    assert is_watched(in_a_notebook())
    assert not is_watched(None)


def test_no_other_file_makes_a_bar() -> None:
    package = Path(moistsim.__file__).parent
    makers = {
        file.relative_to(package).as_posix()
        for file in package.rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "tqdm"
    }
    assert makers == {"core/progress.py"}
