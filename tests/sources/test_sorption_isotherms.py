"""Sorption isotherms at published points.

* Wood: equilibrium moisture content at 70 degF of the Wood Handbook (Forest Products Laboratory,
  ch. 4), from memory; `wood` holds the same book's sorption formula (Hailwood & Horrobin 1946), so
  that a table and a formula remembered apart are checked against each other.
* Textiles: commercial moisture regains of ASTM D1909 at 65 % RH and 21 degC (cotton yarn 7.0, wool
  13.6, nylon 4.5 percent), from memory.
* Gypsum board, concrete, brick, paper: points of the kind in the catalog of IEA ECBCS Annex 24
  (Kumaran 1996), from memory and rounded, hence within a quarter.
"""

import pytest

from moistsim import MATERIALS, InputError, MoistureStore
from moistsim.risk.wood import equilibrium_moisture

WOOD = {
    0.1: 2.5,
    0.2: 4.5,
    0.3: 6.2,
    0.4: 7.7,
    0.5: 9.2,
    0.6: 11.0,
    0.7: 13.1,
    0.8: 16.0,
    0.9: 20.5,
}
"""Percent of dry mass by RH."""


@pytest.mark.parametrize("rh", WOOD)
def test_wood(rh: float) -> None:
    """The formula gives the table, and the isotherm is within 2.5 percent of its value."""
    assert equilibrium_moisture(21.1, 100.0 * rh) == pytest.approx(WOOD[rh], abs=0.06)
    ours = 100.0 * MATERIALS["wood"].isotherm.water(rh)
    assert ours == pytest.approx(WOOD[rh], rel=0.025)


# At 50 % RH, from 30 to 100 degF: the same table, from memory.
WOOD_BY_TEMPERATURE = {-1.1: 9.5, 10.0: 9.5, 21.1: 9.2, 26.7: 9.1, 32.2: 8.9, 37.8: 8.7}


@pytest.mark.parametrize("t", WOOD_BY_TEMPERATURE)
def test_wood_by_temperature(t: float) -> None:
    assert equilibrium_moisture(t, 50.0) == pytest.approx(WOOD_BY_TEMPERATURE[t], abs=0.06)


@pytest.mark.parametrize(
    ("material", "regain"), [("cotton", 7.0), ("wool carpet", 13.6), ("nylon carpet", 4.5)]
)
def test_textiles_at_their_regain(material: str, regain: float) -> None:
    """Within a tenth: hysteresis alone is as much."""
    assert 100.0 * MATERIALS[material].isotherm.water(0.65) == pytest.approx(regain, rel=0.10)


@pytest.mark.parametrize(
    ("material", "rh", "water"),
    [
        ("gypsum board", 0.50, 0.40), ("gypsum board", 0.70, 0.60), ("gypsum board", 0.90, 1.1),
        ("concrete", 0.50, 1.5), ("concrete", 0.80, 2.8),
        ("brick", 0.50, 0.08), ("brick", 0.80, 0.15),
        ("paper", 0.50, 6.2), ("paper", 0.80, 11.0),
    ],
)  # fmt: skip
def test_orders_of_the_catalogs(material: str, rh: float, water: float) -> None:
    assert 100.0 * MATERIALS[material].isotherm.water(rh) == pytest.approx(water, rel=0.25)


@pytest.mark.parametrize("material", MATERIALS)
def test_slope_is_the_derivative_and_isotherms_rise(material: str) -> None:
    curve = MATERIALS[material].isotherm
    for rh in (0.1, 0.3, 0.5, 0.7, 0.9):
        difference = (curve.water(rh + 1e-6) - curve.water(rh - 1e-6)) / 2e-6
        assert curve.slope(rh) == pytest.approx(difference, rel=1e-5)
        assert curve.slope(rh) > 0.0
    assert curve.water(0.0) == 0.0


def test_what_a_straight_line_costs() -> None:
    """As `MoistureStore.of` says: wood at 50 %, little between 40 and 60, a fifth from 40 to 80."""
    wood = MATERIALS["wood"].isotherm
    assert wood.line_error(0.5, 0.4, 0.6) == pytest.approx(-0.018, abs=0.002)
    assert wood.line_error(0.5, 0.4, 0.8) == pytest.approx(-0.22, abs=0.01)
    assert MATERIALS["paper"].isotherm.line_error(0.5, 0.4, 0.8) == pytest.approx(-0.33, abs=0.03)


def test_a_store_of_a_material() -> None:
    store = MoistureStore.of("wood", rh="60 %", area=1.5, thickness="0.5 in")
    assert store.sorption_slope == MATERIALS["wood"].isotherm.slope(0.6)
    assert (store.area, store.thickness, store.density) == (1.5, pytest.approx(0.0127), 500.0)
    with pytest.raises(InputError, match="Use one of gypsum board, wood"):
        MoistureStore.of("marble")
    with pytest.raises(InputError, match="from 1 % to 99 %"):
        MoistureStore.of("wood", rh="100 %")
