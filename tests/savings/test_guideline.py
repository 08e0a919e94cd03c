"""Guideline 14's fractional savings uncertainty by hand, and next to the band of the regression."""

import math

import pytest
from scipy.integrate import quad

from moistsim.savings.guideline import fractional_uncertainty


def test_by_hand() -> None:
    """ASHRAE Guideline 14-2014, annex B (from memory), with numbers of our own.

    n = 12 and m = 12 bills, p = 3, CV(RMSE) 0.10, F = 0.15, no autocorrelation. Student's t of nine
    degrees holds 68 % within 1.0526, as the integral of its density shows. sqrt((12/12) (1 + 2/12) / 12)
    = sqrt(1.166667 / 12) = 0.311805. 1.26 * 1.0526 * 0.10 / 0.15 * 0.311805 = 0.27569.
    """
    t = 1.0526
    scale = math.gamma(5.0) / (math.sqrt(9.0 * math.pi) * math.gamma(4.5))
    held, _ = quad(lambda x: scale * (1.0 + x * x / 9.0) ** -5.0, -t, t)
    assert held == pytest.approx(0.68, abs=1e-4)
    found = fractional_uncertainty(0.10, 0.15, 12, 12, parameters=3)
    assert found == pytest.approx(0.27569, abs=1e-4)


def test_autocorrelation_widens() -> None:
    """n' = 365 (1 - 0.5) / (1 + 0.5) = 121.667, so the spread grows by sqrt(3) and a little."""
    plain = fractional_uncertainty(0.20, 0.15, 365, 365, parameters=5)
    wider = fractional_uncertainty(0.20, 0.15, 365, 365, parameters=5, autocorrelation=0.5)
    assert wider / plain == pytest.approx(3.0**0.5, rel=0.02)
