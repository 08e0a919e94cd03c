"""A column's name is spelled in one place of the package: its line in the catalog."""

import ast
from collections.abc import Iterator
from pathlib import Path

import moistsim
from moistsim.engine import column_catalog
from moistsim.house import SPACES

PACKAGE = Path(moistsim.__file__).parent
HOURLY = {
    *(
        flow.column
        for flow in (*column_catalog.FLOWS, *column_catalog.STATES)
        if flow.how != "step"
    ),
    column_catalog.DEW_POINT,
    column_catalog.HOTTEST_SUPPLY,
    column_catalog.HOTTEST_STRIPS,
}
MEASURES = {
    *(measure.name for measure in column_catalog.measures_of(5, SPACES)),
    *(measure.name for measure in column_catalog.DIFFERENCES),
}
ALLOWED: dict[str, set[str]] = {
    # Kept under names that a column has too, for something else.
    "season/attribution.py": {"compressor_kWh"},
    "sizing/columns.py": {"warm_h"},
    "sizing/sweeps.py": {"warm_h"},
    # Columns of the hourly table that are taken several at a time.
    "risk/cold_surfaces.py": HOURLY,
    "figures/timing.py": HOURLY,
    # Fields of a step, some of which have the name of their column.
    "figures/psychrometric.py": HOURLY,
    "sheet/picture.py": HOURLY,
    "sheet/winter.py": {*HOURLY, "total_kWh"},
    "sheet/winter_words.py": {*HOURLY, "total_kWh"},
}
"""By file, the names that it may spell."""


def spelled(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of each literal name of a column, but for one that reads an hourly column.

    To read a column of the hourly table by its name, as in ``hourly["indoor_rh_pct"]`` or
    ``season.column("indoor_rh_pct")``, is to use the table as anybody would. To read a measure so is not: the catalog has a name for it that a type
    checker knows.
    """
    reads = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.Subscript)
        for inner in ast.walk(node.slice)
    } | {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "column"
        for inner in node.args
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            name = node.value
            if name in MEASURES | HOURLY and not (name in HOURLY and id(node) in reads):
                yield node.lineno, name


def test_a_second_spelling_is_found() -> None:
    texts = {
        'row("hours_over_60")': ["hours_over_60"],
        'table["hours_over_60"]': ["hours_over_60"],
        'hourly["indoor_rh_pct"]': [],
        'season.column("indoor_rh_pct")': [],
        'season.column("hours_over_60")': ["hours_over_60"],
        'LABELS = {"indoor_rh_pct": "room RH"}': ["indoor_rh_pct"],
        '"hours_over_60 is a column"': [],
    }
    for text, names in texts.items():
        assert [name for _, name in spelled(ast.parse(text))] == names


def test_no_file_but_the_catalog_spells_a_column() -> None:
    again = [
        f"moistsim/{file}:{line}: {name}"
        for path in sorted(PACKAGE.rglob("*.py"))
        if (file := path.relative_to(PACKAGE).as_posix()) != "engine/column_catalog.py"
        for line, name in spelled(ast.parse(path.read_text(encoding="utf-8")))
        if name not in ALLOWED.get(file, set())
    ]
    assert again == [], "\n".join(["use engine.column_catalog in place of:", *again])
