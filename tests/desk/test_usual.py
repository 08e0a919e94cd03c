"""A house of its own is compared with the demo's ways to dry, at its own setpoints."""

from pathlib import Path

from moistsim.core.units import Role
from moistsim.desk import moved, with_usual_options
from moistsim.scenario import checksum, new_house, read_scenario, scenario_of, write_scenario


def test_each_way_has_the_house_s_machines_and_setpoints(tmp_path: Path) -> None:
    alone = scenario_of(new_house("mine.toml", "us"), "mine.toml")
    found = moved(with_usual_options(alone), {"cooling_setpoint": 25.0})
    assert len(alone.study.options) == 1
    options = found.study.resolved
    assert len(options) == 4
    unit = alone.study.resolved["As found"].equipment.cooling
    for name, option in options.items():
        assert option.equipment.cooling == unit, name
        assert option.strategy.setpoint(Role.COOLING) == 25.0, name
        assert option.house == alone.study.house, name
    assert [name for name, it in options.items() if it.equipment.strips] == [
        "Staged compressor with strip reheat"
    ]
    assert {*found.purchases} == {*options}
    assert found.study.base == "As found"
    write_scenario(found, tmp_path / "saved.toml")
    assert checksum(read_scenario(tmp_path / "saved.toml")) == checksum(found)


def test_a_house_without_ventilation_gets_a_fan(tmp_path: Path) -> None:
    alone = scenario_of(new_house("mine.toml", "us"), "mine.toml")
    assert alone.study.resolved["As found"].equipment.ventilation is None
    aired = moved(alone, {"ventilation": 0.03}).study.resolved["As found"].equipment.ventilation
    assert (aired.airflow, aired.kind) == (0.03, "supply")
    still = moved(alone, {"ventilation": 0.0}).study.resolved["As found"].equipment
    assert still.ventilation is None
