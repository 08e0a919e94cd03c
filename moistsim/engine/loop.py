"""The loop over hours and their steps: weather in between, the control, a step, the record."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Calls, CallSet
from moistsim.engine.airflow import Exhausting, exhausting, natural_infiltration
from moistsim.engine.forcing import (
    BATH_FANS,
    CONSTRUCTION,
    COOKING,
    COOKING_SHARE,
    DRYER,
    GROUND,
    GROUND_VAPOR,
    MAY_OPEN,
    OCCUPIED,
    OPENING_WIND,
    OUTDOOR_DEW_POINT,
    OUTDOOR_RH,
    RANGE_HOOD,
    SHOWER,
    SHOWER_SHARE,
)
from moistsim.engine.metering import electric_power, flag
from moistsim.engine.outset import outset
from moistsim.engine.recording import Record, add_to, load, log_called, log_told, store
from moistsim.engine.records import Minute, Plant
from moistsim.engine.rows import reader
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

plant_of = reader(Plant)
NO_CALLS = CallSet(*(0.0 for _ in CallSet._fields))
"""Not even for ventilation, which `Calls()` leaves running."""


def run(
    parameters: NDArray[np.float64],
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    nodes: NDArray[np.float64],
    hours: NDArray[np.float64],
    faults: NDArray[np.float64],
    errors: NDArray[np.float64],
    outdoors: NDArray[np.float64],
    steps: int,
    strategy: Callable[..., CallSet],
    dew_point_taken: bool,
    settings: NDArray[np.float64],
    memory: NDArray[np.float64],
    state_table: NDArray[np.float64],
    record: Record,
) -> None:
    """Step through hours of forcing, filling `record`; see `forcing` for `nodes` and `hours`, and
    `disturbance` for the next three.

    Parameters
    ----------
    parameters : array
        `Plant`, flat in one row: to take hundreds of numbers out of tuples was a quarter of all
        machine code.
    steps : int
        Steps an hour, a multiple of 4.
    dew_point_taken : bool
        `Strategy.reads_dew_point`.
    memory, state_table : array
        The strategy's memory and the state, at the start; at return, at the end.
    """
    dt, quarter_steps, halves = 3600.0 / steps, steps // 4, 2.0 / steps
    # Local names, and indices instead of row views: each view would cost two atomic counts a step.
    hourly, states, memories = record.hourly, record.states, record.memories
    stage_log, quarters, trace = record.stages, record.quarters, record.trace
    hottest, log = record.hottest, record.log
    tracing = trace.shape[0] > 0
    failing, erring = faults.shape[1] > 0, errors.shape[1] > 0
    sensing_outdoors = outdoors.shape[1] > 0
    plant = plant_of(parameters, 0)
    zone, line = plant.zone, plant.line
    state = load(state_table, 0)
    for h in range(hours.shape[0]):
        natural = natural_infiltration(
            zone.stack,
            zone.leakage_exponent,
            hours[h, 0],
            state.indoor_temperature,
            nodes[2 * h + 1, 0],
        )
        gains, moisture, density = hours[h, 1], hours[h, 2], hours[h, 8]
        # Most hours have no burst, and nothing to share out over their steps.
        bursts = (
            hours[h, SHOWER_SHARE]
            + hours[h, COOKING_SHARE]
            + (hours[h, DRYER] + hours[h, RANGE_HOOD] + hours[h, BATH_FANS])
        )
        quarter, quarter_ends = 4 * h, quarter_steps
        for k in range(steps):
            if k == quarter_ends:
                quarter, quarter_ends = quarter + 1, quarter_ends + quarter_steps
            step_moisture, fans = moisture, Exhausting(0.0, 0.0)
            if bursts > 0.0:
                # What of a step lies within a burst that lasts from the hour's start.
                showering = min(max(hours[h, SHOWER_SHARE] * steps - k, 0.0), 1.0)
                cooking = min(max(hours[h, COOKING_SHARE] * steps - k, 0.0), 1.0)
                step_moisture += hours[h, SHOWER] * showering + hours[h, COOKING] * cooking
                fans = exhausting(
                    plant.exhausts, hours[h, DRYER], hours[h, RANGE_HOOD], hours[h, BATH_FANS], k,
                    steps,
                )  # fmt: skip
            middle = (k + 0.5) * halves
            half = 1 if middle > 1.0 else 0
            f = middle - half
            end = (k + 1.0) * halves - half
            i = 2 * h + half
            t_out = nodes[i, 0] + f * (nodes[i + 1, 0] - nodes[i, 0])
            bits = int(faults[h, k]) if failing else 0
            powered = flag(bits & POWER_CUT == 0)
            blower = 1.0
            if bits & FOULED:
                blower = line.fouled_flow
            if bits & BLOWER_FAILED:
                blower = 0.0
            minute = Minute(
                t_out=t_out,
                w_out=nodes[i, 1] + f * (nodes[i + 1, 1] - nodes[i, 1]),
                sol_air=nodes[i, 2] + f * (nodes[i + 1, 2] - nodes[i, 2]),
                sun=nodes[i, 3] + f * (nodes[i + 1, 3] - nodes[i, 3]),
                pressure=nodes[i, 4] + end * (nodes[i + 1, 4] - nodes[i, 4]),
                natural=natural,
                density=density,
                gains=gains,
                moisture=step_moisture,
                hour=hours[h, 3] + 0.5 * middle,
                month=hours[h, 5],
                ground=hours[h, GROUND],
                roof=nodes[i, 5] + f * (nodes[i + 1, 5] - nodes[i, 5]),
                exhaust=fans.flow * powered,
                exhaust_power=fans.power * powered,
                ground_vapor=hours[h, GROUND_VAPOR],
                construction=hours[h, CONSTRUCTION],
                opening_wind=hours[h, OPENING_WIND],
                may_open=hours[h, MAY_OPEN],
                occupied=hours[h, OCCUPIED],
                blower=blower,
                welded=flag(bits & WELDED > 0),
                dehumidifier_works=flag(bits & DEHUMIDIFIER_STOPPED == 0),
                powered=powered,
            )
            seen = OutdoorReading(t_out, hours[h, OUTDOOR_RH], hours[h, OUTDOOR_DEW_POINT])
            if sensing_outdoors:
                t_seen, rh_seen = outdoors[h, k], outdoors[h, steps + k]
                dew_seen = air.dew_point(0.01 * rh_seen * air.saturation_pressure(t_seen))
                seen = OutdoorReading(t_seen, rh_seen, dew_seen)
            # Ahead of the control, beside which a processor then works on it.
            begins = outset(plant, state, minute.pressure, dt)
            readings = read(plant, state, begins, seen, minute, hours[h, 4], dew_point_taken, dt)
            wired_rh = readings.relative_humidity
            now = 86400.0 * (hours[h, 4] - 1.0) + 3600.0 * minute.hour
            if line.acts > 0.0:
                t_error = errors[h, k] if erring else 0.0
                rh_error = errors[h, steps + k] if erring else 0.0
                readings = hear(readings, memory, line, bits, t_error, rh_error, now, dt)
            if bits & (POWER_CUT | CONTROL_DOWN):
                forget(memory, line, bits)
                calls = Calls()
            else:
                calls = strategy(readings, memory, settings)
            if tracing:
                log_called(log, steps * h + k, calls)
            # Adds nothing, unless a call is no number: then the hour is none either, and
            # `simulate` says so.
            hourly[h, 0] += 0.0 * (
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
            if line.acts > 0.0:
                calls = deliver(calls, memory, line, bits, wired_rh, now, dt)
                if powered == 0.0:
                    calls = NO_CALLS
                if tracing:
                    log_told(log, steps * h + k, calls)
            # Between two stages the higher one is what runs.
            was = math.ceil(state.cooling_stage)
            state, step, working = advance(plant, stages, strips, state, begins, calls, minute, dt)
            add_to(hourly, h, step, working)
            hottest[h, 0] = max(hottest[h, 0], step.room.supply_temperature)
            hottest[h, 1] = max(hottest[h, 1], state.limit_temperature)
            if step.heating.strip_trip > 0.0:
                hottest[h, 1] = max(hottest[h, 1], plant.unit.strip_limit)
            now = math.ceil(state.cooling_stage)
            if now > 0:
                stage_log[h, 2 * now - 2] += 1.0
                for risen in range(was + 1, now + 1):
                    stage_log[h, 2 * risen - 1] += 1.0
            quarters[quarter] += electric_power(step) * (4.0 / steps)
            if tracing:
                row = steps * h + k
                add_to(trace, row, step, working)
                log[row, 0], log[row, 1] = readings.temperature, readings.relative_humidity
                log[row, 2], log[row, 3] = flag(state.strips_open > 0.0), state.humidistat
        store(states, h, state)
        for j in range(memory.shape[0]):
            memories[h, j] = memory[j]
    store(state_table, 0, state)
