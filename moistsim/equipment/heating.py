"""Heating machines: electric strips, heat pump, furnace and room heater."""

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, hours_between, quantity, switch
from moistsim.core.units import ask_about, celsius, to_si

LIMIT_ENTERING = celsius(95.0)
"""Air entering the strips for which their minimum airflow is stated, degC: that of a heat pump.
The minimum airflows of heater kits hold with a heat pump ahead of the strips (common practice, from
memory)."""


def _powers(values: object, instance: object) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.stages"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, "a list of powers, one a stage, such as ['5 kW', '5 kW']")
    powers = tuple(to_si(value, "W", where) for value in values)
    for value, power in zip(values, powers, strict=True):
        if not isinstance(value, str):
            ask_about(value, power, "W", where, (100.0, 40e3), meant=("{} kW",))
    if not powers or min(powers) <= 0.0 or max(powers) > 40e3:
        raise InputError(where, values, "powers above 0 and at most 40 kW, one a stage")
    return powers


MONTHS = "two whole months from 1 to 12, the first and the last, such as [6, 9]"


def _months(values: object, instance: object) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.lockout_months"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, MONTHS)
    months = tuple(to_si(value, "count", where) for value in values)
    if len(months) != 2 or any(month not in range(1, 13) for month in months):
        raise InputError(where, values, MONTHS)
    return months


@description
class Strips(Evolving):
    """Electric resistance strips in the supply air, downstream of the coil, switched in stages.

    A limit switch guards the strips. It sits next to the elements and is hotter than the mixed supply
    air. Its temperature is that of the air entering the strips plus a rise in proportion to power
    over airflow. It reaches `limit_temperature` at `least_airflow` with air entering at 35 °C
    (95 °F), as from a heat pump. At the defaults the rise at the switch is 1.6 times that of the
    mixed air. In air at 21 °C (70 °F) the switch opens at 46 cfm/kW, and behind a cold coil at about
    40 cfm/kW. It closes by itself later, once it has cooled by 15 K (27 °F). The minimum airflow is
    common practice, and so are limits from 54 to 93 °C (130 to 200 °F). The default, 82 °C (180 °F),
    stays closed with 10 kW behind a 2-ton heat pump at 360 cfm/ton.

    Safety: strips and compressor draw power at the same time, and air must move over hot strips.
    Wiring is work for licensed trades under local codes.

    Examples
    --------
    >>> strips = Strips(stages=["5 kW", "5 kW"], voltage=230, stage_delay="30 s")
    >>> [round(power) for power in strips.powers]
    [4592, 4592]
    """

    stages: tuple[float, ...] = attrs.field(
        converter=attrs.Converter(_powers, takes_self=True),
        metadata={"unit": "W", "help": "power of each stage at the rated voltage", "list": True},
    )
    least_airflow: float = quantity(
        "m3/s/W",
        "minimum airflow per power with a heat pump ahead of the strips, at which the limit switch just "
        "stays closed; 0 for no limit switch",
        default="60 cfm/kW",
        at_least=0.0,
        at_most=1e-3,
        usual=(0.0, 2e-4),
    )
    limit_temperature: float = quantity(
        "degC",
        "temperature at the limit switch, next to the elements, at which it opens",
        default="180 degF",
        at_least=50.0,
        at_most=200.0,
        usual=(50.0, 120.0),
    )
    reset_time: float = quantity(
        "s",
        "minimum time for which the limit switch stays open",
        default="3 min",
        at_least=0.0,
        at_most=86400.0,
        usual=(20.0, 86400.0),
        meant=("{} min",),
    )
    rated_voltage: float = quantity(
        "V", "voltage at which the stages are rated", default=240.0, at_least=100.0, at_most=600.0
    )
    voltage: float = quantity(
        "V",
        "supply voltage; power follows its square; default: the rated voltage",
        default=attrs.Factory(lambda self: self.rated_voltage, takes_self=True),
        at_least=100.0,
        at_most=600.0,
    )
    proportional: bool = switch(
        "proportional power by solid-state control, instead of whole stages only",
        default=False,
    )
    stage_delay: float = quantity(
        "s",
        "delay of each stage after the previous one turns on",
        default=0.0,
        at_least=0.0,
        at_most=3600.0,
    )
    proof_time: float = quantity(
        "s",
        "time for which the blower must run before the first stage turns on (airflow proof)",
        default=0.0,
        at_least=0.0,
        at_most=3600.0,
    )
    lockout_hours: tuple[float, ...] = hours_between(
        "hours of the day, first and last, in which a relay keeps the strips off, such as a demand "
        "window, or [0, 24] on a generator (local standard time); default: no lockout",
        default=(),
        example="[14, 18]",
    )
    lockout_months: tuple[float, ...] = attrs.field(
        default=(1.0, 12.0),
        converter=attrs.Converter(_months, takes_self=True),
        metadata={
            "unit": "count",
            "help": "first and last month of the year in which `lockout_hours` apply",
            "list": True,
        },
    )

    def __attrs_post_init__(self) -> None:
        if self.voltage > 1.1 * self.rated_voltage:
            raise InputError(
                f"{type(self).__name__}.voltage",
                f"{self.voltage:g} V",
                f"at most {1.1 * self.rated_voltage:g} V, a tenth above the rated voltage",
            )

    @property
    def powers(self) -> tuple[float, ...]:
        """Power of each stage at the supply voltage, W."""
        return tuple(power * (self.voltage / self.rated_voltage) ** 2 for power in self.stages)


