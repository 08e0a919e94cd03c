"""The coil of any described unit is finite, continuous and monotone.

However a unit is described, its coil is finite, continuous and monotone; and a compressor of
variable speed runs between its stages, while one with stages does not.
"""

from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.houses import house
from support.machines import two_stage
from support.performance_tables import table_of
from support.values import floats
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.coil import CoilResult, capacity_at, cool, input_ratio_at, stage_at
from moistsim.engine.interlocks import Conditions, obey, stage_flow
from moistsim.engine.records import DehumidifierParameters, StageParameters, State

P = 101_325.0
WAYS = (
    "stages", "single label", "steep label", "flat label", "two-stage label", "three-stage label",
    "variable label", "table", "noisy table", "typical 1975", "typical 2024 variable",
)  # fmt: skip


@lru_cache
def unit(way: str) -> ms.Cooling:
    label = ms.Cooling.from_label
    made: dict[str, Any] = {
        "stages": two_stage,
        "single label": lambda: label("3 ton", 14.3, 11.7),
        # Near both ends of what is taken.
        "steep label": lambda: label("3 ton", 16.2, 12.0),
        "flat label": lambda: label("3 ton", 12.2, 12.0),
        "two-stage label": lambda: label("3 ton", 17.0, 12.0, kind="two-stage"),
        "three-stage label": lambda: label(
            "3 ton", 18.0, 12.0, kind="multi-stage", lower_stages=(0.4, 0.7)
        ),
        "variable label": lambda: label("3 ton", 19.0, 12.5, kind="variable"),
        "table": lambda: ms.Cooling.from_table(table_of(two_stage())),
        "noisy table": lambda: ms.Cooling.from_table(table_of(two_stage(), noise=0.015)),
        "typical 1975": lambda: ms.Cooling.typical("2.5 ton", year=1975),
        "typical 2024 variable": lambda: ms.Cooling.typical("2.5 ton", kind="variable", year=2024),
    }
    return made[way]()  # type: ignore[no-any-return]


@lru_cache
def table(way: str) -> Any:
    return parameters.stage_table(unit(way))


def stage(way: str, part: float) -> StageParameters:
    """A stage of the unit: `part` from 0, the lowest, to 1; between stages only if it is variable."""
    i = part * (len(unit(way).stages) - 1)
    return stage_at(table(way), i if unit(way).modulation == "variable" else float(round(i)))  # type: ignore[no-any-return]


def leaving(row: StageParameters, t: float, rh: float, t_out: float, flow: float) -> CoilResult:
    w = air.humidity_ratio_at(t, rh, P)
    return cool(row, t, w, air.wet_bulb(t, w, P, 17.0), P, t_out, flow * row.dry_air, 10.0)  # type: ignore[no-any-return]


def sensible(row: StageParameters, coil: CoilResult, t: float, rh: float, flow: float) -> float:
    w = air.humidity_ratio_at(t, rh, P)
    latent = flow * row.dry_air * (w - coil.w_leaving) * air.vapor_enthalpy(t)
    return float(coil.capacity - latent)


box = {
    "way": st.sampled_from(WAYS),
    "part": floats(0.0, 1.0),
    "t": floats(12.0, 38.0),
    "rh": floats(0.05, 0.97),
    "t_out": floats(-10.0, 52.0),
    "flow": floats(0.35, 1.5),
}


@settings(max_examples=300, deadline=None)
@given(**box)
def test_finite_positive_and_continuous(
    way: str, part: float, t: float, rh: float, t_out: float, flow: float
) -> None:
    """Capacity and input are positive and have no jumps.

    No step above 1 % of the rating for 0.1 K in or out, for 0.2 % RH or 0.2 % of the airflow;
    the sensible ratio is from 0 to 1.
    """
    row = stage(way, part)
    here = leaving(row, t, rh, t_out, flow)
    assert np.isfinite(here).all()
    assert here.capacity > 0.0
    assert here.input > 0.0
    heat = sensible(row, here, t, rh, flow)
    assert 0.0 < heat <= here.capacity * (1.0 + 1e-9)
    for other in (
        (t + 0.1, rh, t_out, flow),
        (t, rh + 0.002, t_out, flow),
        (t, rh, t_out + 0.1, flow),
        (t, rh, t_out, flow * 1.002),
    ):
        there = leaving(row, *other)
        assert abs(there.capacity - here.capacity) <= 0.01 * row.capacity
        assert abs(there.input - here.input) <= 0.01 * row.input
        moved = sensible(row, there, other[0], other[1], other[3])
        assert abs(moved - heat) <= 0.01 * row.capacity


