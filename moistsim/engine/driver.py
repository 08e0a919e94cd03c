"""The compiled loop for a house, its machines and its control, with the arrays that it fills."""

from collections.abc import Iterator, Mapping
from functools import cached_property

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Strategy, carrying
from moistsim.core import abandoning
from moistsim.engine.column_catalog import SECOND_SYSTEM
from moistsim.engine.forcing_tables import Forcing
from moistsim.engine.loop import compiled_run
from moistsim.engine.metering import STEP_FIELDS
from moistsim.engine.outset import Spaces
from moistsim.engine.recording import LOGGED, Record
from moistsim.engine.records import (
    Plant,
    SpaceParameters,
    State,
    Volume,
    ZoneParameters,
    room_of,
)
from moistsim.engine.rows import flat
from moistsim.engine.second_system import SYSTEM_FIELDS, SecondSystem, SecondTables
from moistsim.engine.space_metering import SPACE_FIELDS
from moistsim.engine.spaces import N_SPACE_STATE, work_space


@attrs.frozen(eq=False)
class SecondMachine:
    """A second system with its control, ready for a run."""

    plant: Plant
    stages: NDArray[np.float64]
    strips: NDArray[np.float64]
    strategy: Strategy


@attrs.frozen(eq=False)
class Machine:
    """House with its machines and its control, ready for any hours of forcing."""

    plant: Plant
    stages: NDArray[np.float64]
    strips: NDArray[np.float64]
    spaces: Mapping[str, SpaceParameters]
    """Spaces next to the house's zone by name, such as ``crawl_space``."""
    strategy: Strategy
    steps: int
    """Number of steps an hour."""
    second: SecondMachine | None = None
    """A second zone's own system."""

    @cached_property
    def fields(self) -> tuple[str, ...]:
        """Names of all values of a step, in the order of the columns of a record."""
        beside = (f"{name}_{field}" for name in self.spaces for field in SPACE_FIELDS)
        own = SYSTEM_FIELDS if self.second is not None else ()
        return (*STEP_FIELDS, *beside, *(f"{SECOND_SYSTEM}_{field}" for field in own))

    @cached_property
    def _parameters(self) -> NDArray[np.float64]:
        """The plant, flat in one row."""
        return np.array([flat(self.plant)])

    def _space_rows(self, state: NDArray[np.float64]) -> NDArray[np.float64]:
        """Rows of `SpaceState` in a state, a view."""
        first, spaces = len(State._fields), len(self.spaces)
        return state[first : first + spaces * N_SPACE_STATE].reshape(spaces, N_SPACE_STATE)

    def _second_row(self, state: NDArray[np.float64]) -> NDArray[np.float64]:
        """Row of the `State` of a second system in a state, a view."""
        return state[len(state) - len(State._fields) :].reshape(1, -1)

    def bodies(
        self, state: NDArray[np.float64]
    ) -> Iterator[tuple[str, ZoneParameters, Volume, float]]:
        """Bodies of air in a state: name, parameters, state, and water on the coil in it, kg."""
        house = State(*(float(x) for x in state[: len(State._fields)]))
        yield "house", self.plant.zone, room_of(house), house.coil_water
        for (name, space), row in zip(self.spaces.items(), self._space_rows(state), strict=True):
            volume = Volume(*(float(x) for x in row[: len(Volume._fields)]))
            coil_water = 0.0
            if self.second is not None and space.conditioned:
                coil_water = float(self._second_row(state)[0, State._fields.index("coil_water")])
            yield name, space.zone, volume, coil_water

    def breathe(self, state: NDArray[np.float64], pressure: float) -> None:
        """Give all bodies of air in a state the dry air that they hold at a pressure."""
        held = [
            zone.volume * air.dry_air_density(volume.temperature, volume.humidity_ratio, pressure)
            for _, zone, volume, _ in self.bodies(state)
        ]
        state[State._fields.index("zone_dry_air")] = held[0]
        self._space_rows(state)[:, Volume._fields.index("dry_air")] = held[1:]
        if self.second is not None:
            self._second_row(state)[0, State._fields.index("zone_dry_air")] = held[1]

    def run(
        self,
        forcing: Forcing,
        state: NDArray[np.float64],
        memory: NDArray[np.float64],
        *,
        trace: bool = False,
    ) -> Record:
        """Step through all hours of `forcing`.

        At return, `state` and `memory` are those at the end. The columns of a second system's stages,
        hottest air and log are behind those of the first.

        Parameters
        ----------
        state, memory : array
            State from `parameters.initial_state`, and a memory of zeros.
        trace : bool
            Keep every step.
        """
        abandoning.check()
        n, fields = len(forcing.hours), len(self.fields)
        record = Record(
            hourly=np.zeros((n, fields)),
            states=np.zeros((n, len(state))),
            memories=np.zeros((n, len(memory))),
            stages=np.zeros((n, 2 * len(self.stages))),
            quarters=np.zeros(4 * n),
            trace=np.zeros((n * self.steps if trace else 0, fields)),
            hottest=np.full((n, 2), -np.inf),
            log=np.zeros((n * self.steps if trace else 0, len(LOGGED))),
        )
        beside = None
        if self.spaces:
            beside = Spaces(
                parameters=np.array([flat(space) for space in self.spaces.values()]),
                # A view: the loop moves the spaces on in the state itself.
                states=self._space_rows(state),
                work=work_space(len(self.spaces)),
                nodes=forcing.nodes,
                hours=forcing.hours,
                hourly=record.hourly,
                trace=record.trace,
            )
        second = None if self.second is None else self._second_tables(self.second, state, record)
        arguments = (
            self._parameters, self.stages, self.strips, beside, second, forcing, self.steps,
            self.strategy.compiled, None if self.second is None else self.second.strategy.compiled,
            self.strategy.packed_settings, memory, state.reshape(1, -1), record,
        )  # fmt: skip
        with carrying():
            compiled_run(beside is not None, second is not None)(*arguments)
        if second is None:
            return record
        own = second.tables
        return record._replace(
            stages=np.hstack([record.stages, own.stage_log]),
            hottest=np.hstack([record.hottest, own.hottest]),
            log=np.hstack([record.log, own.log]),
        )

    def _second_tables(
        self, second: SecondMachine, state: NDArray[np.float64], record: Record
    ) -> SecondSystem:
        """A second system with tables for a run."""
        tables = SecondTables(
            parameters=np.array([flat(second.plant)]),
            stages=second.stages,
            states=self._second_row(state),
            hourly=record.hourly,
            trace=record.trace,
            stage_log=np.zeros((len(record.hourly), 2 * len(second.stages))),
            hottest=np.full_like(record.hottest, -np.inf),
            log=np.zeros_like(record.log),
        )
        return SecondSystem(tables, second.strips, second.strategy.packed_settings)
