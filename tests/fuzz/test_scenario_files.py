"""Every key of a scenario file, as a careless user would leave it, through the command line."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from support.careless_files import BEGIN, careless_file
from support.fuzz_rule import examples, tried
from support.scenario_files import write_ten_days
from support.through_a_command import check_result, given_file, stopped_at_the_run


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    here = tmp_path_factory.mktemp("fuzz")
    write_ten_days(here / "october.csv", "10-17")
    with stopped_at_the_run(weather_once=True):
        yield here


def study(folder: Path, raw: bytes) -> None:
    given_file(folder, "house.toml", raw, "house.toml", check_result)


@examples(250)
@given(file=careless_file())
def test_any_file(folder: Path, file: tuple[str, bytes]) -> None:
    name, raw = file
    tried("scenario files", f"{name}: {raw!r}", lambda: study(folder, raw), ["house.toml"])


@pytest.mark.parametrize("name", BEGIN)
def test_a_file_to_begin_with_is_accepted(folder: Path, name: str) -> None:
    study(folder, BEGIN[name].encode())
