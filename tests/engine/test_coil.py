"""The coil, the dehumidifier and the pieces of the air stream at fixed states."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.machines import two_stage
from support.values import floats

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.airflow import natural_infiltration, total_outdoor_air
from moistsim.engine.coil import CoilResult, cool, ramp, reevaporation, stage_at
from moistsim.engine.drying import dehumidifier_factors
from moistsim.equipment.cooling import rated_entering_air

P = 101_325.0
COOLINGS = {
    "single": ms.Cooling(stages=[ms.Stage(capacity=8000.0)]),
    "two-stage": two_stage(),
}
STAGES = {
    (name, k): stage_at(parameters.stage_table(cooling), k)
    for name, cooling in COOLINGS.items()
    for k in range(len(cooling.stages))
}


def leaving(
    stage: tuple[str, int], t: float, rh: float, t_out: float, flow: float, p: float = P
) -> CoilResult:
    """The coil in air of `t` degC and `rh` (0 to 1), at a fraction of its rated flow."""
    row = STAGES[stage]
    w = air.humidity_ratio_at(t, rh, p)
    return cool(row, t, w, air.wet_bulb(t, w, p, 17.0), p, t_out, flow * row.dry_air, 10.0)  # type: ignore[no-any-return]


stages = st.sampled_from(list(STAGES))
states = {
    "stage": stages,
    "t": floats(18.0, 32.0),
    "rh": floats(0.05, 0.95),
    "t_out": floats(10.0, 48.0),
    "flow": floats(0.5, 1.3),
}


@pytest.mark.parametrize("stage", STAGES)
def test_at_the_rating_point_the_label_comes_back(stage: tuple[str, int]) -> None:
    """The coil at the rating point gives the capacity, efficiency and SHR of the label.

    AHRI 210/240 rating point (from memory): 80/67 degF indoors, 95 degF outdoors; net
    capacity, efficiency and SHR are those of the description.
    """
    name, k = stage
    cooling = COOLINGS[name]
    label, row = cooling.stages[k], STAGES[stage]
    t, w = rated_entering_air()
    coil = cool(row, t, w, air.wet_bulb(t, w, P, 19.0), P, 35.0, row.dry_air, 10.0)
    fan = cooling.fan_watts(label.airflow)
    net = coil.capacity - fan
    latent = row.dry_air * (w - coil.w_leaving) * air.vapor_enthalpy(t)
    assert net == pytest.approx(label.capacity, rel=1e-6)
    assert net / (coil.input + fan) == pytest.approx(label.cop, rel=1e-6)
    assert (net - latent) / net == pytest.approx(label.shr, abs=1e-6)
    assert coil.off_curve == 0.0


@given(**states)
def test_a_coil_is_finite_cools_and_never_humidifies(
    stage: tuple[str, int], t: float, rh: float, t_out: float, flow: float
) -> None:
    coil = leaving(stage, t, rh, t_out, flow)
    w = air.humidity_ratio_at(t, rh, P)
    assert np.isfinite(coil).all()
    assert coil.capacity > 0.0
    assert coil.input > 0.0
    assert coil.w_leaving <= w
    assert coil.h_leaving < air.enthalpy(t, w)
    assert (coil.w_leaving == w) if coil.dry else (coil.w_leaving < w)
    assert air.temperature_at_enthalpy(coil.h_leaving, coil.w_leaving) < t
    # What leaves is on the line to the coil's surface, and not beyond it.
    assert coil.apparatus_dew_point < t


@given(**states, p=floats(80_000.0, 104_000.0))
def test_the_start_of_the_solve_does_not_matter(
    stage: tuple[str, int], t: float, rh: float, t_out: float, flow: float, p: float
) -> None:
    row = STAGES[stage]
    w = air.humidity_ratio_at(t, rh, p)
    a = cool(row, t, w, air.wet_bulb(t, w, p, 5.0), p, t_out, flow * row.dry_air, 25.0)
    b = cool(row, t, w, air.wet_bulb(t, w, p, 25.0), p, t_out, flow * row.dry_air, -5.0)
    assert a.capacity == pytest.approx(b.capacity, rel=1e-6)
    assert a.w_leaving == pytest.approx(b.w_leaving, rel=1e-5)


@given(**states, warmer=floats(0.1, 10.0))
def test_hotter_outdoors_never_helps(
    stage: tuple[str, int], t: float, rh: float, t_out: float, flow: float, warmer: float
) -> None:
    mild = leaving(stage, t, rh, t_out, flow)
    hot = leaving(stage, t, rh, t_out + warmer, flow)
    assert hot.capacity <= mild.capacity * (1.0 + 1e-7)
    assert hot.input / hot.capacity >= mild.input / mild.capacity * (1.0 - 1e-6)


@given(**states, damper=floats(0.005, 0.3))
def test_damper_air_gives_no_less_capacity(
    stage: tuple[str, int], t: float, rh: float, t_out: float, flow: float, damper: float
) -> None:
    """At one dry bulb, a higher wet bulb: more capacity, and more water taken."""
    dry = leaving(stage, t, rh, t_out, flow)
    damp = leaving(stage, t, min(rh + damper, 0.97), t_out, flow)
    assert damp.capacity >= dry.capacity * (1.0 - 1e-6)
    w_dry, w_damp = (air.humidity_ratio_at(t, r, P) for r in (rh, min(rh + damper, 0.97)))
    assert w_damp - damp.w_leaving >= (w_dry - dry.w_leaving) - 1e-8


@pytest.mark.slow
@given(stage=stages, t=floats(18.0, 32.0), t_out=floats(10.0, 48.0), flow=floats(0.5, 1.3))
def test_no_jump_between_dry_and_wet(
    stage: tuple[str, int], t: float, t_out: float, flow: float
) -> None:
    """Across the whole range of humidity, 0.01 K of dew point moves nothing by 0.1 % of rating."""
    row = STAGES[stage]
    dew_points = np.arange(-5.0, t - 0.5, 0.01)
    results = []
    for dew_point in dew_points:
        w = air.humidity_ratio(air.saturation_pressure(dew_point), P)
        wet_bulb = air.wet_bulb(t, w, P, 15.0)
        results.append((w, cool(row, t, w, wet_bulb, P, t_out, flow * row.dry_air, 8.0)))
    capacity = np.array([coil.capacity for _, coil in results])
    latent = np.array(
        [flow * row.dry_air * (w - coil.w_leaving) * air.H_EVAPORATION for w, coil in results]
    )
    assert np.abs(np.diff(capacity)).max() <= 1e-3 * row.capacity
    assert np.abs(np.diff(latent)).max() <= 1e-3 * row.capacity


@given(t=floats(18.0, 32.0), rh=floats(0.05, 0.95), t_out=floats(10.0, 45.0))
def test_one_hundredth_of_a_kelvin_moves_little(t: float, rh: float, t_out: float) -> None:
    for stage, row in STAGES.items():
        here = leaving(stage, t, rh, t_out, 1.0)
        for there in (
            leaving(stage, t + 0.01, rh, t_out, 1.0),
            leaving(stage, t, rh, t_out + 0.01, 1.0),
        ):
            assert abs(there.capacity - here.capacity) <= 1e-3 * row.capacity
            assert abs(there.input - here.input) <= 1e-3 * row.input


def test_slower_air_dries_more_per_capacity() -> None:
    """Common practice, no source: a slower fan lowers the sensible heat ratio."""
    ratios = []
    for flow in (0.6, 0.8, 1.0, 1.2):
        coil = leaving(("two-stage", 1), 24.0, 0.55, 32.0, flow)
        w = air.humidity_ratio_at(24.0, 0.55, P)
        dried = flow * STAGES["two-stage", 1].dry_air * (w - coil.w_leaving)
        ratios.append(1.0 - dried * air.vapor_enthalpy(24.0) / coil.capacity)
    print("sensible heat ratio at 0.6 to 1.2 of rated flow:", [round(r, 3) for r in ratios])
    assert ratios == sorted(ratios)


def test_start_up_is_a_first_order_rise() -> None:
    """After one time constant 1 - 1/e; many short steps add up to one long one."""
    reached, mean = ramp(0.0, 60.0, 60.0)
    assert reached == pytest.approx(1.0 - math.exp(-1.0))
    assert mean == pytest.approx(math.exp(-1.0))
    assert ramp(0.0, 0.0, 60.0) == (1.0, 1.0)
    part, means = 0.0, []
    for _ in range(60):
        part, share = ramp(part, 60.0, 1.0)
        means.append(share)
    assert part == pytest.approx(reached)
    assert sum(means) / 60.0 == pytest.approx(mean)


def test_a_fan_dries_an_idle_coil() -> None:
    w, w_wet = 0.009, 0.011
    rate = reevaporation(0.5, 0.5, 0.8, 0.4, w, w_wet, 60.0)
    # At most what air of this flow takes up to saturation at its wet bulb.
    assert 0.0 < rate <= 0.8 * 0.4 * (w_wet - w)
    assert reevaporation(0.5, 0.5, 0.8, 0.4, w, w_wet, 1e6) * 1e6 == pytest.approx(0.5)
    assert reevaporation(0.0, 0.5, 0.8, 0.4, w, w_wet, 60.0) == 0.0
    assert reevaporation(0.5, 0.5, 0.8, 0.4, 0.012, w_wet, 60.0) == 0.0
    left, total = 0.5, 0.0
    for _ in range(60):
        taken = reevaporation(left, 0.5, 0.8, 0.4, w, w_wet, 1.0)
        left, total = left - taken, total + taken
    assert total / 60.0 == pytest.approx(rate)


@given(t=floats(-5.0, 45.0), rh=floats(0.0, 1.0), step=floats(0.001, 0.2))
def test_dehumidifier_is_finite_and_rises_with_humidity(t: float, rh: float, step: float) -> None:
    water, power, _ = dehumidifier_factors(t, rh)
    assert math.isfinite(water)
    assert water >= 0.0
    assert power > 0.0
    damper, _, _ = dehumidifier_factors(t, min(rh + step, 1.0))
    assert damper >= water - 1e-12
    warmer, _, _ = dehumidifier_factors(t + 20.0 * step, rh)
    assert warmer >= water - 1e-12


def test_outdoor_air_combines() -> None:
    """ASHRAE Fundamentals ch. 16: in quadrature what unbalances, in sum what does not."""
    assert total_outdoor_air(0.03, 0.0, 0.04) == pytest.approx(0.05)
    assert total_outdoor_air(0.03, 0.02, 0.0) == pytest.approx(0.05)
    assert natural_infiltration(0.01, 0.65, 0.0, 24.0, 24.0) == 0.0
    assert natural_infiltration(0.01, 0.5, 0.04, 24.0, 15.0) == pytest.approx(0.05)
    assert natural_infiltration(0.01, 0.65, 0.0, 20.0, 0.0) == pytest.approx(0.01 * 20.0**0.65)
