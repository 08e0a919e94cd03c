"""Every column of a weather file in three formats, through the command line."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from support.careless_weather import begin, careless_weather
from support.fuzz_rule import check_season, examples, tried
from support.through_a_command import given_file, stopped_at_the_run

from moistsim.scenario import Scenario
from moistsim.study import Comparison

SCENARIO = """\
[weather]
file = "weather.csv"
[season]
{season}
[house]
floor_area = "1500 ft2"
[equipment.cooling]
stages = [{{ capacity = "2 ton" }}]
[equipment.heating]
capacity = "2 ton"
[equipment.ventilation]
[options.Plain]
strategy = "temperature_only"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    here = tmp_path_factory.mktemp("fuzz")
    with stopped_at_the_run(weather_once=False):
        yield here


def check(comparison: Comparison, scenario: Scenario) -> None:
    for season in comparison.seasons.values():
        check_season(season)


def study(folder: Path, name: str, raw: bytes) -> None:
    # Of a year, two days; of a cut file, what there is.
    days = 'start = "10-22"\nend = "10-23"' if name == "tmy3" else ""
    (folder / "house.toml").write_text(SCENARIO.format(season=days))
    given_file(folder, "weather.csv", raw, "house.toml", check)


@examples(100)
@given(file=careless_weather())
def test_any_weather_file(folder: Path, file: tuple[str, bytes]) -> None:
    name, raw = file
    shown = f"{name}: {raw[:3000]!r}"
    tried("weather files", shown, lambda: study(folder, name, raw), ["weather.csv", "[season]"])


@pytest.mark.parametrize("name", ["csv", "epw", "tmy3"])
def test_a_weather_file_to_begin_with_is_accepted(folder: Path, name: str) -> None:
    study(folder, name, begin()[name].encode())


@pytest.mark.parametrize("missing", [1, 13, 23])
def test_a_weather_that_begins_within_a_day_is_accepted(folder: Path, missing: int) -> None:
    lines = begin()["csv"].splitlines(keepends=True)
    study(folder, "csv", "".join([*lines[:8], *lines[8 + missing :]]).encode())
