"""Air between two floors by the stack: the enhanced model of ASHRAE Fundamentals ch. 16, from memory.

In a still winter the stack draws outdoor air into the lower half of a two-story house and pushes it out of the
upper half, past a neutral level at mid-height. So all of the infiltration rises through the floor between. A
house with leaks of 5 ACH50 has c = Q50 / 50^n; the stack coefficient of two stories without a flue is 0.078 at
n = 0.67, per Pa^n and K^n. Tracer tests of two-story houses in winter find the same direction: air moves up
(from memory).
"""

import pytest
from support.houses import house
from support.machines import machines
from support.weathers import flat

import moistsim as ms


def test_all_that_leaks_in_rises_to_the_upper_floor() -> None:
    """Upward flow against the hand's infiltration within 15 %; the upper floor takes in less than 5 % of it."""
    home = house(
        stories=2, ach50=5.0, leakage_exponent=0.67,
        second_zone=ms.SecondZone(opening_width=0.0, mixing=0.0),
        exhausts=ms.Exhausts(dryer=None, range_hood=None, bath_fans=None),
    )  # fmt: skip
    hourly = ms.simulate(
        home, machines(ventilation=None), ms.strategies.temperature_only,
        flat(0.0, 0.003, days=4), spin_up="2 day",
    ).hourly.tail(24)  # fmt: skip
    warm = 0.5 * (hourly["indoor_temperature_C"] + hourly["second_zone_temperature_C"]).mean()
    coefficient = 5.0 * home.floor_area * home.ceiling_height / 3600.0 / 50.0**0.67
    by_hand = coefficient * 0.078 * warm**0.67
    # Dry air at 0 degC: 1.29 kg/m3. What the blower moves between the floors nets to nothing here.
    up = -(hourly["second_zone_air_to_house_kg"] + hourly["second_zone_air_from_house_kg"]).mean()
    upstairs = hourly["second_zone_air_outdoors_kg"].mean()
    print(
        f"{warm:.1f} degC: up {up / 3600.0 / 1.29:.4f} m3/s, by hand {by_hand:.4f}, upstairs {upstairs:.2f}"
    )
    assert warm > 15.0
    assert up / 3600.0 / 1.29 == pytest.approx(by_hand, rel=0.15)
    assert 0.0 <= upstairs < 0.05 * up
