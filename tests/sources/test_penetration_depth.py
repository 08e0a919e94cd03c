"""Source: effective moisture penetration depth (1990), two layers (2013), from memory.

Effective moisture penetration depth: Kerestecioglu, Swami & Kamel (1990), ASHRAE Transactions
96(1); two layers: Woods, Winkler & Christensen (2013), NREL/TP-5500-57441. Formulas from memory,
checked here against the exact solution for a half-space (Carslaw & Jaeger, periodic surface).
"""

import cmath
import math

import pytest

from moistsim import MATERIALS, MoistureStore, air
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
    """Vapor that crosses a bare surface per swing of surface vapor pressure.

    Half-space: perm sqrt(i omega / D). Layer: its capacity behind half its own resistance,
    i omega C / (p_sat (1 + i omega C R / p_sat)) per Pa. With d = sqrt(D P / pi) both are
    sqrt(pi/P) sqrt(D) C' e^(i pi/4): the layer is exact in size and phase, not only in order.
    """
    saturation = air.saturation_pressure(STORE_TEMPERATURE)
    bare = MoistureStore(
        density=650.0, sorption_slope=0.07, permeability=3.0e-12, coating="1 Pa m2 s/kg", thickness="1 m",
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


def over_half_space(store: MoistureStore, period: float) -> tuple[float, float]:
    """Vapor taken by two layers relative to a semi-infinite solid: amplitude and phase, degrees.

    Vapor that the two layers take per swing of the air's vapor pressure, over what a
    semi-infinite solid behind the same coating takes: amplitude, and phase in degrees.

    Half-space: 1 / (Z + 1 / (perm sqrt(i omega / D))); layers: a chain of two resistances and two
    capacities (over the saturation pressure).
    """
    saturation = air.saturation_pressure(STORE_TEMPERATURE)
    surface, deep, to_surface, to_deep = store_layers(store)
    omega = 2j * math.pi / period
    behind = omega * surface / saturation
    if deep:
        behind += 1.0 / (1.0 / to_deep + saturation / (omega * deep))
    layers = 1.0 / (1.0 / to_surface + 1.0 / behind)
    diffusivity = store.permeability * saturation / (store.density * store.sorption_slope)
    solid = store.permeability * cmath.sqrt(omega / diffusivity)
    ratio = layers * (store.coating + 1.0 / solid)
    return abs(ratio), math.degrees(cmath.phase(ratio))


LIMITS = {1.0: (0.10, 10.0), 7.0: (0.25, None), 21.0: (0.10, 10.0)}
"""By period in days: amplitude, and phase in degrees."""


@pytest.mark.parametrize("coating", [1.0, 3.0e8], ids=["bare", "painted"])
@pytest.mark.parametrize("days", LIMITS)
def test_two_layers_breathe_as_a_half_space_does(days: float, coating: float) -> None:
    """The two layers take as much as a half-space at the default periods.

    The default periods, in a board thick enough to be a half-space to them. Nothing is tuned:
    the periods are those that the description had before this check was written.
    """
    thick = MoistureStore(coating=coating, thickness="1 m")
    amplitude, phase = over_half_space(thick, days * DAY)
    print(f"{days:g} d, coating {coating:g}: amplitude {amplitude:.3f}, phase {phase:.1f} deg")
    limit, degrees = LIMITS[days]
    assert amplitude == pytest.approx(1.0, abs=limit)
    if degrees is not None:
        assert abs(phase) < degrees


def test_a_year_is_beyond_two_layers_but_not_beyond_a_board() -> None:
    """At a period of a year two layers fall short of a half-space, not of a board.

    A year's wave reaches 45 mm into the half-space and the deep layer ends at 12: it takes 39 per
    cent. A real board ends too, sealed at its back, where the exact solution is
    perm sqrt(i omega / D) tanh(sqrt(i omega / D) L): there the layers take 98 percent.
    """
    amplitude, phase = over_half_space(MoistureStore(coating=1.0, thickness="1 m"), 365.0 * DAY)
    print(f"year, half-space: amplitude {amplitude:.3f}, phase {phase:.1f} deg")
    assert amplitude == pytest.approx(0.39, abs=0.01)
    board = MoistureStore(coating=1.0)
    saturation = air.saturation_pressure(STORE_TEMPERATURE)
    diffusivity = board.permeability * saturation / (board.density * board.sorption_slope)
    root = cmath.sqrt(2j * math.pi / (365.0 * DAY) / diffusivity)
    ratio, _ = over_half_space(board, 365.0 * DAY)
    of_board = ratio / abs(cmath.tanh(root * board.thickness))
    print(f"year, board of {board.thickness} m: amplitude {of_board:.3f}")
    assert of_board == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize("material", MATERIALS)
def test_layers_never_pass_the_real_board(material: str) -> None:
    store = MoistureStore.of(material, coating=1.0)
    surface, deep, _, _ = store_layers(store)
    assert surface + deep <= store.density * store.sorption_slope * store.thickness * (1.0 + 1e-12)
    endless = MoistureStore.of(material, coating=1.0, deep_period=1000.0 * DAY * 365.0)
    surface, deep, _, _ = store_layers(endless)
    assert surface + deep == pytest.approx(store.density * store.sorption_slope * store.thickness)
