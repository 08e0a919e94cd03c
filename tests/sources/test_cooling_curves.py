"""Source: Cutler et al. (2013), NREL/TP-5500-56354, cooling curves, from memory.

Cooling curves of Cutler, Winkler, Kruis, Christensen & Brandemuehl (2013), Improved Modeling of
Residential Air Conditioners and Heat Pumps, NREL/TP-5500-56354; and the rating point of AHRI
210/240 (indoors 80/67 degF, outdoors 95 degF). Coefficients and rating point from memory.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moistsim import Cooling, Equipment, Stage, air
from moistsim.engine import parameters
from moistsim.engine.air_handler import Entering, Stream, run_air_handler
from moistsim.engine.coil import capacity_at, cool, input_ratio_at, stage_at
from moistsim.engine.interlocks import Running
from moistsim.engine.records import StageParameters, State
from moistsim.equipment.cooling import HIGH, LOW, SINGLE, Curves, rated_entering_air

BTU_PER_HOUR = 0.29307107
"""W."""
CFM = 0.000471947443
"""m3/s."""
SEA_LEVEL = 101_325.0


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


ONE_STAGE = Cooling(
    stages=[Stage(capacity="36000 Btu/h", cop="12.2 Btu/h/W", shr=0.72, airflow="1080 cfm")],
    start_up_time=0.0,
)
TWO_STAGES = Cooling(
    stages=[
        Stage(capacity="25000 Btu/h", cop="13.5 Btu/h/W", shr=0.74, airflow="820 cfm"),
        Stage(capacity="35000 Btu/h", cop="12.0 Btu/h/W", shr=0.71, airflow="1050 cfm"),
    ],
    start_up_time=0.0,
)
RATINGS = (
    # unit, stage from 0, net capacity Btu/h, EER Btu/h/W, net SHR, cfm
    pytest.param(ONE_STAGE, 0, 36_000.0, 12.2, 0.72, 1080.0, id="single"),
    pytest.param(TWO_STAGES, 0, 25_000.0, 13.5, 0.74, 820.0, id="low"),
    pytest.param(TWO_STAGES, 1, 35_000.0, 12.0, 0.71, 1050.0, id="high"),
)


@pytest.mark.parametrize("curves", [SINGLE, LOW, HIGH], ids=["single", "low", "high"])
def test_published_curves_are_nearly_one_at_rating(curves: Curves) -> None:
    """Within 1 percent at 67/95 degF and at rated airflow; they are fits."""
    assert curves.capacity.at(67.0, 95.0) == pytest.approx(1.0, abs=0.01)
    assert curves.input_ratio.at(67.0, 95.0) == pytest.approx(1.0, abs=0.01)
    assert sum(curves.capacity_by_flow) == pytest.approx(1.0, abs=0.01)
    assert sum(curves.input_ratio_by_flow) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(("unit", "number", "capacity", "eer", "shr", "cfm"), RATINGS)
def test_normalized_curves_are_one_at_rating(
    unit: Cooling, number: int, capacity: float, eer: float, shr: float, cfm: float
) -> None:
    table = parameters.stage_table(unit)
    stage = stage_at(table, number)
    t_wet, t_out = celsius(67.0), celsius(95.0)
    assert capacity_at(stage, t_wet, t_out, 1.0) == pytest.approx(stage.capacity, rel=1e-12)
    assert input_ratio_at(stage, t_wet, t_out, 1.0) == pytest.approx(
        stage.input / stage.capacity, rel=1e-12
    )


def test_entering_air_of_the_rating() -> None:
    """80/67 degF at sea level: CoolProp (run) gives W 0.011224.

    Saturated ideal air holds 0.47 percent less at 67 degF; at a given wet bulb the whole of that
    difference, 6e-5 kg/kg, comes off W, which is 0.55 percent of it.
    """
    t, w = rated_entering_air()
    assert t == pytest.approx(celsius(80.0), abs=1e-12)
    assert w == pytest.approx(0.011224, abs=6.5e-5)
    assert air.wet_bulb(t, w, SEA_LEVEL, 20.0) == pytest.approx(celsius(67.0), abs=1e-5)


@pytest.mark.parametrize(("unit", "number", "capacity", "eer", "shr", "cfm"), RATINGS)
def test_coil_gives_back_its_gross_rating(
    unit: Cooling, number: int, capacity: float, eer: float, shr: float, cfm: float
) -> None:
    rating = unit.gross_rating(number)
    stage = stage_at(parameters.stage_table(unit), number)
    t, w = rated_entering_air()
    coil = cool(
        stage, t, w, air.wet_bulb(t, w, SEA_LEVEL, 20.0), SEA_LEVEL, celsius(95.0),
        rating.dry_air, 10.0,
    )  # fmt: skip
    assert coil.dry == 0.0 and coil.off_curve == 0.0
    assert coil.capacity == pytest.approx(rating.capacity, rel=1e-6)
    assert coil.input == pytest.approx(rating.input, rel=1e-6)
    latent = rating.dry_air * (w - coil.w_leaving) * air.vapor_enthalpy(t)
    assert 1.0 - latent / coil.capacity == pytest.approx(rating.shr, rel=1e-6)
    assert coil.apparatus_dew_point == pytest.approx(rating.apparatus_dew_point, abs=1e-4)
    # It leaves on the line from where it entered to the apparatus dew point, short of it by the
    # bypass factor.
    w_apparatus = air.saturation_humidity_ratio(rating.apparatus_dew_point, SEA_LEVEL)
    assert coil.w_leaving - w_apparatus == pytest.approx(
        rating.bypass_factor * (w - w_apparatus), rel=1e-4
    )
    # Nor can the leaving air be wetter than saturated.
    leaving = air.temperature_at_enthalpy(coil.h_leaving, coil.w_leaving)
    assert air.relative_humidity(leaving, coil.w_leaving, SEA_LEVEL) < 1.0


def at_rating(unit: Cooling, number: int) -> tuple[Stream, float]:
    """The whole air handler in the rating's air, running long; and the entering enthalpy."""
    machines = Equipment(cooling=unit)
    handler = parameters.air_handler_parameters(machines)
    table = parameters.stage_table(unit)
    t, w = rated_entering_air()
    zeros = dict.fromkeys(State._fields, 0.0)
    state = State(
        **{
            **zeros,
            "indoor_temperature": t,
            "indoor_humidity_ratio": w,
            "coil_ramp": 1.0,
            "cooling_stage": number + 1.0,
            "apparatus_guess": 10.0,
        }
    )
    flow = stage_at(table, number).flow
    nothing: dict[str, Any] = {**dict.fromkeys(Running._fields, 0.0), "refused": 0}
    running = Running(**{**nothing, "cooling": number + 1.0, "airflow": flow, "fan_share": 1.0})
    stream = run_air_handler(
        running, state, Entering(t, w, celsius(67.0), SEA_LEVEL), handler, table, 0.0, celsius(95.0),
        handler.full_flow, 60.0,
    )  # fmt: skip
    return stream, air.enthalpy(t, w)


