"""All machines of a house together, with their sensors, relays and hard-wired enable."""

import attrs

from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part, quantity
from moistsim.equipment.cooling import Cooling
from moistsim.equipment.dehumidifier import Dehumidifier
from moistsim.equipment.heating import Furnace, HeatPump, Strips
from moistsim.equipment.hot_gas import HotGas
from moistsim.equipment.sensor import MAIN_FLOOR, Sensor
from moistsim.equipment.ventilation import Ventilation
from moistsim.equipment.wires import Enable, Relays
from moistsim.equipment.zoning import Zoning


@description
class Equipment:
    """All machines of a house. The default is no machine.

    Examples
    --------
    >>> machines = Equipment(
    ...     cooling=Cooling.from_label("2.5 ton", seer2=15.2),
    ...     strips=Strips(stages=["5 kW", "5 kW"]),
    ...     ventilation=Ventilation(kind="supply", airflow="70 cfm"),
    ... )
    >>> machines.dehumidifier is None
    True
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
    crawl_space_dehumidifier: Dehumidifier | None = part(
        Dehumidifier,
        "dehumidifier in the crawl space, with its own humidistat",
        default=None,
        optional=True,
    )
    basement_dehumidifier: Dehumidifier | None = part(
        Dehumidifier,
        "dehumidifier in the unheated basement, with its own humidistat",
        default=None,
        optional=True,
    )
    attic_dehumidifier: Dehumidifier | None = part(
        Dehumidifier,
        "dehumidifier in a sealed attic, with its own humidistat",
        default=None,
        optional=True,
    )
    ventilation: Ventilation | None = part(
        Ventilation, "mechanical ventilation", default=None, optional=True
    )
    heating: HeatPump | None = part(HeatPump, "heat pump", default=None, optional=True)
    furnace: Furnace | None = part(
        Furnace, "gas furnace, instead of a heat pump", default=None, optional=True
    )
    hot_gas: HotGas | None = part(HotGas, "hot-gas reheat", default=None, optional=True)
    sensor: Sensor = part(Sensor, "indoor sensor of the controls", default=attrs.Factory(Sensor))
    outdoor_sensor: Sensor | None = part(
        Sensor, "outdoor sensor of the controls; default: exact values", default=None, optional=True
    )
    relays: Relays = part(
        Relays, "relays between the controls and the machines", default=attrs.Factory(Relays)
    )
    enable: Enable | None = part(
        Enable,
        "hard-wired humidistat contact in series with the relays; default: no contact",
        default=None,
        optional=True,
    )
    zoning: Zoning | None = part(
        Zoning,
        "a thermostat and a damper for each of two zones; default: one thermostat, no dampers",
        default=None,
        optional=True,
    )
    standby_power: float = quantity(
        "W", "continuous power of controls and transformers", default=6.0, at_least=0.0
    )

    def __attrs_post_init__(self) -> None:
        for name, wanted in (("sensor", ("room", "return")), ("outdoor_sensor", ("outdoors",))):
            sensor = getattr(self, name)
            if sensor is not None and sensor.place not in wanted:
                raise InputError(
                    f"{type(self).__name__}.{name}",
                    Problem(f"its place is {sensor.place!r}"),
                    "place " + " or ".join(repr(place) for place in wanted),
                )
        if self.cooling is None:
            for name in ("strips", "heating", "furnace", "hot_gas"):
                if getattr(self, name) is not None:
                    raise InputError(
                        f"{type(self).__name__}.{name}",
                        Problem(f"{type(getattr(self, name)).__name__} without cooling"),
                        "it together with Equipment.cooling, whose blower it shares",
                    )
            if self.ventilation is not None and self.ventilation.kind == "central":
                raise InputError(
                    f"{type(self).__name__}.ventilation",
                    Problem("central ventilation without cooling"),
                    "it together with Equipment.cooling, whose blower draws its air",
                )
        for place in ("crawl_space", "basement", "attic"):
            own = getattr(self, f"{place}_dehumidifier")
            if own is None:
                continue
            where = f"{type(self).__name__}.{place}_dehumidifier"
            if own.humidistat is None:
                raise InputError(
                    where,
                    Problem("no humidistat"),
                    "a humidistat: the controls of the house do not call this machine",
                )
            if (own.inlet, own.outlet, own.bucket) != ("zone", "zone", None):
                raise InputError(
                    where,
                    Problem("its air path or its bucket is that of a machine in the house"),
                    "inlet zone, outlet zone and a drain",
                )
        if self.dehumidifier is not None and self.dehumidifier.inlet == "ventilation":
            kind = "no" if self.ventilation is None else self.ventilation.kind
            if kind not in ("balanced", "supply"):
                raise InputError(
                    f"{type(self).__name__}.dehumidifier",
                    Problem(f"its inlet is ventilation, but there is {kind} ventilation"),
                    "balanced or supply ventilation",
                )
        if self.zoning is not None and (self.sensor.place, self.sensor.zone) != (
            "room",
            MAIN_FLOOR,
        ):
            raise InputError(
                f"{type(self).__name__}.zoning",
                Problem("each zone has a thermostat, but the sensor's place or zone is given"),
                "a sensor in the room, without a zone of its own",
            )
        if self.heating is not None and self.furnace is not None:
            raise InputError(
                f"{type(self).__name__}.furnace",
                Problem("both a furnace and a heat pump are given"),
                "either heating (a heat pump) or furnace",
            )
