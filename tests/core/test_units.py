"""Trade units in and out, against plain arithmetic; and the sentences for what is no quantity."""

import math
import pickle
import re
from fractions import Fraction
from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import moistsim as ms
from moistsim.core.errors import InputError, brief
from moistsim.core.units import KINDS, expected, from_si, registry, to_si

# Exact by definition: NIST SP 811 appendix B (from memory): foot, pound, US gallon, International
# Table Btu, ton of refrigeration = 12000 Btu/h.
FOOT, POUND, GALLON = 0.3048, 0.45359237, 3.785411784e-3
BTU = 1055.05585262
PINT = GALLON / 8.0
CFM = FOOT**3 / 60.0
WATER = 998.2
"""kg/m3: what our pints of water weigh (8.33 lb/gal)."""

CONVERSIONS = [
    ("8 ft", "m", 8 * FOOT),
    ("2000 ft2", "m2", 2000 * FOOT**2),
    ("2000 ft**2", "m2", 2000 * FOOT**2),
    ("110 cfm", "m3/s", 110 * CFM),
    ("50 L/s", "m3/s", 0.05),
    ("60 cfm/kW", "m3/s/W", 60 * CFM / 1000),
    ("24000 Btu/h", "W", 24000 * BTU / 3600),
    # ASHRAE 55, from memory: 1 met is 58.2 W/m2, 1 clo 0.155 m2 K/W.
    ("116.4 W/m2", "met", 2.0),
    ("0.31 m2 K/W", "clo", 2.0),
    ("24 kBtu/h", "W", 24000 * BTU / 3600),
    ("2 ton", "W", 24000 * BTU / 3600),
    ("2.5 tons", "W", 30000 * BTU / 3600),
    ("5 kW", "W", 5000.0),
    ("0.45 W/cfm", "W/(m3/s)", 0.45 / CFM),
    ("0.09 Btu/(h ft2 delta_degF)", "W/(m2 K)", 0.09 * BTU / 3600 / FOOT**2 * 1.8),
    ("0.09 Btu/(h ft2 degF)", "W/(m2 K)", 0.09 * BTU / 3600 / FOOT**2 * 1.8),
    ("2.4 Btu/(ft2 delta_degF)", "J/(m2 K)", 2.4 * BTU / FOOT**2 * 1.8),
    ("50 kJ/(m2 K)", "J/(m2 K)", 50e3),
    ("75 degF", "degC", 43 / 1.8),
    ("-40 degF", "degC", -40.0),
    ("300 K", "degC", 26.85),
    ("2 delta_degF", "delta_degC", 2 / 1.8),
    ("2 degF", "delta_degC", 2 / 1.8),
    ("2 K", "delta_degC", 2.0),
    ("2 degC", "delta_degC", 2.0),
    ("5 min", "s", 300.0),
    ("21 day", "s", 21 * 86400.0),
    ("90 pint/day", "kg/s", 90 * PINT * WATER / 86400),
    ("20 lb/day", "kg/s", 20 * POUND / 86400),
    ("10 kg/day", "kg/s", 10 / 86400),
    ("10 L/day", "kg/s", 10 * WATER / 1000 / 86400),
    ("1.1 lb", "kg", 1.1 * POUND),
    ("1 pint", "kg", PINT * WATER),
    ("2.8 L/kWh", "kg/J", 2.8 * WATER / 1000 / 3.6e6),
    ("5.9 pint/kWh", "kg/J", 5.9 * PINT * WATER / 3.6e6),
    ("40 lb/ft3", "kg/m3", 40 * POUND / FOOT**3),
    ("7 mph", "m/s", 7 * 5280 * FOOT / 3600),
    ("1.5 1/hour", "1/hour", 1.5),
    ("12.2 Btu/h/W", "W/W", 12.2 * BTU / 3600),
    ("55 %", "percent", 55.0),
    ("75 %", "fraction", 0.75),
    ("0.75", "fraction", 0.75),
    ("15 cent/kWh", "USD/kWh", 0.15),
    ("4", "count", 4.0),
    ("1e3 W", "W", 1000.0),
    ("+.5 W", "W", 0.5),
]


@pytest.mark.parametrize(("text", "unit", "value"), CONVERSIONS)
def test_text_to_si(text: str, unit: str, value: float) -> None:
    # pint's Btu is ISO 31-4's 1055.056 J, 1.4e-7 more than the International Table's.
    exact = 2e-7 if "Btu" in text or "ton" in text else 1e-9
    assert to_si(text, unit, "here") == pytest.approx(value, rel=exact)


