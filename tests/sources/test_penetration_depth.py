"""Effective moisture penetration depth: Kerestecioglu, Swami & Kamel (1990), ASHRAE Transactions
96(1); two layers: Woods, Winkler & Christensen (2013), NREL/TP-5500-57441. Formulas from memory,
checked here against the exact solution for a half-space (Carslaw & Jaeger, periodic surface).
"""

import cmath
import math

import pytest

from moistsim import MoistureStore, air
from moistsim.engine.parameters import STORE_TEMPERATURE, store_layers

DAY = 86400.0
BOARD = MoistureStore(
    density=650.0,
    sorption_slope=0.07,
    permeability=3.0e-12,
    coating=3.0e8,
    thickness=0.0125,
    surface_period=DAY,
    deep_period=28.0 * DAY,
)


def test_layers_by_hand() -> None:
    """Saturation at 24 degC is 2985 Pa.

    D       = 3e-12 x 2985 / (650 x 0.07)   = 1.968e-10 m2/s
    surface = sqrt(D 1 d / pi)              = 2.327 mm;  deep reach = sqrt(28) x that = 12.31 mm
    water   = 45.5 x 0.002327               = 0.1059;    45.5 x (0.01231 - 0.00233) = 0.4543 kg/m2
    air to surface: 1 / (3e8 + 0.001163 / 3e-12)         = 1.454e-9 kg/(s m2 Pa)
    surface to deep: 1 / (0.5 x 0.01231 / 3e-12)         = 4.873e-10
    """
    assert air.saturation_pressure(STORE_TEMPERATURE) == pytest.approx(2985.0, rel=1e-3)
    surface, deep, to_surface, to_deep = store_layers(BOARD)
    assert surface == pytest.approx(0.1059, rel=1e-3)
    assert deep == pytest.approx(0.4543, rel=1e-3)
    assert to_surface == pytest.approx(1.454e-9, rel=1e-3)
    assert to_deep == pytest.approx(4.873e-10, rel=1e-3)


def test_surface_follows_hours_and_deep_layer_days() -> None:
    """Time constants: capacity over conductance times saturation pressure."""
    surface, deep, to_surface, to_deep = store_layers(BOARD)
    saturation = air.saturation_pressure(STORE_TEMPERATURE)
    assert surface / (to_surface * saturation) / 3600.0 == pytest.approx(6.8, abs=0.1)
    assert deep / (to_deep * saturation) / DAY == pytest.approx(3.6, abs=0.1)


def test_together_the_layers_end_at_the_real_thickness() -> None:
    """4 mm of the same board: 2.33 mm of surface layer and the 1.67 mm that is left."""
    thin = MoistureStore(
        density=650.0, sorption_slope=0.07, permeability=3.0e-12, thickness=0.004,
        surface_period=DAY, deep_period=28.0 * DAY,
    )  # fmt: skip
    surface, deep, _, to_deep = store_layers(thin)
    assert surface + deep == pytest.approx(45.5 * 0.004, rel=1e-12)
    assert surface == pytest.approx(0.1059, rel=1e-3)
    assert to_deep == pytest.approx(3.0e-12 / 0.002, rel=1e-12)


def test_paper_has_no_deep_layer() -> None:
    """1 mm is less than a day's cycle reaches: all of it is surface layer."""
    paper = MoistureStore(density=650.0, sorption_slope=0.07, permeability=3.0e-12, thickness=0.001)
    surface, deep, _, to_deep = store_layers(paper)
    assert surface == pytest.approx(45.5 * 0.001, rel=1e-12)
    assert deep == 0.0 and to_deep == 0.0


@pytest.mark.parametrize("period", [6.0 * 3600.0, DAY, 7.0 * DAY])
def test_one_layer_breathes_as_a_half_space_does_at_its_own_period(period: float) -> None:
    """Vapour that crosses a bare surface per swing of surface vapour pressure.

    Half-space: perm sqrt(i omega / D). Layer: its capacity behind half its own resistance,
    i omega C / (p_sat (1 + i omega C R / p_sat)) per Pa. With d = sqrt(D P / pi) both are
    sqrt(pi/P) sqrt(D) C' e^(i pi/4): the layer is exact in size and phase, not only in order.
    """
    saturation = air.saturation_pressure(STORE_TEMPERATURE)
    bare = MoistureStore(
        density=650.0, sorption_slope=0.07, permeability=3.0e-12, coating=1.0, thickness=1.0,
        surface_period=period, deep_period=100.0 * period, deep=False,
    )  # fmt: skip
    capacity, _, conductance, _ = store_layers(bare)
    omega = 2.0 * math.pi / period
    storing = 1j * omega * capacity / saturation
    layer = storing / (1.0 + storing / conductance)
    diffusivity = 3.0e-12 * saturation / (650.0 * 0.07)
    half_space = 3.0e-12 * cmath.sqrt(1j * omega / diffusivity)
    assert layer.real == pytest.approx(half_space.real, rel=1e-6)
    assert layer.imag == pytest.approx(half_space.imag, rel=1e-6)