@settings(max_examples=300, deadline=None)
@given(**box, damper=floats(0.0, 0.3), hotter=floats(0.0, 15.0))
def test_monotone(
    way: str,
    part: float,
    t: float,
    rh: float,
    t_out: float,
    flow: float,
    damper: float,
    hotter: float,
) -> None:
    """More humid air or hotter outdoor air moves capacity, input and water one way only.

    Damper air: no less capacity, no more input for it, no less water taken. Hotter outdoors: no
    more capacity, no less input for it; a fit may have 1 % of noise in that (`MONOTONE`).
    """
    row = stage(way, part)
    here = leaving(row, t, rh, t_out, flow)
    wetter = min(rh + damper, 0.97)
    damp = leaving(row, t, wetter, t_out, flow)
    assert damp.capacity >= here.capacity * (1.0 - 1e-6)
    assert damp.input / damp.capacity <= here.input / here.capacity * (1.0 + 1e-6)
    w_here, w_damp = (air.humidity_ratio_at(t, r, P) for r in (rh, wetter))
    assert w_damp - damp.w_leaving >= (w_here - here.w_leaving) - 1e-8
    noise = 0.011 if "table" in way else 1e-6
    hot = leaving(row, t, rh, t_out + hotter, flow)
    assert hot.capacity - here.capacity <= noise * row.capacity
    assert here.input / here.capacity - hot.input / hot.capacity <= noise * row.input / row.capacity


@given(way=st.sampled_from(["variable label", "typical 2024 variable"]), call=floats(1.0, 1.999),
       t=floats(18.0, 30.0), rh=floats(0.2, 0.9), t_out=floats(10.0, 45.0))  # fmt: skip
def test_speed_is_continuous_and_more_is_more(
    way: str, call: float, t: float, rh: float, t_out: float
) -> None:
    """Capacity, airflow and input rise with compressor speed, without jumps.

    Along the speed: a thousandth of a stage moves nothing by more than 0.2 % of full capacity,
    which runs from 35 % to 100 % over the stage; capacity, airflow and input rise.
    """
    rows = [stage_at(table(way), c - 1.0) for c in (call, call + 0.001)]
    low, high = (leaving(row, t, rh, t_out, 1.0) for row in rows)
    full = table(way)[-1]
    for field, scale in (("capacity", full[0]), ("input", full[1])):
        change = getattr(high, field) - getattr(low, field)
        assert 0.0 < change <= 0.002 * scale
    heat = [sensible(row, coil, t, rh, 1.0) for row, coil in zip(rows, (low, high), strict=True)]
    assert abs(heat[1] - heat[0]) <= 0.002 * full[0]
    assert stage_flow(table(way), call) == pytest.approx(rows[0].flow)
    assert 0.0 < rows[1].flow - rows[0].flow <= 0.001


@pytest.mark.parametrize("way", WAYS)
def test_whole_stages_are_rows(way: str) -> None:
    rows = table(way)
    for k in range(len(rows)):
        assert stage_at(rows, float(k)) == pytest.approx(tuple(rows[k]), abs=0.0)
        assert stage_flow(rows, k + 1.0) == rows[k][StageParameters._fields.index("flow")]


def test_a_table_is_held_at_its_own_limits() -> None:
    """Ours runs from 75 to 115 degF outdoors; the published curves go on to 65 degF."""
    fitted, published = (stage_at(table(way), 0) for way in ("table", "stages"))
    for function in (capacity_at, input_ratio_at):
        limit = function(fitted, 19.0, (75.0 - 32.0) / 1.8, 1.0)
        assert function(fitted, 19.0, 20.0, 1.0) == pytest.approx(limit, rel=1e-9)
        assert function(published, 19.0, 20.0, 1.0) != function(published, 19.0, 23.0, 1.0)
    assert leaving(fitted, 25.0, 0.55, 22.0, 1.0).off_curve == 1.0
    assert leaving(published, 25.0, 0.55, 22.0, 1.0).off_curve == 0.0
    assert leaving(fitted, 25.0, 0.55, 26.0, 1.0).off_curve == 0.0