@pytest.mark.parametrize("unit", KINDS)
def test_what_errors_suggest_can_be_typed(unit: str) -> None:
    """Both examples of every kind are read, and are the kind that they stand for."""
    for text in KINDS[unit][1:3]:
        assert math.isfinite(to_si(text, unit, "here"))
        assert f"'{text}'" in expected(unit)


@given(st.sampled_from([(text, unit) for text, unit, _ in CONVERSIONS if " " in text]),
       st.floats(-1e6, 1e6))  # fmt: skip
def test_there_and_back(case: tuple[str, str], number: float) -> None:
    text, unit = case
    trade = text.split(" ", 1)[1]
    if unit == "delta_degC":
        trade = "delta_degF"
    there = to_si(f"{number!r} {trade}", unit, "here")
    if unit in ("kg", "kg/s", "kg/J", "fraction", "1/hour", "W/(m2 K)", "J/(m2 K)"):
        return  # volumes of water and blanks in units are for reading only
    assert from_si(there, unit, trade) == pytest.approx(number, rel=1e-9, abs=1e-9)


def test_liters_of_water_come_back() -> None:
    assert from_si(1.0, "kg/s", "pint/day") == pytest.approx(86400 / (PINT * WATER), rel=1e-9)
    assert from_si(7e-7, "kg/J", "L/kWh") == pytest.approx(7e-7 * 3.6e6 / 0.9982, rel=1e-9)
    # Within 0.1 % of the pound a pint that the trade says.
    assert to_si("8 pint", "kg", "x") / POUND == pytest.approx(8.33, rel=1e-3)


def test_numbers_are_si() -> None:
    for value in (3, 3.0, np.float64(3.0), np.int64(3), np.float32(3.0), Fraction(3), "3"):
        assert to_si(value, "m2", "here") == 3.0
        assert type(to_si(value, "m2", "here")) is float


def test_pint_quantities() -> None:
    u = registry()
    assert to_si(u.Quantity(75, "degF"), "degC", "here") == pytest.approx(43 / 1.8)
    assert to_si(u.Quantity(100, "ft**2"), "m2", "here") == pytest.approx(100 * FOOT**2)
    assert to_si(u.Quantity(2, "delta_degF"), "delta_degC", "here") == pytest.approx(2 / 1.8)
    with pytest.raises(InputError):
        to_si(u.Quantity(2, "ft"), "m2", "here")


AREA = "Write '2000 ft2' or '186 m2'"


@pytest.mark.parametrize(
    "value",
    [
        None, True, False, np.True_, np.bool_(False), float("nan"), float("inf"), -float("inf"),
        "nan", "inf", "", "   ", "m2", "20 m", "20 m3", "20 degF", "20 m2 m2", "twenty m2",
        "20 nonsense", "0x10", "--3", "3 m2; import os", [3.0], (3.0,), {}, object,
        10**400, complex(1, 1), "1e999 m2",
    ],
)  # fmt: skip
def test_what_is_no_area(value: Any) -> None:
    with pytest.raises(InputError) as refusal:
        to_si(value, "m2", "House.floor_area")
    assert str(refusal.value) == f"House.floor_area: cannot read {brief(value)} as an area. {AREA}."
    assert refusal.value.accepted == AREA
    # "is" for NaN, which is no equal of itself.
    assert refusal.value.where == "House.floor_area" and refusal.value.found is value
    assert isinstance(refusal.value, ValueError)


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("percent", "a relative humidity, such as '55 %'"),
        ("fraction", "a fraction, such as '75 %' or '0.75'"),
        ("count", "a number, such as '4'"),
        ("degC", "a temperature, such as '75 F' or '24 C'"),
        ("kg/J", "an energy factor, such as '5.9 pints/kWh' or '2.8 L/kWh'"),
    ],
)
def test_what_is_accepted_reads_as_a_sentence(unit: str, text: str) -> None:
    assert expected(unit) == text
    with pytest.raises(InputError) as refusal:
        to_si("3 furlong", unit, "here")
    name, examples = text.split(", such as ")
    assert str(refusal.value) == f"here: cannot read '3 furlong' as {name}. Write {examples}."


