"""Source: PsychroLib 2.5 (SI), a reference library for ASHRAE Fundamentals ch. 1.

Moist air against PsychroLib 2.5 (SI), a reference library for the relations of the ASHRAE
Handbook of Fundamentals (2017), chapter 1, with the handbook's constants. Run, not remembered.

Both sides use the same equations and constants, so closed formulas agree to rounding. What is
solved by iteration agrees within PsychroLib's own stopping rule, 0.001 K (PSYCHROLIB_TOLERANCE).
One constant is rounded differently: PsychroLib's specific volume has 1.607858 where 1/0.621945 is
1.607859, which is 4e-7 of the volume at most.
"""

import math
from collections.abc import Iterator

import numpy as np
import psychrolib
import pytest

from moistsim import air

ROUNDING = 1.0e-12
STOPPING = 0.001
"""K, PsychroLib's."""
LEAST = 1.0e-7
"""Humidity ratio below which PsychroLib rounds up (MIN_HUM_RATIO), kg/kg."""

PRESSURES = (60.0e3, 75.0e3, 84_556.0, 101_325.0, 105.0e3)
RELATIVE_HUMIDITIES = (1.0, 5.0, 20.0, 40.0, 60.0, 80.0, 95.0, 100.0)


@pytest.fixture(autouse=True, scope="module")
def _si() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def states() -> Iterator[tuple[float, float, float, float]]:
    """Dry bulb, relative humidity (0 to 1), humidity ratio and pressure over the whole range."""
    for pressure in PRESSURES:
        for t in np.arange(-40.0, 60.1, 5.0).tolist():
            for per_cent in RELATIVE_HUMIDITIES:
                w = psychrolib.GetHumRatioFromRelHum(t, per_cent / 100.0, pressure)
                yield t, per_cent / 100.0, w, pressure


def test_saturation_pressure_over_ice_and_water() -> None:
    """Handbook equations 5 and 6, -100 to 200 degC, the triple point's neighborhood included."""
    for t in [*np.arange(-100.0, 200.1, 0.5).tolist(), -0.001, 0.009, 0.01, 0.011]:
        assert air.saturation_pressure(t) == pytest.approx(
            psychrolib.GetSatVapPres(t), rel=ROUNDING
        ), t


def test_humidity_ratio_and_relative_humidity() -> None:
    """Equations 20 to 22, both ways."""
    for t, rh, w, pressure in states():
        at = (t, rh, pressure)
        ours = air.humidity_ratio_at(t, rh, pressure)
        assert max(ours, LEAST) == pytest.approx(w, rel=ROUNDING), at
        back = air.relative_humidity(t, w, pressure)
        assert back == pytest.approx(
            psychrolib.GetRelHumFromHumRatio(t, w, pressure), rel=ROUNDING
        ), at


def test_enthalpy() -> None:
    """Equation 30; 1e-6 J/kg is rounding of some 1e5 J/kg."""
    for t, _, w, _ in states():
        assert air.enthalpy(t, w) == pytest.approx(
            psychrolib.GetMoistAirEnthalpy(t, w), rel=ROUNDING, abs=1.0e-6
        )


def test_density() -> None:
    """Equation 26: dry air in a volume of moist air is 1/v."""
    for t, _, w, pressure in states():
        assert air.dry_air_density(t, w, pressure) == pytest.approx(
            1.0 / psychrolib.GetMoistAirVolume(t, w, pressure), rel=4.0e-7
        )


def test_dew_point() -> None:
    for t, _, w, pressure in states():
        ours = air.dew_point(air.vapor_pressure(w, pressure))
        assert ours == pytest.approx(
            psychrolib.GetTDewPointFromHumRatio(t, w, pressure), abs=STOPPING
        ), (t, w, pressure)


def two_wet_bulbs(t: float, w: float, pressure: float) -> bool:
    """Whether both a wet and an iced bulb have a root.

    Whether the equation for a wetted bulb has a root above 0 degC, and that for an iced one
    a root below: at 0 degC the two are the heat of fusion apart, and near it both can be met.
    """
    over_water = psychrolib.GetHumRatioFromTWetBulb(t, 0.0, pressure)
    over_ice = psychrolib.GetHumRatioFromTWetBulb(t, -1.0e-9, pressure)
    return over_water <= w <= over_ice


