"""Scenario files: read into descriptions, refused in one sentence, written back as run."""

import itertools
import pickle
import tomllib
from pathlib import Path
from typing import Any

import attrs
import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st
from performance_tables import table_of

import moistsim as ms
from moistsim.scenario import DEMO, Scenario, ScenarioError, read_scenario, write_scenario
from moistsim.strategies import ADDITIONS, BUILT_IN

SAMPLES = Path(__file__).resolve().parent.parent / "weather_samples"

HOUSE = """\
name = "House of the tests"
[weather]
file = "june.csv"
[season]
start = "06-02"
end = "06-05"
[house]
floor_area = "1500 ft2"
ach50 = 4
[house.envelope]
wall_u = 0.5
[house.moisture_store]
deep = false
[tariff]
price = "11 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.ventilation]
kind = "balanced"
sensible_recovery = "70 %"
[options.plain]
strategy = "temperature_only"
set_points = { cooling_setpoint = "77 degF" }
[options."with box"]
strategy = "with_dehumidifier"
[options."with box".equipment.dehumidifier]
capacity = "50 pint/day"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with ten days of weather, and the scenario above."""
    here = tmp_path_factory.mktemp("scenarios")
    lines = (SAMPLES / "miami.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    head = [line for line in lines if line.startswith(("#", "time"))]
    june = itertools.dropwhile(lambda line: not line.startswith("1990-06-01T01"), lines)
    (here / "june.csv").write_text("".join([*head, *itertools.islice(june, 240)]), encoding="utf-8")
    (here / "house.toml").write_text(HOUSE, encoding="utf-8")
    return here


def read(folder: Path, text: str) -> Scenario:
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return read_scenario(path)


def refused(folder: Path, text: str) -> str:
    """The sentence with which a text is refused."""
    with pytest.raises(ScenarioError) as caught:
        read(folder, text)
    return str(caught.value)


# ---------------------------------------------------------------------- reading


def test_a_scenario_is_the_descriptions_that_a_notebook_would_make(folder: Path) -> None:
    scenario = read(folder, HOUSE)
    study = scenario.study
    assert scenario.name == "House of the tests"
    assert study.house == ms.House(
        floor_area="1500 ft2",
        ach50=4.0,
        envelope=ms.Envelope(wall_u=0.5),
        moisture_store=ms.MoistureStore(deep=False),
    )
    assert study.tariff == ms.Tariff(price=0.11)
    assert (study.start, study.end, study.step) == ("06-02", "06-05", "60 s")
    shared: dict[str, Any] = {
        "cooling": ms.Cooling(stages=[ms.Stage(capacity="2 ton")]),
        "ventilation": ms.Ventilation(kind="balanced", sensible_recovery="70 %"),
    }
    machines, strategy = study.options["plain"]
    assert machines == ms.Equipment(**shared)
    assert strategy == ms.strategies.temperature_only(cooling_setpoint="77 degF")
    machines, strategy = study.options["with box"]
    assert machines == ms.Equipment(**shared, dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    assert strategy == ms.strategies.with_dehumidifier
    assert len(study.weather) == 240


def test_a_machine_of_an_option_stands_whole_in_the_place_of_the_shared_one(folder: Path) -> None:
    text = HOUSE + '[options."with box".equipment.ventilation]\nairflow = "50 cfm"\n'
    options = read(folder, text).study.options
    assert options["with box"][0].ventilation == ms.Ventilation(airflow="50 cfm")
    assert options["plain"][0].ventilation == ms.Ventilation(
        kind="balanced", sensible_recovery="70 %"
    )


def test_a_day_may_be_a_date_of_toml(folder: Path) -> None:
    assert read(folder, HOUSE.replace('"06-02"', "1990-06-02")).study.start == "1990-06-02"


def test_the_demo_is_invented_and_takes_the_set_points_of_the_library() -> None:
    scenario = read_scenario(DEMO)
    assert "invented" in scenario.note
    study = scenario.study
    assert len(study.options) == 4
    strategies = [strategy for _, strategy in study.options.values()]
    assert strategies == [s for name, s in BUILT_IN.items() if name != "hot_gas_reheat"]
    assert study.base == next(iter(study.options))
    assert [m.dehumidifier is not None for m, _ in study.options.values()] == [False] * 3 + [True]


# ---------------------------------------------------------------------- refusing

KNOWN = "'name', 'note', 'base', 'weather', 'season', 'house', 'emissions', 'equipment', 'options', 'economics', 'provenance', 'measured'"
TOML = (
    "accepted: TOML: [table], key = number or key = 'text with a unit', each key once "
    "(the reader of TOML says: "
)
REFUSED = {
    "key with one near": (
        ("wall_u", "wal_u"),
        "house.toml [house.envelope]: found the key 'wal_u', which is not known; accepted: "
        "'wall_u', which is near it",
    ),
    "key with none near": (
        ('price = "11 cent/kWh"', "zzz = 1"),
        "house.toml [tariff]: found the key 'zzz', which is not known; accepted: one of 'tiers', "
        "'periods', 'seasons', 'price', 'gas_price', 'gas_fixed_charge', 'demand', 'fixed_charge', "
        "'daily_charge', 'minimum', 'tax', 'tax_per_kwh', 'other_use', 'other_use_profile', "
        "'solar', 'export', 'export_price', 'zone', 'holidays', 'year'",
    ),
    "table": (
        ("[tariff]", "[tarif]"),
        "house.toml: found the key 'tarif', which is not known; accepted: 'tariff', which is near "
        f"it, or another of {KNOWN}",
    ),
    "machine": (
        ("[equipment.ventilation]", "[equipment.ventilaton]"),
        "house.toml [equipment]: found the key 'ventilaton', which is not known; accepted: "
        "'ventilation', which is near it, or another of 'cooling', 'strips', 'dehumidifier', "
        "'heating', 'furnace', 'hot_gas', 'sensor', 'outdoor_sensor', 'relays', 'enable', "
        "'standby_power'",
    ),
    "set-point": (
        ("cooling_setpoint", "cooling_set_point"),
        "house.toml [options.plain.set_points]: found the key 'cooling_set_point', which is not "
        "known; accepted: 'cooling_setpoint', which is near it, or another of 'heating_setpoint', "
        "'deadband', 'second_stage_at'",
    ),
    "strategy": (
        ('"temperature_only"', '"Temperatur_only"'),
        "house.toml [options.plain] strategy: found 'Temperatur_only'; accepted: "
        "'temperature_only', which is near it, or another of 'overcooling', 'staged_reheat', "
        "'hot_gas_reheat', 'with_dehumidifier'",
    ),
    "no strategy": (
        ('strategy = "temperature_only"', ""),
        "house.toml [options.plain]: found neither strategy nor rules; accepted: strategy, "
        "one of 'temperature_only', 'overcooling', 'staged_reheat', 'hot_gas_reheat', "
        "'with_dehumidifier'; or rules, a list of rows",
    ),
    "sample": (
        ('file = "june.csv"', 'sample = "miammi"'),
        "house.toml [weather] sample: found 'miammi'; accepted: 'miami', which is near it, or "
        "another of 'greensboro', 'sand_point'",
    ),
    "base": (
        ("name =", 'base = "plane"\nname ='),
        "house.toml base: found 'plane'; accepted: 'plain', which is near it, or another of "
        "'with box'",
    ),
    "required key": (
        ('floor_area = "1500 ft2"', ""),
        "house.toml [house] floor_area: found nothing, though it must be given; accepted: "
        "conditioned floor, all storeys: an area as a number in m2, or a text such as '186 m2' or "
        "'2000 ft2'",
    ),
    "required key, a list of tables": (
        ('stages = [{ capacity = "2 ton" }]', ""),
        "house.toml [equipment.cooling] stages: found nothing, though it must be given; accepted: "
        "ratings by stage, the smallest first: a list of tables",
    ),
    "unit": (
        ("1500 ft2", "1500 cfm"),
        "house.toml [house] floor_area: found '1500 cfm'; accepted: an area as a number in m2, or "
        "a text such as '186 m2' or '2000 ft2'",
    ),
    "unit of a set-point": (
        ("77 degF", "77 %"),
        "house.toml [options.plain.set_points] cooling_setpoint: found '77 %'; accepted: a "
        "temperature as a number in degC, or a text such as '24 degC' or '75 degF'",
    ),
    "range in the user's unit": (
        ("1500 ft2", "-1500 ft2"),
        "house.toml [house] floor_area: found '-1500 ft2'; accepted: an area above 0 ft2 and at "
        "most 53,820 ft2",
    ),
    "range of a percentage": (
        ("70 %", "120 %"),
        "house.toml [equipment.ventilation] sensible_recovery: found '120 %'; accepted: a fraction "
        "at least 0 % and at most 95 %",
    ),
    "fields that contradict": (
        ('kind = "balanced"', 'kind = "supply"'),
        "house.toml [equipment.ventilation] sensible_recovery: found '70 %'; accepted: 0 for "
        "supply ventilation: only a balanced machine recovers",
    ),
    "set-points that contradict": (
        ("77 degF", "18 degC"),
        "house.toml [options.plain.set_points]: found cooling down to 17.5 degC (63.5 degF) with "
        "heating at 20.0 degC (68.0 degF); accepted: a room no cooler than 21.0 degC (69.8 degF), "
        "one deadband above the heating set-point: the heating would be hidden reheat",
    ),
    "machines that contradict": (
        ("[equipment.cooling]\nstages = [{ capacity", "[equipment.heating]\ncapacity = 5e3 #"),
        "house.toml [options.plain.equipment] heating: found HeatPump without cooling; accepted: "
        "strips, heat pump, furnace and hot gas only beside Equipment.cooling, whose blower they "
        "share",
    ),
    "word": (
        ('"balanced"', '"balance"'),
        "house.toml [equipment.ventilation] kind: found 'balance'; accepted: one of exhaust, "
        "supply, balanced, central",
    ),
    "true or false": (
        ("deep = false", 'deep = "no"'),
        "house.toml [house.moisture_store] deep: found 'no'; accepted: true or false",
    ),
    "item of a list": (
        ('capacity = "2 ton"', 'capacity = "2 lb"'),
        "house.toml [equipment.cooling.stages] number 1 capacity: found '2 lb'; accepted: a power "
        "as a number in W, or a text such as '7000 W' or '24000 Btu/h'",
    ),
    "no list": (
        ('[{ capacity = "2 ton" }]', "5"),
        "house.toml [equipment.cooling] stages: found 5; accepted: a list of tables: ratings by "
        "stage, the smallest first",
    ),
    "no table": (
        ("[house.envelope]\nwall_u", "envelope"),
        "house.toml [house.envelope]: found 0.5; accepted: a table of keys and values",
    ),
    "no text": (
        ('"House of the tests"', "5"),
        "house.toml name: found 5; accepted: a text in quotation marks",
    ),
    "plain value of the shared equipment": (
        ("[equipment.cooling]", "[equipment]\nstandby_power = '-1 W'\n[equipment.cooling]"),
        "house.toml [equipment] standby_power: found '-1 W'; accepted: a power at least 0 W",
    ),
    "two weathers": (
        ("[weather]", '[weather]\nsample = "miami"'),
        "house.toml [weather]: found both sample and file; accepted: one of sample = 'name' and "
        "file = 'path'",
    ),
    "no weather": (
        ('file = "june.csv"', 'checksum = "1"'),
        "house.toml [weather]: found neither sample nor file; accepted: one of sample = 'name' and "
        "file = 'path'",
    ),
    "no weather file": (
        ("june.csv", "july.csv"),
        "house.toml [weather] file: found 'july.csv', which is no file; accepted: the path of a "
        "weather file, as seen from the scenario's folder",
    ),
    "no weather in the file": (
        ("june.csv", "house.toml"),
        "house.toml [weather] file, house.toml, latitude: found none; accepted: a line "
        "'# latitude: value' above the table",
    ),
    "day": (
        ("06-05", "6-5"),
        "house.toml [season] end: found '6-5'; accepted: MM-DD or YYYY-MM-DD, or left out for all "
        "of the data",
    ),
    "season": (
        ("06-05", "07-05"),
        "house.toml [season]: found 06-02 to 07-05, not held by data of 1990-06-01 00:00 to "
        "1990-06-11 00:00; accepted: a season that lies within the data without a break (MM-DD or "
        "YYYY-MM-DD)",
    ),
    "step": (
        ("[season]", '[season]\nstep = "60 ft"'),
        "house.toml [season] step: found '60 ft'; accepted: a time as a number in s, or a text "
        "such as '300 s' or '5 min'",
    ),
    "syntax": (
        ("ach50 = 4", "ach50 4"),
        f"house.toml line 9: found 'ach50 4'; {TOML}Expected '=' after a key in a key/value pair)",
    ),
    "syntax at the end": (
        ('capacity = "50 pint/day"', 'capacity = [ "50 pint/day"'),
        f"house.toml, at its end: found text that is no TOML; {TOML}Unclosed array)",
    ),
    "name that cannot be printed": (
        ("[options.plain]", '[options."a\\nb"]'),
        "house.toml options: found the name 'a\\nb'; accepted: a name that can be printed",
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
        "house.toml: found no [house], or an empty one; accepted: a table [house] with a floor_area"
    )


def test_another_weather_than_that_of_the_run_is_refused(folder: Path) -> None:
    own = ms.Weather.read(folder / "june.csv").checksum
    assert refused(folder, HOUSE.replace("[season]", 'checksum = "0123"\n[season]')) == (
        f"house.toml [weather] checksum: found '0123', while the weather's own is '{own}'; "
        "accepted: the weather that the scenario was run with, or no checksum"
    )


@pytest.mark.parametrize("table", ["house", "options", "weather", "season", "tariff", "equipment"])
def test_what_is_no_table_is_refused_by_its_name(folder: Path, table: str) -> None:
    kept = tomllib.loads(HOUSE)
    kept[table] = 5
    place = "options" if table == "options" else f"[{table}]"
    assert refused(folder, tomli_w.dumps(kept)).startswith(f"house.toml {place}: found 5; accepted")


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / "none.toml")
    assert str(caught.value) == (
        f"{tmp_path / 'none.toml'}: found no such file; accepted: the path of a scenario file"
    )
    with pytest.raises(ScenarioError, match=r"found a folder; accepted: the path of a scenario"):
        read_scenario(tmp_path)
    (tmp_path / "latin.toml").write_bytes("name = 'Hütte'".encode("latin-1"))
    with pytest.raises(ScenarioError) as caught:
        read_scenario(tmp_path / "latin.toml")
    assert str(caught.value) == (
        "latin.toml: found something that is no UTF-8 text; accepted: a TOML file"
    )


def test_an_error_survives_pickling() -> None:
    error = ScenarioError("house.toml [house] ach50", "'x'", "a number")
    again = pickle.loads(pickle.dumps(error))
    assert isinstance(again, ScenarioError)
    assert (again.where, again.found, again.accepted) == (error.where, error.found, error.accepted)


# ---------------------------------------------------------------------- writing


def described(value: Any) -> Any:
    """A description as nested dicts, to be compared with `expected`."""
    if attrs.has(type(value)):
        return {f.name: described(getattr(value, f.name)) for f in attrs.fields(type(value))}
    return [described(item) for item in value] if isinstance(value, tuple) else value


def expected(value: Any) -> Any:
    """The same, the profiles to all but their last bits: reading one divides by its mean, which
    is 1 only to rounding."""
    table = described(value)
    for field in attrs.fields(type(value)):
        part = getattr(value, field.name)
        if field.metadata.get("profile"):
            table[field.name] = pytest.approx(table[field.name], rel=1e-14)
        elif attrs.has(type(part)):
            table[field.name] = expected(part)
    return table


def assert_same_run(one: Scenario, two: Scenario) -> None:
    a, b = one.study, two.study
    assert (one.name, one.note) == (two.name, two.note)
    assert described(b.house) == expected(a.house)
    assert list(b.options) == list(a.options)
    for name, (machines, strategy) in a.options.items():
        assert b.options[name][0] == machines
        assert b.options[name][1] == strategy
    assert b.tariff == a.tariff
    assert b.weather == a.weather
    assert (b.start, b.end, b.step) == (a.start, a.end, a.step)
    assert b.base == (a.base or next(iter(a.options)))
    assert (two.purchases, two.terms) == (one.purchases, one.terms)


def test_the_demo_as_run_reads_as_the_demo(tmp_path: Path) -> None:
    demo = read_scenario(DEMO)
    write_scenario(demo, tmp_path / "scenario.toml")
    assert_same_run(demo, read_scenario(tmp_path / "scenario.toml"))


def test_as_run_every_field_is_explicit_and_the_run_says_what_made_it(
    folder: Path, tmp_path: Path
) -> None:
    scenario = read(folder, HOUSE)
    write_scenario(scenario, tmp_path / "scenario.toml")
    table = tomllib.loads((tmp_path / "scenario.toml").read_text(encoding="utf-8"))

    def missing(kind: Any, part: dict[str, Any], name: str) -> list[str]:
        gone = []
        for field in attrs.fields(kind):
            if field.name not in part:
                gone.append(f"{name}.{field.name}")
            elif "part" in field.metadata:
                parts = part[field.name] if field.metadata.get("many") else [part[field.name]]
                for item in parts:
                    gone += missing(field.metadata["part"], item, f"{name}.{field.name}")
        return gone

    # What is not there, and defaults that the house or the weather itself gives.
    assert missing(ms.House, table["house"], "house") == [
        "house.envelope.fast_mass",
        "house.envelope.slow_mass",
        *(
            f"house.envelope.foundation.{name}"
            for name in ("ground_u", "outdoor_u", "mean_temperature", "amplitude", "coldest_day")
        ),
        "house.gains.moisture",
        *(
            f"house.leakage.{name}"
            for name in (
                "cfm50", "effective_area", "ceiling_share", "floor_share", "flue_height",
                "eaves_height",
            )
        ),
        *(f"house.exhausts.{name}" for name in ("dryer", "range_hood", "bath_fans")),
        *(f"house.ducts.{name}" for name in ("supply_area", "return_area")),
        "house.contents_store",
        "house.vapour_sources.construction_from",
        "house.occupancy",
        "house.window_opening",
        "house.bedroom",
    ]  # fmt: skip
    assert missing(ms.Equipment, table["equipment"], "equipment") == [
        "equipment.cooling.stages.curves",
        "equipment.strips",
        "equipment.dehumidifier",
        "equipment.ventilation.airflow",
        *(
            f"equipment.ventilation.{name}"
            for name in ("frost_limit", "lockout_dew_point", "lockout_above", "lockout_below")
        ),
        "equipment.heating",
        "equipment.furnace",
        "equipment.hot_gas",
        "equipment.outdoor_sensor",
        "equipment.relays.release_after",
        "equipment.enable",
    ]
    box = table["options"]["with box"]
    assert missing(ms.Dehumidifier, box["equipment"]["dehumidifier"], "box") == [
        f"box.{name}"
        for name in ("integrated_energy_factor", "bucket", "humidistat", "defrost_below")
    ]
    assert list(box["set_points"]) == list(ms.strategies.with_dehumidifier.settings)
    assert table["house"]["floor_area"] == f"{scenario.study.house.floor_area!r} m2"
    assert table["base"] == "plain"
    assert table["weather"]["checksum"] == scenario.study.weather.checksum
    assert table["provenance"]["scenario"] == "house.toml"
    assert table["provenance"]["season"] == "1990-06-02 to 1990-06-05"
    assert "moistsim" in table["provenance"]
    # A weather file is named as seen from the new folder.
    assert_same_run(scenario, read_scenario(tmp_path / "scenario.toml"))


def test_a_strategy_that_no_file_can_name_is_refused(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, HOUSE)
    own = attrs.evolve(ms.strategies.overcooling, name="own")
    study = attrs.evolve(
        scenario.study, options={"mine": (scenario.study.options["plain"][0], own)}
    )
    with pytest.raises(ms.InputError) as caught:
        write_scenario(attrs.evolve(scenario, study=study), tmp_path / "scenario.toml")
    assert str(caught.value) == (
        "write_scenario option 'mine': found 'own'; accepted: one of temperature_only, "
        "overcooling, staged_reheat, hot_gas_reheat, with_dehumidifier"
    )


ADDED = HOUSE.replace(
    'strategy = "with_dehumidifier"',
    """strategy = "overcooling"
additions = ["set_back", "slower_airflow"]
set_points = { target_rh = "50 %", cooling_set_back = "5 delta_degF", slow_down_by = "25 %" }""",
)


def test_additions_stand_beside_the_strategy(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, ADDED)
    strategy = scenario.study.options["with box"][1]
    own = ms.strategies
    assert strategy == (own.overcooling + own.set_back + own.slower_airflow)(
        target_rh="50 %", cooling_set_back="5 delta_degF", slow_down_by="25 %"
    )
    write_scenario(scenario, tmp_path / "scenario.toml")
    table = tomllib.loads((tmp_path / "scenario.toml").read_text(encoding="utf-8"))
    assert table["options"]["with box"]["strategy"] == "overcooling"
    assert table["options"]["with box"]["additions"] == ["set_back", "slower_airflow"]
    assert "additions" not in table["options"]["plain"]
    assert list(table["options"]["with box"]["set_points"]) == list(strategy.settings)


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        (
            '"slower_airflow"]', '"slow_airflow"]',
            "house.toml [options.\"with box\"] additions: found 'slow_airflow'; accepted: "
            "'slower_airflow', which is near it, or another of 'dew_point_control', "
            "'held_back_ventilation', 'set_back', 'drying_by_dehumidifier'",
        ),
        (
            '["set_back", "slower_airflow"]', '"set_back"',
            "house.toml [options.\"with box\"] additions: found 'set_back'; accepted: a list of "
            'names: ["set_back"]',
        ),
        (
            '"slower_airflow"]', '"set_back"]',
            "house.toml [options.\"with box\"] additions: found set_back twice; accepted: set_back "
            "once",
        ),
        (
            '"overcooling"\nadditions = ["set_back"', '"temperature_only"\nadditions = ["dew_point_control"',
            "house.toml [options.\"with box\"] additions: found no set-point target_rh in "
            "temperature_only; accepted: a strategy with the set-point target_rh, which "
            "dew_point_control works on",
        ),
        (
            "slow_down_by =", "slow_down =",
            "house.toml [options.\"with box\".set_points]: found the key 'slow_down', which is not "
            "known; accepted: 'slow_down_by', which is near it, or another of 'cooling_setpoint', "
            "'heating_setpoint', 'deadband', 'second_stage_at', 'target_rh', 'humidity_deadband', "
            "'overcool_by', 'cooling_set_back', 'heating_set_back'",
        ),
        (
            '"25 %"', '"75 %"',
            "house.toml [options.\"with box\".set_points] slow_down_by: found 0.75; accepted: from 0 to "
            "0.5",
        ),
        (
            '"25 %"', '"75 K"',
            "house.toml [options.\"with box\".set_points] slow_down_by: found '75 K'; accepted: a "
            "fraction, such as '0.75' or '75 %'",
        ),
    ],
)  # fmt: skip
def test_additions_that_cannot_be(folder: Path, old: str, new: str, text: str) -> None:
    assert old in ADDED
    assert refused(folder, ADDED.replace(old, new)) == text


