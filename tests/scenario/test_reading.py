"""A scenario file is the descriptions that it stands for."""

from pathlib import Path
from typing import Any

from support.scenario_files import HOUSE, read

import moistsim as ms
from moistsim.controls.strategies import BUILT_IN
from moistsim.scenario import DEMO, read_scenario


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


def test_the_demo_is_invented_and_takes_the_setpoints_of_the_library() -> None:
    scenario = read_scenario(DEMO)
    assert "invented" in scenario.note
    study = scenario.study
    assert len(study.options) == 4
    strategies = [strategy for _, strategy in study.options.values()]
    assert strategies == [s for name, s in BUILT_IN.items() if name != "hot_gas_reheat"]
    assert study.base == next(iter(study.options))
    assert [m.dehumidifier is not None for m, _ in study.options.values()] == [False] * 3 + [True]
