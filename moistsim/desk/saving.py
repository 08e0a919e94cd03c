"""A house is saved as a scenario file in the folder in which the desk was started."""

import re
import unicodedata
from pathlib import Path
from typing import Any

import attrs

from moistsim.core.errors import Problem
from moistsim.scenario import Scenario, ScenarioError, write_scenario

HEAD = """# A house saved from the desk (moistsim desk), with every default made explicit, in SI units.
# Open it again:  moistsim desk {file}
# Its report:     moistsim study {file}

"""


def save(scenario: Scenario, folder: Path, name: str, *, replaces: bool) -> dict[str, Any]:
    """Write a house, and return what the page says about it.

    Parameters
    ----------
    scenario : Scenario
    folder : Path
    name : str
        Name of the file, with or without ``.toml``; empty for one made from the scenario's name.
    replaces : bool
        Whether a file of this name may be replaced.

    Raises
    ------
    ScenarioError
        If the name is that of another place.
    OSError
        If the file cannot be written.
    """
    given = name.strip() or _plain(scenario.name) or "house"
    file = given if given.lower().endswith(".toml") else f"{given}.toml"
    if Path(file).name != file or file.startswith(".") or not file.isprintable():
        raise ScenarioError(
            "file name", Problem(f"{file!r} is not a plain name"), "a name such as 'my-house'"
        )
    path = folder / file
    if path.exists() and not replaces:
        return {"exists": file}
    write_scenario(attrs.evolve(scenario, path=path), path, HEAD.format(file=file))
    return {"saved": f"Saved as {path}. Open it again with: moistsim desk {file}", "file": file}


def _plain(name: str) -> str:
    """A name in letters that every file system accepts."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters)[:60].strip("-")
