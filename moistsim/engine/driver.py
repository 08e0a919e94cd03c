"""The compiled loop for a house, its machines and its control, with the arrays that it fills."""

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.controls import Strategy, carrying
from moistsim.engine.forcing_tables import Forcing
from moistsim.engine.loop import compiled_run
from moistsim.engine.metering import STEP_FIELDS
from moistsim.engine.recording import LOGGED, Record
from moistsim.engine.records import Plant, State
from moistsim.engine.rows import flat


@attrs.frozen(eq=False)
class Machine:
    """House with its machines and its control, ready for any hours of forcing."""

    plant: Plant
    stages: NDArray[np.float64]
    strips: NDArray[np.float64]
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
        n = len(forcing.hours)
        record = Record(
            hourly=np.zeros((n, len(STEP_FIELDS))),
            states=np.zeros((n, len(State._fields))),
            memories=np.zeros((n, len(memory))),
            stages=np.zeros((n, 2 * len(self.stages))),
            quarters=np.zeros(4 * n),
            trace=np.zeros((n * self.steps if trace else 0, len(STEP_FIELDS))),
            hottest=np.full((n, 2), -np.inf),
            log=np.zeros((n * self.steps if trace else 0, len(LOGGED))),
        )
        arguments = (
            np.array([flat(self.plant)]), self.stages, self.strips, forcing, self.steps, self.strategy.compiled,
            self.strategy.packed_settings, memory, state.reshape(1, -1), record,
        )  # fmt: skip
        with carrying():
            compiled_run()(*arguments)
        return record
