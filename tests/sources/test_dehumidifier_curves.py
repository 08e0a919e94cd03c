"""Source: Winkler, Christensen & Tomerlin (2011), NREL/TP-5500-52791, from memory.

Dehumidifier curves of Winkler, Christensen & Tomerlin (2011), Laboratory Test Report for Six
ENERGY STAR Dehumidifiers, NREL/TP-5500-52791; coefficients from memory. The values below come
from running the remembered polynomials, normalized at 80 degF/60 % RH, in another program.
"""

import numpy as np
import pytest
from support import houses

from moistsim import Dehumidifier, Equipment, air
from moistsim.controls import strategies
from moistsim.controls.interface import Calls
from moistsim.engine import parameters
from moistsim.engine.drying import dehumidifier_factors
from moistsim.engine.forcing_tables import Place
from moistsim.engine.outset import outset
from moistsim.engine.recording import load
from moistsim.engine.records import Minute
from moistsim.engine.step import advance
from moistsim.equipment.dehumidifier import ENERGY_FACTOR, RATED_INLET, RATED_RH, WATER_REMOVAL

PINT = 0.473176473
"""L."""
DENSITY = 0.9982
"""kg/L, of the water in a pint."""


def test_published_curves_at_rating() -> None:
    """0.986 and 0.985, not 1: so they are normalized."""
    assert pytest.approx((80.0 - 32.0) / 1.8) == RATED_INLET
    assert WATER_REMOVAL.at(26.67, 60.0) == pytest.approx(0.986, abs=0.0006)
    assert ENERGY_FACTOR.at(26.67, 60.0) == pytest.approx(0.985, abs=0.0006)
    assert RATED_RH == 60.0


@pytest.mark.parametrize(
    ("t", "rh", "water", "energy_factor"),
    [
        (80.0 / 1.8 - 32.0 / 1.8, 0.60, 1.0, 1.0),
        (22.78, 0.60, 0.843, 0.913),
        (18.33, 0.60, 0.659, 0.790),
        (23.9, 0.50, 0.660, 0.722),
    ],
)
def test_normalized_curves(t: float, rh: float, water: float, energy_factor: float) -> None:
    """To half the last printed digit, and the inlet's own rounding (0.005 K is 0.0002)."""
    ours, power, held = dehumidifier_factors(t, rh)
    assert ours == pytest.approx(water, abs=0.0007)
    assert ours / power == pytest.approx(energy_factor, abs=0.0007)
    assert held == 0.0


@pytest.mark.parametrize(("pints", "liters_per_kwh"), [(50.0, 1.8), (90.0, 2.4), (155.0, 3.0)])
def test_machine_gives_back_its_label(pints: float, liters_per_kwh: float) -> None:
    """A dehumidifier at its rating point gives its label, and all heat to the room.

    One step in a room at 80 degF, 60 % RH: rated pints a day, rated energy factor, and all of
    its electricity and the condensing heat in the room's air.
    """
    machines = Equipment(
        dehumidifier=Dehumidifier(
            capacity=f"{pints} pint/day", energy_factor=f"{liters_per_kwh} L/kWh"
        ),
        standby_power=0.0,
    )
    w = air.humidity_ratio_at(RATED_INLET, 0.60, air.STANDARD_PRESSURE)
    plant = parameters.plant(houses.bare_house(), machines, strategies.temperature_only, 60.0)
    at_rest = parameters.initial_state(plant, RATED_INLET, 0.60, air.STANDARD_PRESSURE)
    state = load(at_rest.reshape(1, -1), 0)
    minute = Minute(
        RATED_INLET, w, RATED_INLET, 0.0, air.STANDARD_PRESSURE, 0.0, 1.16, 0.0, 0.0, 12.0, 7.0,
        RATED_INLET, 0.0, 0.0,
    )  # fmt: skip
    after, step, *_ = advance(
        plant, np.zeros((0, 23)), np.zeros(0), state, outset(plant, None, state, minute.pressure, 60.0),
        Calls(dehumidifier=1.0), minute, None, None, None, Place(0, 0, 0.0, 0), 60.0,
    )  # fmt: skip
    removed = -step.dehumidifier.water_dehumidifier
    assert removed * 86400.0 / DENSITY / PINT == pytest.approx(pints, rel=1e-6)
    assert removed * 3.6e6 / DENSITY / step.dehumidifier.dehumidifier == pytest.approx(
        liters_per_kwh, rel=1e-6
    )
    # What the room holds, and the air that its warming drives out, gain the electricity less what
    # the water carries to the drain.
    zone, t = plant.zone, RATED_INLET
    t_end, w_end = after.indoor_temperature, after.indoor_humidity_ratio
    held, held_end = (
        zone.volume * air.dry_air_density(*state, air.STANDARD_PRESSURE)
        for state in ((t, w), (t_end, w_end))
    )
    h_end = air.enthalpy(t_end, w_end)
    gained = (
        held_end * h_end
        - held * air.enthalpy(t, w)
        + (held - held_end) * h_end
        + zone.fast_capacity * (after.fast_temperature - t)
        + zone.slow_capacity * (after.slow_temperature - t)
    )
    expected = step.dehumidifier.dehumidifier - removed * air.CP_WATER * 10.0
    assert gained / 60.0 == pytest.approx(expected, rel=1e-6)
