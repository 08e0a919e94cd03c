"""A second system: the machines and the control of a second conditioned zone of its own.

Its machines act on the air of the second zone as those of the first system act on the main zone's,
by the same functions. What they bring and take is known before `spaces` solves the step. A run with
one system has None in place of everything here, and a loop in which it costs nothing.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import CallSet
from moistsim.core.compiled import compiled, piece
from moistsim.engine.air_exchange import DuctAir, duct_air
from moistsim.engine.calling import Called, call
from moistsim.engine.forcing_tables import Place
from moistsim.engine.machines import AtWork, run_machines
from moistsim.engine.metering import (
    CoilMeter,
    DehumidifierMeter,
    DuctMeter,
    HeatingMeter,
    RefusalMeter,
    electric_power,
    flag,
    meter_coil,
    meter_dehumidifier,
    meter_ducts,
    meter_heating,
    meter_power,
    meter_refusals,
    supply_temperature,
)
from moistsim.engine.next_state import next_state
from moistsim.engine.outset import Outset, Spaces, space_state
from moistsim.engine.recording import CALLED, log_hottest, log_stages
from moistsim.engine.records import Minute, Plant, State
from moistsim.engine.room import FromMachines, from_machines
from moistsim.engine.rows import add_from, reader, write_from
from moistsim.engine.spaces import SecondDelivery, blown_by


class OwnMeter(NamedTuple):
    """What a second system's meter shows besides its machines."""

    sensed_temperature: float
    """Temperature of its sensor in the middle of the step, degC."""
    sensed_rh: float
    """Relative humidity in its sensor in the middle of the step, 0 to 1."""
    supply_temperature: float
    entering_temperature: float
    off_curve: float
    standby: float
    """Power of its controls, its crankcase heater and its idle machines, W."""
    heat_standby: float


METERED = (OwnMeter, CoilMeter, HeatingMeter, DehumidifierMeter, DuctMeter, RefusalMeter)
"""Groups by which a second system is metered in a step: those of the house's own meter."""
SYSTEM_FIELDS: tuple[str, ...] = tuple(name for kind in METERED for name in kind._fields)
"""Names of all values of a second system in a step, in the order in which tables hold them."""
_COIL = len(OwnMeter._fields)
_HEATING = _COIL + len(CoilMeter._fields)
_DEHUMIDIFIER = _HEATING + len(HeatingMeter._fields)
_DUCTS = _DEHUMIDIFIER + len(DehumidifierMeter._fields)
_REFUSALS = _DUCTS + len(DuctMeter._fields)


class SecondTables(NamedTuple):
    """A second system's parameters and state, and the tables that it fills."""

    parameters: NDArray[np.float64]
    """`Plant` in one row, with the second zone in place of the house's."""
    stages: NDArray[np.float64]
    """The stage table, see `StageParameters`."""
    states: NDArray[np.float64]
    """`State` in one row, which each step replaces. Its room is the second zone, as in `Spaces`."""
    hourly: NDArray[np.float64]
    """Hourly sums of the run. The last columns are those of `SYSTEM_FIELDS`."""
    trace: NDArray[np.float64]
    """Values of every step, or an empty table."""
    stage_log: NDArray[np.float64]
    """Stages and starts, as `recording.Record.stages`."""
    hottest: NDArray[np.float64]
    """As `recording.Record.hottest`."""
    log: NDArray[np.float64]
    """As `recording.Record.log`."""


class SecondSystem(NamedTuple):
    """A second system; None in a run of one system."""

    tables: SecondTables
    strips: NDArray[np.float64]
    """Power of each strip stage, W."""
    settings: NDArray[np.float64]
    """Settings of its control."""


class SecondTurn(NamedTuple):
    """A second zone at the start of a step, and the calls of its control."""

    begins: Outset
    calls: CallSet


class SecondAtWork(NamedTuple):
    """A second system in a step."""

    called: Called
    machines: AtWork
    brought: FromMachines
    """Effects on the second zone."""
    delivery: SecondDelivery
    ducts: DuctAir


plant_of, state_of = reader(Plant), reader(State)


@piece
def without_faults(minute: Minute) -> Minute:
    """Weather of a step for a second system: only a power cut stops its machines too."""
    return Minute(
        t_out=minute.t_out,
        w_out=minute.w_out,
        sol_air=minute.sol_air,
        sun=minute.sun,
        pressure=minute.pressure,
        natural=minute.natural,
        density=minute.density,
        gains=minute.gains,
        moisture=minute.moisture,
        hour=minute.hour,
        month=minute.month,
        ground=minute.ground,
        exhaust=0.0,
        exhaust_power=0.0,
        ground_vapor=minute.ground_vapor,
        construction=minute.construction,
        opening_wind=minute.opening_wind,
        may_open=minute.may_open,
        occupied=minute.occupied,
        blower=1.0,
        welded=0.0,
        dehumidifier_works=1.0,
        powered=minute.powered,
    )


