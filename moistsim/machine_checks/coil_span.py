"""A coil on the bench for a span of time: the compiled part of `bench`."""

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Calls
from moistsim.core.compiled import compiled
from moistsim.engine import (
    AirHandlerParameters,
    Conditions,
    DehumidifierParameters,
    Entering,
    State,
    load,
    obey,
    run_air_handler,
)

WATER, RAMP = State._fields.index("coil_water"), State._fields.index("coil_ramp")
STAGE, TIME = State._fields.index("cooling_stage"), State._fields.index("cooling_time")
AIRFLOW = State._fields.index("airflow")
APPARATUS = State._fields.index("apparatus_guess")


@compiled
def run_span(
    cooling: float,
    steps: int,
    dt: float,
    unit: AirHandlerParameters,
    dehumidifier: DehumidifierParameters,
    stages: NDArray[np.float64],
    t_out: float,
    table: NDArray[np.float64],
    sums: NDArray[np.float64],
) -> None:
    """Run the compressor, or keep it off, for some steps in constant air.

    Parameters
    ----------
    table : array
        State, in one row; only the air handler's part of it changes.
    sums : array
        Gains the enthalpy that the coil took from the air (J), the water that condensed, that
        went back and that drained (kg); its last place becomes 1 if the coil frosts.
    """
    calls = Calls(cooling=cooling)
    still = load(table, 0)
    wet_bulb = air.wet_bulb(
        still.indoor_temperature, still.indoor_humidity_ratio, air.STANDARD_PRESSURE, 17.0
    )
    for _ in range(steps):
        state = load(table, 0)
        given = Conditions(t_out, state.indoor_temperature, False, True, True, True)
        running = obey(calls, state, unit, dehumidifier, stages, given, dt)
        stream = run_air_handler(
            running, state,
            Entering(
                state.indoor_temperature, state.indoor_humidity_ratio, wet_bulb,
                air.STANDARD_PRESSURE,
            ),
            unit, stages, 0.0, t_out, unit.full_flow, dt,
        )  # fmt: skip
        switched = (running.cooling > 0.0) != (state.cooling_stage > 0.0)
        table[0, WATER] = stream.coil_water
        table[0, RAMP] = stream.coil_ramp
        table[0, STAGE] = running.cooling
        table[0, TIME] = dt if switched else state.cooling_time + dt
        table[0, AIRFLOW] = running.airflow
        table[0, APPARATUS] = stream.apparatus_guess
        sums[0] += stream.total * dt
        sums[1] += stream.condensed * dt
        sums[2] += stream.reevaporated * dt
        sums[3] += stream.drained * dt
        sums[4] = max(sums[4], stream.frost)
