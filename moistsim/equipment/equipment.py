"""All machines of a house together, with their sensors, relays and hard-wired enable."""

import attrs

from moistsim.core.display import Show
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part
from moistsim.core.summary import Summarized, Summary, all_values, reader
from moistsim.equipment.dehumidifier import Dehumidifier
from moistsim.equipment.fan_words import fan_words
from moistsim.equipment.heating import RoomHeater
from moistsim.equipment.machine_phrases import machine_phrases
from moistsim.equipment.second_system import SecondSystem
from moistsim.equipment.sensor import MAIN_FLOOR, Sensor
from moistsim.equipment.system import System
from moistsim.equipment.ventilation import Ventilation
from moistsim.equipment.wires import Enable, Relays
from moistsim.equipment.zoning import Zoning


@description
class Equipment(System, Summarized):
    """All machines of a house. The default is no machine.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = Equipment(
    ...     cooling=ms.Cooling.from_label("2.5 ton", seer2=15.2),
    ...     strips=ms.Strips(stages=["5 kW", "5 kW"]),
    ...     ventilation=ms.Ventilation(kind="supply", airflow="70 cfm"),
    ... )
    >>> machines.dehumidifier is None
    True
    """

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
    room_heater: RoomHeater | None = part(
        RoomHeater,
        "heater in the room without blower or ducts, such as an electric baseboard",
        default=None,
        optional=True,
    )
    ventilation: Ventilation | None = part(
        Ventilation, "mechanical ventilation", default=None, optional=True
    )
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
    second_system: SecondSystem | None = part(
        SecondSystem,
        "machines of a second zone's own, with their control; default: one system for the whole house",
        default=None,
        optional=True,
    )

    def summary(self, show: Show) -> Summary:
        """Each machine in a phrase, the fan, and every value, as a notebook shows them."""
        fan = fan_words(self)
        facts = (*machine_phrases(self, show), *((("Blower", fan),) if fan else ()))
        return Summary("Equipment", "", facts, (all_values(self, show),))

    def __repr__(self) -> str:
        return f"<Equipment: {'; '.join(text for _, text in machine_phrases(self, reader()))}>"

    @property
    def systems(self) -> tuple[System, ...]:
        """The first system, and a second one if there is one."""
        return (self,) if self.second_system is None else (self, self.second_system)

    @property
    def burns_gas(self) -> bool:
        """Whether any system has a furnace, or a room heater burns gas."""
        heater = self.room_heater
        if heater is not None and heater.fuel == "gas":
            return True
        return any(system.furnace is not None for system in self.systems)

    def __attrs_post_init__(self) -> None:
        super().__attrs_post_init__()
        if self.outdoor_sensor is not None and self.outdoor_sensor.place != "outdoors":
            raise InputError(
                f"{type(self).__name__}.outdoor_sensor",
                Problem(f"its place is {self.outdoor_sensor.place!r}"),
                "place 'outdoors'",
            )
        if self.room_heater is not None:
            for field in ("heating", "furnace"):
                if getattr(self, field) is not None:
                    raise InputError(
                        f"{type(self).__name__}.room_heater",
                        Problem(f"both a room heater and {field} are given"),
                        f"either room_heater or {field}: one call for heat starts one of them",
                    )
        if (
            self.cooling is None
            and self.ventilation is not None
            and self.ventilation.kind == "central"
        ):
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
        if self.second_system is not None:
            if self.zoning is not None:
                raise InputError(
                    f"{type(self).__name__}.second_system",
                    Problem("both a second system and zoning are given"),
                    "either second_system, or zoning, which divides the air of one system",
                )
            if self.sensor.zone != MAIN_FLOOR:
                raise InputError(
                    f"{type(self).__name__}.sensor",
                    Problem(f"its zone is {self.sensor.zone!r}, where a second system has its own"),
                    "a sensor without a zone of its own",
                )
