"""The short form of a file: a place, a floor area, people, a year and the air conditioner's label."""

import re
from pathlib import Path
from typing import Any

import pytest
from support.scenario_files import SAMPLES, refused

import moistsim as ms
from moistsim.controls import temperature_only, with_dehumidifier
from moistsim.scenario import (
    Scenario,
    ScenarioError,
    checksum,
    inputs,
    new_house,
    read_scenario,
    write_scenario,
)
from moistsim.scenario.short_form import PLACES, climate_of

SHORT = """\
place = "Miami"
complaint = "damp in April"
[house]
floor_area = "1500 ft2"
people = 4
year_built = 2004
[equipment.cooling.label]
capacity = "2 ton"
seer2 = 14.3
"""


def read(folder: Path, text: str) -> Scenario:
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return read_scenario(path)


def changed(*pairs: tuple[str, str]) -> str:
    text = SHORT
    for before, after in pairs:
        assert before in text
        text = text.replace(before, after)
    return text


def test_nine_lines_are_a_study(tmp_path: Path) -> None:
    scenario = read(tmp_path, SHORT)
    study = scenario.study
    assert (scenario.name, scenario.complaint) == ("house", "damp in April")
    assert study.weather.checksum == ms.Weather.sample("miami").checksum
    assert study.house == ms.House.typical(
        floor_area="1500 ft2", year=2004, climate="hot", occupants=4
    )
    unit = ms.Cooling.from_label("2 ton", 14.3)
    heat = ms.HeatPump(capacity="2 ton")
    assert study.options == {
        "As found": (ms.Equipment(cooling=unit, heating=heat), temperature_only)
    }
    assert scenario.purchases == {"As found": ms.Purchase(first_cost=0.0)}


def test_the_long_form_of_a_short_file_is_the_same_scenario(tmp_path: Path) -> None:
    short = read(tmp_path, changed(("people = 4", 'people = "4 ± 1"')))
    of: Any = short.ranges["house.gains.occupants"]
    assert (of.mean, of.deviation) == (4.0, 1.0)
    write_scenario(short, tmp_path / "run.toml")
    again = read_scenario(tmp_path / "run.toml")
    assert checksum(again) == checksum(short)
    assert again.complaint == short.complaint and again.ranges == short.ranges
    assert [*again.ranges] == ["house.gains.occupants"]


def test_what_was_filled_in_counts_as_assumed_and_what_was_written_as_stated(
    tmp_path: Path,
) -> None:
    text = 'measured = ["house.people"]\n' + SHORT
    origins = {item.key: item.origin for item in inputs(read(tmp_path, text))}
    assert origins["house.gains.occupants"] == "measured"
    assert origins["house.floor_area"] == "stated"
    assert origins["house.ach50"] == origins["house.envelope.wall_u"] == "assumed"
    assert origins["equipment.heating.capacity"] == "assumed"
    assert origins['options."As found".purchase.first_cost'] == "assumed"
    assert origins["equipment.cooling.stages[1].cop"] == "label"


@pytest.mark.parametrize(
    ("name", "sample"),
    [("Miami", "miami"), ("miami, FL", "miami"), ("Sand Point, Alaska", "sand_point"),
     ("GREENSBORO, North Carolina", "greensboro"), ("sand_point", "sand_point")],
)  # fmt: skip
def test_a_place_is_a_samples_name(tmp_path: Path, name: str, sample: str) -> None:
    assert read(tmp_path, changed(("Miami", name))).weather == sample


def test_places_are_the_samples() -> None:
    assert set(PLACES) == {path.stem for path in SAMPLES.glob("*.csv")}


def test_climates_are_those_of_the_standards_zones() -> None:
    """ANSI/ASHRAE Standard 169: Miami is zone 1, Greensboro zone 4 (from memory)."""
    assert climate_of(ms.Weather.sample("miami")) == "hot"
    assert climate_of(ms.Weather.sample("greensboro")) == "mixed"
    assert climate_of(ms.Weather.sample("sand_point")) == "cold"


@pytest.mark.parametrize(
    ("added", "foundation"),
    [
        ("[house.crawl_space]\n", "crawl space"),
        ('[house.crawl_space]\nkind = "encapsulated"\n', "encapsulated crawl space"),
        ('[house.ducts]\nlocation = "crawl space"\n', "crawl space"),
        ("[house.basement]\n", "basement"),
    ],
)
def test_the_practice_of_a_year_knows_what_the_house_stands_on(
    tmp_path: Path, added: str, foundation: str
) -> None:
    made = read(tmp_path, SHORT + added).study.house
    usual = ms.House.typical(floor_area="1500 ft2", year=2004, climate="hot", foundation=foundation)
    assert made.envelope == usual.envelope
    assert (made.crawl_space, made.basement) == (usual.crawl_space, usual.basement)


