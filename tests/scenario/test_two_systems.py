"""A scenario of two systems: read, written as run, read again; and what it says when it cannot be used."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import moistsim as ms
from moistsim.scenario import inputs, read_scenario, write_scenario
from moistsim.scenario.places import ScenarioError

FILE = """
[weather]
sample = "miami"
[season]
start = "07-01"
end = "07-02"
[house]
floor_area = "2000 ft2"
stories = 2
[house.second_zone]
kind = "upper floor"
[house.second_zone.ducts]
location = "attic"
[equipment]
cooling = { stages = [{ capacity = "18000 Btu/h" }] }
strips = { stages = ["5 kW"] }
[equipment.second_system]
cooling = { stages = [{ capacity = "18000 Btu/h" }] }
[options."as found"]
strategy = "temperature_only"
[options."dry below"]
strategy = "staged_reheat"
setpoints = { cooling_setpoint = "76 degF" }
[options."dry below".second]
strategy = "temperature_only"
setpoints = { cooling_setpoint = "25 ± 0.5 degC" }
[options."warmer above"]
strategy = "staged_reheat"
setpoints = { cooling_setpoint = "24 degC", heating_setpoint = "20 degC" }
[options."warmer above".second]
setpoints = { cooling_setpoint = "25 degC" }
"""


def written(folder: Path, text: str = FILE) -> Path:
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_each_system_has_its_control(tmp_path: Path) -> None:
    study = read_scenario(written(tmp_path)).study
    found = {name: option.strategy for name, option in study.resolved.items()}
    assert found["as found"].second is found["as found"]
    assert (found["dry below"].main.name, found["dry below"].second.name) == (
        "staged_reheat", "temperature_only",
    )  # fmt: skip
    assert found["dry below"].second.settings["cooling_setpoint"] == 25.0
    warmer = found["warmer above"].second
    assert (warmer.name, warmer.settings["cooling_setpoint"]) == ("staged_reheat", 25.0)
    assert warmer.settings["heating_setpoint"] == pytest.approx(20.0)
    machines = study.resolved["as found"].equipment
    assert machines.second_system is not None and machines.second_system.strips is None
    assert "attic" in study.house.spaces


def test_the_run_is_written_and_read_again(tmp_path: Path) -> None:
    scenario = read_scenario(written(tmp_path))
    assert set(scenario.ranges) == {"options.dry below.strategy.second_cooling_setpoint"}
    write_scenario(scenario, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert again.ranges == scenario.ranges
    for name, option in scenario.study.resolved.items():
        assert again.study.resolved[name] == option, name
    keys = {item.key: item for item in inputs(scenario)}
    point = keys['options."warmer above".second.setpoints.cooling_setpoint']
    assert (point.value, point.origin) == (25.0, "stated")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'strategy = "temperature_only"\nsetpoints',
            'strategy = "temperature"\nsetpoints',
            "temperature_only",
        ),
        ('cooling_setpoint = "25 degC"', 'coling_setpoint = "25 degC"', "cooling_setpoint"),
        ('[options."warmer above".second]', '[options."warmer above".seconds]', "second"),
        ("[equipment.second_system]", "[equipment.second]", "second_system"),
    ],
)
def test_an_error_names_the_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert FILE.count(old) == 1
    with pytest.raises(ScenarioError, match=said) as refused:
        read_scenario(written(tmp_path, FILE.replace(old, new)))
    print(refused.value)


def test_humidity_setpoints_of_both_controls_move_together() -> None:
    from moistsim.controls import moved, thresholds

    own = ms.strategies.staged_reheat
    both = own.with_second(own(stage_1_above=57.0) if "stage_1_above" in own.settings else own)
    unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    dryer = ms.Dehumidifier(capacity="50 pint/day", humidistat=52)
    machines = ms.Equipment(
        cooling=unit, second_system=ms.SecondSystem(cooling=unit, dehumidifier=dryer)
    )
    names = {each.name for each in thresholds(machines, both)}
    second = {name for name in names if name.startswith("second_")}
    assert (
        second
        and {name.removeprefix("second_") for name in second} | {"humidistat"} == names - second
    )
    changed, control = moved(machines, both, 2.0)
    for name in second:
        assert control.settings[name] == pytest.approx(both.settings[name] + 2.0)
    assert changed.second_system is not None and changed.second_system.dehumidifier is not None
    assert changed.second_system.dehumidifier.humidistat == pytest.approx(54.0)


@settings(max_examples=20, deadline=None)
@given(above=st.floats(23.5, 26.0), below=st.floats(23.5, 26.0))
def test_a_copy_with_settings_divides_them(above: float, below: float) -> None:
    both = ms.strategies.temperature_only.with_second(ms.strategies.overcooling)
    changed = both(cooling_setpoint=below, second_cooling_setpoint=above)
    assert changed.main.settings["cooling_setpoint"] == below
    assert changed.second.settings["cooling_setpoint"] == above
    assert changed.settings["second_cooling_setpoint"] == above


def test_a_sweep_varies_the_second_system_in_processes() -> None:
    """Its setpoints and its machines by name; an option of one system has no such measures."""
    unit = ms.Cooling(stages=[ms.Stage(capacity="18 kBtu/h")])
    control = ms.strategies.temperature_only
    study = ms.Study(
        ms.House(floor_area="2000 ft2", stories=2, second_zone=ms.SecondZone()), {
            "one": (ms.Equipment(cooling=unit), control),
            "two": (
                ms.Equipment(cooling=unit, second_system=ms.SecondSystem(cooling=unit)),
                control.with_second(control),
            ),
        },
        ms.Weather.sample("miami"),
        start="07-01", end="07-03",
    )  # fmt: skip
    sweep = ms.Sweep(
        study,
        {
            "strategy.second_cooling_setpoint": ["74 degF", "78 degF"],
            "equipment.second_system.standby_power": [0.0, 50.0],
        },
    )
    frame = sweep.run(workers=2, progress=False)
    assert set(frame["status"]) == {"ok"}
    own = frame[frame["option"] == "two"].sort_values("case")
    kwh = own["second_system_total_kWh"].to_numpy()
    assert kwh[0] > kwh[2] + 1.0 and kwh[1] - kwh[0] == pytest.approx(0.05 * 72.0, abs=1.0)
    assert own["second_system_cooling_stage_1_starts"].gt(0).all()
    assert frame.loc[frame["option"] == "one", "second_system_total_kWh"].isna().all()
