"""One way to show: numbers, quantities, days and durations for a reader of either system."""

import math

import numpy as np
import pandas as pd
import pytest

from moistsim.core.display import (
    QUANTITIES,
    Show,
    check_units,
    count,
    duration,
    money,
    number,
    significant,
)
from moistsim.core.errors import InputError
from moistsim.core.units import KINDS, from_si

US, SI = Show("us"), Show("si")


@pytest.mark.parametrize(
    ("value", "quantity", "us", "si"),
    [
        (24.0, "temperature", "75 °F", "24.0 °C"),
        (0.4, "difference", "0.7 °F", "0.4 °C"),
        (111.5, "area", "1,200 ft²", "112 m²"),
        (0.283, "airflow", "600 cfm", "283 L/s"),
        (7034.0, "capacity", "24,000 Btu/h", "7.03 kW"),
        (7034.0, "load", "24,001 Btu/h", "7,034 W"),
        (3600.0, "power", "3.6 kW", "3.6 kW"),
        # 90 pints a day at 0.9982 kg/L are 42.5 kg a day.
        (42.51 / 86400.0, "removal", "90 pints/day", "42.6 L/day"),
        (math.nan, "temperature", "– °F", "– °C"),
    ],
)
def test_a_quantity_in_both_systems(value: float, quantity: str, us: str, si: str) -> None:
    assert (US(value, quantity), SI(value, quantity)) == (us, si)


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_values_are_those_of_the_registry(quantity: str) -> None:
    """By the unit registry, number by number; arrays and Series the same way."""
    of = QUANTITIES[quantity]
    for show, unit in ((US, of.us.unit), (SI, of.si.unit)):
        for value in (-3.0, 0.0, 0.7, 1234.5):
            by_registry = from_si(value, of.kept, unit)
            assert show.value(value, quantity) == pytest.approx(by_registry, rel=1e-9, abs=1e-9)
        array = show.value(np.array([1.0, 2.0]), quantity)
        series = show.value(pd.Series([1.0, 2.0]), quantity)
        assert array.tolist() == series.tolist() == [show.value(x, quantity) for x in (1.0, 2.0)]


@pytest.mark.parametrize("unit", KINDS)
def test_every_unit_of_a_description_can_be_shown(unit: str) -> None:
    for show in (US, SI):
        text = show.field(1.5, unit)
        assert text and "deg" not in text and "**" not in text and "*" not in text


def test_a_description_in_us_units_has_no_si_unit() -> None:
    assert US.field(3e-12, "kg/(m s Pa)") == "2.06 perm inch"
    assert US.field(3e8, "Pa m2 s/kg") == "0.0172 1/perm"
    assert US.field(12.0, "year") == "12 years" and US.field(180.0, "deg") == "180°"
    assert US.field((3600.0, 3600.0), "W") == "3,600 W, 3,600 W"
    assert US.field(True, None) == "yes" and US.field("slab", None) == "slab"


def test_numbers_have_their_sign_once() -> None:
    assert number(-1234.5, 1) == "\N{MINUS SIGN}1,234.5" and number(-0.4) == "0"
    assert number(0.0, sign=True) == "0" and number(12.0, sign=True) == "+12"
    assert number(None) == number(math.nan) == "–"
    assert significant(0.05) == "0.05" and significant(1999.6) == "2,000"
    assert money(-413.2) == "\N{MINUS SIGN}413 USD"
    assert count(1, "story", "stories") == "1 story" and count(2, "day") == "2 days"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.0, "none"), (45.0, "45 s"), (90.0, "90 s"), (300.0, "5 min"), (5400.0, "90 min"),
     (22800.0, "6 h 20 min"), (86400.0, "24 h"), (28 * 86400.0, "28 days")],
)  # fmt: skip
def test_durations(seconds: float, text: str) -> None:
    assert duration(seconds) == text


def test_days_and_refused_units() -> None:
    first, last = pd.Timestamp("1990-03-01"), pd.Timestamp("1990-10-31")
    assert US.days(first, last) == "March 1 to October 31"
    assert SI.days(first, last) == "1 March to 31 October"
    with pytest.raises(InputError, match="'imperial'"):
        check_units("imperial", "table units")
