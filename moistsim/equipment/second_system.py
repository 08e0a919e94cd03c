"""A second system: machines and control of their own for a house's second zone."""

from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description
from moistsim.equipment.sensor import MAIN_FLOOR
from moistsim.equipment.system import System


@description
class SecondSystem(System):
    """A system of its own for the second zone: an air handler with a thermostat on each floor or wing.

    Each system conditions the air of its own zone alone. Its control is the same as that of the first
    system, or the one that `Strategy.with_second` gives; each has a memory and readings of its own.
    Its ducts are `SecondZone.ducts`. Ventilation is the house's, in the main zone, and follows the
    first control. So do an outdoor sensor, relays and an enable. Faults act on the first system
    alone, except for a power cut.

    Examples
    --------
    >>> from moistsim.equipment import Cooling, Equipment
    >>> machines = Equipment(
    ...     cooling=Cooling.from_label("2 ton", seer2=15.2),
    ...     second_system=SecondSystem(cooling=Cooling.from_label("1.5 ton", seer2=15.2)),
    ... )
    >>> machines.second_system.strips is None
    True
    """

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        name, sensor = type(self).__name__, self.sensor
        if sensor.zone != MAIN_FLOOR:
            raise InputError(
                f"{name}.sensor",
                Problem(f"its zone is {sensor.zone!r}"),
                "a sensor without a zone: it hangs in the zone of its system",
            )
        if sensor.errs or max(
            sensor.temperature_resolution, sensor.humidity_resolution, sensor.report_every
        ):
            raise InputError(
                f"{name}.sensor",
                Problem("errors, a resolution or a report interval are given"),
                "place, lags and wall share alone; errors can be given for Equipment.sensor",
            )
        own = self.dehumidifier
        if own is not None and (own.inlet, own.outlet) != ("zone", "zone"):
            raise InputError(
                f"{name}.dehumidifier",
                Problem("its air path leaves the zone"),
                "inlet zone and outlet zone",
            )
