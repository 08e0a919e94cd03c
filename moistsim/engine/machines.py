"""All machines in a step: which of them run, and their effect on the air."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.air_handler import Entering, Stream, run_air_handler
from moistsim.engine.calling import Called
from moistsim.engine.drying import Dried, Inlet, dry
from moistsim.engine.ducts import ReturnAir, SupplyAir, return_air, supply_air
from moistsim.engine.interlocks import Conditions, Running, obey
from moistsim.engine.outset import Outset
from moistsim.engine.records import AirHandlerParameters, Minute, MoistAir, Plant, State
from moistsim.engine.strips import (
    Bank,
    Guarded,
    limit_switch,
    locked_out,
    sequence,
    strip_power,
)
from moistsim.engine.ventilating import Ventilating, through_central_duct, with_central_air


class AtWork(NamedTuple):
    """Operation of every machine in a step."""

    running: Running
    """Stages and speeds at which the machines run."""
    bank: Bank
    """Power and stages of the strips."""
    going: Ventilating
    """Operation of the ventilation's own fans."""
    moved: float
    """Airflow of the blower as a share of its full flow, mean over the step."""
    blown: float
    """Airflow of the blower, kg/s of dry air, mean over the step."""
    mixed: MoistAir
    """Air that the return draws: the room's, with the outdoor air of a central duct."""
    back: ReturnAir
    """Return air at the machines."""
    stream: Stream
    """Air stream of the air handler."""
    lost: SupplyAir
    """Losses of the supply ducts."""
    guarded: Guarded
    """State of the strips' limit switch."""
    in_still_air: float
    """Power of the strips in still air, W, which reaches the room through the ducts."""
    inlet: Inlet
    """Inlet air of the dehumidifier."""
    dried: Dried
    """Operation of the dehumidifier."""


@piece
def run_machines(
    plant: Plant,
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    state: State,
    begins: Outset,
    called: Called,
    minute: Minute,
    dt: float,
) -> AtWork:
    """Run the machines on the air at the start of the step.

    Parameters
    ----------
    stages, strips : array
        The stage table, see `StageParameters`, and the power of each strip stage, W.
    """
    unit, room = plant.unit, begins.air
    running = obey(
        called.calls, state, unit, plant.dehumidifier, stages,
        Conditions(
            t_out=minute.t_out,
            t_inlet=called.inlet.temperature,
            locked_out=locked_out(unit, minute.hour, minute.month),
            blower_works=minute.blower > 0.0,
            dehumidifier_works=minute.dehumidifier_works > 0.0,
            powered=minute.powered > 0.0,
        ),
        dt,
    )  # fmt: skip
    bank = strips_on(unit, strips, state, running, minute, dt)
    moved = running.airflow * running.fan_share * minute.blower
    going = through_central_duct(plant.ventilation, called.going, moved)
    full = unit.full_flow * (minute.pressure * (1.0 / air.STANDARD_PRESSURE))
    blown = moved * full
    mixed = begins.drawn
    if plant.ventilation.central > 0.0 and blown > 0.0:
        # The return leak is not part of this mix, because it enters nearer to the blower.
        drawn = (1.0 - plant.ducts.return_leak) * blown
        t, w = with_central_air(
            going, minute.density, drawn, mixed.temperature, mixed.humidity_ratio
        )
        mixed = MoistAir(t, w, air.enthalpy(t, w))
    around = begins.around
    back = return_air(
        plant.ducts, mixed.temperature, mixed.humidity_ratio, around.temperature,
        around.humidity_ratio, blown, running.fan_share,
    )  # fmt: skip
    wet_bulb = begins.wet_bulb
    if back.temperature != room.temperature or back.humidity_ratio != room.humidity_ratio:
        wet_bulb = air.wet_bulb(back.temperature, back.humidity_ratio, minute.pressure, wet_bulb)
    in_stream = bank.power if moved > 0.0 else 0.0
    stream = run_air_handler(
        running, state, Entering(back.temperature, back.humidity_ratio, wet_bulb, minute.pressure),
        unit, stages, in_stream, minute.t_out, full, dt, minute.blower,
    )  # fmt: skip
    guarded = limit_switch(
        state, unit, stream.at_limit, bank.power, moved > 0.0, room.temperature, dt
    )
    return AtWork(
        running=running,
        bank=bank,
        going=going,
        moved=moved,
        blown=blown,
        mixed=mixed,
        back=back,
        stream=stream,
        lost=supply_air(
            plant.ducts,
            stream.h_supply,
            stream.w_supply,
            around,
            minute.pressure,
            blown,
            dt,
            running.fan_share,
        ),
        guarded=guarded,
        in_still_air=guarded.share * (bank.power - in_stream),
        inlet=called.inlet,
        dried=dry(plant.dehumidifier, running.dehumidifier, called.inlet, minute.pressure),
    )


@piece
def strips_on(
    unit: AirHandlerParameters,
    strips: NDArray[np.float64],
    state: State,
    running: Running,
    minute: Minute,
    dt: float,
) -> Bank:
    """Power and stages of the strips from their sequencer; all of them with a welded contactor.

    The blower's relay proves the airflow.
    """
    called = running.backup * unit.strip_stages + running.reheat
    bank = sequence(called, running.airflow, state, unit, strips, dt)
    if minute.welded > 0.0 and minute.powered > 0.0 and state.strips_open == 0.0:
        bank = Bank(strip_power(strips, unit.strip_stages), unit.strip_stages, unit.strip_stages)
    return bank
