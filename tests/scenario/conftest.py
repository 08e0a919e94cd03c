"""Where the scenarios of these tests lie."""

from pathlib import Path

import pytest
from support.scenario_files import write_ten_days


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with ten days of weather."""
    here = tmp_path_factory.mktemp("scenarios")
    write_ten_days(here / "june.csv", "06-01")
    return here
