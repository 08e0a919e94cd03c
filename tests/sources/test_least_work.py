"""Least work of drying against entropy and enthalpy of CoolProp's humid air and water.

CoolProp's humid air is a real gas (Herrmann, Kretzschmar & Gatley 2009), and its water is IAPWS-95.
Both count from liquid water at the triple point. Ours is the ideal mixture, whose vapor differs from
the real one by the enhancement factor (0.3 to 0.5 % of its pressure) and by its heat capacity. In
R T ln, 0.5 % of a pressure is 0.7 kJ/kg, or 0.0002 kWh/kg, of 0.02 to 0.08: tolerance 1 % or 0.0003.
"""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

import moistsim as ms

PRESSURE = 101_325.0
STATES = (
    # Room degC, RH, temperature to which the heat goes, degC.
    (23.9, 0.52, 23.9),
    (23.9, 0.52, 35.0),
    (26.7, 0.60, 30.0),
    (20.0, 0.70, 20.0),
    (25.0, 0.45, 18.0),
)


def reversible(t: float, rh: float, away: float) -> float:
    """Work of a reversible machine, kWh/kg, that takes a little water out of air.

    First and second law: work = Δh − T0 Δs between the air before, and the drier air with the liquid
    at T0, for a small change of humidity ratio.
    """
    w = HAPropsSI("W", "T", t + 273.15, "R", rh, "P", PRESSURE)
    change = 1.0e-4
    kelvin = away + 273.15

    def availability(ratio: float) -> float:
        state = ("T", t + 273.15, "W", ratio, "P", PRESSURE)
        return float(HAPropsSI("H", *state) - kelvin * HAPropsSI("S", *state))

    liquid = PropsSI("H", "T", kelvin, "P", PRESSURE, "Water")
    liquid -= kelvin * PropsSI("S", "T", kelvin, "P", PRESSURE, "Water")
    gained = availability(w - 0.5 * change) - availability(w + 0.5 * change) + change * liquid
    return gained / change / 3.6e6


@pytest.mark.parametrize("state", STATES)
def test_it_is_the_work_of_a_reversible_machine(state: tuple[float, float, float]) -> None:
    t, rh, away = state
    ours = ms.least_work(t, 100.0 * rh, outdoor_temperature=away)
    assert ours == pytest.approx(reversible(t, rh, away), rel=0.01, abs=0.0003)


def test_saturated_air_gives_its_water_for_nothing() -> None:
    assert ms.least_work(22.0, 100.0) == pytest.approx(0.0, abs=1e-12)
    assert reversible(22.0, 0.9999, 22.0) == pytest.approx(0.0, abs=0.0003)


def test_by_hand() -> None:
    """461.5 J/(kg K) x 297.05 K x ln(1/0.52) = 89.6 kJ/kg = 0.0249 kWh/kg."""
    assert ms.least_work("75 degF", 52.0) == pytest.approx(
        461.5 * 297.05 * math.log(1.0 / 0.52) / 3.6e6, rel=1e-3
    )
    # Condensing at 297.05 K gives 2,440 kJ/kg (steam tables, from memory) and those 90 kJ/kg of work
    # as heat. Pumped to 308.15 K at Carnot's factor, they add 2530 x 11.1 / 297.05 = 95 kJ/kg.
    more = ms.least_work("75 degF", 52.0, outdoor_temperature=35.0) - ms.least_work("75 degF", 52.0)
    assert more == pytest.approx(2530.0 * 11.1 / 297.05 / 3600.0, rel=0.01)


def test_it_grows_with_dryness_and_with_heat_outdoors() -> None:
    works = [ms.least_work(24.0, rh) for rh in (80.0, 60.0, 50.0, 40.0)]
    assert works == sorted(works) and works[0] > 0.0
    outdoors = [ms.least_work(24.0, 50.0, outdoor_temperature=t) for t in (20.0, 24.0, 30.0, 40.0)]
    assert outdoors == sorted(outdoors)
    assert outdoors[1] == pytest.approx(ms.least_work(24.0, 50.0))


def test_cold_outdoors_needs_no_machine() -> None:
    """24 degC at 50 % has a dew point of 12.9 degC."""
    assert ms.least_work(24.0, 50.0, outdoor_temperature=5.0) == 0.0
    assert ms.least_work(24.0, 50.0, outdoor_temperature=13.5) > 0.0


@pytest.mark.parametrize("rh", [0.0, -5.0, 101.0])
def test_no_such_humidity(rh: float) -> None:
    with pytest.raises(ms.InputError, match="least_work relative_humidity"):
        ms.least_work(24.0, rh)


def test_no_such_temperature() -> None:
    with pytest.raises(ms.InputError, match="least_work outdoor_temperature"):
        ms.least_work(24.0, 50.0, outdoor_temperature="200 degF")