@compiled
def run_second(
    parameters: NDArray[np.float64],
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    states: NDArray[np.float64],
    turn: SecondTurn,
    weather: Minute,
    dt: float,
) -> SecondAtWork:
    """Run the machines of a second system on the air of its zone at the start of the step.

    Parameters
    ----------
    parameters, stages, strips, states
        As in `SecondSystem`.
    """
    plant, state, begins = plant_of(parameters, 0), state_of(states, 0), turn.begins
    minute = without_faults(weather)
    called = call(plant, state, begins, turn.calls, minute, dt)
    machines = run_machines(plant, stages, strips, state, begins, called, minute, dt)
    brought = from_machines(plant, machines, minute.powered)
    blown = blown_by(machines.stream, machines.mixed, machines.back, machines.lost)
    return SecondAtWork(
        called=called,
        machines=machines,
        brought=brought,
        delivery=SecondDelivery(brought, blown, plant.ducts),
        ducts=duct_air(plant, machines),
    )


@compiled
def end_second(
    second: SecondTables,
    turn: SecondTurn,
    works: SecondAtWork,
    spaces: Spaces,
    weather: Minute,
    place: Place,
    dt: float,
) -> float:
    """Move a second system on to the end of the step, and meter it.

    Returns
    -------
    float
        Its electric power, W.
    """
    plant, state, begins = plant_of(second.parameters, 0), state_of(second.states, 0), turn.begins
    minute, machines = without_faults(weather), works.machines
    room = space_state(spaces.states, 0).air
    new = next_state(plant, state, begins, works.called, machines, 0.0, room, minute, spaces, dt)
    write_from(second.states, 0, 0, new)
    rh = air.relative_humidity(room.temperature, room.humidity_ratio, minute.pressure)
    power = meter_power(plant.unit.crankcase_heat, minute, machines, works.brought.standby, 0.0)
    coil = meter_coil(machines, state.frosted)
    heating = meter_heating(plant, state, new, machines, rh)
    drying = meter_dehumidifier(plant.dehumidifier.bucket, state, machines)
    supply = supply_temperature(machines, state.indoor_temperature)
    own = OwnMeter(
        sensed_temperature=begins.sensed_temperature,
        sensed_rh=begins.sensed_rh,
        supply_temperature=supply,
        entering_temperature=machines.back.temperature,
        off_curve=max(machines.stream.off_curve, machines.dried.held),
        standby=power.standby,
        heat_standby=works.brought.standby,
    )
    ducts = meter_ducts(machines.back, machines.lost)
    refusals = meter_refusals(machines.running.refused & ~int(state.refused))
    add_all(second.hourly, place.hour, own, coil, heating, drying, ducts, refusals)
    if second.trace.shape[0] > 0:
        add_all(second.trace, place.row, own, coil, heating, drying, ducts, refusals)
        log, row = second.log, place.row
        log[row, 0], log[row, 1] = begins.sensed_temperature, 100.0 * begins.sensed_rh
        log[row, 2], log[row, 3] = flag(new.strips_open > 0.0), new.humidistat
        write_from(log, row, CALLED, turn.calls)
    log_stages(second.stage_log, place.hour, state.cooling_stage, new.cooling_stage)
    log_hottest(
        second.hottest, place.hour, supply, new.limit_temperature, heating.strip_trip,
        plant.unit.strip_limit,
    )  # fmt: skip
    return electric_power(power, coil, heating, drying)


@piece
def add_all(
    table: NDArray[np.float64],
    row: int,
    own: OwnMeter,
    coil: CoilMeter,
    heating: HeatingMeter,
    drying: DehumidifierMeter,
    ducts: DuctMeter,
    refusals: RefusalMeter,
) -> None:
    """Add a step's values to the last columns of a row of a table."""
    first = table.shape[1] - len(SYSTEM_FIELDS)
    add_from(table, row, first, own)
    add_from(table, row, first + _COIL, coil)
    add_from(table, row, first + _HEATING, heating)
    add_from(table, row, first + _DEHUMIDIFIER, drying)
    add_from(table, row, first + _DUCTS, ducts)
    add_from(table, row, first + _REFUSALS, refusals)
