"""What `help` shows of a description: each field, from what the code declares."""

import inspect
import subprocess
import sys

import attrs
import pytest

import moistsim as ms
from moistsim.core.fields import field_rows

DESCRIPTIONS = [
    each
    for each in (getattr(ms, name) for name in ms.__all__)
    if inspect.isclass(each)
    and attrs.has(each)
    and any("help" in field.metadata for field in attrs.fields(each))
]


@pytest.mark.parametrize("cls", DESCRIPTIONS, ids=lambda cls: cls.__name__)
def test_the_docstring_shows_each_field(cls: type) -> None:
    text = inspect.getdoc(cls) or ""
    for row in field_rows(cls):
        assert f"\n{row.name} : " in text
        if row.unit:
            assert f"Unit: {row.unit}." in " ".join(text.split())


def test_rows_give_limits_and_defaults_in_both_units() -> None:
    rows = {row.name: row for row in field_rows(ms.House)}
    assert rows["floor_area"].default == "required"
    # 5000 m2 over 0.3048^2 m2/ft2; 2.5 m over 0.3048 m/ft.
    assert rows["floor_area"].limits == "from 5 to 5,000 m² (from 53.82 to 53,820 ft²)"
    assert rows["ceiling_height"].default == "2.5 m (8.202 ft)"
    assert rows["stories"][1:5] == ("number or text with unit", "", "1", "from 1 to 3")
    assert {row.name: row.limits for row in field_rows(ms.Ventilation)}[
        "airflow"
    ] == "from 0 to 3 m³/s (from 0 to 6,357 cfm)"
    assert field_rows(ms.Cooling)[0][1:4] == ("list of Stage", "", "required")


def test_parameters_come_before_the_examples() -> None:
    text = inspect.getdoc(ms.House) or ""
    assert text.index("Parameters\n") < text.index("Examples\n")
    assert text.splitlines()[0].endswith(".")


def test_the_unit_registry_is_loaded_only_when_it_is_asked_for() -> None:
    code = "import sys, moistsim; assert 'pint' not in sys.modules; moistsim.House.__doc__; "
    code += "assert 'pint' in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)
