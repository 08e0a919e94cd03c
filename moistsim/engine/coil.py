"""The cooling coil: capacity, input, and the heat and water that it removes from the air."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import StageParameters
from moistsim.engine.rows import interpolator, reader


class CoilResult(NamedTuple):
    """Result of a cooling stage at full capacity."""

    capacity: float
    """Enthalpy that the coil removes from the air, W."""
    input: float
    """Compressor and outdoor fan input, W."""
    h_leaving: float
    """Enthalpy of the leaving air, J/kg."""
    w_leaving: float
    """Humidity ratio of the leaving air, kg/kg."""
    apparatus_dew_point: float
    """Apparatus dew point, degC."""
    wet_bulb: float
    """Wet bulb at which the curves are read, degC."""
    dry: float
    """1 if no water condenses."""
    off_curve: float
    """1 if a curve is held at the limit of its range."""


at_row, between_rows = reader(StageParameters), interpolator(StageParameters)


@piece
def stage_at(table: NDArray[np.float64], i: float) -> StageParameters:
    """Stage at row `i` of the stage table as a named tuple, linear between two rows.

    A variable-speed unit is a line through its stages. Capacity, input, airflow, coil and curves
    all move from one row to the next with the call.
    """
    k = int(i)
    f = i - k
    if f == 0.0:
        return at_row(table, k)  # type: ignore[no-any-return]
    return between_rows(table, k, min(k + 1, len(table) - 1), f)  # type: ignore[no-any-return]


@piece
def held_biquadratic(
    a: float, b: float, c: float, d: float, e: float, f: float, x: float, y: float, rises: float
) -> float:
    """Value of a + b x + c x² + d y + e y² + f x y, with x held at the curve's turning point.

    A parabola fitted over 57 to 72 degF turns near its lower end. Below the turn it would give a
    drier coil more capacity, or a lower input ratio, and no coil does that. `rises` is 1 for a
    quantity that rises with x and -1 for one that falls. It shows on which side of the turn the
    curve is wrong.
    """
    if c != 0.0 and (b + f * y + 2.0 * c * x) * rises < 0.0:
        x = -(b + f * y) / (2.0 * c)
    return a + x * (b + c * x + f * y) + y * (d + e * y)


@piece
def capacity_at(stage: StageParameters, t_wet: float, t_out: float, flow: float) -> float:
    """Gross total capacity, W, at an entering wet bulb and outdoor dry bulb, degC.

    Cutler et al. (2013), NREL/TP-5500-56354. `flow` is the fraction of rated airflow. Beyond the
    range of the curves the value is that at the limit.
    """
    s = stage
    x = min(max(1.8 * t_wet + 32.0, s.low_wet_bulb), s.high_wet_bulb)
    y = min(max(1.8 * t_out + 32.0, s.low_outdoor), s.high_outdoor)
    f = min(max(flow, s.low_flow), s.high_flow)
    by_state = held_biquadratic(
        s.capacity_a, s.capacity_b, s.capacity_c, s.capacity_d, s.capacity_e, s.capacity_f, x, y, 1.0
    )  # fmt: skip
    by_flow = s.capacity_flow_a + f * (s.capacity_flow_b + f * s.capacity_flow_c)
    return s.capacity * by_state * by_flow


@piece
def input_ratio_at(stage: StageParameters, t_wet: float, t_out: float, flow: float) -> float:
    """Compressor and outdoor fan input per unit of capacity, W/W (Cutler et al. 2013)."""
    s = stage
    x = min(max(1.8 * t_wet + 32.0, s.low_wet_bulb), s.high_wet_bulb)
    y = min(max(1.8 * t_out + 32.0, s.low_outdoor), s.high_outdoor)
    f = min(max(flow, s.low_flow), s.high_flow)
    by_state = held_biquadratic(
        s.input_a, s.input_b, s.input_c, s.input_d, s.input_e, s.input_f, x, y, -1.0
    )
    by_flow = s.input_flow_a + f * (s.input_flow_b + f * s.input_flow_c)
    return s.input / s.capacity * by_state * by_flow


@piece
def contact_with(transfer_units: float) -> float:
    """Share of the air that meets the coil: 1 less the bypass factor exp(-A0 / flow)."""
    # An exponential below half the last bit of 1 does not change the difference.
    return 1.0 - math.exp(-transfer_units) if transfer_units < 40.0 else 1.0


@piece
def cool(
    stage: StageParameters,
    t: float,
    w: float,
    wet_bulb: float,
    pressure: float,
    t_out: float,
    dry_air: float,
    apparatus_guess: float,
) -> CoilResult:
    """Coil at full capacity in `dry_air` kg/s of air of `t` degC, `w` kg/kg and that wet bulb.

    The air leaves on the straight line from its entering state to saturation at the apparatus dew
    point. It stops short of that point by the bypass factor exp(-A0 / flow) (ASHRAE Handbook, HVAC
    Systems and Equipment, cooling coils). A coil whose apparatus dew point is above the dew point
    of the air is dry. It works like one in air just humid enough to wet it: its capacity is that at
    the wet bulb of this air, and all of it is sensible.
    """
    flow, per_dry_air = dry_air / stage.dry_air, 1.0 / dry_air
    h = air.enthalpy(t, w)
    contact = contact_with(stage.conductance * per_dry_air)
    capacity = capacity_at(stage, wet_bulb, t_out, flow)
    apparatus, w_apparatus = air.saturated_at(
        h - capacity * (per_dry_air / contact), pressure, apparatus_guess
    )
    dry = 0.0
    w_leaving = w - contact * (w - w_apparatus)
    if w_apparatus >= w:
        dry = 1.0
        w_leaving = w
        wet_bulb, capacity, apparatus = _dry_coil(
            stage, t, w, pressure, t_out, dry_air, flow, contact, wet_bulb
        )
    ratio = input_ratio_at(stage, wet_bulb, t_out, flow)
    x, y = 1.8 * wet_bulb + 32.0, 1.8 * t_out + 32.0
    off_curve = (
        1.0
        if x < stage.low_wet_bulb
        or x > stage.high_wet_bulb
        or y < stage.low_outdoor
        or y > stage.high_outdoor
        or flow < stage.low_flow
        or flow > stage.high_flow
        else 0.0
    )
    return CoilResult(
        capacity, capacity * ratio, h - capacity * per_dry_air, w_leaving, apparatus, wet_bulb, dry,
        off_curve,
    )  # fmt: skip


@piece
def _dry_coil(
    stage: StageParameters,
    t: float,
    w: float,
    pressure: float,
    t_out: float,
    dry_air: float,
    flow: float,
    contact: float,
    wet_bulb: float,
) -> tuple[float, float, float]:
    """Wet bulb, capacity and surface temperature of a coil that is just dry, by bisection.

    The unknown is the surface temperature, between the dew point of the air and its dry bulb.
    The capacity rises with it, and the heat that the air gives up falls.
    """
    low, high = air.dew_point(air.vapor_pressure(w, pressure)), t
    capacity = 0.0
    surface = low
    for _ in range(40):
        surface = 0.5 * (low + high)
        w_equivalent = air.saturation_humidity_ratio(surface, pressure)
        wet_bulb = air.wet_bulb(t, w_equivalent, pressure, wet_bulb)
        capacity = capacity_at(stage, wet_bulb, t_out, flow)
        sensible = (
            dry_air * contact * (t - surface) * (air.CP_DRY_AIR + air.CP_VAPOR * w_equivalent)
        )
        if capacity < sensible:
            low = surface
        else:
            high = surface
        if high - low < 1.0e-6:
            break
    return wet_bulb, capacity, surface


@piece
def ramp(reached: float, start_up_time: float, dt: float) -> tuple[float, float]:
    """Share of full capacity at the end of a step and its mean over it, from a first-order rise."""
    if start_up_time <= 0.0:
        return 1.0, 1.0
    fall = math.exp(-dt / start_up_time)
    mean = 1.0 - (1.0 - reached) * ((1.0 - fall) * start_up_time / dt)
    return 1.0 - (1.0 - reached) * fall, mean


@piece
def reevaporation(
    water: float, held: float, contact: float, dry_air: float, w: float, w_wet: float, dt: float
) -> float:
    """Water that evaporates from an idle wet coil into the air, mean over the step, kg/s.

    While the coil is full it is an adiabatic evaporator: air of `dry_air` kg/s moves towards
    saturation at its own wet bulb as far as the coil's `contact` brings it. As the coil dries the
    rate falls with the square root of the water left, dM/dt = -r0 sqrt(M / held), from which

        M(t) = (sqrt(M0) - r0 t / (2 sqrt(held)))²

    and the rate of a coil that began full falls in a straight line to nothing: the linear decay
    of Henderson & Rengarajan (1996), ASHRAE Transactions 102(1), from memory. It is solved
    exactly, so a step of any length is correct.
    """
    if water <= 0.0 or held <= 0.0 or w_wet <= w:
        return 0.0
    rate = dry_air * contact * (w_wet - w)
    left = max(math.sqrt(water) - rate * (0.5 * dt / math.sqrt(held)), 0.0)
    return (water - left * left) * (1.0 / dt)
