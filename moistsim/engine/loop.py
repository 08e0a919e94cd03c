"""The loop over hours and their steps: weather between hours, the control, a step, the record."""

import logging
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import SIGNATURE, Calls, CallSet
from moistsim.core.compiled import compiled, piece
from moistsim.engine.airflow import Exhausting, exhausting, natural_infiltration
from moistsim.engine.forcing_tables import (
    NOT_IMPOSED,
    OUTDOOR_TEMPERATURE,
    PRESSURE,
    Disturbance,
    Forcing,
    Hour,
    Imposed,
    Node,
    Place,
    given_or,
)
from moistsim.engine.metering import flag
from moistsim.engine.outset import Spaces, mean_temperature, outset, second_room
from moistsim.engine.recording import (
    Record,
    add_to,
    load,
    log_called,
    log_hottest,
    log_stages,
    log_told,
    store,
)
from moistsim.engine.records import ExhaustParameters, LineParameters, Minute, Plant
from moistsim.engine.rows import interpolator, reader
from moistsim.engine.second_system import SecondSystem, SecondTables, SecondTurn, state_of
from moistsim.engine.sensing import OutdoorReading, read
from moistsim.engine.step import advance
from moistsim.engine.wiring import (
    BLOWER_FAILED,
    CONTROL_DOWN,
    DEHUMIDIFIER_STOPPED,
    FOULED,
    POWER_CUT,
    WELDED,
    deliver,
    forget,
    hear,
)
from moistsim.engine.zoning import follow_second, read_second, serve, zoned

plant_of, hour_of, between_nodes = reader(Plant), reader(Hour), interpolator(Node)
NO_CALLS = CallSet(*(0.0 for _ in CallSet._fields))
"""Calls of a control without power. Unlike `Calls()`, they stop the ventilation too."""


class Household(NamedTuple):
    """Vapor and exhaust fans of the household in a step."""

    moisture: float
    """Vapor from the household, kg/s."""
    fans: Exhausting
    """Airflow and power of the exhaust fans."""


@piece
def household_in_step(fans: ExhaustParameters, hour: Hour, k: int, steps: int) -> Household:
    """Vapor and fans in step `k` of the hour; showers, cooking and fans last from its start."""
    bursts = (
        hour.shower_share + hour.cooking_share + (hour.dryer + hour.range_hood + hour.bath_fans)
    )
    # Most hours have no burst to divide among their steps.
    if bursts <= 0.0:
        return Household(hour.moisture, Exhausting(0.0, 0.0))
    showering = min(max(hour.shower_share * steps - k, 0.0), 1.0)
    cooking = min(max(hour.cooking_share * steps - k, 0.0), 1.0)
    return Household(
        hour.moisture + (hour.shower * showering + hour.cooking * cooking),
        exhausting(fans, hour.dryer, hour.range_hood, hour.bath_fans, k, steps),
    )


@piece
def blower_share(line: LineParameters, bits: int) -> float:
    """Airflow of the blower as a share of the expected one, under the faults of a step."""
    if bits & BLOWER_FAILED:
        return 0.0
    if bits & FOULED:
        return line.fouled_flow
    return 1.0


@piece
def place_of(h: int, k: int, steps: int) -> Place:
    """Rows of step `k` of hour `h` in the tables."""
    middle = (k + 0.5) * (2.0 / steps)
    half = 1 if middle > 1.0 else 0
    return Place(h, 2 * h + half, middle - half, steps * h + k)


