"""Origins of values after a run wrote them: changed by a person, left alone, or from a label."""

import tomllib
from pathlib import Path

from support.scenario_files import assert_same_run

from moistsim.scenario import DEMO, Scenario, inputs, new_house, read_scenario, write_scenario


def origins(scenario: Scenario) -> dict[str, str]:
    return {item.key: item.origin for item in inputs(scenario)}


def as_run(scenario: Scenario, folder: Path) -> Path:
    path = folder / "as_run.toml"
    write_scenario(scenario, path)
    return path


def changed(path: Path, was: str, now: str) -> Scenario:
    text = path.read_text(encoding="utf-8")
    assert text.count(was) == 1, was
    path.write_text(text.replace(was, now), encoding="utf-8")
    return read_scenario(path)


def test_a_value_changed_in_the_written_file_is_stated_and_others_stay(tmp_path: Path) -> None:
    demo = read_scenario(DEMO)
    before = origins(demo)
    assert before["house.shelter"] == before["house.envelope.wall_u"] == "assumed"
    path = as_run(demo, tmp_path)
    assert origins(read_scenario(path)) == before
    again = changed(path, 'wall_u = "0.45 W/(m2 K)"', 'wall_u = "0.5 W/(m2 K)"')
    assert origins(again) == before | {"house.envelope.wall_u": "stated"}
    # So it stays in the file that this run writes.
    (tmp_path / "next").mkdir()
    assert origins(read_scenario(as_run(again, tmp_path / "next"))) == origins(again)


def test_a_value_written_anew_but_equal_stays_assumed_and_a_new_one_is_stated(
    tmp_path: Path,
) -> None:
    demo = read_scenario(DEMO)
    path = as_run(demo, tmp_path)
    again = changed(
        path,
        "[house.exhausts]\n",
        "[house.exhausts.dryer]\nairflow = '100 cfm'\nruntime = '30 min'\n",
    )
    found = origins(again)
    assert found["house.exhausts.dryer.airflow"] == "stated"
    assert {k: v for k, v in found.items() if ".dryer." not in k} == origins(demo)


def test_a_measured_value_that_was_changed_is_no_longer_measured(tmp_path: Path) -> None:
    source = tmp_path / "house.toml"
    text = DEMO.read_text(encoding="utf-8").replace(
        "\n[weather]", '\nmeasured = ["house.ach50"]\n\n[weather]', 1
    )
    source.write_text(text, encoding="utf-8")
    scenario = read_scenario(source)
    assert origins(scenario)["house.ach50"] == "measured"
    path = as_run(scenario, tmp_path)
    assert origins(read_scenario(path))["house.ach50"] == "measured"
    again = changed(path, 'ach50 = "2.0 ± 0.4 1/hour"', "ach50 = 3.1")
    assert origins(again)["house.ach50"] == "stated"


def test_a_label_stays_a_label_and_its_seer2_stays_in_the_file(tmp_path: Path) -> None:
    source = tmp_path / "house.toml"
    source.write_text(new_house("house.toml"), encoding="utf-8")
    scenario = read_scenario(source)
    path = as_run(scenario, tmp_path)
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    label = tomllib.loads(source.read_text(encoding="utf-8"))["equipment"]["cooling"]["label"]
    assert table["provenance"]["labels"]["equipment.cooling"] == label and "seer2" in label
    again = read_scenario(path)
    assert_same_run(scenario, again)
    for one in (scenario, again):
        found = origins(one)
        stage = "equipment.cooling.stages[1]"
        assert found[f"{stage}.capacity"] == found[f"{stage}.cop"] == "label"
        # The label says nothing of these.
        assert found[f"{stage}.shr"] == found[f"{stage}.airflow"] == "assumed"
    after = changed(
        path, f"cop = {table['equipment']['cooling']['stages'][0]['cop']!r}", "cop = 3.3"
    )
    assert origins(after)["equipment.cooling.stages[1].cop"] == "stated"
    assert origins(after)["equipment.cooling.stages[1].capacity"] == "label"