@pytest.mark.parametrize("guess", ["dry bulb", "5 K below"])
def test_wet_bulb(guess: str) -> None:
    """Equations 33 and 35.

    PsychroLib's own inverse (humidity ratio from a wet bulb) must give back the humidity ratio at
    our wet bulb, everywhere; 2e-9 kg/kg is what our stopping rule of 1e-6 K is worth. Its wet bulb
    must be ours, except where there are two: there it and we may stop at different ones.
    """
    ambiguous = 0
    for t, _, w, pressure in states():
        at = (t, w, pressure)
        ours = air.wet_bulb(t, w, pressure, t if guess == "dry bulb" else t - 5.0)
        back = psychrolib.GetHumRatioFromTWetBulb(t, min(ours, t), pressure)
        assert back == pytest.approx(w, rel=1.0e-6, abs=2.0e-9), at
        if t > 0.0 and two_wet_bulbs(t, w, pressure):
            ambiguous += 1
            continue
        reference = psychrolib.GetTWetBulbFromHumRatio(t, w, pressure)
        assert ours == pytest.approx(reference, abs=STOPPING), at
    assert ambiguous <= 10  # of 840: the exception stays an exception


def test_the_table_of_the_saturation_pressure() -> None:
    """Against the equations that it is made of, kelvin by kelvin, at its seams and beyond its ends."""
    seams = [air.TRIPLE_POINT + k + e for k in range(-80, 121) for e in (-1e-9, 0.0, 1e-9)]
    for t in [*np.linspace(-95.0, 150.0, 20001), *seams]:
        p = math.exp(air.log_saturation_pressure(t))
        assert air.saturation_pressure(t) == pytest.approx(p, rel=1.0e-13)
        table, rise = air.saturation_rise(t)
        assert table == pytest.approx(p, rel=1.0e-13)
        assert rise == pytest.approx(p * air.saturation_slope(t), rel=1.0e-10)


def test_dew_points_are_those_of_the_equations() -> None:
    """Dew points from the table solve the equations, also at its seams.

    The table of dew points and what is solved beyond it, over their whole range and beside each
    seam, on both sides of freezing. The answer is known beforehand.
    """
    roots = air._ROOT_OF_TRIPLE + np.arange(air.DRIEST, air.DAMPEST + 1)
    seams = [
        air.dew_point(root * root * side) for root in roots for side in (1.0 - 1e-13, 1.0 + 1e-13)
    ]
    near_triple = air.TRIPLE_POINT + np.array([-1e-3, -1e-6, 0.0, 1e-6, 1e-3])
    for t in [*np.linspace(-90.0, 150.0, 24001), *seams, *near_triple]:
        found = air.dew_point(math.exp(air.log_saturation_pressure(t)))
        if abs(t - air.TRIPLE_POINT) < 1.0e-5:
            within = 2.0e-7  # the curves over ice and over water are so far apart where they meet
        elif -34.0 < t < 59.8:
            within = 1.0e-8 if t < -20.0 else 5.0e-11
        else:
            within = 5.0e-5  # solved from a guess that is as near
        assert found == pytest.approx(t, abs=within), t
    assert air.dew_point(0.0) == air.dew_point(-1.0) < -80.0


@pytest.mark.parametrize("off", [-0.15, -0.04, 0.04, 0.15])
def test_what_is_solved_for_from_a_guess_is_solved(off: float) -> None:
    """Solutions from a distant first guess are within 2e-7 K.

    Apparatus dew point and wet bulb from a guess that is almost one step away, or
    across freezing: below the 2e-7 K that `LAST_STEP` promises. The answer is known beforehand.
    """
    pressure = 101_325.0
    for t in [*np.linspace(-30.0, 40.0, 281), -0.1, -0.02, 0.005, 0.02, 0.1]:
        saturated = air.saturation_humidity_ratio(t, pressure)
        h = air.enthalpy(t, saturated)
        found, w_found = air.saturated_at(h, pressure, t + off)
        assert found == pytest.approx(t, abs=2.0e-7)
        assert w_found == pytest.approx(saturated, abs=2.0e-10)
        # Humidity ratio of air 8 K warmer that has this wet bulb (equations 33 and 35).
        latent, per_kelvin, liquid = (
            (2_501_000.0, 2326.0, 4186.0) if t >= 0.0 else (2_830_000.0, 240.0, 2100.0)
        )
        w = ((latent - per_kelvin * t) * saturated - 1006.0 * 8.0) / (
            latent + 1860.0 * (t + 8.0) - liquid * t
        )
        # Within a kelvin of freezing there are two wet bulbs.
        if w > 0.0 and abs(t) > 1.0:
            assert air.wet_bulb(t + 8.0, w, pressure, t + off) == pytest.approx(t, abs=2.0e-7)
