"""One step of the whole engine in a bare room, at a point that a test chooses."""

from collections import namedtuple
from typing import Any

import numpy as np
from support import houses

from moistsim import Equipment, House, air
from moistsim.controls import strategies
from moistsim.controls.interface import Calls
from moistsim.engine import STEP_FIELDS, parameters
from moistsim.engine.forcing_tables import Place
from moistsim.engine.outset import outset
from moistsim.engine.recording import load
from moistsim.engine.records import Minute, State
from moistsim.engine.rows import flat
from moistsim.engine.step import advance

SEA_LEVEL = air.STANDARD_PRESSURE

Metered = namedtuple("Metered", STEP_FIELDS)  # type: ignore[misc]
"""All values of a step's meter, by name, whatever group they are in."""


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
) -> tuple[State, Any]:
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
    after, step, _ = advance(
        plant,
        parameters.stage_table(machines.cooling),
        np.array(machines.strips.stages if machines.strips else (), dtype=float),
        start,
        outset(plant, None, start, minute.pressure, 60.0),
        Calls(**calls),
        minute,
        None,
        Place(0, 0, 0.0, 0),
        60.0,
    )
    return after, Metered(*flat(step))
