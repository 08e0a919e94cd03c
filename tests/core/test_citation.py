"""The citation file agrees with the package that it is part of."""

import re
import tomllib
from pathlib import Path

import moistsim

ROOT = Path(__file__).resolve().parents[2]


def test_the_citation_states_the_packages_version_and_license() -> None:
    text = (Path(moistsim.__file__).parent / "CITATION.cff").read_text(encoding="utf-8")
    cited = dict(re.findall(r"^([\w-]+): (.+)$", text, re.MULTILINE))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert cited["version"] == project["version"]
    assert cited["license"] == project["license"]
    assert cited["cff-version"] == "1.2.0"
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert f"## [{cited['version']}] - {cited['date-released']}" in changes