@pytest.mark.parametrize(("unit", "number", "capacity", "eer", "shr", "cfm"), RATINGS)
def test_whole_unit_gives_back_its_label(
    unit: Cooling, number: int, capacity: float, eer: float, shr: float, cfm: float
) -> None:
    """Net capacity, EER and SHR as printed: the fan's heat off, its power in, once each."""
    stream, h_entering = at_rating(unit, number)
    assert stream.dry_air == pytest.approx(cfm * CFM * 1.204, rel=1e-9)
    net = stream.dry_air * (h_entering - stream.h_supply)
    assert net / BTU_PER_HOUR == pytest.approx(capacity, rel=1e-6)
    drawn = stream.compressor + stream.fan
    assert net / BTU_PER_HOUR / drawn == pytest.approx(eer, rel=1e-6)
    assert (stream.sensible - stream.fan) / net == pytest.approx(shr, rel=1e-6)
    # The fan by the fan law: 0.42 W/cfm at full flow, its default, and the cube of the rest.
    full = unit.stages[-1].airflow / CFM
    assert stream.fan == pytest.approx(0.42 * full * (cfm / full) ** 3, rel=1e-6)


STAGES = [
    stage_at(parameters.stage_table(ONE_STAGE), 0),
    stage_at(parameters.stage_table(TWO_STAGES), 0),
    stage_at(parameters.stage_table(TWO_STAGES), 1),
]
WET_BULBS = st.floats(50.0, 80.0)
"""degF: wider than the 57 to 72 degF of the curves, so that the holds are crossed."""
OUTDOORS = st.floats(55.0, 120.0)
"""degF: likewise, around 65 to 115 degF."""


