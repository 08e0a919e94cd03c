"""Less air over the coil whenever it cools, as from a lower speed of the blower."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moistsim.controls.additions.addition import addition
from moistsim.controls.interface import CallSet, Readings
from moistsim.core.units import Fraction, Limits, Meaning


@addition(reads_dew_point=False, machines=("cooling",))
def lower_airflow(
    readings: Readings,
    memory: NDArray[np.float64],
    calls: CallSet,
    *,
    lower_airflow_by: Annotated[
        Fraction,
        Limits(0.0, 0.5),
        Meaning("Share by which the blower runs slower in all cooling."),
    ] = 0.1,
) -> CallSet:
    """Runs the blower slower in all cooling, as a technician sets it: a colder coil dries more.

    `slower_airflow` does so on a humidity call only. This addition does not act while strips are
    called for, or while the strategy calls for an airflow.
    """
    if calls.cooling <= 0.0 or calls.reheat > 0.0 or calls.airflow > 0.0:
        return calls
    return calls._replace(slow_down=max(calls.slow_down, lower_airflow_by))
