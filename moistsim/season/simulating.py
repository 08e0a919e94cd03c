"""A run: descriptions and weather in, a season out."""

import os
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.controls import Fault, Strategy, TwoControls
from moistsim.core.display import count
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import to_si
from moistsim.engine import (
    OUTDOOR_RH,
    WHOLE_YEAR,
    Forcing,
    Machine,
    SecondMachine,
    disturb,
    force,
    initial_spaces,
    parameters,
    soil_at_start,
    space_parameters,
)
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.season.events import last_step
from moistsim.season.first_state import HouseState
from moistsim.season.measured import impose_series
from moistsim.season.possible import check_possible
from moistsim.season.season import Season
from moistsim.weather import Weather

START_TEMPERATURE, START_RH = 23.0, 0.5
"""State of the house before the spin-up, degC and 0 to 1."""
DAY = 86400.0


def second_machine(
    house: House, equipment: Equipment, strategy: Strategy, seconds: float
) -> SecondMachine | None:
    """A second zone's own system with its control; None in a house of one system.

    Raises
    ------
    InputError
        If the house has no second zone for it, or if a second control has no system.
    """
    system = equipment.second_system
    if system is None:
        if isinstance(strategy, TwoControls):
            raise InputError(
                "simulate strategy",
                Problem("a second control, but the house has one system"),
                "a strategy without with_second, or Equipment.second_system",
            )
        return None
    if house.second_zone is None:
        raise InputError(
            "Equipment.second_system",
            Problem("the house has one zone"),
            "it together with House.second_zone",
        )
    control = strategy.second
    return SecondMachine(
        parameters.second_plant(house, system, control, seconds),
        parameters.stage_table(system.cooling),
        np.array(system.strips.powers if system.strips else (), dtype=float),
        control,
    )


_forced = lru_cache(maxsize=max(4, 2 * (os.cpu_count() or 1)))(force)


class Stretch(NamedTuple):
    """Rows of the weather that a run uses."""

    rows: slice
    """Rows of the season."""
    ahead: slice
    """Rows of the spin-up: those before the season or, for want of them, its own first days."""
    note: str
    """A sentence about a spin-up that is not as asked, or nothing."""

    @property
    def used(self) -> slice:
        """Rows of spin-up and season together."""
        return slice(min(self.ahead.start, self.rows.start), self.rows.stop)


