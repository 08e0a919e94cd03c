"""The test tree mirrors the package, and its files do not lean on one another."""

import ast
from pathlib import Path

import moistsim

TESTS = Path(__file__).parent
PACKAGE = Path(moistsim.__file__).parent
FILES = sorted(TESTS.rglob("*.py"))
OF_THEIR_OWN = {"benchmarks", "fuzz", "sources", "support", "whole_seasons"}
"""Folders that stand for no folder of the package."""


def imported(file: Path) -> set[str]:
    """Modules that a file imports anywhere."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


def test_no_test_imports_another() -> None:
    """What two tests share stands in `support`."""
    others = {file.stem for file in FILES if file.name.startswith(("test_", "conftest"))}
    leaning = {
        file.relative_to(TESTS).as_posix(): sorted(names & (others | {"tests"}))
        for file in FILES
        if (names := {part for module in imported(file) for part in module.split(".")})
        & (others | {"tests"})
    }
    assert leaning == {}


def test_the_tree_mirrors_the_package() -> None:
    """Each folder of tests, however deep, is a folder of the package or named above."""
    folders = {file.parent.relative_to(TESTS).as_posix() for file in FILES} - {"."}
    rooms = {p.parent.relative_to(PACKAGE).as_posix() for p in PACKAGE.rglob("__init__.py")}
    assert folders - OF_THEIR_OWN <= rooms
    assert folders >= OF_THEIR_OWN
    # Every room of the package has tests.
    assert {room.split("/")[0] for room in rooms} - {"."} <= {f.split("/")[0] for f in folders}