# --- Calls ---------------------------------------------------------------------------------------

NO_DEHUMIDIFIER = DehumidifierParameters(*(0.0 for _ in DehumidifierParameters._fields))


def runs(cooling: ms.Cooling, call: float) -> tuple[float, float, int]:
    """Stage, airflow and refusals of a call for cooling by a machine long at rest."""
    handler = parameters.air_handler_parameters(ms.Equipment(cooling=cooling))
    rest = dict.fromkeys(State._fields, 0.0)
    state = State(**{**rest, "cooling_time": 1e5, "heating_time": 1e5, "indoor_temperature": 25.0})
    running = obey(
        ms.Calls(cooling=call), state, handler, NO_DEHUMIDIFIER, parameters.stage_table(cooling),
        Conditions(30.0, 25.0), 60.0,
    )  # fmt: skip
    return running.cooling, running.airflow, running.refused


def test_only_a_variable_unit_follows_a_fraction() -> None:
    variable, staged = unit("variable label"), unit("three-stage label")
    assert runs(variable, 1.4)[:2] == pytest.approx((1.4, 0.35 + 0.4 * 0.65))
    assert runs(variable, 2.0)[:2] == pytest.approx((2.0, 1.0))
    assert runs(variable, 0.6)[0] == 1.0  # no slower than its lowest speed
    assert runs(variable, 0.3)[0] == 0.0
    assert runs(variable, 2.4) == (2.0, 1.0, 128)
    assert runs(variable, float("nan"))[0] == 0.0
    assert runs(staged, 1.4)[0] == 1.0
    assert runs(staged, 1.6)[0] == 2.0
    assert runs(staged, 2.6)[:2] == (3.0, 1.0)


@ms.strategy
def proportional(
    readings: Any, memory: Any, *, cooling_setpoint: ms.units.CoolingSetpoint = 24.0
) -> Any:
    """Speed in proportion to how far the room is above the setpoint, off half a kelvin below."""
    gap = readings.temperature - cooling_setpoint
    if gap > 0.5:
        memory[0] = 1.0
    if gap < -0.5:
        memory[0] = 0.0
    return ms.Calls(cooling=memory[0] * min(1.0 + max(gap, 0.0), 2.0))


def season_of(cooling: ms.Cooling) -> ms.Season:
    return ms.simulate(
        house(), ms.Equipment(cooling=cooling), proportional, stretch("miami", 190, 6), spin_up=0
    )


def test_a_variable_unit_through_a_run() -> None:
    """A variable-speed unit runs between its stages.

    It runs in between, its balances close, its hours are counted under the higher stage, and it
    holds the room with longer runs than a single stage of its full size.
    """
    season = season_of(unit("variable label"))
    assert (season.balance["relative"].abs() <= 1e-9).all()
    m = season.minutes("07-12")["cooling_stage"]
    between = (m > 1.0) & (m < 2.0)
    assert between.sum() > 30
    day = season.hourly[season.hourly.index.strftime("%m-%d") == "07-12"]
    assert day["cooling_stage_2_h"].sum() == pytest.approx((m > 1.0).sum() / 60.0)
    assert day["cooling_stage_1_h"].sum() == pytest.approx((m == 1.0).sum() / 60.0)
    one = season_of(ms.Cooling.from_label("3 ton", 15.0, 12.5))
    starts = [s.meter.starts["cooling_stage_1"] for s in (season, one)]
    dew = [s.meter.humidity["mean_dew_point_C"] for s in (season, one)]
    print(
        f"starts {starts}, mean dew point {dew}, kWh {[s.meter.total_kwh for s in (season, one)]}"
    )
    assert starts[0] < starts[1]


def test_a_law_or_modulation_that_there_is_not() -> None:
    with pytest.raises(ms.InputError) as refusal:
        two_stage(fan_law="squared")
    assert str(refusal.value) == (
        "Cooling.fan_law: cannot use 'squared'. Use one of cubed, proportional."
    )
    with pytest.raises(ms.InputError, match="one of staged, variable"):
        two_stage(modulation="stepless")