# Each row: ways in which people write one quantity, its unit here, and its value by plain arithmetic.
TYPED = [
    (("75 F", "75F", "75°F", "75 °F", "75 ℉", "75 deg F", "75 degF", "75 degrees F",
      "75 degrees Fahrenheit", "75 fahrenheit", "75\N{NO-BREAK SPACE}°F"), "degC", 43 / 1.8),
    (("24 C", "24°C", "24 ℃", "24 degC", "24 Celsius", "297.15 K", "24"), "degC", 24.0),
    (("\N{MINUS SIGN}4 °F", "-4 F"), "degC", -20.0),
    (("2 °F", "2 F", "2 degF", "2 degrees F", "2 delta_degF"), "delta_degC", 2 / 1.8),
    (("1900 ft2", "1,900 ft²", "1900 sq ft", "1,900 sq. ft.", "1900 square feet", "1900 sqft",
      "1900 SF", "1900 ft^2", "1900 ft**2", "1900 Sq Ft"), "m2", 1900 * FOOT**2),
    (("185.8 m2", "185.8 m²", "185.8 sq m", "185.8 square meters", "185.8"), "m2", 185.8),
    (("24,000 BTU/h", "24000 btu/hr", "24000 Btu/hour", "24000 BTUH", "24 kBtu/h", "24 MBH",
      "2 tons", "2 ton", "2 Tons"), "W", 24000 * BTU / 3600),
    (("5 kW", "5 KW", "5,000 W", "5000"), "W", 5000.0),
    (("80 CFM", "80 cfm", "80 ft3/min", "80 ft³/min", "80 cubic feet per minute"), "m3/s", 80 * CFM),
    (("$0.15/kWh", "0.15 $/kWh", "15 cents/kWh", "15 ¢/kWh", "15 cents per kWh", "$0.15 / kWh",
      "0.15 USD/kWh", "$0.15/KWH"), "USD/kWh", 0.15),
    (("$1,800", "1,800 USD", "1800", "$ 1800.00"), "USD", 1800.0),
    (("-$5", "$-5", "-5 USD"), "USD", -5.0),
    (("$9.50/month", "$9.50 per month", "$9.50/mo"), "USD/month", 9.5),
    (("55% RH", "55 % RH", "55 %", "55%", "55 percent", "55 RH", "55 % rh"), "percent", 55.0),
    (("70 pints/day", "70 pt/day", "70 pint/day", "70 pints per day"), "kg/s",
     70 * PINT * WATER / 86400),
    (("R-13", "R13", "R 13", "13 ft2 h F/Btu"), "m2 K/W", 13 * 3600 * FOOT**2 / BTU / 1.8),
    (("0.09 Btu/(h ft2 F)", "0.09 Btu/(h·ft²·°F)", "0.09 BTU/(hr*ft2*F)"), "W/(m2 K)",
     0.09 * BTU / 3600 / FOOT**2 * 1.8),
    (("0.5 W/(m2 K)", "0.5 W/(m²·K)"), "W/(m2 K)", 0.5),
    (("2 ACH50", "2 ACH", "2 ach50", "2 air changes per hour", "2 1/hour", "2"), "1/hour", 2.0),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [(text, unit, value) for texts, unit, value in TYPED for text in texts],
)
def test_what_people_type(text: str, unit: str, value: float) -> None:
    # pint's Btu is ISO 31-4's 1055.056 J, 1.4e-7 more than the International Table's.
    assert to_si(text, unit, "here") == pytest.approx(value, rel=2e-7)


def _written(texts: tuple[str, ...]) -> list[tuple[str, str]]:
    """What stands before and behind the number in each way of writing, but for scaled units."""
    found = []
    for text in texts:
        match = re.fullmatch(r"([^\d]*?)([\d.,]+)(?!\d)(.*)", text)
        if match is not None and "\N{MINUS SIGN}" not in text and not match[1].startswith("-"):
            found.append((match[1], match[3], float(match[2].replace(",", ""))))
    usual = found[0][2]
    return [(before, behind) for before, behind, number in found if number == usual]


