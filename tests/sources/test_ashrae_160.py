"""Source: ASHRAE 160, residential design moisture, from memory.

ASHRAE 160 residential design moisture, L/day: 8, 12, 14, 15 for one to four bedrooms, and 1 for
each more; from memory. Expected rates of families, 4 to 10 kg a day for a household of three or so
and about half of the design rate, are common practice.
"""

import pytest

import moistsim as ms

RATES = {0: 8.0, 1: 8.0, 2: 12.0, 3: 14.0, 4: 15.0, 5: 16.0, 7: 18.0}


@pytest.mark.parametrize("bedrooms", RATES)
def test_design_rates(bedrooms: int) -> None:
    assert ms.design_moisture(bedrooms) * 86400.0 == pytest.approx(RATES[bedrooms])
    house = ms.House(floor_area=100.0, bedrooms=bedrooms)
    assert house.design_moisture * 86400.0 == pytest.approx(RATES[bedrooms])


def test_the_expected_rate_is_about_half_and_has_a_range() -> None:
    """Three bedrooms, the four occupants that ASHRAE 160 counts there."""
    house = ms.House(floor_area=180.0, gains=ms.Gains(occupants=4))
    low, high = house.moisture_range
    assert low < house.moisture_gain < high
    assert house.moisture_gain == pytest.approx(0.5 * (low + high))
    assert 0.5 < house.moisture_gain / house.design_moisture < 0.7
    assert 4.0 < low * 86400.0 < high * 86400.0 < 14.0


def test_a_run_for_the_mold_check() -> None:
    house = ms.House(floor_area=180.0, gains=ms.Gains(moisture=ms.design_moisture(3)))
    assert house.moisture_gain * 86400.0 == pytest.approx(14.0)
