"""Scenario files of a small house: written, read, refused, and compared as run."""

import itertools
from pathlib import Path
from typing import Any

import attrs
import pytest

from moistsim.scenario import Scenario, ScenarioError, read_scenario

SAMPLES = Path(__file__).resolve().parents[2] / "weather_samples"


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
setpoints = { cooling_setpoint = "77 degF" }
[options."with box"]
strategy = "with_dehumidifier"
[options."with box".equipment.dehumidifier]
capacity = "50 pint/day"
"""

FIVE_OPTIONS = """\
name = "House of the tests"
note = "Invented."
base = "Plain"
[weather]
file = "october.csv"
[season]
start = "10-22"
end = "10-25"
[house]
floor_area = "1500 ft2"
ach50 = 3
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.strips]
stages = ["5 kW"]
[equipment.ventilation]
airflow = "70 cfm"
[options.Plain]
strategy = "temperature_only"
[options."A machine that nobody has bought yet, though the control asks for it: Überraschung"]
strategy = "temperature_only"
setpoints = { cooling_setpoint = "78 degF" }
[options.Reheat]
strategy = "staged_reheat"
[options.Colder]
strategy = "overcooling"
[options.Box]
strategy = "with_dehumidifier"
[options.Box.equipment.dehumidifier]
capacity = "70 pint/day"
"""
"""Five options for ten days of October; one has a long name."""


def write_ten_days(file: Path, first: str) -> None:
    """Ten days of the Miami sample, from a day such as ``"06-01"``."""
    lines = (SAMPLES / "miami.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    head = [line for line in lines if line.startswith(("#", "time"))]
    days = itertools.dropwhile(lambda line: not line.startswith(f"1990-{first}T01"), lines)
    file.write_text("".join([*head, *itertools.islice(days, 240)]), encoding="utf-8")


def read(folder: Path, text: str) -> Scenario:
    """What a text says, as a file of the folder."""
    path = folder / "house.toml"
    path.write_text(text, encoding="utf-8")
    return read_scenario(path)


def refused(folder: Path, text: str) -> str:
    """The sentence with which a text is refused."""
    with pytest.raises(ScenarioError) as caught:
        read(folder, text)
    return str(caught.value)


def described(value: Any) -> Any:
    """A description as nested dicts, to be compared with `expected`."""
    if attrs.has(type(value)):
        return {f.name: described(getattr(value, f.name)) for f in attrs.fields(type(value))}
    return [described(item) for item in value] if isinstance(value, tuple) else value


def expected(value: Any) -> Any:
    """A description as nested dicts, its profiles to all but their last bits.

    The same, the profiles to all but their last bits: reading one divides by its mean, which
    is 1 only to rounding.
    """
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
    for name, option in a.resolved.items():
        assert b.resolved[name].equipment == option.equipment
        assert b.resolved[name].strategy == option.strategy
        assert described(b.resolved[name].house) == expected(option.house)
    assert b.tariff == a.tariff
    assert b.weather == a.weather
    assert (b.start, b.end, b.step) == (a.start, a.end, a.step)
    assert b.base == (a.base or next(iter(a.options)))
    assert (two.purchases, two.terms) == (one.purchases, one.terms)
    assert two.risk_basis == one.risk_basis
