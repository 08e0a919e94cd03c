"""Trade units in and out, against plain arithmetic; and the sentences for what is no quantity."""

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moistsim.core.errors import InputError
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
    for text in KINDS[unit][1:]:
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


AREA = "an area as a number in m2, or a text such as '186 m2' or '2000 ft2'"


@pytest.mark.parametrize(
    "value",
    [
        None, True, False, np.True_, np.bool_(False), float("nan"), float("inf"), -float("inf"),
        "nan", "inf", "", "   ", "m2", "20 m", "20 m3", "20 degF", "20 m2 m2", "twenty m2",
        "1,000 ft2", "20 nonsense", "0x10", "--3", "3 m2; import os", [3.0], (3.0,), {}, object,
        10**400, complex(1, 1), "1e999 m2",
    ],
)  # fmt: skip
def test_what_is_no_area(value: Any) -> None:
    with pytest.raises(InputError) as refusal:
        to_si(value, "m2", "House.floor_area")
    assert str(refusal.value) == f"House.floor_area: found {value!r}; accepted: {AREA}"
    assert (refusal.value.where, refusal.value.accepted) == ("House.floor_area", AREA)
    assert isinstance(refusal.value, ValueError)


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("percent", "a relative humidity as a number in percent, or a text such as '55 %'"),
        ("fraction", "a fraction, such as '0.75' or '75 %'"),
        ("count", "a number, such as '4'"),
        ("degC", "a temperature as a number in degC, or a text such as '24 degC' or '75 degF'"),
        (
            "kg/J",
            "an energy factor as a number in kg/J, or a text such as '2.8 L/kWh' or '5.9 pint/kWh'",
        ),
    ],
)
def test_what_is_accepted_reads_as_a_sentence(unit: str, text: str) -> None:
    assert expected(unit) == text
    with pytest.raises(InputError) as refusal:
        to_si("3 furlong", unit, "here")
    assert refusal.value.accepted == text


@pytest.mark.parametrize(
    ("text", "unit"), [("2.4 kWh/L", "kg/J"), ("55 degF", "percent"), ("2 ft", "delta_degC"),
                       ("3 kWh", "W"), ("100 Pa", "m3/s"), ("5 W", "W/(m2 K)")],
)  # fmt: skip
def test_another_dimension_is_refused(text: str, unit: str) -> None:
    with pytest.raises(InputError):
        to_si(text, unit, "here")