def test_an_addition_that_no_file_can_name_is_refused(folder: Path, tmp_path: Path) -> None:
    @ms.addition
    def mine(readings: Any, memory: Any) -> Any:
        return readings

    scenario = read(folder, HOUSE)
    options = {"mine": (scenario.study.options["plain"][0], ms.strategies.overcooling + mine)}
    study = attrs.evolve(scenario.study, options=options)
    with pytest.raises(ms.InputError) as caught:
        write_scenario(attrs.evolve(scenario, study=study), tmp_path / "scenario.toml")
    assert str(caught.value) == (
        "write_scenario option 'mine': found 'mine'; accepted: one of slower_airflow, "
        "dew_point_control, held_back_ventilation, set_back, drying_by_dehumidifier"
    )


amounts = st.floats(0.1, 1.0)
profiles = st.lists(st.floats(0.0, 10.0), min_size=24, max_size=24).filter(lambda x: sum(x) > 0.1)
houses = st.builds(
    ms.House,
    floor_area=st.floats(30.0, 900.0),
    storeys=st.sampled_from([1, 2, 3]),
    ach50=st.floats(0.0, 20.0),
    envelope=st.builds(ms.Envelope, wall_u=amounts, window_shgc=st.floats(0.0, 0.9)),
    gains=st.builds(ms.Gains, moisture=st.none() | st.floats(0.0, 1e-3), presence=profiles),
    moisture_store=st.builds(ms.MoistureStore, permeability=st.floats(1e-13, 1e-10)),
    leakage=st.builds(ms.Leakage, flue_share=st.floats(0.0, 0.5)),
    exhausts=st.builds(
        ms.Exhausts,
        dryer=st.none()
        | st.builds(ms.ExhaustFan, airflow=amounts, runtime=st.floats(0.0, 14400.0)),
    ),
    ducts=st.builds(ms.Ducts, location=st.sampled_from(["inside", "attic", "crawl space"])),
)
machines = st.builds(
    ms.Equipment,
    cooling=st.builds(
        ms.Cooling, stages=st.builds(ms.Stage, capacity=st.floats(2e3, 2e4)).map(lambda s: [s])
    ),
    strips=st.none()
    | st.builds(ms.Strips, stages=st.lists(st.floats(500.0, 9e3), min_size=1, max_size=3)),
    dehumidifier=st.none() | st.builds(ms.Dehumidifier, capacity=st.floats(1e-5, 1e-3)),
    ventilation=st.none() | st.builds(ms.Ventilation, airflow=st.none() | st.floats(0.0, 0.2)),
    standby_power=st.floats(0.0, 50.0),
)


