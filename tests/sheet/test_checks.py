"""The record on the sheet: fields, cautions and circuits of the machines that are there, and no others."""

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import attrs
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.core.display import Show
from moistsim.machine_checks import Rig, Today
from moistsim.sheet import Sheet, gather, page, probe
from moistsim.sheet.cautions import caution_words
from moistsim.sheet.checks import check_rows, installed_rows
from moistsim.sheet.control_words import setting_rows

DRYER = ms.Dehumidifier(capacity="70 pint/day")
FURNACE = ms.Furnace(capacity="40 kBtu/h", fan_off_delay="90 s")
FAN = ms.Ventilation(kind="exhaust", airflow="60 cfm")
BARE = ms.Equipment(cooling=machines().cooling)
CHROMIUM = shutil.which("chromium")


def checks(of: ms.Equipment, strategy: ms.Strategy, units: Any = "us") -> dict[str, Any]:
    rig = Rig(house(), of, strategy, 101325.0)
    rows = check_rows(of, rig, probe(strategy, of), Today(), Show(units))
    return {row.name: row for row in rows}


ALWAYS_WITH_A_COIL = {
    "External static pressure", "Refrigerant charge", "Fan-off delay", "Coil drain and overflow",
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "strategy", "more"),
    [
        ({}, "temperature_only", set()),
        ({}, "overcooling", {"Humidity sensor of the control"}),
        (
            {"dehumidifier": DRYER},
            "with_dehumidifier",
            {
                "Humidity sensor of the control", "Dehumidifier: readings", "Dehumidifier: circuit", "Dehumidifier: drain",
            },
        ),
        (
            {"dehumidifier": attrs.evolve(DRYER, humidistat=50.0, bucket="8 pint")},
            "temperature_only",
            {
                "Humidistat of the dehumidifier", "Dehumidifier: readings", "Dehumidifier: circuit", "Dehumidifier: bucket",
            },
        ),
        (
            {"crawl_space_dehumidifier": attrs.evolve(DRYER, humidistat=50.0)},
            "temperature_only",
            {
                "Humidistat, crawl space", "Dehumidifier, crawl space: circuit",
                "Dehumidifier, crawl space: drain",
            },
        ),
        ({"furnace": FURNACE}, "temperature_only", {"Combustion safety"}),
        ({"ventilation": FAN}, "temperature_only", {"Outdoor air"}),
        ({"enable": ms.Enable()}, "temperature_only", {"Humidistat of the enable"}),
    ],
)  # fmt: skip
def test_each_check_is_there_exactly_with_its_machine(
    change: dict[str, Any], strategy: str, more: set[str]
) -> None:
    found = checks(attrs.evolve(BARE, **change), ms.strategies.BUILT_IN[strategy])
    assert set(found) == ALWAYS_WITH_A_COIL | more


def test_without_a_coil_there_is_nothing_of_a_coil() -> None:
    only = ms.Equipment(dehumidifier=DRYER)
    found = checks(only, ms.strategies.with_dehumidifier)
    assert set(found) == {
        "Humidity sensor of the control", "Dehumidifier: readings", "Dehumidifier: circuit",
        "Dehumidifier: drain",
    }  # fmt: skip
    assert "pints/h" in found["Dehumidifier: readings"].text
    names = [row.name for row in installed_rows(only, Show("us"))]
    assert names == ["Dehumidifier", "Thermostat or control"]


def test_targets_of_the_maker_are_fields_and_not_numbers() -> None:
    """Superheat and subcooling, static pressure, breaker and code rate: this sheet has no target."""
    found = checks(
        attrs.evolve(BARE, ventilation=FAN, dehumidifier=DRYER), ms.strategies.staged_reheat
    )
    charge = found["Refrigerant charge"]
    assert charge.boxes == (
        "Superheat target, °F", "Superheat, °F", "Subcooling target, °F", "Subcooling, °F",
    )  # fmt: skip
    assert "maker's chart" in charge.text
    assert not re.search(r"\d", charge.text + found["External static pressure"].text)
    assert "Breaker, A" in found["Dehumidifier: circuit"].boxes
    assert "Local codes decide" in found["Dehumidifier: circuit"].text
    si = checks(BARE, ms.strategies.staged_reheat, "si")
    assert si["External static pressure"].boxes[0] == "Supply, Pa"
    assert si["Refrigerant charge"].boxes[0] == "Superheat target, °C"


def test_the_humidity_sensor_passes_within_three_percent() -> None:
    row = checks(BARE, ms.strategies.overcooling)["Humidity sensor of the control"]
    assert "within ± 3 % RH (a stand-in for the tolerance of its maker)" in row.text
    assert row.boxes == ("Reference, % RH", "Sensor, % RH", "Difference, % RH", "Pass")