@given(
    st.sampled_from([row for row in TYPED if row[2] > 0.0]),
    st.integers(1, 9_999_999),
    st.integers(0, 4),
    st.data(),
)
def test_all_ways_of_writing_are_one_quantity(
    row: tuple[tuple[str, ...], str, float], whole: int, places: int, data: st.DataObject
) -> None:
    """Any number, with its thousands grouped or not, in any two of the ways of writing its unit."""
    ways, number = _written(row[0]), whole / 10**places
    plain = f"{number:.{places}f}"
    values = []
    for _ in range(2):
        before, behind = data.draw(st.sampled_from(ways))
        grouped = data.draw(st.booleans())
        text = before + (f"{number:,.{places}f}" if grouped else plain) + behind
        if behind or "R" in before or "$" in before:
            values.append(to_si(text, row[1], "here"))
    assert all(value == pytest.approx(values[0], rel=1e-12, abs=1e-12) for value in values)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("1,5", "Write '1.5' with a decimal point, or group thousands as in '1,500'."),
        ("1,5 ton", "Write '1.5 ton' with a decimal point, or group thousands as in '1,500'."),
        ("0,500 W", "Write '0.500 W' with a decimal point, or group thousands as in '1,500'."),
        ("15,00 W", "Write '15.00 W' with a decimal point, or group thousands as in '1,500'."),
        ("1,50,000 W", "Group thousands as in '1,500'."),
    ],
)
def test_a_comma_that_groups_nothing_is_asked_about(text: str, sentence: str) -> None:
    with pytest.raises(InputError) as refusal:
        to_si(text, "W", "here")
    assert str(refusal.value) == f"here: cannot read the comma in {text!r}. {sentence}"


def test_a_power_of_ten_in_superscripts_is_not_read_as_digits() -> None:
    with pytest.raises(InputError):
        to_si("10⁶ W", "W", "here")
    with pytest.raises(InputError):
        to_si("10² W", "W", "here")


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: ms.House(floor_area=1900),
         "House.floor_area: 1900 is 20,451 ft² if it is in m². Did you mean '1900 ft2'? Write the unit."),
        (lambda: ms.House(floor_area=185.8, ceiling_height=8),
         "House.ceiling_height: 8 is 26.25 ft if it is in m. Did you mean '8 ft'? Write the unit."),
        (lambda: ms.strategies.temperature_only(cooling_setpoint=75),
         "strategy temperature_only.cooling_setpoint: 75 is 167 °F if it is in °C. Did you mean "
         "'75 F'? Write the unit."),
        (lambda: ms.Stage(capacity=24000),
         "Stage.capacity: 24000 is 81,891 Btu/h if it is in W. Did you mean '24000 Btu/h'? Write the "
         "unit."),
        (lambda: ms.Stage(capacity=2),
         "Stage.capacity: 2 is 0.002 kW if it is in W. Did you mean '2 ton' or '2 kW'? Write "
         "the unit."),
        (lambda: ms.Ventilation(kind="supply", airflow=90),
         "Ventilation.airflow: 90 is 190,699 cfm if it is in m³/s. Did you mean '90 cfm' or '90 L/s'? "
         "Write the unit."),
        (lambda: ms.Gains(moisture=8),
         "Gains.moisture: 8 is 1,463,400 pints/day if it is in kg/s. Did you mean '8 pints/day' or "
         "'8 kg/day'? Write the unit."),
        (lambda: ms.Strips(stages=[5, 5]),
         "Strips.stages: 5 is 0.005 kW if it is in W. Did you mean '5 kW'? Write the unit."),
        (lambda: ms.Tariff(price=15),
         "Tariff.price: 15 is 1,500 cent/kWh if it is in USD/kWh. Did you mean '15 cent/kWh'? Write "
         "the unit."),
        (lambda: ms.Terms(discount_rate=5),
         "Terms.discount_rate: 5 is 500 % if it is a rate a year. Did you mean '5 %'? Write the unit."),
    ],
)  # fmt: skip
def test_a_bare_number_that_no_house_has_is_asked_about(make: Any, sentence: str) -> None:
    with pytest.raises(InputError) as refusal:
        make()
    assert str(refusal.value) == sentence


@pytest.mark.parametrize("area", [50, 185.8, 400, 600])
def test_a_plausible_number_is_taken_as_si(area: float) -> None:
    assert ms.House(floor_area=area).floor_area == area


def test_an_unusual_number_with_its_unit_is_not_asked_about_again() -> None:
    """Nor when the description is changed in another field, or has been to another process."""
    house = ms.House(floor_area="1900 m2")
    changed = attrs.evolve(pickle.loads(pickle.dumps(house)), stories=3)
    assert changed.floor_area == 1900.0
    assert attrs.evolve(changed, stories=2).floor_area == 1900.0


@pytest.mark.parametrize(
    ("text", "unit"), [("2.4 kWh/L", "kg/J"), ("55 degF", "percent"), ("2 ft", "delta_degC"),
                       ("3 kWh", "W"), ("100 Pa", "m3/s"), ("5 W", "W/(m2 K)")],
)  # fmt: skip
def test_another_dimension_is_refused(text: str, unit: str) -> None:
    with pytest.raises(InputError):
        to_si(text, unit, "here")
