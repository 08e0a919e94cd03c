"""One step of the whole engine in a bare room, at a point that a test chooses."""

from typing import Any

import numpy as np
from support import houses

from moistsim import Equipment, House, air
from moistsim.controls import strategies
from moistsim.controls.interface import Calls
from moistsim.engine import parameters
from moistsim.engine.recording import load
from moistsim.engine.records import State, Step
from moistsim.engine.step import Minute, advance, outset

SEA_LEVEL = air.STANDARD_PRESSURE


def one_step(
    machines: Equipment,
    *,
    room: tuple[float, float],
    outdoors: tuple[float, float],
    natural: float = 0.0,
    hour: float = 12.0,
    house: House | None = None,
    exhaust: float = 0.0,
    state: dict[str, float] | None = None,
    **calls: float,
) -> tuple[State, Step]:
    """A minute of `machines` in a bare house of 100 m2, or in another.

    Parameters
    ----------
    room, outdoors : tuple of float
        Dry bulb, degC, and relative humidity, 0 to 1.
    natural : float
        Infiltration by wind and stack, m3/s.
    exhaust : float
        Flow of exhaust fans, m3/s.
    state : dict
        Fields of the state to be set.
    **calls
        As `Calls` takes them.
    """
    t, rh = room
    t_out, w_out = outdoors[0], float(air.humidity_ratio_at(*outdoors, SEA_LEVEL))
    plant = parameters.plant(
        house or houses.bare_house(),
        machines,
        strategies.temperature_only,
        60.0,
    )
    start = load(parameters.initial_state(plant, t, rh, SEA_LEVEL).reshape(1, -1), 0)
    minute = Minute(
        t_out, w_out, t_out, 0.0, SEA_LEVEL, natural,
        float(air.dry_air_density(t_out, w_out, SEA_LEVEL)), 0.0, 0.0, hour, 7.0, t_out,
        t_out, exhaust, 0.0,
    )  # fmt: skip
    start = start._replace(**(state or {}))
    result: Any = advance(
        plant,
        parameters.stage_table(machines.cooling),
        np.array(machines.strips.stages if machines.strips else (), dtype=float),
        start,
        outset(plant, start, minute.pressure, 60.0),
        Calls(**calls),
        minute,
        60.0,
    )
    return result[:2]  # type: ignore[no-any-return]