def stretch_of(rows: slice, days: int, first: pd.Timestamp) -> Stretch:
    """Rows of a season with its spin-up.

    Parameters
    ----------
    days : int
        Length of the spin-up that is asked for.
    first : Timestamp
        Start of the season.
    """
    wanted, season = 24 * days, rows.stop - rows.start
    if rows.start >= wanted:
        return Stretch(rows, slice(rows.start - wanted, rows.start), "")
    warm_up = min(wanted, season // 24 * 24)
    note = (
        f"Spin-up: the weather has {count(rows.start // 24, 'day')} before {first:%Y-%m-%d %H:%M}, "
        f"fewer than the {count(days, 'day')} asked for. The season's own first "
        f"{count(warm_up // 24, 'day')} ran before it instead."
    )
    return Stretch(rows, slice(rows.start, rows.start + warm_up), note)


def steps_an_hour(step: float | str) -> tuple[int, float]:
    """Steps an hour, and their length in s.

    Raises
    ------
    InputError
        If a quarter of an hour does not hold a whole number of them.
    """
    seconds = to_si(step, "s", "simulate step")
    steps = round(3600.0 / seconds) if seconds >= 1.0e-3 else 0
    if steps < 4 or steps % 4 or abs(steps * seconds - 3600.0) > 1e-6:
        raise InputError(
            "simulate step", step, "a time that divides 15 min into whole steps, such as '60 s'"
        )
    return steps, seconds


def simulate(
    house: House,
    equipment: Equipment,
    strategy: Strategy,
    weather: Weather,
    *,
    start: str | None = None,
    end: str | None = None,
    step: float | str = "60 s",
    spin_up: float | str = "21 day",
    faults: Sequence[Fault] = (),
    impose: pd.Series | None = None,
    series: Mapping[str, pd.Series] | None = None,
    first_state: Season | HouseState | None = None,
) -> Season:
    """Simulate a house, its machines and their control through a season.

    Parameters
    ----------
    house, equipment, strategy, weather
        The descriptions.
    start, end : str, optional
        First and last day, "MM-DD" or "YYYY-MM-DD"; default: the whole weather, or from the end of
        `first_state`.
    step : float or str
        Seconds, or a text with a unit; must divide a quarter of an hour.
    spin_up : float or str
        Time simulated before the season, so masses and moisture stores do not depend on their
        initial state. It uses the weather before `start`. If that is too short, the season's own
        first days run before it, and `Season.notes` says so.
    faults : sequence, optional
        Faults with their times, from `ms.faults`. Nothing fails in the spin-up.
    impose : Series, optional
        Measured indoor temperature, degC, by local standard time, with stamps at most 60 min apart.
        The room follows it on straight lines between the stamps, so the run predicts its moisture
        alone. The heat that holds it there is metered apart (``heat_imposed_kWh``).
    series : dict, optional
        Measured values by time in place of calculated ones. Each value holds from its stamp to the
        next one, and acts as its mean over the hour: ``moisture`` (kg/s, all vapor of the
        household), ``gains`` (W, all its sensible heat), ``air_flow`` (m3/s of outdoor air in place
        of natural infiltration), ``occupied`` (0 to 1; without people, their heat and vapor are
        absent), ``windows`` (0 closed, 1 open). A numeric setpoint, ``strategy.NAME``, acts by its
        value in the middle of the hour; hours beyond a setpoint still count from the strategy's own.
        Calls act by the step in place of the control's, through the machines' interlocks:
        ``calls.cooling`` and ``calls.heating`` (stage), ``calls.dehumidifier`` and ``calls.fan``
        (0 or 1).
    first_state : Season or HouseState, optional
        State from which the run starts, without a spin-up. A season goes on from its end, bit for
        bit as in one run.

    Returns
    -------
    Season

    Raises
    ------
    InputError, WeatherError
        Before the run, if anything cannot be used.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1900 ft2"),
    ...     ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day")),
    ...     ms.strategies.with_dehumidifier(target_rh=52),
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-11",
    ...     spin_up="2 day",
    ... )
    >>> bool(season.meter.water_kg["dehumidifier"] > 0.0)
    True
    """
    steps, seconds = steps_an_hour(step)
    if not isinstance(strategy, Strategy):
        raise InputError("simulate strategy", strategy, "a strategy, made by @ms.strategy")
    days = int(to_si(spin_up, "s", "simulate spin_up") // DAY)
    if days < 0:
        raise InputError("simulate spin_up", spin_up, "0 days or more, such as '21 day'")
    if not isinstance(first_state, Season | HouseState | None):
        raise InputError("simulate first_state", first_state, "a Season or an ms.HouseState")
    hours = weather.hours
    rows = rows_after(first_state, weather, start, end)
    stretch = stretch_of(rows, 0 if first_state is not None else days, hours[rows.start])
    whole = _forced(house, weather)
    if faults or equipment.sensor.errs or equipment.outdoor_sensor is not None:
        disturbance = disturb(
            equipment,
            faults,
            hours,
            np.column_stack([weather.frame["temp_air"], whole.hours[:, OUTDOOR_RH]]),
            rows,
            steps,
        )
        whole = whole._replace(disturbance=disturbance)
    parameters_of_run = parameters.plant(house, equipment, strategy, seconds, faults)
    used = stretch.used
    forcing, start_temperature = whole.part(used.start, used.stop), None
    if impose is not None or series:
        run = impose_series(
            forcing,
            parameters_of_run,
            hours[used],
            steps,
            house,
            equipment,
            strategy,
            impose,
            series,
        )
        forcing, parameters_of_run, start_temperature = run
    second = second_machine(house, equipment, strategy, seconds)
    comfort = parameters_of_run.sensor if second is None else second.plant.sensor
    spaces = space_parameters(house, equipment, seconds, comfort)
    machine = Machine(
        parameters_of_run,
        parameters.stage_table(equipment.cooling),
        np.array(equipment.strips.powers if equipment.strips else (), dtype=float),
        spaces,
        strategy,
        steps,
        second,
    )
    ahead = forcing.part(stretch.ahead.start - used.start, stretch.ahead.stop - used.start)
    forcing = forcing.part(rows.start - used.start, rows.stop - used.start)
    upstairs = 0
    if equipment.zoning is not None or second is not None:
        upstairs = strategy.second.memory_size
    memory = parameters.memory(parameters_of_run, upstairs)
    warm_up = len(ahead.hours)
    before = ahead if warm_up else forcing
    if isinstance(first_state, Season):
        begins = continued(first_state, machine, memory, forcing)
    else:
        if first_state is None:
            t = START_TEMPERATURE if start_temperature is None else start_temperature
            first_state = HouseState.at(temperature=t, relative_humidity=START_RH)
        soil = soil_at_start(house, spaces, weather, stretch.ahead.start, first_state.temperature)
        begins = Beginning(
            initial(first_state, machine, soil, before.nodes[0, 4]), memory, None, None
        )
    state, memory = begins.state, begins.memory
    day_before = state.copy() if begins.day_before is None else begins.day_before
    step_before = begins.step_before
    if warm_up:
        ahead = ahead._replace(disturbance=ahead.disturbance.without_faults())
        settling = machine.run(ahead.part(0, warm_up - 1), state, memory).states
        if len(settling) >= 24:
            day_before = settling[-24].copy()
        step_before = last_step(
            machine.run(ahead.part(warm_up - 1, warm_up), state, memory, trace=True)
        )
        # The season's first pressure may differ from that at the end of the spin-up.
        machine.breathe(state, forcing.nodes[0, 4])
    first_state_row, first_memory = state.copy(), memory.copy()
    record = machine.run(forcing, state, memory)
    index = hours[rows]
    check_possible(record, machine, index, strategy.name)
    return Season(
        house, equipment, strategy, weather, start, end, seconds, warm_up * 3600.0, machine,
        forcing, index, first_state_row, first_memory, record, day_before, step_before,
        faults=tuple(faults),
        measured=(*(("impose",) if impose is not None else ()), *(series or {})),
        notes=tuple(filter(None, (stretch.note, ground_note(house, weather)))),
    )  # fmt: skip


def ground_note(house: House, weather: Weather) -> str:
    """A sentence about the ground below a house in a log too short to show a year."""
    if len(weather) >= WHOLE_YEAR or house.envelope.ground.mean_temperature is not None:
        return ""
    return (
        f"Ground: at the mean of this weather's {count(len(weather) // 24, 'day')}, because they are "
        "less than a year. Envelope.ground takes a temperature and a cycle of its own."
    )


def rows_after(
    first_state: Season | HouseState | None, weather: Weather, start: str | None, end: str | None
) -> slice:
    """Rows of a season, which begins where the one before it ended.

    Raises
    ------
    InputError
        If it does not begin there.
    """
    rows = weather.between(start, end)
    if not isinstance(first_state, Season):
        return rows
    hours, over = weather.hours, first_state.over
    if start is None:
        rows = slice(int(hours.searchsorted(over)), rows.stop)
    if rows.start >= rows.stop or hours[rows.start] != over:
        at = hours[rows.start] if rows.start < len(hours) else hours[-1]
        raise InputError(
            "simulate first_state",
            Problem(f"a season that ends at {over:%Y-%m-%d %H:%M}, but this one begins at {at:%Y-%m-%d %H:%M}"),
            "a season that ends where this one begins, or an ms.HouseState",
        )  # fmt: skip
    return rows


class Beginning(NamedTuple):
    """State and memory from which a run starts, and what came before."""

    state: NDArray[np.float64]
    memory: NDArray[np.float64]
    day_before: NDArray[np.float64] | None
    """State 24 hours before the start, if it is known."""
    step_before: NDArray[np.float64] | None
    """The last step before the start, as `events` watches it, if it is known."""


def initial(
    given: HouseState, machine: Machine, soil: Mapping[str, float], pressure: float
) -> NDArray[np.float64]:
    """State of a house with its spaces from a description, with all machines off."""
    air = (given.temperature, given.relative_humidity, pressure)
    stores = (given.mass_temperature, given.surface_humidity, given.deep_humidity)
    second = machine.second
    return np.concatenate(
        [
            parameters.initial_state(machine.plant, *air, *stores),
            initial_spaces(dict(machine.spaces), *air, soil),
            *([] if second is None else [parameters.initial_state(second.plant, *air, *stores)]),
        ]
    )


def continued(
    before: Season, machine: Machine, memory: NDArray[np.float64], forcing: Forcing
) -> Beginning:
    """State and memory at the end of a season, for a run that goes on from it.

    Another control starts with an empty memory.

    Raises
    ------
    InputError
        If the season was that of a house with other spaces or systems.
    """
    record, own = before._record, before._machine
    systems = [(*each.spaces, each.second is not None) for each in (machine, own)]
    if systems[0] != systems[1]:
        raise InputError(
            "simulate first_state",
            Problem("a season of a house with other spaces or another number of systems"),
            "a season of a house with the same ones, or an ms.HouseState",
        )
    state, hours = record.states[-1].copy(), len(record.states)
    remembered = record.memories[-1]
    if before.strategy.name == machine.strategy.name and len(remembered) == len(memory):
        memory = remembered.copy()
    if before._forcing.nodes[-1, 4] != forcing.nodes[0, 4] or own.plant.zone != machine.plant.zone:
        machine.breathe(state, forcing.nodes[0, 4])
    day_before = record.states[hours - 24].copy() if hours >= 24 else before._day_before
    # The last hour once more, to know its last step.
    if hours > 1:
        last = record.states[-2].copy(), record.memories[-2].copy()
    else:
        last = before._first_state.copy(), before._first_memory.copy()
    ending = own.run(before._forcing.part(hours - 1, hours), *last, trace=True)
    return Beginning(state, memory, day_before, last_step(ending))
