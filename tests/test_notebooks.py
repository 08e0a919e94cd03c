"""The notebooks run from top to bottom, their own assertions hold, and they are kept clean."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

ROOT = Path(__file__).resolve().parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
MOST_ROWS = 12
"""Rows of a table that a reader still reads."""
by_name = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def read(path: Path) -> nbformat.NotebookNode:
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    return notebook


def test_there_are_notebooks() -> None:
    assert {
        "season",
        "lesson",
        "mild_day",
        "machines",
        "house",
        "controls",
        "decision",
        "measured_house",
        "two_thousand_houses",
    } <= {path.stem for path in NOTEBOOKS}


@by_name
def test_a_notebook_is_kept_without_its_results(path: Path) -> None:
    notebook = read(path)
    assert notebook.metadata.kernelspec.name == "python3"
    assert "widgets" not in notebook.metadata
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert cell.outputs == [] and cell.execution_count is None, cell.source
    assert len({cell.id for cell in notebook.cells}) == len(notebook.cells)


@by_name
def test_a_notebook_says_its_house_is_invented_and_ends_with_cautions(path: Path) -> None:
    told = [cell.source for cell in read(path).cells if cell.cell_type == "markdown"]
    assert any("**invented**" in text for text in told)
    assert told[-1].startswith("## Cautions")
    assert "local\n  code" in told[-1] or "local code" in told[-1]


@by_name
def test_the_question_comes_first_and_the_answer_last(path: Path) -> None:
    told = [cell.source for cell in read(path).cells if cell.cell_type == "markdown"]
    assert "**The question.**" in told[0]
    trust, answer = (
        next(k for k, text in enumerate(told) if text.startswith(heading))
        for heading in ("## How far to trust it", "## The answer")
    )
    assert trust < answer
    assert not [text for text in told[answer + 1 : -1] if text.startswith("## ")]


@by_name
def test_checks_are_folded_and_out_of_the_reader_s_sight(path: Path) -> None:
    """The site folds `hide-cell` and leaves `remove-cell` out; a notebook folds what is marked."""
    for cell in read(path).cells:
        if cell.cell_type == "code" and "assert " in cell.source:
            assert {"hide-cell", "remove-cell"} & set(cell.metadata.get("tags", [])), cell.source
            assert cell.metadata.jupyter.source_hidden is True
            assert "import " not in cell.source and "print(" not in cell.source


@pytest.mark.slow
@by_name
def test_a_notebook_runs(path: Path) -> None:
    notebook = read(path)
    NotebookClient(
        notebook, timeout=300, kernel_name="python3", resources={"metadata": {"path": str(ROOT)}}
    ).execute()
    outputs = [o for cell in notebook.cells if cell.cell_type == "code" for o in cell.outputs]
    assert not [o for o in outputs if o.output_type == "error"]
    warned = [o.text for o in outputs if o.get("name") == "stderr"]
    assert not [text for text in warned if not text.startswith("First run on this machine")]
    assert sum("image/png" in o.get("data", {}) for o in outputs) >= 2
    assert sum(cell.source.count("assert ") for cell in notebook.cells) >= 5
    for output in outputs:
        for body in output.get("data", {}).get("text/html", "").split("<tbody>")[1:]:
            assert body.split("</tbody>")[0].count("<tr") <= MOST_ROWS, output