def test_the_fan_off_delay_is_as_set_and_says_that_strips_need_it() -> None:
    def text(of: ms.Equipment) -> Any:
        return checks(of, ms.strategies.temperature_only)["Fan-off delay"]

    assert text(BARE).text == "As set here: 60 s."
    assert "Strips need a delay" in text(attrs.evolve(BARE, strips=ms.Strips(stages=["5 kW"]))).text
    both = text(attrs.evolve(BARE, furnace=FURNACE))
    assert both.text == "As set here: 60 s after cooling, 90 s after heating."
    assert both.boxes == ("After cooling, s", "After heating, s")


def test_every_machine_has_its_nameplate() -> None:
    every = machines(heating=None, furnace=FURNACE, dehumidifier=DRYER, ventilation=FAN)
    names = [row.name for row in installed_rows(every, Show("us"))]
    assert names[:3] == ["Outdoor unit (air conditioner)", "Indoor coil", "Gas furnace"]
    assert {"Strips (heater kit)", "Dehumidifier", "Ventilation fan"} <= set(names)
    assert len(names) == len(set(names))
    pump = [row.name for row in installed_rows(attrs.evolve(machines(), furnace=None), Show("us"))]
    assert pump[:2] == ["Outdoor unit (heat pump)", "Air handler with coil"]


CAUTIONS = {
    "Combustion safety": {"furnace": FURNACE},
    "Heaters without airflow": {"strips": ms.Strips(stages=["5 kW"])},
    "Strips and compressor": {"strips": ms.Strips(stages=["5 kW"])},
    "no extension cord": {"dehumidifier": DRYER},
    "reverse the draft": {"ventilation": FAN},
    "code rate": {"ventilation": FAN},
    "Zone dampers": {"zoning": ms.Zoning()},
}


@pytest.mark.parametrize("words", CAUTIONS)
def test_each_caution_is_there_exactly_with_its_machine(words: str) -> None:
    for key, change in CAUTIONS.items():
        said = " ".join(caution_words(attrs.evolve(BARE, **change)))
        assert (words in said) == (change == CAUTIONS[words]), key
    assert words not in " ".join(caution_words(BARE))


def test_without_a_compressor_there_is_no_caution_of_one() -> None:
    said = " ".join(caution_words(ms.Equipment(dehumidifier=DRYER)))
    for words in ("Refrigerant", "compressor", "transformer", "ducts", "Combustion"):
        assert words not in said, words
    assert "Local codes" in said and "Line voltage" in said


# ------------------------------------------------------------------------------ settings


def moved_study() -> ms.Study:
    """A study at a goal: whole percent and half degrees Fahrenheit, own humidistat included."""
    moved = ms.strategies.staged_reheat(cooling_setpoint="75.5 degF", target_rh="53 %")
    own = machines(dehumidifier=attrs.evolve(DRYER, humidistat=51.0))
    return ms.Study(
        house(), {"It": (machines(), moved), "Own": (own, ms.strategies.temperature_only)},
        stretch("miami", 289, 10),
        start="10-22", end="10-25",
    )  # fmt: skip


@pytest.fixture(scope="module")
def moved() -> Sheet:
    return gather(
        moved_study(), "It",
        settings_note="moved to the owner's goal: at most 88 hours above 60 %",
    )  # fmt: skip


def test_the_sheet_prints_the_settings_of_the_study_and_where_they_come_from(moved: Sheet) -> None:
    settings = dict(moved.settings)
    assert settings["cooling setpoint"] == "75.5 °F"
    assert settings["target RH"] == "53 %" + " RH"
    # The staged control turns on 2 % above its target and off 2 % below, by its own words.
    rows = [(row.name, row.on, row.off) for row in moved.setpoints]
    assert ("Cooling, stage 1", "above 55 % RH", "below 51 % RH") in rows
    text = page(moved)
    assert text.count("moved to the owner&#39;s goal: at most 88 hours above 60 %") == 2
    assert "as in the file" not in text
    own = gather(moved_study(), "Own")
    assert dict(own.settings)["dehumidifier, humidistat"] == "51 % RH"
    assert own.settings_note == "as in the file"


def test_a_temperature_is_written_as_a_thermostat_is_set() -> None:
    def words(setpoint: str, units: Any = "us") -> str:
        control = ms.strategies.temperature_only(cooling_setpoint=setpoint)
        return dict(setting_rows(BARE, control, Show(units)))["cooling setpoint"]

    assert words("76 degF") == "76 °F"
    assert words("76.5 degF") == "76.5 °F"
    assert words("24.5 degC", "si") == "24.5 °C"


# ------------------------------------------------------------------- readings and their units


