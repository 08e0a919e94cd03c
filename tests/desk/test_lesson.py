"""A notebook becomes a page without its checks, and comes with the package."""

import contextlib
import http.client
import sys
import tomllib
import urllib.parse
from pathlib import Path

import nbformat
import pytest
from support.pages import interrupted, served

from moistsim.desk import LESSON, lesson_page

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = nbformat.v4.new_notebook()
    cell = nbformat.v4.new_code_cell
    made.cells = [
        nbformat.v4.new_markdown_cell(
            "# A lesson\n<details><summary>Answer</summary>Water</details>"
        ),
        cell("import moistsim as ms\n6 * 7", metadata={"tags": ["remove-input"]}),
        cell("assert 6 * 7 == 42\nprint('secret check')", metadata={"tags": ["remove-cell"]}),
        cell("print('shown', 'too')"),
    ]
    path = tmp_path_factory.mktemp("lesson") / "small.ipynb"
    nbformat.write(made, path)
    return path


@pytest.mark.slow
def test_checks_are_out_of_sight_and_answers_are_folded(notebook: Path) -> None:
    page = lesson_page(notebook)
    assert "<details" in page and "42" in page and "shown too" in page
    assert "secret check" not in page and "assert" not in page and "import moistsim" not in page
    # Nothing is fetched from elsewhere.
    assert 'src="http' not in page and '<link rel="stylesheet" href="http' not in page


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="sends signals")
def test_the_command_serves_it_to_who_has_the_token(notebook: Path, tmp_path: Path) -> None:
    with served(tmp_path, "lesson", str(notebook)) as page:
        with contextlib.closing(
            http.client.HTTPConnection("127.0.0.1", page.port, timeout=30)
        ) as connection:
            connection.request("GET", "/")
            assert connection.getresponse().status == 403
        code, err, _ = interrupted(page)
        assert urllib.parse.urlsplit(page.address).hostname == "127.0.0.1"
    assert (code, err.strip()) == (130, "moistsim: stopped; the page has ended.")


def test_the_lesson_comes_with_the_package() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert wheel["notebooks/lesson.ipynb"] == "moistsim/desk/lesson.ipynb"
    assert LESSON.is_file()
