"""The oldest set of dependencies that is tested is the one that the package asks for."""

import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).parent.parent


def test_the_oldest_set_is_the_minimum_of_each_dependency() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {}
    for line in project["dependencies"]:
        needed = Requirement(line)
        (minimum,) = needed.specifier
        assert minimum.operator == ">=", line
        asked[canonicalize_name(needed.name)] = Version(minimum.version)
    tested = {}
    for line in (ROOT / "tests" / "oldest.txt").read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            name, version = line.split("==")
            tested[canonicalize_name(name)] = Version(version)
    assert tested == asked
