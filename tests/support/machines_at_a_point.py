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
from moistsim.engine.outset import Spaces, outset
from moistsim.engine.recording import load
from moistsim.engine.records import Minute, State, Volume
from moistsim.engine.rows import flat
from moistsim.engine.space_parameters import initial_spaces, space_parameters
from moistsim.engine.spaces import (
    FIRST_FIELD,
    FIRST_HOUR,
    FIRST_NODE,
    N_FIELDS,
    N_HOUR,
    N_NODE,
    N_SPACE_STATE,
    work_space,
)
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
    space: dict[str, float] | None = None,
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
    space : dict
        Fields of the `Volume` of the first space next to the house to be set.
    **calls
        As `Calls` takes them.
    """
    t, rh = room
    t_out, w_out = outdoors[0], float(air.humidity_ratio_at(*outdoors, SEA_LEVEL))
    home = house or houses.bare_house()
    plant = parameters.plant(
        home,
        machines,
        strategies.temperature_only,
        60.0,
    )
    start = load(parameters.initial_state(plant, t, rh, SEA_LEVEL).reshape(1, -1), 0)
    minute = Minute(
        t_out, w_out, t_out, 0.0, SEA_LEVEL, natural,
        float(air.dry_air_density(t_out, w_out, SEA_LEVEL)), 0.0, 0.0, hour, 7.0, t_out,
        exhaust, 0.0,
    )  # fmt: skip
    start = start._replace(**(state or {}))
    beside = _next_to(home, machines, (t, rh), t_out, space or {})
    after, step, *_ = advance(
        plant,
        parameters.stage_table(machines.cooling),
        np.array(machines.strips.stages if machines.strips else (), dtype=float),
        start,
        outset(plant, beside, start, minute.pressure, 60.0),
        Calls(**calls),
        minute,
        beside,
        None,
        None,
        Place(0, 0, 0.5, 0),
        60.0,
    )
    return after, Metered(*flat(step))


def _next_to(
    house: House,
    machines: Equipment,
    room: tuple[float, float],
    t_out: float,
    first: dict[str, float],
) -> Spaces | None:
    """The spaces next to a house in a minute: roof and ground at the outdoor dry bulb, no wind."""
    described = space_parameters(house, machines, 60.0)
    n = len(described)
    if n == 0:
        return None
    states = initial_spaces(described, *room, SEA_LEVEL).reshape(n, N_SPACE_STATE)
    for name, value in first.items():
        states[0, Volume._fields.index(name)] = value
    volume = Volume(*states[0, : len(Volume._fields)])
    states[0, Volume._fields.index("dry_air")] = next(
        iter(described.values())
    ).zone.volume * air.dry_air_density(volume.temperature, volume.humidity_ratio, SEA_LEVEL)
    nodes = np.zeros((2, FIRST_NODE + n * N_NODE))
    nodes[:, FIRST_NODE::N_NODE] = t_out
    hours = np.zeros((1, FIRST_HOUR + n * N_HOUR))
    hours[:, FIRST_HOUR::N_HOUR] = t_out
    return Spaces(
        parameters=np.array([flat(space) for space in described.values()]),
        states=states,
        work=work_space(n),
        nodes=nodes,
        hours=hours,
        hourly=np.zeros((1, FIRST_FIELD + n * N_FIELDS)),
        trace=np.zeros((0, 0)),
    )