@piece
def minute_at(
    fans: ExhaustParameters,
    line: LineParameters,
    nodes: NDArray[np.float64],
    place: Place,
    hour: Hour,
    k: int,
    steps: int,
    natural: float,
    bits: int,
    imposed: float,
) -> Minute:
    """Weather, household and faults of step `k` of an hour.

    Weather is linear from node to node. Its values are those of the middle of the step, except for
    the pressure, which is that of the end.

    Parameters
    ----------
    natural : float
        Infiltration in this hour, m3/s.
    bits : int
        Faults of this step.
    imposed : float
        Measured temperature of the room at the end of the step, degC, or `NOT_IMPOSED`.
    """
    i = place.node
    end = place.share + 1.0 / steps
    weather = between_nodes(nodes, i, i + 1, place.share)
    low = nodes[i, PRESSURE]
    household = household_in_step(fans, hour, k, steps)
    powered = flag(bits & POWER_CUT == 0)
    return Minute(
        t_out=weather.temperature,
        w_out=weather.humidity_ratio,
        sol_air=weather.sol_air,
        sun=weather.sun,
        pressure=low + end * (nodes[i + 1, PRESSURE] - low),
        natural=natural,
        density=hour.density,
        gains=hour.gains,
        moisture=household.moisture,
        hour=hour.hour + (k + 0.5) / steps,
        month=hour.month,
        ground=hour.ground,
        exhaust=household.fans.flow * powered,
        exhaust_power=household.fans.power * powered,
        ground_vapor=hour.ground_vapor,
        construction=hour.construction,
        opening_wind=hour.opening_wind,
        may_open=hour.may_open,
        occupied=hour.occupied,
        blower=blower_share(line, bits),
        welded=flag(bits & WELDED > 0),
        dehumidifier_works=flag(bits & DEHUMIDIFIER_STOPPED == 0),
        powered=powered,
        imposed=imposed,
    )


@piece
def as_given(calls: CallSet, table: NDArray[np.float64], h: int, k: int, steps: int) -> CallSet:
    """Calls of the control, replaced by those that a measured series gives in step `k` of an hour."""
    return CallSet(
        cooling=given_or(calls.cooling, table[h, k]),
        reheat=calls.reheat,
        heating=given_or(calls.heating, table[h, steps + k]),
        dehumidifier=given_or(calls.dehumidifier, table[h, 2 * steps + k]),
        fan=given_or(calls.fan, table[h, 3 * steps + k]),
        airflow=calls.airflow,
        ventilation=calls.ventilation,
        hot_gas=calls.hot_gas,
        slow_down=calls.slow_down,
    )


@piece
def seen_outdoors(
    outdoors: NDArray[np.float64], h: int, hour: Hour, k: int, steps: int, t_out: float
) -> OutdoorReading:
    """Outdoor conditions that the control reads in step `k`, from its own sensor or the weather."""
    if outdoors.shape[1] == 0:
        return OutdoorReading(t_out, hour.outdoor_rh, hour.outdoor_dew_point)
    t, rh = outdoors[h, k], outdoors[h, steps + k]
    return OutdoorReading(t, rh, air.dew_point(0.01 * rh * air.saturation_pressure(t)))


@piece
def sum_of(calls: CallSet) -> float:
    """Sum of all calls, which is NaN if one of them is."""
    return (
        calls.cooling
        + calls.reheat
        + calls.heating
        + calls.dehumidifier
        + calls.fan
        + calls.airflow
        + calls.ventilation
        + calls.hot_gas
        + calls.slow_down
    )


