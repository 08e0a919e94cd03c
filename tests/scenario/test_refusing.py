"""What is wrong in a scenario file is said in one sentence: where, what was found, what is accepted."""

import pickle
import tomllib
from pathlib import Path

import pytest
import tomli_w
from support.scenario_files import HOUSE, refused

import moistsim as ms
from moistsim.scenario import ScenarioError, read_scenario

TOML = "Use [table], key = number, or key = 'text with a unit'"
REFUSED = {
    "key with one near": (
        ("wall_u", "wal_u"),
        "house.toml [house.envelope]: unknown key 'wal_u'. Did you mean 'wall_u'?",
    ),
    "key of an inner table": (
        ("ach50 = 4", "ach50 = 4\nwall_u = 0.4"),
        "house.toml [house]: unknown key 'wall_u'. Did you mean 'wall_u' in [house.envelope]?",
    ),
    "old key": (
        ("[options.plain]", "[options.plain]\nset_points = {}"),
        "house.toml [options.plain]: unknown key 'set_points'. Did you mean 'setpoints'? Other "
        "choices: 'strategy', 'rules', 'additions', 'second', 'equipment', 'house', 'purchase'.",
    ),
    "key with none near": (
        ('price = "11 cent/kWh"', "zzz = 1"),
        "house.toml [tariff]: unknown key 'zzz'. Use one of 'tiers', "
        "'periods', 'seasons', 'price', 'gas_price', 'gas_fixed_charge', 'demand', 'fixed_charge', "
        "'daily_charge', 'minimum', 'tax', 'tax_per_kwh' or 8 more.",
    ),
    "table": (
        ("[tariff]", "[tarif]"),
        "house.toml: unknown key 'tarif'. Did you mean 'tariff'?",
    ),
    "table with none near": (
        ("[tariff]", "[zzz]"),
        "house.toml: unknown key 'zzz'. Use one of 'name', 'note', 'place', 'complaint', 'base', "
        "'weather', 'season', 'house', 'tariff', 'emissions', 'equipment', 'options', 'economics', "
        "'goal', 'cures', 'risk', 'log', 'draws', 'provenance', 'measured'.",
    ),
    "machine": (
        ("[equipment.ventilation]", "[equipment.ventilaton]"),
        "house.toml [equipment]: unknown key 'ventilaton'. Did you mean 'ventilation'?",
    ),
    "setpoint": (
        ("cooling_setpoint", "cooling_set_point"),
        "house.toml [options.plain.setpoints]: unknown key 'cooling_set_point'. Did you mean "
        "'cooling_setpoint'? Other choices: 'heating_setpoint', 'deadband', 'second_stage_at'.",
    ),
    "strategy": (
        ('"temperature_only"', '"Temperatur_only"'),
        "house.toml [options.plain] strategy: cannot use 'Temperatur_only'. Did you mean "
        "'temperature_only'? Other choices: 'overcooling', 'staged_reheat', 'hot_gas_reheat', "
        "'with_dehumidifier'.",
    ),
    "no strategy": (
        ('strategy = "temperature_only"', ""),
        "house.toml [options.plain]: neither strategy nor rules. Use strategy, one of "
        "'temperature_only', 'overcooling', 'staged_reheat', 'hot_gas_reheat', "
        "'with_dehumidifier'; or rules, a list of rows.",
    ),
    "sample": (
        ('file = "june.csv"', 'sample = "miammi"'),
        "house.toml [weather] sample: cannot use 'miammi'. Did you mean 'miami'? Other choices: "
        "'greensboro', 'sand_point'.",
    ),
    "base": (
        ("name =", 'base = "plane"\nname ='),
        "house.toml base: cannot use 'plane'. Did you mean 'plain'? The other choice is 'with "
        "box'.",
    ),
    "required key": (
        ('floor_area = "1500 ft2"', ""),
        (
            "house.toml [house] floor_area: missing. Use conditioned floor area of all stories: an "
            "area, such as '2000 ft2' or '186 m2'."
        ),
    ),
    "required key, a list of tables": (
        ('stages = [{ capacity = "2 ton" }]', ""),
        (
            "house.toml [equipment.cooling] stages: missing. Use stages by rating, the smallest "
            "first: a list of tables."
        ),
    ),
    "unit": (
        ("1500 ft2", "1500 cfm"),
        "house.toml [house] floor_area: cannot read '1500 cfm' as an area. Write '2000 ft2' or "
        "'186 m2'.",
    ),
    "unit of a setpoint": (
        ("77 degF", "77 %"),
        "house.toml [options.plain.setpoints] cooling_setpoint: cannot read '77 %' as a "
        "temperature. Write '75 F' or '24 C'.",
    ),
    "range in the user's unit": (
        ("1500 ft2", "-1500 ft2"),
        "house.toml [house] floor_area: '-1500 ft2' is too small. Use an area from 53.82 to 53,820 "
        "ft².",
    ),
    "range of a percentage": (
        ("70 %", "120 %"),
        "house.toml [equipment.ventilation] sensible_recovery: '120 %' is too large. Use a "
        "fraction from 0 to 95 %.",
    ),
    "fields that contradict": (
        ('kind = "balanced"', 'kind = "supply"'),
        "house.toml [equipment.ventilation] sensible_recovery: cannot use '70 %'. Use 0 for "
        "supply ventilation: only a balanced machine recovers.",
    ),
    "setpoints that contradict": (
        ("77 degF", "18 degC"),
        "house.toml [options.plain.setpoints]: it cools the room to 17.8 °C (64.0 °F) and heats it at 20.0 °C (68.0 °F), which would be hidden reheat. Use a room of 20.5 °C (68.9 °F) or more, one deadband above the heating setpoint.",
    ),
    "machines that contradict": (
        ("[equipment.cooling]\nstages = [{ capacity", "[equipment.heating]\ncapacity = 5e3 #"),
        "house.toml [options.plain.equipment] heating: HeatPump without cooling. Use it together with Equipment.cooling, whose blower it shares.",
    ),
    "word": (
        ('"balanced"', '"balance"'),
        "house.toml [equipment.ventilation] kind: cannot use 'balance'. Use one of exhaust, "
        "supply, balanced, central.",
    ),
    "true or false": (
        ("deep = false", 'deep = "no"'),
        "house.toml [house.moisture_store] deep: cannot use 'no'. Use true or false.",
    ),
    "item of a list": (
        ('capacity = "2 ton"', 'capacity = "2 lb"'),
        "house.toml [equipment.cooling.stages] number 1 capacity: cannot read '2 lb' as a power. "
        "Write '24000 Btu/h' or '7000 W'.",
    ),
    "no list": (
        ('[{ capacity = "2 ton" }]', "5"),
        (
            "house.toml [equipment.cooling] stages: cannot use 5. Use a list of tables: stages by "
            "rating, the smallest first."
        ),
    ),
    "no table": (
        ("[house.envelope]\nwall_u", "envelope"),
        "house.toml [house.envelope]: cannot use 0.5. Use a table of keys and values.",
    ),
    "no text": (
        ('"House of the tests"', "5"),
        "house.toml name: cannot use 5. Use a text in quotation marks.",
    ),
    "plain value of the shared equipment": (
        ("[equipment.cooling]", "[equipment]\nstandby_power = '-1 W'\n[equipment.cooling]"),
        "house.toml [equipment] standby_power: '-1 W' is too small. Use a power from 0 to 5,000 W.",
    ),
    "two weathers": (
        ("[weather]", '[weather]\nsample = "miami"'),
        "house.toml [weather]: both sample and file. Use one of sample = 'name' and file = 'path'.",
    ),
    "no weather": (
        ('file = "june.csv"', 'checksum = "1"'),
        "house.toml [weather]: neither sample nor file. Use one of sample = 'name' and file = "
        "'path'.",
    ),
    "no weather file": (
        ("june.csv", "july.csv"),
        "house.toml [weather] file: 'july.csv' is not a file. Use the path of a weather "
        "file, relative to the folder of the scenario.",
    ),
    "no weather in the file": (
        ("june.csv", "house.toml"),
        (
            "house.toml [weather] file, house.toml: no header. Use an EPW or TMY3 file, or lines '# "
            "key: value' above a table of hours."
        ),
    ),
    "day": (
        ("06-05", "6-5"),
        "house.toml [season] end: cannot use '6-5'. Use MM-DD or YYYY-MM-DD, or left out for all "
        "of the data.",
    ),
    "season": (
        ("06-05", "07-05"),
        "house.toml [season]: cannot use 06-02 to 07-05, not held by data of 1990-06-01 00:00 to "
        "1990-06-11 00:00. Use a season that lies within the data without a break (MM-DD or "
        "YYYY-MM-DD).",
    ),
    "step": (
        ("[season]", '[season]\nstep = "60 ft"'),
        "house.toml [season] step: cannot read '60 ft' as a time. Write '5 min' or '300 s'.",
    ),
    "syntax": (
        ("ach50 = 4", "ach50 4"),
        f"house.toml line 9: cannot read 'ach50 4'. {TOML} (expected '=' after a key in a key/value pair).",
    ),
    "syntax at the end": (
        ('capacity = "50 pint/day"', 'capacity = [ "50 pint/day"'),
        "house.toml: the file ends within a table, a list or a text. Use a closing bracket or quote, or the missing rest.",
    ),
    "name that cannot be printed": (
        ("[options.plain]", '[options."a\\nb"]'),
        "house.toml options: the name 'a\\nb'. Use a name that can be printed.",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_wrong_is_said_in_one_sentence(folder: Path, case: str) -> None:
    (old, new), sentence = REFUSED[case]
    assert old in HOUSE
    assert refused(folder, HOUSE.replace(old, new, 1)) == sentence


def test_a_scenario_needs_a_house(folder: Path) -> None:
    without = HOUSE[: HOUSE.index("[house]")] + HOUSE[HOUSE.index("[tariff]") :]
    assert refused(folder, without) == (
        "house.toml: no [house], or an empty one. Use a table [house] with a floor_area."
    )


def test_another_weather_than_that_of_the_run_is_refused(folder: Path) -> None:
    own = ms.Weather.read(folder / "june.csv").checksum
    assert refused(folder, HOUSE.replace("[season]", 'checksum = "0123"\n[season]')) == (
        f"house.toml [weather] checksum: '0123' is not the checksum of the weather, '{own}'. "
        "Use the weather that the scenario was run with, or no checksum."
    )


@pytest.mark.parametrize("table", ["house", "options", "weather", "season", "tariff", "equipment"])
def test_what_is_no_table_is_refused_by_its_name(folder: Path, table: str) -> None:
    kept = tomllib.loads(HOUSE)
    kept[table] = 5
    place = "options" if table == "options" else f"[{table}]"
    assert refused(folder, tomli_w.dumps(kept)).startswith(
        f"house.toml {place}: cannot use 5. Use "
    )


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / "none.toml")
    assert str(caught.value) == (
        f"{tmp_path / 'none.toml'}: no such file. Use the path of a scenario file."
    )
    with pytest.raises(ScenarioError, match=r"a folder. Use the path of a scenario"):
        read_scenario(tmp_path)
    (tmp_path / "latin.toml").write_bytes("name = 'Hütte'".encode("latin-1"))
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / "latin.toml")
    assert str(caught.value) == ("latin.toml: the file is not UTF-8 text. Use a TOML file.")


def test_an_error_survives_pickling() -> None:
    error = ScenarioError("house.toml [house] ach50", "'x'", "a number")
    again = pickle.loads(pickle.dumps(error))
    assert isinstance(again, ScenarioError)
    assert (again.where, again.found, again.accepted) == (error.where, error.found, error.accepted)
