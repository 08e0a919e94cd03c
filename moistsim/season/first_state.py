"""The state from which a run starts: that at the end of another season, or one that is given."""

from __future__ import annotations

from typing import Any

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.fields import description, quantity


@description
class HouseState(Evolving):
    """State of a house at the start of a run: temperatures, and humidity of air and materials.

    Machines are off and have been for a day. Spaces next to the house start at the same state.

    Examples
    --------
    >>> state = HouseState.at(temperature="74 degF", relative_humidity="52 %")
    >>> round(state.temperature, 1), state.deep_humidity
    (23.3, 0.52)
    """

    temperature: float = quantity(
        "degC", "dry bulb of the air", at_least=-30.0, at_most=60.0, usual=(5.0, 40.0)
    )
    relative_humidity: float = quantity(
        "fraction", "relative humidity of the air", at_least=0.01, at_most=1.0
    )
    mass_temperature: float = quantity(
        "degC",
        "temperature of the thermal masses; default: that of the air",
        default=attrs.Factory(lambda self: self.temperature, takes_self=True),
        at_least=-30.0,
        at_most=60.0,
    )
    surface_humidity: float = quantity(
        "fraction",
        "relative humidity of the surface layer of the moisture stores; default: that of the air",
        default=attrs.Factory(lambda self: self.relative_humidity, takes_self=True),
        at_least=0.01,
        at_most=1.0,
    )
    deep_humidity: float = quantity(
        "fraction",
        "relative humidity of the deep layer of the moisture stores; default: that of the surface layer",
        default=attrs.Factory(lambda self: self.surface_humidity, takes_self=True),
        at_least=0.01,
        at_most=1.0,
    )

    @classmethod
    def at(cls, *, temperature: Any, relative_humidity: Any) -> HouseState:
        """One temperature and one relative humidity everywhere.

        Parameters
        ----------
        temperature : float or str
            degC, or a text with its unit.
        relative_humidity : float or str
            0 to 1, or a text such as "52 %".
        """
        return cls(temperature=temperature, relative_humidity=relative_humidity)