@description
class HeatPump(Evolving):
    """A heat pump in heating, on the blower of the air conditioner, with strips as auxiliary heat.

    Capacity and COP follow straight lines in outdoor temperature through the two rating points of
    AHRI 210/240 (47 and 17 degF), and below. Between -8.3 and 7.2 degC (17 and 45 degF), frost and
    defrost lower both. The loss is largest at 1.7 °C (35 °F), where the procedure has a rating
    with frost. The procedure's default factors there (from memory) are the defaults here. Strips
    that warm the air during defrost are not counted.

    Examples
    --------
    >>> heat_pump = HeatPump(capacity="30000 Btu/h", cop=3.8, backup_lockout="40 degF")
    >>> round(heat_pump.backup_lockout, 1)
    4.4
    """

    capacity: float = quantity(
        "W",
        "heating capacity at 8.3 °C (47 °F) outdoors",
        usual=(500.0, 25e3),
        at_least=200.0,
        at_most=100e3,
    )
    cop: float = quantity(
        "W/W", "COP at 8.3 °C (47 °F) outdoors", default=3.5, above=1.0, at_most=7.0
    )
    cold_capacity_ratio: float = quantity(
        "fraction",
        "heating capacity at -8.3 °C (17 °F) over heating capacity at 8.3 °C (47 °F)",
        default=0.62,
        above=0.1,
        at_most=1.0,
    )
    cold_cop: float = quantity(
        "W/W", "COP at -8.3 °C (17 °F) outdoors", default=2.3, above=1.0, at_most=6.0
    )
    low_outdoor_limit: float = quantity(
        "degC",
        "low-ambient lockout: outdoor temperature below which only the strips heat",
        default=-20.0,
        at_least=-60.0,
        at_most=60.0,
        usual=(-60.0, 15.0),
    )
    defrost_capacity: float = quantity(
        "fraction",
        "heating capacity at 1.7 °C (35 °F) with frost and defrost, over capacity without them",
        default=0.90,
        above=0.5,
        at_most=1.0,
    )
    defrost_input: float = quantity(
        "fraction",
        "input at 1.7 °C (35 °F) with frost and defrost, over input without them",
        default=0.985,
        above=0.5,
        at_most=1.5,
    )
    backup_lockout: float | None = quantity(
        "degC",
        "auxiliary-heat lockout: outdoor temperature above which the strips do not heat; default: none",
        default=None,
        optional=True,
        at_least=-60.0,
        at_most=60.0,
        usual=(-60.0, 20.0),
    )


@description
class Furnace(Evolving):
    """A gas furnace on the blower of the air conditioner, instead of a heat pump.

    Its heat goes to the air that the blower moves. The gas is metered apart from electricity. Losses
    of start-up, pilot and draft fan are part of its seasonal efficiency. The heat exchanger stores
    no heat in the model, so air that moves in the fan-off delay is not warmed.

    Examples
    --------
    >>> furnace = Furnace(capacity="45000 Btu/h", efficiency="92 %")
    >>> round(furnace.capacity)
    13188
    """

    capacity: float = quantity(
        "W", "heat output to the supply air", usual=(1e3, 45e3), at_least=200.0, at_most=200e3
    )
    efficiency: float = quantity(
        "fraction",
        "seasonal efficiency: heat to the air over gas burned (higher heating value)",
        default=0.80,
        at_least=0.4,
        at_most=1.0,
    )
    airflow: float = quantity(
        "fraction",
        "blower airflow in heating over full airflow",
        default=1.0,
        at_least=0.3,
        at_most=1.0,
    )
    fan_off_delay: float = quantity(
        "s",
        "fan-off delay (blower delay): time that the blower runs on after the burner stops; 0 for none "
        "(common practice: 1 to 3 min)",
        default="2 min",
        at_least=0.0,
        at_most=600.0,
        usual=(5.0, 600.0),
        meant=("{} min",),
    )


@description
class RoomHeater(Evolving):
    """A heater in the room, without blower or ducts: electric baseboard, or hydronic from a boiler.

    The heating thermostat of the control switches it. All its heat goes to the air of the room. A
    hydronic heater follows at once: its water stores no heat in the model. Its pump and the losses
    of its boiler are part of the efficiency.

    Safety: line voltage, gas and combustion air are work for licensed trades under local codes.

    Examples
    --------
    >>> baseboard = RoomHeater(capacity="6 kW")
    >>> boiler = RoomHeater(capacity="40000 Btu/h", efficiency="85 %", fuel="gas")
    >>> baseboard.efficiency, round(boiler.capacity)
    (1.0, 11723)
    """

    capacity: float = quantity(
        "W", "heat output to the room", usual=(300.0, 45e3), at_least=100.0, at_most=200e3
    )
    efficiency: float = quantity(
        "fraction",
        "heat to the room over electricity or over gas burned (higher heating value)",
        default=1.0,
        at_least=0.4,
        at_most=1.0,
    )
    fuel: str = choice(
        "what it uses: electricity or gas", "electricity", "gas", default="electricity"
    )