def test_a_measured_leakage_replaces_that_of_the_year(tmp_path: Path) -> None:
    text = changed(("year_built = 2004", 'year_built = 2004\nach50 = "3 ± 0.5"'))
    scenario = read(tmp_path, text)
    assert scenario.study.house.ach50 == 3.0 and [*scenario.ranges] == ["house.ach50"]
    blown = read(tmp_path, SHORT + '[house.leakage]\ncfm50 = "1200 cfm"\n').study.house
    assert blown.ach50 is None and blown.leakage.cfm50 is not None
    without = read(tmp_path, changed(("year_built = 2004", "ach50 = 3"))).study.house
    expected: Any = ms.House(floor_area="1500 ft2", ach50=3, gains=ms.Gains(occupants=4))
    assert without == expected


def test_machines_as_found(tmp_path: Path) -> None:
    box = '[equipment.dehumidifier]\ncapacity = "70 pint/day"\n'
    found = read(tmp_path, SHORT + box).study
    assert found.options["As found"][1] == with_dehumidifier
    own = read(tmp_path, SHORT + box + 'humidistat = "50 %"\n').study
    assert own.options["As found"][1] == temperature_only
    gas = '[equipment.furnace]\ncapacity = "60 kBtu/h"\n'
    machines = read(tmp_path, SHORT + gas).study.resolved["As found"].equipment
    assert machines.heating is None and machines.furnace is not None


def test_options_of_the_file_keep_their_machines(tmp_path: Path) -> None:
    own = '[options.mine]\nstrategy = "temperature_only"\n'
    scenario = read(tmp_path, SHORT + own)
    assert [*scenario.study.options] == ["mine"] and scenario.purchases == {}
    assert scenario.study.resolved["mine"].equipment.heating is None


def test_an_older_label_has_a_seer(tmp_path: Path) -> None:
    """SEER2 is 0.95 of SEER (common practice, no source)."""
    old = read(tmp_path, changed(("seer2 = 14.3", "seer = 13"))).study
    assert old.resolved["As found"].equipment.cooling == ms.Cooling.from_label("2 ton", 0.95 * 13.0)


