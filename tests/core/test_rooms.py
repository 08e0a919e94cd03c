"""The package's folders: what each hands out is public, and the rest is its own."""

import ast
from pathlib import Path

import pytest

import moistsim

PACKAGE = Path(moistsim.__file__).parent
ROOMS = sorted(path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists())
# The modules of these are public by themselves; no names stand in their __init__.
OPEN = ("core", "commands")


def imports(file: Path) -> list[tuple[str, str]]:
    """Module and name of everything of the package that a file imports, anywhere in it."""
    nodes = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
    return [
        (node.module, alias.name)
        for node in nodes
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("moistsim")
        for alias in node.names
        if node.module is not None
    ]


def test_the_rooms_are_found() -> None:
    assert {"core", "engine", "season", "study", "commands"} <= set(ROOMS)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_takes_from_another_only_what_that_one_hands_out(room: str) -> None:
    private = [
        f"{file.relative_to(PACKAGE)}: {module}.{name}"
        for file in (PACKAGE / room).rglob("*.py")
        for module, name in imports(file)
        if module.count(".") > 1 and module.split(".")[1] not in (room, *OPEN)
    ]
    assert private == []


@pytest.mark.parametrize("room", [room for room in ROOMS if room not in OPEN])
def test_what_a_room_hands_out_is_listed(room: str) -> None:
    front = PACKAGE / room / "__init__.py"
    tree = ast.parse(front.read_text(encoding="utf-8"))
    listed = [
        ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__"
    ]
    brought = {
        alias.asname or alias.name
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert listed == [sorted(listed[0])]
    assert set(listed[0]) == brought, "an __init__ imports what it lists, and nothing else"
    module = __import__(f"moistsim.{room}", fromlist=listed[0])
    assert [name for name in listed[0] if not hasattr(module, name)] == []