@pytest.mark.parametrize("stage", STAGES, ids=["single", "low", "high"])
@given(x=WET_BULBS, rise=st.floats(0.0, 10.0), y=OUTDOORS, flow=st.floats(0.5, 1.3))
def test_wetter_air_never_lowers_capacity(
    stage: StageParameters, x: float, rise: float, y: float, flow: float
) -> None:
    """Nor raises the input ratio. The published capacity parabola turns within its own range."""
    lower, higher = celsius(x), celsius(x + rise)
    t_out = celsius(y)
    capacity = capacity_at(stage, lower, t_out, flow)
    assert capacity_at(stage, higher, t_out, flow) >= capacity * (1.0 - 1e-12)
    ratio = input_ratio_at(stage, lower, t_out, flow)
    assert input_ratio_at(stage, higher, t_out, flow) <= ratio * (1.0 + 1e-12)


@pytest.mark.parametrize("stage", STAGES, ids=["single", "low", "high"])
@given(x=WET_BULBS, y=OUTDOORS, rise=st.floats(0.0, 20.0), flow=st.floats(0.5, 1.3))
def test_hotter_outdoors_never_raises_capacity(
    stage: StageParameters, x: float, y: float, rise: float, flow: float
) -> None:
    """And never lowers the input ratio, nor the input."""
    t_wet = celsius(x)
    cooler, hotter = celsius(y), celsius(y + rise)
    before, after = (capacity_at(stage, t_wet, t, flow) for t in (cooler, hotter))
    assert after <= before * (1.0 + 1e-12)
    ratio_before, ratio_after = (input_ratio_at(stage, t_wet, t, flow) for t in (cooler, hotter))
    assert ratio_after >= ratio_before * (1.0 - 1e-12)
    assert after * ratio_after >= before * ratio_before * (1.0 - 1e-12)


@pytest.mark.parametrize("curves", [SINGLE, LOW, HIGH], ids=["single", "low", "high"])
def test_published_capacity_turns_inside_its_range(curves: Curves) -> None:
    """The published capacity curves turn within their range of wet bulb.

    Why it is held: at 115 degF outdoors each turns at 58 to 61 degF, above the 57 of its range,
    and would give drier air more capacity.
    """
    turn = -(curves.capacity.b + curves.capacity.f * 115.0) / (2.0 * curves.capacity.c)
    assert 57.0 < turn < 61.0
    assert curves.capacity.at(57.0, 115.0) > curves.capacity.at(turn, 115.0)


@pytest.mark.parametrize("stage", STAGES, ids=["single", "low", "high"])
def test_capacity_is_held_at_the_turn(stage: StageParameters) -> None:
    turn = -(stage.capacity_b + stage.capacity_f * 115.0) / (2.0 * stage.capacity_c)
    hot = celsius(115.0)
    held = capacity_at(stage, celsius(turn), hot, 1.0)
    assert capacity_at(stage, celsius(57.0), hot, 1.0) == pytest.approx(held, rel=1e-9)
    assert capacity_at(stage, celsius(turn + 1.0), hot, 1.0) > held
