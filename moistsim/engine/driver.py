"""The compiled loop for a house, its machines and its control, with the arrays that it fills."""

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls import Strategy, carrying
from moistsim.engine.forcing_tables import Forcing
from moistsim.engine.loop import compiled_run
from moistsim.engine.metering import STEP_FIELDS
from moistsim.engine.outset import Spaces
from moistsim.engine.recording import LOGGED, Record
from moistsim.engine.records import Plant, SpaceParameters, State
from moistsim.engine.rows import flat
from moistsim.engine.spaces import SPACE_FIELDS, work_space


@attrs.frozen(eq=False)
class Machine:
    """House with its machines and its control, ready for any hours of forcing."""

    plant: Plant
    stages: NDArray[np.float64]
    strips: NDArray[np.float64]
    spaces: tuple[SpaceParameters, ...]
    """Spaces next to the house's zone."""
    strategy: Strategy
    steps: int
    """Number of steps an hour."""

    def run(
        self,
        forcing: Forcing,
        state: NDArray[np.float64],
        memory: NDArray[np.float64],
        *,
        trace: bool = False,
    ) -> Record:
        """Step through all hours of `forcing`.

        At return, `state` and `memory` are those at the end.

        Parameters
        ----------
        state, memory : array
            State from `parameters.initial_state`, and a memory of zeros.
        trace : bool
            Keep every step.
        """
        n, spaces = len(forcing.hours), len(self.spaces)
        fields = len(STEP_FIELDS) + spaces * len(SPACE_FIELDS)
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
        size = (len(state) - len(State._fields)) // max(spaces, 1)
        beside = Spaces(
            parameters=np.array([flat(space) for space in self.spaces]).reshape(spaces, -1)
            if spaces
            else np.zeros((0, 0)),
            # A view: the loop moves the spaces on in the state itself.
            states=state[len(State._fields) :].reshape(spaces, size),
            work=work_space(spaces),
        )
        arguments = (
            np.array([flat(self.plant)]), self.stages, self.strips, beside, forcing, self.steps, self.strategy.compiled,
            self.strategy.packed_settings, memory, state.reshape(1, -1), record,
        )  # fmt: skip
        with carrying():
            compiled_run()(*arguments)
        return record
