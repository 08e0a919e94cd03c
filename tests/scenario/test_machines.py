"""Machines in a scenario are read, written and refused.

Machines in a scenario: strips, furnace and hot gas; a unit by its label, its maker's table or its
class.
"""

from pathlib import Path

import pytest
from support.performance_tables import table_of
from support.scenario_files import HOUSE, read, refused

import moistsim as ms
from moistsim.scenario import read_scenario, write_scenario


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
        "house.toml [equipment.strips] lockout_hours: cannot use '14-18'. Use two different "
        "hours from 0 to 24, such as [14, 18], or none: []."
    )


def test_the_fan_switch_in_a_file(folder: Path) -> None:
    """Fan switch, circulation, airflow of the fan alone and both delays, read and written back."""
    own = (
        STAGES + 'fan = "circulation"\ncirculation = "15 min"\nfan_airflow = "50 %"\n'
        'fan_off_delay = "45 s"\n[equipment.furnace]\ncapacity = "40 kBtu/h"\n'
        'fan_off_delay = "100 s"\n'
    )
    scenario = read(folder, with_cooling(own))
    machines = scenario.study.options["plain"][0]
    assert machines.cooling == ms.Cooling(
        stages=[ms.Stage(capacity="2 ton")], fan="circulation", circulation=900.0, fan_airflow=0.5,
        fan_off_delay=45.0,
    )  # fmt: skip
    assert machines.furnace.fan_off_delay == 100.0
    write_scenario(scenario, folder / "as_run.toml")
    again = read_scenario(folder / "as_run.toml").study
    assert again.options["plain"][0] == machines
    bad = with_cooling(STAGES + 'fan = "always"\n')
    assert refused(folder, bad) == (
        "house.toml [equipment.cooling] fan: cannot use 'always'. Use one of auto, on, circulation."
    )


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
            "house.toml [equipment.cooling.label] seer2: cannot use 44. Use a value from 6 to 40 Btu/h/W",
        ),
        (
            '[equipment.cooling.label]\nseer2 = 15\n',
            "house.toml [equipment.cooling.label] capacity: missing. How large is the "
            "air conditioner? Write capacity = '2.5 ton'",
        ),
        (
            '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 15\nair_flow = 16\n',
            "house.toml [equipment.cooling.label]: unknown key 'air_flow'. "
            "Did you mean 'airflow'?",
        ),
        (
            '[equipment.cooling.label]\ncapacity = "2 ton"\nseer2 = 15\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling]: label and typical together. Use one of",
        ),
        (
            '[equipment.cooling]\nstages = [{ capacity = "2 ton" }]\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling]: typical and stages together. Use one of",
        ),
        (
            '[equipment.cooling.table]\nfile = "nowhere.csv"\n',
            "house.toml [equipment.cooling.table] file: 'nowhere.csv' is not a file",
        ),
        (
            '[equipment.cooling]\nfan_power = "-1 W/cfm"\n'
            '[equipment.cooling.typical]\ncapacity = "2 ton"\n',
            "house.toml [equipment.cooling] fan_power: '-1 W/cfm' is too small. Use",
        ),
        (
            '[equipment.cooling.typical]\ncapacity = "2 parsec"\n',
            "house.toml [equipment.cooling.typical]",
        ),
        ("[equipment]\ncooling = { label = 3 }\n", "house.toml [equipment.cooling.label]: cannot use 3"),
    ],
)  # fmt: skip
def test_a_wrong_way_of_describing_names_its_table(folder: Path, text: str, sentence: str) -> None:
    found = refused(folder, with_cooling(text))
    assert found.startswith(sentence), found
