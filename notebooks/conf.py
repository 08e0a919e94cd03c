"""How Sphinx builds the site: the notebooks, the pages in `docs/`, and a reference from the code.

`python -m sphinx -W notebooks build/site` builds it. Each how-to page is run as a notebook, so an
example that fails stops the build. So is the lesson. The other `.ipynb` files are run by
`tests/test_notebooks.py` and are shown here without results.
"""

from pathlib import Path
from typing import Any

import attrs

import moistsim as ms
from moistsim import figures, scenario
from moistsim.controls import faults

SHOWN = {*ms.__all__, *figures.__all__, *scenario.__all__, *vars(faults)}

project = "moistsim"
copyright = "moistsim contributors"
html_title = "moistsim"
html_theme = "furo"

extensions = [
    "myst_nb",
    "numpydoc",
    "sphinx.ext.autodoc",
    "sphinx.ext.mathjax",
    "sphinx.ext.viewcode",
]
exclude_patterns = ["**/.ipynb_checkpoints"]
suppress_warnings = ["mystnb.unknown_mime_type"]

myst_enable_extensions = ["deflist", "dollarmath"]
myst_heading_anchors = 2

nb_execution_mode = "force"
nb_execution_excludepatterns = [
    path.name for path in Path(__file__).parent.glob("*.ipynb") if path.stem != "lesson"
]
nb_execution_in_temp = True
nb_execution_raise_on_error = True
nb_execution_timeout = 300
nb_execution_show_tb = True
nb_merge_streams = True
nb_output_stderr = "remove"

autodoc_default_options = {"members": True, "imported-members": True, "member-order": "groupwise"}
autodoc_typehints = "signature"
autodoc_preserve_defaults = True
numpydoc_show_class_members = False
numpydoc_xref_param_type = False


def _is_private(app: Any, what: str, name: str, obj: Any, skip: bool, options: Any) -> bool | None:
    """A room exports names for other rooms too: the reference shows those at the front door."""
    return True if what == "module" and name not in SHOWN else None


def _short_signature(
    app: Any, what: str, name: str, obj: Any, options: Any, signature: str, result: str
) -> tuple[str, str] | None:
    """The list of fields takes the place of a description's signature."""
    return ("(...)", "") if what == "class" and attrs.has(obj) else None


def _no_section(app: Any, what: str, name: str, obj: Any, options: Any, lines: list[str]) -> None:
    """numpydoc leaves a module's headings as they are: two of one name would be one label."""
    if what == "module" and "Examples" in lines:
        at = lines.index("Examples")
        lines[at : at + 2] = [".. rubric:: Examples", ""]


def setup(app: Any) -> None:
    app.connect("autodoc-process-docstring", _no_section)
    app.connect("autodoc-skip-member", _is_private)
    app.connect("autodoc-process-signature", _short_signature)