def test_condensate_is_read_by_the_hour(moved: Sheet) -> None:
    """A stage's condensate by the hour is the day's by 24, in pints for one reader and liters for
    the other: 1 pint is 0.4732 L."""
    si = gather(moved_study(), "It", units="si")
    by_hour = []
    for sheet, unit in ((moved, "Condensate, pints/h"), (si, "Condensate, L/h")):
        column = sheet.gauges.index(unit)
        (row,) = [row for row in sheet.readings if row.name == "Cooling, stage 2"]
        by_hour.append(float(row.cells[column].value))
    assert by_hour[0] * 0.4732 == pytest.approx(by_hour[1], abs=0.03)
    assert 2.0 < by_hour[0] < 8.0, "a two-ton coil drains some pints an hour"


def test_airflow_has_a_box_next_to_what_is_expected(moved: Sheet) -> None:
    column = moved.gauges.index("Airflow, cfm")
    cells = {row.name: row.cells[column] for row in moved.readings if row.cells}
    assert cells["Cooling, stage 1"].value == "620"
    assert cells["Cooling, stage 2"].value == "900"
    low, high = (float(x.replace(",", "")) for x in cells["Cooling, stage 2"].band.split("–"))
    assert (low, high) == (765.0, 1035.0)


def test_columns_of_absent_machines_are_not_there() -> None:
    plain = ms.Study(
        house(), {"It": (BARE, ms.strategies.temperature_only)}, stretch("miami", 289, 10),
        start="10-22", end="10-25",
    )  # fmt: skip
    sheet = gather(plain, "It")
    assert not any("trips" in name for name in sheet.gauges)
    assert all(len(row.cells) == len(sheet.gauges) for row in sheet.readings if row.cells)
    assert "trips" not in page(sheet).split("</style>")[1]


# ------------------------------------------------------------------------------ rule tables


def test_a_rule_without_a_deadband_is_shown_as_what_it_is() -> None:
    """A call that restarts at one reading is marked, and the room on each side of it has a row."""
    rows = [
        {"name": "drying", "do": "cooling stage 1", "when": "humidity > 55 %",
         "release_when": "temperature < 72 degF"},
        {"name": "hot", "do": "cooling stage 1", "when": "temperature > 76 degF",
         "release_when": "temperature < 75 degF"},
    ]  # fmt: skip

    def sheet(when: Any) -> Sheet:
        table = ms.rule_table([{**rows[0], "when": when}, rows[1]])
        study = ms.Study(
            house(), {"It": (BARE, table)}, stretch("miami", 289, 10), start="10-22", end="10-25"
        )
        return gather(study, "It")

    bad, good = sheet("humidity > 55 %"), sheet(["humidity > 55 %", "temperature > 73.5 degF"])
    (marked,) = [row for row in bad.setpoints if row.warning]
    assert (marked.on, marked.off, marked.warning) == (
        "above 72.0 °F", "below 72.0 °F", "no deadband",
    )  # fmt: skip
    sides = {row.name: row for row in bad.states if "just" in row.name}
    above, below = (
        sides[f"Cooling, stage 1: just {side} its setpoint"] for side in ("above", "below")
    )
    cooling = bad.state_columns.index("Cooling")
    assert (above.cells[cooling], below.cells[cooling]) == ("stage 1", "–")
    assert above.note == below.note == "no deadband: on and off in turn"
    assert any("temperature below 72 °F, has no deadband" in text for text in bad.doubts)
    assert "°C" not in " ".join(bad.doubts)
    assert not any(row.warning for row in good.setpoints)
    assert not any("just" in row.name for row in good.states)
    assert not any("deadband" in text for text in good.doubts)
    assert "no deadband" in page(bad) and "no deadband" not in page(good)


@pytest.mark.parametrize("name", ms.strategies.BUILT_IN)
def test_no_built_in_control_lacks_a_deadband(name: str) -> None:
    every = machines(dehumidifier=DRYER, ventilation=FAN, hot_gas=ms.HotGas())
    assert not any(p.restarts for p in probe(ms.strategies.BUILT_IN[name], every).setpoints)


# ------------------------------------------------------------------------------------ paper


@pytest.mark.slow
@pytest.mark.skipif(CHROMIUM is None, reason="no browser to print with")
@pytest.mark.parametrize(("units", "width"), [("us", 612.0), ("si", 595.0)])
def test_the_sheet_prints_on_both_sides_of_one_piece_of_paper(
    tmp_path: Path, units: Any, width: float
) -> None:
    """Letter and A4: the front for the wall, and the back to fill in."""
    sheet = gather(
        moved_study(), "It", name="House of the tests", units=units,
        settings_note="moved to the owner's goal: at most 88 hours above 60 %",
    )  # fmt: skip
    source, printed = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    source.write_text(page(sheet), encoding="utf-8")
    subprocess.run(
        [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", f"--print-to-pdf={printed}",
         "--no-pdf-header-footer", source.as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    pdf = printed.read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 2
    (box,) = set(re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)", pdf))
    assert float(box) == pytest.approx(width, abs=1.0)
