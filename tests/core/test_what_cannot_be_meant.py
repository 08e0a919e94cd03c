"""Numbers and names that cannot be meant: each is refused in one sentence with the text to write."""

import inspect
import re
from pathlib import Path
from typing import Any

import attrs
import pandas as pd
import pytest

import moistsim as ms
from moistsim.core.errors import InputError
from moistsim.core.units import KINDS, Stated
from moistsim.scenario import read_scenario

DESCRIPTIONS = [
    each
    for each in (getattr(ms, name) for name in ms.__all__)
    if inspect.isclass(each)
    and attrs.has(each)
    and any("help" in field.metadata for field in attrs.fields(each))
]
FIELDS = [
    (kind, field)
    for kind in DESCRIPTIONS
    for field in attrs.fields(kind)
    if field.metadata.get("unit") in KINDS and "limits" in field.metadata
]
TYPED = (0.06, 0.3, 0.42, 0.55, 1.2, 2, 3, 3.6, 5, 8, 13, 17, 24, 36, 45, 55, 60, 75, 80, 104, 120, 160,
         200, 300, 400, 480, 880, 1650, 2400, 8000, 36000, 80000)  # fmt: skip
"""Numbers that people write for one thing or another, with their unit in mind and not in the file."""


def taken(kind: Any, field: Any, value: Any) -> float:
    """The value that a field of a description takes, without the rest of the description."""
    number: float = field.converter.converter(value, object.__new__(kind), field)
    return number


def refusal(make: Any) -> str:
    with pytest.raises(InputError) as refused:
        make()
    return str(refused.value)


@pytest.mark.parametrize(
    ("kind", "field"), FIELDS, ids=[f"{kind.__name__}.{field.name}" for kind, field in FIELDS]
)
def test_every_field_takes_asks_or_refuses(kind: Any, field: Any) -> None:
    """In less than 300 characters; and the text that a question offers is taken."""
    for number in TYPED:
        try:
            assert taken(kind, field, number) == pytest.approx(number)
        except InputError as error:
            said = str(error)
            assert said.startswith(f"{kind.__name__}.{field.name}: {number}") and len(said) < 300
            for text in re.findall(r"'([^']+)'", said.partition("Did you mean")[2]):
                offered = taken(kind, field, text)
                # The other unit is what makes the difference, and it is not asked about again.
                assert offered != pytest.approx(number)
                assert taken(kind, field, offered) == offered


@pytest.mark.parametrize(
    ("kind", "field"), FIELDS, ids=[f"{kind.__name__}.{field.name}" for kind, field in FIELDS]
)
def test_no_field_takes_a_number_without_end(kind: Any, field: Any) -> None:
    for number in (1e300, float("inf"), float("nan"), "1e999"):
        assert len(refusal(lambda number=number: taken(kind, field, number))) < 300


ASKED = [
    (lambda: ms.Stage(capacity=3), "3 is 0.003 kW if it is in W. Did you mean '3 ton' or '3 kW'?"),
    (lambda: ms.Cooling.typical(36), "Did you mean '36 kBtu/h'?"),
    (lambda: [ms.Stage(capacity=c) for c in (17, 24)], "Did you mean '17 kW' or '17 kBtu/h'?"),
    (lambda: ms.Strips(stages=[3.6, 3.6]), "Did you mean '3.6 kW'?"),
    (lambda: ms.Ventilation(airflow=80), "80 is 169,510 cfm if it is in m³/s. Did you mean '80 cfm'"),
    (lambda: ms.Gains(moisture=8), "Did you mean '8 pints/day'"),
    (lambda: ms.House(floor_area=100, ceiling_height=8), "Did you mean '8 ft'?"),
    (lambda: ms.Envelope(wall_u=13), "13 is 2.289 Btu/(h ft² °F) if it is in W/(m² K). Did you mean 'R-13'?"),
    (lambda: ms.Envelope(wall_u=0.06), "Did you mean '0.06 Btu/(h ft2 F)'?"),
    (lambda: ms.Envelope(window_u=0.3), "Did you mean '0.3 Btu/(h ft2 F)'?"),
    (lambda: ms.House(floor_area=1650), "1650 is 17,760 ft² if it is in m². Did you mean '1650 ft2'?"),
    (lambda: ms.House(floor_area=9000), "Did you mean '9000 ft2'?"),
    (lambda: ms.Cooling(stages=[ms.Stage(capacity="3 ton")], minimum_off=5), "Did you mean '5 min'?"),
    (lambda: ms.Cooling(stages=[ms.Stage(capacity="3 ton")], fan_power=0.42), "Did you mean '0.42 W/cfm'"),
    (lambda: ms.Cooling(stages=[ms.Stage(capacity="3 ton")], frost_limit=30), "Did you mean '30 F'?"),
    (lambda: ms.Furnace(capacity=60), "Did you mean '60 kBtu/h'?"),
    (lambda: ms.Strips(stages=["5 kW"], limit_temperature=180), "Did you mean '180 F'?"),
    (lambda: ms.ExhaustFan(airflow="100 cfm", runtime=45), "Did you mean '45 min'?"),
    (lambda: ms.Emissions(electricity=880), "Did you mean '880 lb/MWh'"),
    (lambda: ms.Tariff(other_use=500), "Did you mean '500 kWh/month'"),
    (lambda: ms.strategies.with_dehumidifier(target_rh=0.55), "Did you mean '55 %'?"),
    (lambda: ms.rule_table([{"do": "dehumidifier", "when": "humidity > 0.55",
                             "release_when": "humidity < 50 %"}]), "Did you mean '55 %'?"),
    (lambda: ms.rule_table([{"do": "dehumidifier", "when": "humidity > 55 %", "for": 5,
                             "release_when": "humidity < 50 %"}]), "Did you mean '5 min'"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "question"), ASKED)
