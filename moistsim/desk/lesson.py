"""The lesson: a notebook that runs once and is then a page for every browser."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from moistsim.desk.serving import Guard, Rules, content_of, serve

HIDDEN = {
    "TagRemovePreprocessor": {
        "enabled": True,
        "remove_cell_tags": ["remove-cell"],
        "remove_input_tags": ["remove-input", "hide-input"],
        "remove_all_outputs_tags": ["remove-output"],
    }
}
"""Parts of a notebook that are no part of its page, by the tags that the documentation uses too."""

_NAME = "lesson.ipynb"
_HERE = Path(__file__).parent
LESSON = next(
    (path for path in (_HERE / _NAME, _HERE.parents[1] / "notebooks" / _NAME) if path.exists()),
    _HERE / _NAME,
)
"""The lesson of the package: next to this file where it is installed, else among the notebooks."""

OF_A_NOTEBOOK = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; font-src data:; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
"""A notebook's page brings its own style and pictures. It runs no script and fetches nothing."""


def lesson_page(notebook: Path, *, limit: float = 600.0) -> str:
    """Run a notebook and return its page.

    Parameters
    ----------
    notebook : Path
    limit : float
        Longest time of a cell, s.

    Raises
    ------
    OSError
        If there is no such notebook.
    """
    import nbformat
    from nbclient import NotebookClient
    from nbconvert import HTMLExporter
    from traitlets.config import Config

    formats: Any = nbformat
    read = formats.read(notebook, as_version=4)
    NotebookClient(
        read,
        timeout=limit,
        kernel_name="python3",
        resources={"metadata": {"path": notebook.parent}},
        extra_arguments=["--IPKernelApp.log_level=40"],
    ).execute()
    made: Any = HTMLExporter
    # Without the scripts that it would fetch from elsewhere.
    exporter = made(
        config=Config(HIDDEN), exclude_input_prompt=True, exclude_output_prompt=True,
        mathjax_url="", require_js_url="", jquery_url="",
    )  # fmt: skip
    page, _ = exporter.from_notebook_node(read)
    return str(page)


def run_lesson(page: str, *, port: int, opens: bool, started: Callable[[str], None]) -> None:
    """Serve the page of a lesson until the process is interrupted; see `serve`.

    Parameters
    ----------
    page : str
        HTML, as `lesson_page` makes it.
    port, opens, started
        As for `serve`.
    """

    def rules(guard: Guard) -> Rules:
        return content_of(guard, {"/": (page, "text/html")}, OF_A_NOTEBOOK)

    serve(rules, port=port, opens=opens, started=started)