def _control(strategy: ms.Strategy, additions: list[ms.Addition], setpoint: float) -> ms.Strategy:
    for addition in additions:
        if set(addition.needs) <= set(strategy.settings):
            strategy = strategy + addition
    return strategy(cooling_setpoint=setpoint)


controls = st.builds(
    _control,
    st.sampled_from(list(BUILT_IN.values())),
    st.lists(st.sampled_from(list(ADDITIONS.values())), unique_by=lambda a: a.name),
    st.floats(24.0, 28.0),
)
names = st.text(min_size=1).filter(lambda text: text.isprintable() and text.strip())


@settings(max_examples=30)
@given(
    house=houses,
    options=st.dictionaries(names, st.tuples(machines, controls), min_size=1, max_size=3),
    price=amounts,
    note=st.text(st.characters(categories=["L", "N", "P", "S"])),
)
def test_any_study_reads_as_it_was_written(
    folder: Path,
    tmp_path_factory: pytest.TempPathFactory,
    house: ms.House,
    options: dict[str, Any],
    price: float,
    note: str,
) -> None:
    weather = folder / "june.csv"
    study = ms.Study(house, ms.Weather.read(weather), options, tariff=ms.Tariff(price=price))
    one = Scenario("any", note, study, weather, folder / "house.toml")
    path = tmp_path_factory.mktemp("any") / "scenario.toml"
    write_scenario(one, path)
    assert_same_run(one, read_scenario(path))