def run(
    parameters: NDArray[np.float64],
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    spaces: Spaces | None,
    second: SecondSystem | None,
    forcing: Forcing,
    steps: int,
    strategy: Callable[..., CallSet],
    second_strategy: Callable[..., CallSet] | None,
    settings: NDArray[np.float64],
    memory: NDArray[np.float64],
    state_table: NDArray[np.float64],
    record: Record,
) -> None:
    """Step through hours of forcing, filling `record`.

    Parameters
    ----------
    parameters : array
        `Plant`, flat in one row. Unpacking hundreds of numbers from tuples would add about 25 % of
        machine code.
    stages, strips : array
        The stage table, see `StageParameters`, and the power of each strip stage, W.
    spaces : Spaces, optional
        Spaces next to the zone. Their states continue the row of `state_table`.
    second : SecondSystem, optional
        A second zone's own system. Its state is the end of the row of `state_table`.
    steps : int
        Steps an hour, a multiple of 4.
    settings : array
        Settings of the strategy. Those that `forcing` gives by the hour replace them.
    memory, state_table : array
        Strategy's memory and state at the start; at return, those at the end. The memory of a second
        thermostat, or of a second system's control, is the end of the first array.
    """
    dt, quarter_steps = 3600.0 / steps, steps // 4
    # Local names, and indices instead of row views: each view would cost two atomic counts a step.
    nodes, hours = forcing.nodes, forcing.hours
    faults, errors = forcing.disturbance.faults, forcing.disturbance.errors
    outdoors = forcing.disturbance.outdoors
    hourly, states, memories = record.hourly, record.states, record.memories
    stage_log, quarters, trace = record.stages, record.quarters, record.trace
    hottest, log = record.hottest, record.log
    tracing = trace.shape[0] > 0
    failing, erring = faults.shape[1] > 0, errors.shape[1] > 0
    temperatures, given_calls = forcing.imposed.temperature, forcing.imposed.calls
    settings_by_hour = forcing.imposed.settings
    imposing, calling = temperatures.shape[1] > 0, given_calls.shape[1] > 0
    plant = plant_of(parameters, 0)
    zone, line = plant.zone, plant.line
    state = load(state_table, 0)
    own = len(state)
    two_thermostats, second_memory = False, memory
    if spaces is not None:
        two_thermostats = zoned(spaces)
        if two_thermostats:
            second_memory = memory[memory.shape[0] - int(line.tail) :]
    if second is not None:
        plant_2 = plant_of(second.tables.parameters, 0)
        second_memory = memory[memory.shape[0] - int(plant_2.line.tail) :]
    for h in range(hours.shape[0]):
        hour = hour_of(hours, h)
        for j in range(settings_by_hour.shape[1]):
            settings[j] = settings_by_hour[h, j]
        natural = natural_infiltration(
            zone.stack, zone.leakage_exponent, hour.wind,
            mean_temperature(zone, state.indoor_temperature, spaces),
            nodes[2 * h + 1, OUTDOOR_TEMPERATURE],
        )  # fmt: skip
        quarter, quarter_ends = 4 * h, quarter_steps
        for k in range(steps):
            if k == quarter_ends:
                quarter, quarter_ends = quarter + 1, quarter_ends + quarter_steps
            bits = int(faults[h, k]) if failing else 0
            place = place_of(h, k, steps)
            imposed = temperatures[h, k] if imposing else NOT_IMPOSED
            minute = minute_at(
                plant.exhausts, line, nodes, place, hour, k, steps, natural, bits, imposed
            )
            # Placed before the control, so the processor can overlap the two.
            begins = outset(plant, spaces, state, minute.pressure, dt)
            if second is None:
                turn = None
            else:
                state_2 = state_of(second.tables.states, 0)
                begins_2 = outset(plant_2, spaces, state_2, minute.pressure, dt)
                turn = SecondTurn(begins_2, Calls())
            seen = seen_outdoors(outdoors, h, hour, k, steps, minute.t_out)
            readings = read(plant, state, begins, seen, minute, hour.day, dt)
            wired_rh = readings.relative_humidity
            clock = 86400.0 * (hour.day - 1.0) + 3600.0 * minute.hour
            if line.acts > 0.0:
                t_error = errors[h, k] if erring else 0.0
                rh_error = errors[h, steps + k] if erring else 0.0
                readings = hear(readings, memory, line, bits, t_error, rh_error, clock, dt)
            if bits & (POWER_CUT | CONTROL_DOWN):
                forget(memory, line, bits)
                calls = Calls()
                if second is not None:
                    forget(second_memory, plant_2.line, bits)
                elif spaces is not None:
                    forget(second_memory, line, bits)
            else:
                calls = strategy(readings, memory, settings)
                if spaces is not None and two_thermostats:
                    above = read_second(plant, spaces, readings, minute.pressure)
                    calls = serve(spaces, calls, strategy(above, second_memory, settings))
                if second is not None and second_strategy is not None:
                    above = read(plant_2, state_2, begins_2, seen, minute, hour.day, dt)
                    turn = SecondTurn(
                        begins_2, second_strategy(above, second_memory, second.settings)
                    )
                    hourly[h, 0] += 0.0 * sum_of(turn.calls)
            if calling:
                calls = as_given(calls, given_calls, h, k, steps)
            if tracing:
                log_called(log, steps * h + k, calls)
            # Adds 0, unless a call is NaN. Then the hour is NaN too, and `simulate` raises an
            # error.
            hourly[h, 0] += 0.0 * sum_of(calls)
            if line.acts > 0.0:
                calls = deliver(calls, memory, line, bits, wired_rh, clock, dt)
                if minute.powered == 0.0:
                    calls = NO_CALLS
                if tracing:
                    log_told(log, steps * h + k, calls)
            stage_before = state.cooling_stage
            if spaces is not None:
                upstairs = second_room(spaces)
            state, step, working, power = advance(
                plant, stages, strips, state, begins, calls, minute, spaces, second, turn, place, dt
            )
            if spaces is not None and two_thermostats:
                follow_second(plant, spaces, upstairs)
            add_to(hourly, h, step, working)
            log_hottest(
                hottest, h, step.room.supply_temperature, state.limit_temperature,
                step.heating.strip_trip, plant.unit.strip_limit,
            )  # fmt: skip
            log_stages(stage_log, h, stage_before, state.cooling_stage)
            quarters[quarter] += power * (4.0 / steps)
            if tracing:
                row = steps * h + k
                add_to(trace, row, step, working)
                log[row, 0], log[row, 1] = readings.temperature, readings.relative_humidity
                log[row, 2], log[row, 3] = flag(state.strips_open > 0.0), state.humidistat
        store(states, h, state)
        for j in range(own, state_table.shape[1]):
            states[h, j] = state_table[0, j]
        for j in range(memory.shape[0]):
            memories[h, j] = memory[j]
    store(state_table, 0, state)


