"""Design conditions against ASHRAE Handbook, Fundamentals, ch. 14 (Climatic Design Information).

The published values are from memory; nobody here has read them in the tables.
"""

import pytest

from moistsim.weather.weather import Weather


def test_miami_dew_point_exceeded_in_0_4_per_cent_of_hours() -> None:
    """Miami International: 0.4 % dew point about 25.6 °C (78 °F), from memory.

    Tolerance 1 K: the sample is one typical year of the 1961-1990 record, without its extremes by
    design, while the tables cover later, warmer and more humid years; and its dew points stand
    in steps of a whole degree Fahrenheit (0.6 K).
    """
    climate = Weather.sample("miami").describe("si")
    assert climate["dew point 0.4 % [degC]"] == pytest.approx(25.6, abs=1.0)


def test_miami_coincident_values() -> None:
    """With it: humidity ratio about 20.8 g/kg and MCDB about 28.3 °C (83 °F), from memory.

    Tolerances follow from 1 K of dew point (1.3 g/kg) and from the width of the coincident bin.
    """
    climate = Weather.sample("miami").describe("si")
    assert climate["dew point 0.4 % humidity ratio [g/kg]"] == pytest.approx(20.8, abs=1.3)
    assert climate["dew point 0.4 % MCDB [degC]"] == pytest.approx(28.3, abs=1.5)