def test_a_bare_number_in_a_trade_unit_is_asked_about(make: Any, question: str) -> None:
    said = refusal(make)
    assert question in said and said.endswith("Write the unit.") and len(said) < 300


REFUSED = [
    (lambda: ms.Ventilation(airflow="8000 cfm"), "'8000 cfm' is too large. Use an airflow from 0 to 6,357 cfm."),
    (lambda: ms.Stage(capacity="3 ton", airflow="8000 cfm"),
     "3.78 m³/s (8,000 cfm) is 2,667 cfm a ton. Use 300 to 3,000 cfm for this capacity."),
    (lambda: ms.Gains(moisture="1,400,000 pints/day"), "Use a rate of water from 0 to 1,829 pints/day."),
    (lambda: ms.Gains(occupants=300), "300 is too large. Use a number from 0 to 200."),
    (lambda: ms.House(floor_area=100, ceiling_height="8 m"), "Use a length above 1.5 and up to 7 m."),
    (lambda: ms.House(floor_area="1 ft2"), "Use an area from 53.82 to 53,820 ft²."),
    (lambda: ms.Envelope(wall_u="13 W/(m2 K)"), "Use a U-value from 0 to 10 W/(m² K)."),
    (lambda: ms.Basement(wall_u="R-0.01"), "Use a U-value from 0.008806 to 1.761 Btu/(h ft² °F)."),
    (lambda: ms.Cooling.from_label("3 ton", 16, kind="two-stage", lower_stages=0.7), "such as [0.7]"),
    (lambda: ms.Cooling.from_label("3 ton", 16, kind="two-stage", lower_stages=2), "such as [0.7]"),
    (lambda: ms.Cooling.typical("3 ton", kind=["single"]), "one of single, two-stage, variable"),
    (lambda: ms.House(floor_area="9" * 100_000), "Use an area"),
    (lambda: ms.House(floor_area="9" * 100_000 + " ft2"), "Use an area"),
    (lambda: ms.House(floor_area=10**100_000), "Write '2000 ft2' or '186 m2'."),
    (lambda: ms.House(floor_area="1 " + "(" * 3000 + "ft2" + ")" * 3000), "Write '2000 ft2' or '186 m2'."),
    (lambda: ms.House(floor_area="1 ft**2**9**9**9"), "Write '2000 ft2' or '186 m2'."),
    (lambda: ms.House(floor_area="1 (m**9)**9**9"), "Write '2000 ft2' or '186 m2'."),
    (lambda: ms.strategies.temperature_only(cooling_setpoint="105 degF"), "40.0 °C (104.0 °F)."),
]  # fmt: skip


@pytest.mark.parametrize(("make", "sentence"), REFUSED)
def test_an_absurd_value_is_refused_in_its_own_unit(make: Any, sentence: str) -> None:
    said = refusal(make)
    assert sentence in said and len(said) < 300


