"""A system: the machines on one blower, with the sensor of their control."""

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part, quantity
from moistsim.equipment.cooling import Cooling
from moistsim.equipment.dehumidifier import Dehumidifier
from moistsim.equipment.heating import Furnace, HeatPump, Strips
from moistsim.equipment.hot_gas import HotGas
from moistsim.equipment.sensor import Sensor


@description
class System(Evolving):
    """Machines that serve one zone: an air handler with all in its air stream, and a dehumidifier.

    `Equipment` is a system, with all that the whole house has. A `SecondSystem` is another.
    """

    cooling: Cooling | None = part(Cooling, "air conditioner", default=None, optional=True)
    strips: Strips | None = part(
        Strips,
        "electric resistance strips for reheat and auxiliary heat",
        default=None,
        optional=True,
    )
    dehumidifier: Dehumidifier | None = part(
        Dehumidifier, "stand-alone dehumidifier", default=None, optional=True
    )
    heating: HeatPump | None = part(HeatPump, "heat pump", default=None, optional=True)
    furnace: Furnace | None = part(
        Furnace, "gas furnace, instead of a heat pump", default=None, optional=True
    )
    hot_gas: HotGas | None = part(HotGas, "hot-gas reheat", default=None, optional=True)
    sensor: Sensor = part(Sensor, "indoor sensor of the controls", default=attrs.Factory(Sensor))
    standby_power: float = quantity(
        "W",
        "continuous power of controls and transformers",
        default=6.0,
        at_least=0.0,
        at_most=5000.0,
    )

    def __attrs_post_init__(self) -> None:
        name = type(self).__name__
        if self.sensor.place not in ("room", "return"):
            raise InputError(
                f"{name}.sensor",
                Problem(f"its place is {self.sensor.place!r}"),
                "place 'room' or 'return'",
            )
        if self.cooling is None:
            for field in ("strips", "heating", "furnace", "hot_gas"):
                if getattr(self, field) is not None:
                    raise InputError(
                        f"{name}.{field}",
                        Problem(f"{type(getattr(self, field)).__name__} without cooling"),
                        f"it together with {name}.cooling, whose blower it shares",
                    )
        if self.heating is not None and self.furnace is not None:
            raise InputError(
                f"{name}.furnace",
                Problem("both a furnace and a heat pump are given"),
                "either heating (a heat pump) or furnace",
            )