def announce() -> None:
    """Warn that the loop must be compiled, because its machine code was not kept."""
    # Without logging set up, Python prints warnings on the screen.
    logging.getLogger("moistsim").warning(
        "First run on this machine: compiling, a quarter of a minute or so."
    )


@lru_cache(maxsize=3)
def compiled_run(beside: bool = False, two_systems: bool = False) -> Callable[..., None]:
    """Function `run`, compiled once for any strategy and any number of stages.

    Parameters
    ----------
    beside : bool
        Whether the house has spaces next to it, for which there is a loop of its own.
    two_systems : bool
        Whether a second zone has a system of its own, for which there is a third loop.
    """
    if numba.config.DISABLE_JIT:
        return run
    floats = numba.types.Array(numba.float64, 1, "C")
    table = numba.types.Array(numba.float64, 2, "C")
    disturbance = numba.types.NamedUniTuple(table, 3, Disturbance)
    imposed = numba.types.NamedUniTuple(table, len(Imposed._fields), Imposed)
    forcing = numba.types.NamedTuple([table, table, disturbance, imposed], Forcing)
    spaces = numba.types.NamedUniTuple(table, len(Spaces._fields), Spaces)
    if not beside:
        spaces = numba.types.none
    control = numba.types.FunctionType(SIGNATURE)
    second = numba.types.none
    if two_systems:
        tables = numba.types.NamedUniTuple(table, len(SecondTables._fields), SecondTables)
        second = numba.types.NamedTuple([tables, floats, floats], SecondSystem)
    record = numba.types.NamedTuple(
        [table, table, table, table, floats, table, table, table], Record
    )
    signature = numba.void(
        table, table, floats, spaces, second, forcing, numba.int64, control,
        control if two_systems else numba.types.none, floats, floats, table, record,
    )  # fmt: skip
    ready: Callable[..., None] = compiled(run, signature=signature, before_compiling=announce)
    return ready
