"""Results that no house can have are a failure of the run, with the hour and the cause."""

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.engine import Machine, Record

SATURATED = 1.0 + 1.0e-6
"""Highest relative humidity that a result may show, beyond which the solution did not converge."""


def check_possible(
    record: Record, machine: Machine, index: pd.DatetimeIndex, strategy: str
) -> None:
    """Raise an error for a result that is not a number, or is wetter than saturation.

    Parameters
    ----------
    record : Record
        Sums over the hours of `index`.
    strategy : str
        Name of the strategy, for the message.

    Raises
    ------
    InputError
        With the first hour in which it happened.
    """
    place = f"simulate with strategy {strategy}"
    # A sum is finite only if all its terms are, and takes less time than to look at each.
    if not np.isfinite(record.hourly.sum() + record.states.sum()):
        finite = np.isfinite(record.hourly).all(axis=1) & np.isfinite(record.states).all(axis=1)
        raise InputError(
            place,
            Problem(f"a result that is not a number at {index[int(np.argmin(finite))]}"),
            "calls that are numbers, and a house whose state stays finite",
        )
    means = {name: record.hourly[:, k] for k, name in enumerate(machine.fields)}
    for name, sums in means.items():
        if name.endswith("_rh") and float(sums.max()) > SATURATED * machine.steps:
            raise InputError(
                place,
                Problem(
                    f"{name} of {100.0 * sums.max() / machine.steps:.4g} % at "
                    f"{index[int(np.argmax(sums))]}"
                ),
                "a house whose air can shed its water within a step, or a shorter step",
            )