def test_strips_furnace_and_hot_gas_in_a_file(folder: Path) -> None:
    """Voltage, lockout and shares are read, and written back as they were."""
    text = HOUSE.replace(
        "[equipment.ventilation]",
        """[equipment.strips]
stages = ["5 kW", "5 kW"]
voltage = "208 V"
proportional = true
lockout_hours = [14.5, 18]
lockout_months = [6, 9]
[equipment.furnace]
capacity = "40 kBtu/h"
efficiency = "95 %"
[equipment.hot_gas]
share = 0.4
[equipment.ventilation]""",
    )
    scenario = read(folder, text)
    machines = scenario.study.options["plain"][0]
    assert machines.strips == ms.Strips(
        stages=["5 kW", "5 kW"], voltage=208, proportional=True, lockout_hours=[14.5, 18],
        lockout_months=[6, 9],
    )  # fmt: skip
    assert machines.furnace == ms.Furnace(capacity="40 kBtu/h", efficiency="95 %")
    assert machines.hot_gas == ms.HotGas(share=0.4)
    write_scenario(scenario, folder / "as_run.toml")
    again = read_scenario(folder / "as_run.toml").study
    assert again.options["plain"][0] == machines
    bad = text.replace("[14.5, 18]", '"14-18"')
    assert refused(folder, bad) == (
        "house.toml [equipment.strips] lockout_hours: found '14-18'; accepted: two different "
        "hours from 0 to 24, such as [14, 18], or none: []"
    )


