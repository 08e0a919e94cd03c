"""One step of a house: calls, machines, outdoor air, the room, and the meter."""

import numpy as np
from numpy.typing import NDArray

from moistsim.controls import CallSet
from moistsim.core.compiled import piece
from moistsim.engine.air_exchange import exchange_air
from moistsim.engine.calling import call
from moistsim.engine.forcing_tables import Place
from moistsim.engine.machines import run_machines
from moistsim.engine.metering import Step, Working, at_work, electric_power, meter
from moistsim.engine.next_state import next_state, room_after
from moistsim.engine.outset import Outset, Spaces
from moistsim.engine.records import Minute, Plant, State, room_of
from moistsim.engine.room import act, settle_room
from moistsim.engine.second_system import SecondSystem, SecondTurn, end_second, run_second
from moistsim.engine.spaces import blown_by, settle_spaces


@piece
def advance(
    plant: Plant,
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    state: State,
    begins: Outset,
    calls: CallSet,
    minute: Minute,
    spaces: Spaces | None,
    second: SecondSystem | None,
    turn: SecondTurn | None,
    place: Place,
    dt: float,
) -> tuple[State, Step, Working, float]:
    """Advance a house by one step: the machines follow the calls, and the room responds.

    Machines act on the air at the start of the step. The room, its masses and its stores are solved
    for the end of the step.

    Parameters
    ----------
    stages, strips : array
        The stage table, see `StageParameters`, and the power of each strip stage, W.
    begins : Outset
        Result of `outset` for this state.
    minute : Minute
        Weather, people and faults.
    spaces : Spaces, optional
        Spaces next to the zone.
    second, turn : SecondSystem, SecondTurn, optional
        A second zone's own system, at the start of the step.
    place : Place
        Rows of the step in the spaces' tables.

    Returns
    -------
    tuple
        State and meter of the step, the groups of the meter at work, and the electric power of the
        house, W.
    """
    called = call(plant, state, begins, calls, minute, dt)
    machines = run_machines(plant, stages, strips, state, begins, called, minute, dt)
    if second is None or turn is None:
        works, delivery, ducts = None, None, None
    else:
        tables = second.tables
        works = run_second(
            tables.parameters, tables.stages, second.strips, tables.states, turn, minute, dt
        )
        delivery, ducts = works.delivery, works.ducts
    exchange = exchange_air(plant, state, machines, ducts, minute, dt)
    acting = act(plant, state, begins, machines, minute, dt)
    if spaces is None:
        end = settle_room(
            plant.zone, state, begins.stores, machines.going.heat, exchange, acting, minute, dt
        )
    else:
        end = settle_spaces(
            plant.zone, room_of(state), begins.stores, machines.going.heat, exchange, acting,
            blown_by(machines.stream, machines.mixed, machines.back, machines.lost), plant.ducts,
            minute, machines.going.exhaust + minute.exhaust, spaces, delivery, place, dt,
        )  # fmt: skip
    new = next_state(
        plant, state, begins, called, machines, exchange.windows_open, room_after(end), minute,
        spaces, dt,
    )  # fmt: skip
    step = meter(plant, state, new, begins, minute, machines, exchange, acting, end)
    power = electric_power(step.power, step.coil, step.heating, step.dehumidifier)
    power += step.room_heat.room_heater
    if second is not None and turn is not None and works is not None and spaces is not None:
        power += end_second(second.tables, turn, works, spaces, minute, place, dt)
    return new, step, at_work(state, minute, machines, step, plant), power
