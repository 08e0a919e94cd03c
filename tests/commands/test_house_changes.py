"""Options that change the house, through every command: an invented leaky house over a crawl space."""

import io
from contextlib import redirect_stdout
from pathlib import Path

import pandas as pd
import pytest
from support.scenario_files import assert_same_run, write_ten_days

from moistsim.__main__ import main
from moistsim.scenario import checksum, read_scenario

pytestmark = pytest.mark.slow

HOUSE = """\
name = "Leaky house over a crawl space"
note = "Invented."
base = "As found"
measured = ["house.ach50"]
[weather]
file = "june.csv"
[season]
start = "06-04"
end = "06-08"
[house]
floor_area = "1300 ft2"
ach50 = "8 ± 0.8"
[house.crawl_space]
height = "3 ft"
[house.ducts]
location = "crawl space"
supply_leakage = "11 % ± 3 %"
return_leakage = "11 % ± 3 %"
[tariff]
price = "14 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2.5 ton" }]
[equipment.ventilation]
airflow = "80 cfm"
[options."As found"]
strategy = "temperature_only"
purchase = { first_cost = 0 }
[options."Seal ducts"]
strategy = "temperature_only"
purchase = { first_cost = "800 USD", life = 20 }
house.ducts = { supply_leakage = "3 % ± 1 %", return_leakage = "3 %" }
[options."Air sealing"]
strategy = "temperature_only"
purchase = { first_cost = "1,000 USD", life = 20 }
house.leakage.cfm50 = "850 cfm"
[options."Ground cover"]
strategy = "temperature_only"
purchase = { first_cost = "700 USD", life = 20 }
house.crawl_space.ground_cover = "95 %"
[options."Shading"]
strategy = "temperature_only"
purchase = { first_cost = "500 USD", life = 8 }
house.envelope.window_shading = "40 %"
[options."Less ventilation"]
strategy = "temperature_only"
purchase = { first_cost = "90 USD" }
equipment.ventilation.airflow = "50 cfm"
[options."Ducts and box"]
strategy = "with_dehumidifier"
purchase = { first_cost = "2,400 USD", life = 12 }
house.ducts = { supply_leakage = "3 %", return_leakage = "3 %" }
equipment.dehumidifier.capacity = "50 pint/day"
"""
SWEEP = """\
scenario = "house.toml"
[vary]
house.ach50 = [4, 8]
"options.Seal ducts.house.ducts.supply_leakage" = ["2 %", "6 %"]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("changes")
    write_ten_days(here / "june.csv", "06-01")
    (here / "house.toml").write_text(HOUSE, encoding="utf-8")
    (here / "sweep.toml").write_text(SWEEP, encoding="utf-8")
    return here


def run(*arguments: str | Path) -> str:
    """What a command shows."""
    out = io.StringIO()
    with redirect_stdout(out):
        assert main([*map(str, arguments)]) == 0
    return " ".join(out.getvalue().split())


@pytest.fixture(scope="module")
def screen(folder: Path) -> str:
    return run("study", folder / "house.toml", "--out", folder / "out", "--sure", "8")


def test_the_screen_says_what_changes_and_how_sure_the_verdict_is(screen: str) -> None:
    changes = screen.split("Changes to the house: ")[1]
    for said in (
        "Seal ducts. Ducts: supply leakage 11 % → 3 %, return leakage 11 % → 3 %",
        "Air sealing. House: air leakage 8 ACH50 → 4.78 ACH50",
        "Ground cover. Crawl space: ground cover 0 % → 95 %",
        "Shading. Envelope: sun let through by blinds and screens 75 % → 40 %",
        "Ducts and box. Ducts: supply leakage 11 % → 3 %",
    ):
        assert said in changes
    assert "Check '" not in screen
    assert "in the place of" not in screen and "of 8 cases" in screen


def test_the_page_warns_of_what_must_come_before_the_work(folder: Path, screen: str) -> None:
    assert screen
    text = (folder / "out" / "report.html").read_text(encoding="utf-8")
    assert "standing water, termites, radon" in text and "mechanical ventilation" in text


def test_each_change_does_what_it_is_bought_for(folder: Path, screen: str) -> None:
    assert screen
    table = pd.read_csv(folder / "out" / "table.csv", index_col="option")
    kwh, dew_point = table["total_kWh"], table["mean_dew_point_F"]
    base = "As found"
    for option in ("Seal ducts", "Shading"):
        assert kwh[option] < kwh[base]
    for option in ("Ground cover", "Less ventilation", "Ducts and box"):
        assert dew_point[option] < dew_point[base]
    assert table["hours_over_60"]["Ducts and box"] < table["hours_over_60"][base]


def test_the_scenario_as_run_is_the_same_scenario(folder: Path, screen: str) -> None:
    assert screen
    one, two = read_scenario(folder / "house.toml"), read_scenario(folder / "out" / "scenario.toml")
    assert_same_run(one, two)
    assert checksum(one) == checksum(two)
    assert [*two.ranges] == [*one.ranges]


def test_size_sequence_and_sweep_take_the_same_file(folder: Path) -> None:
    assert "Changes to the house" in run("size", folder / "house.toml")
    sheet = folder / "sheet.html"
    run("sequence", folder / "house.toml", "Seal ducts", "--out", sheet)
    assert "Ducts: supply leakage 11 % → 3 %" in sheet.read_text(encoding="utf-8")
    run("sequence", folder / "house.toml", "As found", "--out", sheet)
    assert "Changes to the house" not in sheet.read_text(encoding="utf-8")
    run("sweep", folder / "sweep.toml", "--out", folder / "sweep", "--workers", "1")
    frame = pd.read_csv(folder / "sweep" / "results.csv")
    assert (frame["status"] == "ok").all()
    name = "options.Seal ducts.house.ducts.supply_leakage"
    by = frame.set_index(["option", "house.ach50", name])["total_kWh"]
    assert by["Seal ducts", 4.0, 0.02] < by["Seal ducts", 4.0, 0.06]
    assert by["Shading", 4.0, 0.02] == by["Shading", 4.0, 0.06] != by["Shading", 8.0, 0.02]
    assert by["Air sealing", 4.0, 0.02] == by["Air sealing", 8.0, 0.02]
