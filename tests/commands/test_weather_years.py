"""A study with a folder of weather years: from the file to the screen, the page and the table."""

import io
from contextlib import redirect_stdout
from pathlib import Path

import attrs
import pandas as pd
import pytest
from support.report_pages import SCENARIO, Parts
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.__main__ import main
from moistsim.scenario import ScenarioError, read_scenario, write_scenario

YEARS = {"2018": 0.0, "2019": 1.5, "2020": -4.0}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scenario next to a folder of three invented years."""
    here = tmp_path_factory.mktemp("years")
    write_ten_days(here / "october.csv", "10-17")
    (here / "summers").mkdir()
    october = ms.Weather.read(here / "october.csv")
    for label, shift in YEARS.items():
        other = attrs.evolve(october.shifted(temp_dew=shift), kind="actual", name=label)
        other.write(here / "summers" / f"{label}.csv")
    (here / "summers" / "notes.txt").write_text("mine")
    text = SCENARIO.replace('file = "october.csv"', 'file = "october.csv"\nyears = "summers"')
    (here / "house.toml").write_text(text, encoding="utf-8")
    return here


@pytest.fixture(scope="module")
def screen(folder: Path) -> str:
    out = io.StringIO()
    with redirect_stdout(out):
        assert main(["study", str(folder / "house.toml"), "--out", str(folder / "out")]) == 0
    return out.getvalue()


def test_a_folder_is_read_by_the_names_of_its_files(folder: Path) -> None:
    scenario = read_scenario(folder / "house.toml")
    assert list(scenario.ranges["weather"]) == list(YEARS)
    dew = {k: w.frame["temp_dew"].mean() for k, w in scenario.ranges["weather"].items()}
    assert dew["2020"] < dew["2018"] < dew["2019"]


def test_the_scenario_as_run_lists_the_files_with_checksums(folder: Path, tmp_path: Path) -> None:
    scenario = read_scenario(folder / "house.toml")
    write_scenario(scenario, folder / "again.toml")
    text = (folder / "again.toml").read_text(encoding="utf-8")
    assert text.count('{ file = "summers/20') == 3
    again = read_scenario(folder / "again.toml")
    assert again.ranges["weather"] == scenario.ranges["weather"]


@pytest.mark.slow
def test_screen_page_and_table_agree(folder: Path, screen: str) -> None:
    table = pd.read_csv(folder / "out" / "years.csv", dtype={"year": str}, index_col=[0, 1])
    assert list(table.index.unique("year")) == list(YEARS)
    wins = table["wins"].groupby("option").sum()
    page = (folder / "out" / "report.html").read_text(encoding="utf-8")
    found = [
        {row[0]: dict(zip(rows[0][1:], row[1:], strict=True)) for row in rows[1:]}
        for rows in Parts(page).tables
        if rows[0][0] == "Other years"
    ]
    (shown,) = found
    for name, cell in shown["Cheapest at the goal, of 3 years"].items():
        assert cell == str(int(wins[name]))
    humid = table["humid_h"].groupby("option").median()
    for name, cell in shown["Hours above 60 %, median"].items():
        assert float(cell) == pytest.approx(humid[name], abs=0.51)
    assert "The weather is that of one year" not in page
    assert "Options as advised in 3 actual years (2018 to 2020):" in screen
    said = " ".join(screen.split())
    assert " of 3 actual years with these settings, " in said or "In all 3 actual years" in said
    assert "years.csv: options as advised in each of the other weather years" in said


@pytest.mark.slow
def test_the_weather_of_the_error_budget_is_these_years(folder: Path, screen: str) -> None:
    budget = pd.read_csv(folder / "out" / "error_budget.csv", index_col=0)
    assert "the spread of 3 years" in budget.loc["weather year", "basis"]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("nowhere", "house.toml [weather] years: 'nowhere' is not a folder. Use the path of a folder of weather files, relative to"),
        ("empty", "house.toml [weather] years: 'empty' has no weather file. Use a folder of files (.csv, .epw)"),
        ("broken", "house.toml [weather.years] number 1 file, 2018.csv: no header."),
        ("june", "house.toml [weather.years] number 1: cannot use 10-22 to 10-25, not held by data of"),
    ],
)  # fmt: skip
def test_a_folder_that_cannot_be_used(
    folder: Path, tmp_path: Path, name: str, expected: str
) -> None:
    write_ten_days(tmp_path / "october.csv", "10-17")
    for empty in ("empty", "broken", "june"):
        (tmp_path / empty).mkdir()
    (tmp_path / "broken" / "2018.csv").write_text("hello")
    write_ten_days(tmp_path / "june" / "2018.csv", "06-01")
    text = SCENARIO.replace('file = "october.csv"', f'file = "october.csv"\nyears = "{name}"')
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / "house.toml")
    assert expected in str(caught.value)