@pytest.mark.parametrize(
    ("pair", "words"),
    [
        (('capacity = "2 ton"\n', ""), (
            "house.toml [equipment.cooling.label] capacity: missing. How large is the air "
            "conditioner? Write capacity = '2.5 ton'.")),
        (('capacity = "2 ton"\nseer2 = 14.3\n', ""), (
            "house.toml [equipment.cooling.label]: capacity and seer2 missing. Write capacity = "
            "'2.5 ton', seer2 = 14.3.")),
        (("seer2 = 14.3\n", ""), (
            "house.toml [equipment.cooling.label] seer2: no seasonal rating. Which one is on its "
            "label? Write seer2 = 14.3, or seer = 13 for a label before 2023.")),
        (("seer2 = 14.3", "seer2 = 14.3\nseer = 15"), "both seer and seer2 are given"),
        (("seer2 = 14.3", "seer = 90"), "[equipment.cooling.label] seer: "),
        (('[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 14.3\n', ""), (
            "house.toml: no air conditioner. What does its label say? Write "
            "[equipment.cooling.label] with capacity = '2.5 ton' and seer2 = 14.3")),
        (('floor_area = "1500 ft2"\n', ""), "house.toml [house] floor_area: missing"),
        (("Miami", "Savannah"), (
            "house.toml place: no weather of 'Savannah' comes with the program. Use 'Miami' or "
            "'Greensboro' or 'Sand Point'; or fetch a file with “moistsim weather LATITUDE "
            "LONGITUDE --out place.csv”")),
        (("Miami", "Greensboro, GA"), "no weather of 'Greensboro, GA'"),
        (('place = "Miami"\n', ""), "no [weather], or an empty one. Use place = 'Miami', or a table"),
        (("[house]", '[weather]\nsample = "miami"\n[house]'), "place and the weather of [weather] are both given"),
        (("people = 4", 'people = "some"'), "house.toml [house] people: cannot read 'some'"),
        (("people = 4", 'people = "4 ± 1 ft"'), "house.toml [house] people: cannot use '4 ± 1 ft'"),
        (("people = 4", "people = 4\ngains.occupants = 3"), "people and gains.occupants are both given"),
        (("people = 4", "peopel = 4"), "[house]: unknown key 'peopel'. Did you mean 'people'?"),
        (("year_built = 2004", "year_built = 204"), "house.toml [house] year_built: cannot use 204. Use a whole year from 1900"),
        (("year_built = 2004", "year_built = 2004\ntypical.year = 2000"), "year_built and [house.typical] are both given"),
        (('"damp in April"', "5"), "house.toml complaint: cannot use 5"),
    ],
)  # fmt: skip
def test_what_is_missing_is_asked_for(tmp_path: Path, pair: tuple[str, str], words: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        read(tmp_path, changed(pair))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_year_needs_a_year_of_weather(folder: Path) -> None:
    text = changed(('place = "Miami"\n', ""), ("[house]", '[weather]\nfile = "june.csv"\n[house]'))
    with pytest.raises(ScenarioError, match="weather is too short to know the climate"):
        read(folder, text)


# ---------------------------------------------------------------------- the file to fill in


def blocks(text: str) -> list[str]:
    """Groups of lines that are keys behind comments."""
    found = re.findall(r"(?:^#(?:[^ -].*)?\n)+", text + "\n", re.MULTILINE)
    return [block for block in found if re.search(r"^#[\[a-z]", block, re.MULTILINE)]


def uncommented(block: str) -> str:
    return re.sub(r"^#", "", block, flags=re.MULTILINE)


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_new_file_reads_and_says_what_to_change(tmp_path: Path, units: Any) -> None:
    text = new_house("house.toml", units)
    scenario = read(tmp_path, text)
    assert "invented" in scenario.name and scenario.complaint
    assert list(scenario.study.options) == ["As found"]
    assert "{{" not in text and "study house.toml" in text
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    assert len(lines) == 10, "ten lines are the shortest useful file"
    asked = [line for line in lines if "change it" in line]
    assert len(asked) == 7, "all but the name and the two heads of tables"


def test_both_units_describe_nearly_the_same_house(tmp_path: Path) -> None:
    us, si = (read(tmp_path, new_house("house.toml", units)).study for units in ("us", "si"))
    assert us.house.floor_area == pytest.approx(si.house.floor_area, rel=0.01)
    one, other = (it.resolved["As found"].equipment.cooling for it in (us, si))
    assert one is not None and other is not None
    assert one.stages[0].capacity == pytest.approx(other.stages[0].capacity, rel=0.01)


@pytest.mark.parametrize("units", ["us", "si"])
def test_each_optional_key_is_valid_when_uncommented(tmp_path: Path, units: Any) -> None:
    text = new_house("house.toml", units)
    found = blocks(text)
    assert len(found) >= 13
    plain = read(tmp_path, text)
    for block in found:
        then = read(tmp_path, text.replace(block, uncommented(block)))
        assert checksum(then) != checksum(plain), f"{block} changes nothing"
    everything = text
    for block in found:
        everything = everything.replace(block, uncommented(block))
    scenario = read(tmp_path, everything)
    assert list(scenario.study.options) == ["As found", "Dehumidifier"]
    assert scenario.terms is not None and scenario.study.start == "04-01"
    # A range of the example, and one of the options.
    assert {"tariff.price", "options.Dehumidifier.purchase.first_cost"} <= set(scenario.ranges)


def test_every_key_behind_a_comment_is_in_a_block() -> None:
    text = new_house("house.toml")
    keys = re.findall(r"^#[\[a-z].*$", text, re.MULTILINE)
    assert len(keys) > 30
    assert all(any(key in block for block in blocks(text)) for key in keys)


def test_a_file_that_has_nothing_is_told_all_that_it_needs(tmp_path: Path) -> None:
    assert refused(tmp_path, 'name = "mine"\n') == (
        "house.toml: no weather and no house and no air conditioner. Write place = 'Miami'; [house] "
        "with floor_area = '1,800 ft2'; [equipment.cooling.label] with capacity = '2.5 ton' and "
        "seer2 = 14.3."
    )


def test_a_house_may_have_a_room_heater_alone(tmp_path: Path) -> None:
    """Electric baseboard and nothing else: it needs no air conditioner, and no heat pump is added."""
    before, _ = SHORT.split("[equipment.cooling.label]")
    text = before + '[equipment.room_heater]\ncapacity = "7 kW"\n'
    machines = read(tmp_path, text).study.resolved["As found"].equipment
    assert machines.cooling is None and machines.heating is None
    assert machines.room_heater == ms.RoomHeater(capacity="7 kW")
    again = tmp_path / "as_run.toml"
    write_scenario(read(tmp_path, text), again)
    assert read_scenario(again).study.resolved["As found"].equipment == machines