@pytest.mark.parametrize(
    "make",
    [
        lambda: ms.House(floor_area=600, ceiling_height=5, stories=2, bedrooms=8),
        lambda: ms.House(floor_area="1900 m2", ceiling_height="6 m"),
        lambda: ms.House(floor_area=20, ceiling_height=2.1, bedrooms=0),
        lambda: ms.Gains(occupants=60, moisture="150 kg/day", appliances_and_lights="12 kW"),
        lambda: ms.Envelope(wall_u=0.1, roof_u=0.06, window_u=0.6),
        lambda: ms.Envelope(wall_u=3.5, window_u=6.9, wall_absorptance=0),
        lambda: ms.Envelope(wall_u="R-38", window_u="0.17 Btu/(h ft2 F)"),
        lambda: ms.Ventilation(airflow="5000 cfm"),  # a fan for the whole house, at night
        lambda: ms.Stage(capacity="15 ton"),
        lambda: ms.Stage(capacity="6000 Btu/h", airflow="200 cfm"),
        lambda: ms.Cooling(stages=[ms.Stage(capacity=9000)], minimum_off=0, fan_off_delay=0, fan_power=0),
        lambda: ms.strategies.temperature_only(cooling_setpoint="104 degF"),
        lambda: ms.strategies.temperature_only(cooling_setpoint="50 degF", heating_setpoint="41 degF"),
    ],
)  # fmt: skip
def test_unusual_houses_that_exist_are_taken(make: Any) -> None:
    assert make() is not None


def test_an_r_value_is_the_reciprocal_of_a_u_value() -> None:
    """R-13 is 13 h ft2 °F/Btu, 2.289 m2 K/W: 0.1761 m2 K/W each (NIST SP 811, from memory)."""
    assert ms.Envelope(wall_u="R-13").wall_u == pytest.approx(1.0 / (13.0 * 0.1761102), rel=1e-6)


def test_a_limit_is_a_limit_in_every_unit() -> None:
    """104 °F is 40 °C, and a rounding of the conversion does not make it more."""
    assert (
        ms.strategies.temperature_only(cooling_setpoint="104 degF").settings["cooling_setpoint"]
        == 40.0
    )
    assert ms.House(floor_area=100, ceiling_height=f"{7 / 0.3048!r} ft").ceiling_height == 7.0


@pytest.mark.parametrize("kind", DESCRIPTIONS, ids=lambda kind: kind.__name__)
def test_a_name_that_is_nearly_a_field_is_told(kind: Any) -> None:
    name = max((field.name for field in attrs.fields(kind)), key=len)
    wrong = name.replace(name[2], "", 1)
    said = refusal(lambda: kind(**{wrong: 1}))
    assert said.startswith(f"{kind.__name__}: unknown field '{wrong}'. Did you mean '")
    assert f"'{name}'" in said and len(said) < 300
    assert "has no name" in refusal(lambda: kind(1))


def test_all_that_is_missing_is_told_at_once(tmp_path: Path) -> None:
    assert refusal(ms.ExhaustFan) == (
        "ExhaustFan: airflow and runtime missing. Use airflow, such as '110 cfm'; runtime, such as '5 "
        "min'."
    )
    assert "do, when and release_when missing" in refusal(lambda: ms.rule_table([{"for": "5 min"}]))
    path = tmp_path / "house.toml"
    path.write_text(
        'place = "Miami"\n[house]\nfloor_area = "1500 ft2"\n[house.exhausts.dryer]\n'
        '[equipment.cooling.typical]\ncapacity = "2 ton"\n'
    )
    assert refusal(lambda: read_scenario(path)).startswith(
        "house.toml [house.exhausts.dryer]: airflow and runtime missing."
    )


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 3000 + "]" * 3000,
        "a = " + "[" * 3000,
        "a = " + "{a = " * 3000 + "1" + "}" * 3000,
        ".".join("a" * 3000) + " = 1",
        "[" + ".".join(["house"] * 300) + "]",
        "[house]\nfloor_area = " + "9" * 100_000,
    ],
)
def test_files_without_end_are_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "house.toml"
    path.write_text(text)
    assert len(refusal(lambda: read_scenario(path))) < 300


def test_a_tornado_of_a_design_says_what_it_needs() -> None:
    frame = pd.DataFrame(
        {"case": [0, 1], "house.ach50": [3.0, 1.0], "option": "plain", "cost_USD": [9.0, 8.0],
         "status": "ok"}
    )  # fmt: skip
    assert "number of the base case" in refusal(lambda: ms.tornado(frame, frame))
    assert "cost_USD" in refusal(lambda: ms.tornado(frame, 0))


def test_a_stated_number_stays_stated_when_a_description_changes() -> None:
    wall = ms.Envelope(wall_u="0.05 W/(m2 K)")
    assert isinstance(wall.wall_u, Stated)
    assert attrs.evolve(wall, roof_u=0.2).wall_u == 0.05
