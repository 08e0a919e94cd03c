"""Source: AHRI 1060, definition of effectiveness, from memory.

Recovery by its definition (AHRI 1060, from memory): with equal streams, effectiveness is the
change of the incoming air over the difference between the two entering airs, of dry bulb for the
sensible part and of humidity ratio for the latent part. Off the rated flow: effectiveness of a
counterflow exchanger with equal capacity rates, NTU / (1 + NTU) (Kays & London, from memory).
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.machines_at_a_point import SEA_LEVEL, one_step

from moistsim import Equipment, Ventilation, air
from moistsim.engine.ventilating import effectiveness

SUMMER, WINTER, ROOM = (33.0, 0.6), (-12.0, 0.7), (22.0, 0.4)


def recovered(
    ventilation: Ventilation, outdoors: tuple[float, float], factor: float = 1.0
) -> tuple[float, float]:
    """Sensible and latent effectiveness, read off the meter's flows of air, water and heat."""
    _, step = one_step(
        Equipment(ventilation=ventilation), room=ROOM, outdoors=outdoors, ventilation=factor
    )
    w_in, w_out = (air.humidity_ratio_at(*x, SEA_LEVEL) for x in (ROOM, outdoors))
    w = step.water_ventilation / step.air_ventilation
    t = air.temperature_at_enthalpy(step.heat_ventilation / step.air_ventilation, w)
    return (outdoors[0] - t) / (outdoors[0] - ROOM[0]), (w_out - w) / (w_out - w_in)


@pytest.mark.parametrize("outdoors", [SUMMER, WINTER])
@pytest.mark.parametrize(("sensible", "latent"), [(0.75, 0.0), (0.7, 0.5), (0.0, 0.0)])
def test_effectiveness_by_definition(
    outdoors: tuple[float, float], sensible: float, latent: float
) -> None:
    machine = Ventilation(
        kind="balanced", airflow="90 cfm", sensible_recovery=sensible, latent_recovery=latent
    )
    assert recovered(machine, outdoors) == pytest.approx((sensible, latent), abs=1e-9)


@pytest.mark.parametrize(("factor", "sensible"), [(0.5, 6.0 / 7.0), (1.0, 0.75), (3.0, 0.5)])
def test_effectiveness_off_the_rated_flow(factor: float, sensible: float) -> None:
    """0.75 is NTU 3. At half the flow NTU 6: 6/7. At three times the flow NTU 1: 1/2."""
    machine = Ventilation(kind="balanced", airflow="60 cfm", sensible_recovery=0.75)
    assert recovered(machine, SUMMER, factor)[0] == pytest.approx(sensible, abs=1e-9)


@given(rated=st.floats(0.0, 0.95), flow=st.floats(0.0, 5.0), more=st.floats(0.0, 2.0))
def test_more_air_is_recovered_less_well(rated: float, flow: float, more: float) -> None:
    less = effectiveness(rated, flow + more)
    assert 0.0 <= less <= effectiveness(rated, flow) <= 1.0
    # But never less heat in all.
    assert (flow + more) * less >= flow * effectiveness(rated, flow) - 1e-12


def test_a_bypassed_core_recovers_nothing() -> None:
    machine = Ventilation(
        kind="balanced", airflow="90 cfm", sensible_recovery=0.75, latent_recovery=0.4,
        frost_limit=-5.0, frost_control="bypass",
    )  # fmt: skip
    assert recovered(machine, WINTER) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert recovered(machine, (-4.9, 0.7)) == pytest.approx((0.75, 0.4), abs=1e-9)


def test_a_resting_supply_leaves_the_exhaust_alone() -> None:
    """While the supply is off, the exhaust draws its air through leaks.

    7 K below the limit the supply rests for 0.105 of the time: 0.895 of the flow is balanced and
    recovered, 0.105 of it drawn in through leaks by the exhaust alone, with no infiltration else.
    """
    machine = Ventilation(
        kind="balanced", airflow=0.05, sensible_recovery=0.75, frost_limit=-5.0,
        fan_power="0.8 W/cfm",
    )  # fmt: skip
    assert recovered(machine, WINTER)[0] == pytest.approx(0.75 * 0.895, abs=1e-9)
    _, step = one_step(
        Equipment(ventilation=machine), room=ROOM, outdoors=WINTER, natural=0.01, ventilation=1.0
    )
    density = air.dry_air_density(-12.0, air.humidity_ratio_at(*WINTER, SEA_LEVEL), SEA_LEVEL)
    total = (step.air_ventilation + step.air_infiltration) / density
    assert total == pytest.approx(0.05 * 0.895 + np.hypot(0.01, 0.05 * 0.105), rel=1e-9)
    watts = 0.8 / 0.000471947443 * 0.05
    assert step.ventilation_fan == pytest.approx(watts * (1.0 - 0.5 * 0.105), rel=1e-6)
    assert step.heat_ventilation_fan == pytest.approx(watts * 0.5 * 0.895, rel=1e-6)