# --- A unit by its label, its maker's table or its class ---------------------------------------

STAGES = '[equipment.cooling]\nstages = [{ capacity = "2 ton" }]\n'


def with_cooling(text: str) -> str:
    assert STAGES in HOUSE
    return HOUSE.replace(STAGES, text)


def test_a_unit_described_by_its_label_its_table_or_its_class(folder: Path) -> None:
    """As the library makes it from the same numbers; written back as run, stage by stage."""
    label = '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 15.2\neer2 = 12\n'
    fan = '[equipment.cooling]\nfan_power = "0.3 W/cfm"\n'
    expected = ms.Cooling.from_label("2 ton", 15.2, 12, fan_power="0.3 W/cfm")
    for text, unit in (
        (fan + label, expected),
        (
            '[equipment.cooling.typical]\ncapacity = "2 ton"\nkind = "variable"\nyear = 2016\n',
            ms.Cooling.typical("2 ton", kind="variable", year=2016),
        ),
    ):
        scenario = read(folder, with_cooling(text))
        machines = scenario.study.options["plain"][0]
        assert machines.cooling == unit
        write_scenario(scenario, folder / "as_run.toml")
        again = read_scenario(folder / "as_run.toml")
        assert again.study.options["plain"][0] == machines
    table_of(ms.Cooling(stages=[ms.Stage(capacity="2 ton")])).to_csv(
        folder / "unit.csv", index=False
    )
    given = '[equipment.cooling.table]\nfile = "unit.csv"\n'
    machines = read(folder, with_cooling(given)).study.options["plain"][0]
    assert machines.cooling == ms.Cooling.from_table(folder / "unit.csv")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 44\n',
            "house.toml [equipment.cooling.label] seer2: found 44; accepted: from 6 to 40 Btu/h/W",
        ),
        (
            '[equipment.cooling.label]\nseer2 = 15\n',
            "house.toml [equipment.cooling.label] capacity: found nothing, though it must be given",
        ),
        (
            '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 15\nseer = 16\n',
            "house.toml [equipment.cooling.label]: found the key 'seer', which is not known; "
            "accepted: 'seer2'",
        ),
        (
            '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 15\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling]: found label and typical together; accepted: one of",
        ),
        (
            '[equipment.cooling]\nstages = [{ capacity = "2 ton" }]\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling]: found typical and stages together; accepted: one of",
        ),
        (
            '[equipment.cooling.table]\nfile = "nowhere.csv"\n',
            "house.toml [equipment.cooling.table] file: found 'nowhere.csv', which is no file",
        ),
        (
            '[equipment.cooling]\nfan_power = "-1 W/cfm"\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling] fan_power: found '-1 W/cfm'; accepted:",
        ),
        (
            '[equipment.cooling.typical]\ncapacity = "2 parsec"\n',
            "house.toml [equipment.cooling.typical]",
        ),
        ("[equipment]\ncooling = { label = 3 }\n", "house.toml [equipment.cooling.label]: found 3"),
    ],
)  # fmt: skip
def test_a_wrong_way_of_describing_names_its_table(folder: Path, text: str, sentence: str) -> None:
    found = refused(folder, with_cooling(text))
    assert found.startswith(sentence), found


