"""A stand-in for a fit: draws of a few values around a house whose truth is known."""

from collections.abc import Mapping
from typing import Any

import attrs
import numpy as np
import pandas as pd

import moistsim as ms
from moistsim.core.changes import changed


@attrs.frozen(eq=False)
class FakeFit:
    """House, machines and draws, with the interface that users of a fit read."""

    house: ms.House
    equipment: ms.Equipment
    draws: pd.DataFrame

    def described(self, values: Mapping[str, Any]) -> tuple[ms.House, ms.Equipment]:
        """House and machines of one draw."""
        parts = {"house": self.house, "equipment": self.equipment}
        return tuple(  # type: ignore[return-value]
            changed(
                whole,
                {
                    tuple(str(name).split(".")[1:]): value
                    for name, value in values.items()
                    if str(name).startswith(f"{root}.")
                },
            )
            for root, whole in parts.items()
        )


def around(
    house: ms.House,
    machines: ms.Equipment,
    spread: Mapping[str, tuple[float, float]],
    n: int,
    seed: int,
) -> FakeFit:
    """A fit whose draws are log-normal around given values.

    Parameters
    ----------
    spread : dict
        Mean and relative standard deviation by dotted name.
    """
    rng = np.random.default_rng(seed)
    draws = pd.DataFrame(
        {name: mean * np.exp(rng.normal(0.0, share, n)) for name, (mean, share) in spread.items()}
    )
    return FakeFit(house, machines, draws)
