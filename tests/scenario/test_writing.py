"""A scenario written as run: everything explicit, and read again as equal."""

import tomllib
from pathlib import Path
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.scenario_files import HOUSE, assert_same_run, read

import moistsim as ms
from moistsim.controls.strategies import ADDITIONS, BUILT_IN
from moistsim.scenario import DEMO, Scenario, read_scenario, write_scenario


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
            f"house.envelope.ground.{name}"
            for name in ("depth", "mean_temperature", "amplitude", "coldest_day")
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
        *(
            f"house.{name}"
            for name in ("crawl_space", "basement", "attic", "garage", "second_zone")
        ),
        "house.contents_store",
        "house.vapor_sources.construction_from",
        "house.occupancy",
        "house.window_opening",
        "house.bedroom",
    ]  # fmt: skip
    assert missing(ms.Equipment, table["equipment"], "equipment") == [
        "equipment.cooling.stages.curves",
        "equipment.strips",
        "equipment.dehumidifier",
        "equipment.heating",
        "equipment.furnace",
        "equipment.hot_gas",
        *(f"equipment.{name}_dehumidifier" for name in ("crawl_space", "basement", "attic")),
        "equipment.room_heater",
        "equipment.ventilation.airflow",
        *(
            f"equipment.ventilation.{name}"
            for name in ("frost_limit", "lockout_dew_point", "lockout_above", "lockout_below")
        ),
        "equipment.outdoor_sensor",
        "equipment.relays.release_after",
        "equipment.enable",
        "equipment.zoning",
        "equipment.second_system",
    ]
    box = table["options"]["with box"]
    assert missing(ms.Dehumidifier, box["equipment"]["dehumidifier"], "box") == [
        f"box.{name}"
        for name in ("integrated_energy_factor", "bucket", "humidistat", "defrost_below")
    ]
    assert list(box["setpoints"]) == list(ms.strategies.with_dehumidifier.settings)
    assert table["house"]["floor_area"] == f"{scenario.study.house.floor_area!r} m2"
    assert table["base"] == "plain"
    assert table["weather"]["checksum"] == scenario.study.weather.checksum
    assert table["provenance"]["scenario"] == "house.toml"
    assert table["provenance"]["season"] == "1990-06-02 to 1990-06-05"
    assert "moistsim" in table["provenance"]
    # A weather file is named as seen from the new folder.
    assert_same_run(scenario, read_scenario(tmp_path / "scenario.toml"))


amounts = st.floats(0.1, 1.0)
profiles = st.lists(st.floats(0.0, 10.0), min_size=24, max_size=24).filter(lambda x: sum(x) > 0.1)
houses = st.builds(
    ms.House,
    floor_area=st.floats(30.0, 590.0),
    stories=st.sampled_from([1, 2, 3]),
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


@pytest.mark.slow
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
    study = ms.Study(house, options, ms.Weather.read(weather), tariff=ms.Tariff(price=price))
    one = Scenario("any", note, study, weather, folder / "house.toml")
    path = tmp_path_factory.mktemp("any") / "scenario.toml"
    write_scenario(one, path)
    assert_same_run(one, read_scenario(path))