# --- What options cost to buy ------------------------------------------------------------------

BOUGHT = (
    HOUSE.replace('strategy = "temperature_only"\n', 'strategy = "temperature_only"\npurchase = { first_cost = 0 }\n')
    + """[options."with box".purchase]
first_cost = "1,800 USD"
life = "10 year"
maintenance = "30 USD/year"
[economics]
years = 12
discount_rate = "4.5 %"
[economics.loan]
rate = "8 %"
term = "3 year"
"""
)  # fmt: skip


def test_purchases_and_terms_are_read_and_written_as_run(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, BOUGHT)
    assert scenario.purchases == {
        "plain": ms.Purchase(first_cost=0.0),
        "with box": ms.Purchase(first_cost=1800.0, life=10.0, maintenance=30.0),
    }
    assert scenario.terms == ms.Terms(
        years=12, discount_rate=0.045, loan=ms.Loan(rate=0.08, term=3)
    )
    write_scenario(scenario, tmp_path / "as_run.toml")
    assert_same_run(scenario, read_scenario(tmp_path / "as_run.toml"))
    table = tomllib.loads((tmp_path / "as_run.toml").read_text(encoding="utf-8"))
    assert table["economics"]["inflation"] == 0.02
    assert table["options"]["with box"]["purchase"]["rebate"] == "0.0 USD"
    # Without purchases nothing is said of them, and purchases alone have the library's terms.
    none = read(folder, HOUSE)
    assert (none.purchases, none.terms) == ({}, None)
    assert read(folder, BOUGHT.partition("[economics]")[0]).terms == ms.Terms()


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            "purchase = { first_cost = 0 }", "",
            "house.toml [options.plain]: found no purchase, though the scenario asks for economics; "
            "accepted: a table purchase with a first_cost, 0 if nothing is bought",
        ),
        (
            'first_cost = "1,800 USD"', "",
            'house.toml [options."with box".purchase] first_cost: found nothing, though it must be '
            "given; accepted: price with installation, before any rebate; 0 if nothing is bought: a "
            "sum of money as a number in USD, or a text such as '1800 USD' or '1,800 USD'",
        ),
        (
            '"1,800 USD"', '"-1,800 USD"',
            'house.toml [options."with box".purchase] first_cost: found \'-1,800 USD\'; accepted: a '
            "sum of money at least 0 USD",
        ),
        (
            '"10 year"', "0",
            'house.toml [options."with box".purchase] life: found 0; accepted: a span of years at '
            "least 1 year and at most 100 year",
        ),
        (
            '"4.5 %"', "4.5",
            "house.toml [economics] discount_rate: found 4.5; accepted: '4.5 %' if per cent is meant, "
            "or a rate a year above -0.5 and below 1",
        ),
        (
            "years = 12", "year = 12",
            "house.toml [economics]: found the key 'year', which is not known; accepted: 'years', "
            "which is near it, or another of 'rates', 'inflation', 'discount_rate', "
            "'electricity_escalation', 'gas_escalation', 'loan'",
        ),
        (
            "years = 12", "years = 2",
            "house.toml [economics] loan: found a term of 3 years; accepted: at most the study "
            "period, 2 years",
        ),
    ],
)  # fmt: skip
def test_a_purchase_that_cannot_be_is_one_sentence(
    folder: Path, old: str, new: str, sentence: str
) -> None:
    assert refused(folder, BOUGHT.replace(old, new)) == sentence
