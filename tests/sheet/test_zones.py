"""Both zones of a house on the sheet, on the screen and on the page; their scenario as a file."""

import attrs
import pytest
from support.houses import house
from support.machines import machines

import moistsim as ms
from moistsim.commands import study_words
from moistsim.core.display import Show
from moistsim.report import tables
from moistsim.scenario import read_scenario, write_scenario
from moistsim.sheet.cautions import caution_words
from moistsim.sheet.control_words import fact_rows, zone_rows

SCENARIO = """
name = "Two floors"
note = "An invented house."
base = "Thermostat below"
[weather]
sample = "miami"
[season]
start = "07-01"
end = "07-04"
[house]
floor_area = "2400 ft2"
stories = 2
[house.second_zone]
kind = "upper floor"
share = "45 %"
return_share = 0
[tariff]
price = "15 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "30 kBtu/h" }]
[options."Thermostat below"]
strategy = "temperature_only"
[options."Thermostat above"]
strategy = "temperature_only"
[options."Thermostat above".equipment.sensor]
zone = "upper floor"
[options."Zone dampers"]
strategy = "temperature_only"
[options."Zone dampers".equipment.zoning]
bleed = "20 %"
"""


@pytest.fixture(scope="module")
def comparison(tmp_path_factory: pytest.TempPathFactory) -> ms.Comparison:
    path = tmp_path_factory.mktemp("zones") / "zones.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    scenario = read_scenario(path)
    again = path.with_name("again.toml")
    write_scenario(scenario, again)
    read = read_scenario(again).study
    assert read.house == scenario.study.house
    assert read.resolved["Zone dampers"] == scenario.study.resolved["Zone dampers"]
    return scenario.study.run(progress=False)


def test_the_sheet_says_where_the_thermostat_hangs(comparison: ms.Comparison) -> None:
    words = {name: dict(zone_rows(season)) for name, season in comparison.seasons.items()}
    start = "main floor and upper floor, 45 % of the floor; "
    assert words["Thermostat below"]["Zones"] == start + "thermostat on the main floor"
    assert words["Thermostat above"]["Zones"] == start + "thermostat on the upper floor"
    assert words["Zone dampers"]["Zones"] == start + "a thermostat and a damper in each zone"
    hours = words["Thermostat below"]["Season, main floor and upper floor"]
    for shown in ("above 60 % RH: ", "too warm: ", "too cool: ", "too cold: "):
        assert shown in hours
    meter = comparison.seasons["Thermostat below"].meter
    warm = meter.spaces["second_zone_above_cooling_setpoint_h"]
    main = meter.comfort_h["above_cooling_setpoint"]
    assert f"too warm: {main:.0f} h and {warm:.0f} h" in hours


def test_screen_and_page_have_the_hours_of_both_zones(comparison: ms.Comparison) -> None:
    screen = "\n".join(study_words.table(comparison, "us"))
    for row in (
        "Too warm, main zone, h",
        "Too warm, second zone, h",
        "Above 60 % RH, second zone, h",
    ):
        assert row in screen, row
    page = "\n".join(row.label for row in tables.as_set(comparison, Show("us")).rows)
    assert "Time with the second zone more than 1 K (1.8 °F) above the cooling setpoint, h" in page
    # The page hides a row without hours in any option.
    meters = [season.meter for season in comparison.seasons.values()]
    hours = max(meter.comfort_h["above_cooling_setpoint"] for meter in meters)
    assert ("Time more than 1 K (1.8 °F) above the cooling setpoint, h" in page) == (hours > 0.0)


@pytest.fixture(scope="module")
def two_systems() -> ms.Comparison:
    """One unit, and a unit for each floor, in the same house."""
    unit = ms.Cooling(stages=[ms.Stage(capacity="18 kBtu/h")])
    control = ms.strategies.temperature_only
    own = ms.SecondSystem(cooling=unit, strips=ms.Strips(stages=["5 kW"]))
    study = ms.Study(
        house(stories=2, second_zone=ms.SecondZone()), {
            "one": (machines(), control),
            "two": (ms.Equipment(cooling=unit, second_system=own), control),
        },
        ms.Weather.sample("miami"),
        start="07-01", end="07-04",
    )  # fmt: skip
    return study.run(progress=False)


def test_screen_and_page_show_each_system(two_systems: ms.Comparison) -> None:
    """Electricity of both together and of the second one; runtime and starts of each."""
    season = two_systems.seasons["two"]
    own, hourly = season.meter.second_system, season.hourly
    lines = list(study_words.table(two_systems, "us"))
    for label, value in (
        ("Cooling runtime, first system, h", season.meter.runtime_h["cooling_stage_1"]),
        ("Compressor starts, first system", season.meter.starts["cooling_stage_1"]),
        ("Electricity, second system, kWh", own["second_system_total_kWh"]),
        ("Cooling runtime, second system, h", own["second_system_cooling_stage_1_h"]),
        ("Compressor starts, second system", own["second_system_cooling_stage_1_starts"]),
        ("Total electricity, kWh", season.meter.total_kwh),
    ):
        (line,) = (line for line in lines if line.startswith(label))
        assert line.split()[-1] == f"{value:,.0f}", label
    # An option of one system has no second one: a dash, and not a zero.
    (line,) = (line for line in lines if line.startswith("Cooling runtime, second system, h"))
    assert line.split()[-2] == "–"
    page = [row.label for row in tables.as_set(two_systems, Show("us")).rows]
    assert "Electricity, second system, kWh" in page
    both = hourly["compressor_kWh"] + hourly["second_system_compressor_kWh"]
    assert season.meter.kwh["compressor"] == pytest.approx(both.sum())


def test_the_sheet_names_the_second_system(two_systems: ms.Comparison) -> None:
    words = dict(zone_rows(two_systems.seasons["two"]))
    assert words["Zones"].endswith("a system with a thermostat of its own in each zone")
    starts = two_systems.seasons["two"].meter.second_system["second_system_cooling_stage_1_starts"]
    assert f"Compressor starts: {starts:,.0f}" in words["Season, system of the upper floor"]
    facts = dict(fact_rows(two_systems.study, "two", Show("us")))
    assert facts["Second system"] == (
        "air conditioner, 18,000 Btu/h; strips, 5 kW at 240 V. This sheet is for the first system, in "
        "the main zone"
    )


def test_a_house_of_one_zone_has_no_such_rows() -> None:
    study = ms.Study(
        house(), {"one": (machines(), ms.strategies.temperature_only)}, ms.Weather.sample("miami"),
        start="07-01", end="07-03",
    )  # fmt: skip
    comparison = study.run(progress=False)
    assert list(zone_rows(comparison.seasons["one"])) == []
    assert "main zone" not in "\n".join(study_words.table(comparison, "us"))


def test_dampers_bring_a_caution() -> None:
    plain = machines()
    assert not any("dampers" in words for words in caution_words(plain))
    zoned = attrs.evolve(plain, zoning=ms.Zoning())
    assert any("minimum" in words for words in caution_words(zoned) if "dampers" in words)


def test_two_systems_bring_a_caution() -> None:
    both = machines(second_system=ms.SecondSystem())
    assert any("electrician" in words for words in caution_words(both) if "Two systems" in words)
