"""What makes heat: the electric strips, and the heat pump or furnace for the cold months."""

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import description, hours_between, quantity, switch
from moistsim.core.units import to_si

LIMIT_ENTERING = (70.0 - 32.0) / 1.8
"""Air entering the strips for which their least airflow is stated, degC (common practice)."""


def _powers(values: object, instance: object) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.stages"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, "a list of powers, one a stage, such as ['5 kW', '5 kW']")
    powers = tuple(to_si(value, "W", where) for value in values)
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
class Strips:
    """Electric resistance strips in the supply air, downstream of the coil, switched in stages.

    A limit switch guards them. It sits at the elements, where it is far hotter than in the mixed
    supply air: what it sees stands above the air that enters the strips in proportion to power
    over airflow, and reaches `limit_temperature` at `least_airflow` with air entering at 21.1
    degC (70 degF). Above that it opens, and closes by itself. The rule of least airflow is common
    practice; 120 degC is our own figure, high enough for the rule, more than the entering air, to
    decide: cold air behind a coil does not hide too low a flow. Cautions: strips and compressor
    draw at once, and air must move over hot strips; wiring is for licensed trades and local codes.
    """

    stages: tuple[float, ...] = attrs.field(
        converter=attrs.Converter(_powers, takes_self=True),
        metadata={"unit": "W", "help": "power of each stage at the rated voltage, W", "list": True},
    )
    least_airflow: float = quantity(
        "m3/s/W",
        "least airflow per power, at which the limit switch just stays closed; 0 for no switch",
        default="60 cfm/kW",
        at_least=0.0,
    )
    limit_temperature: float = quantity(
        "degC",
        "temperature at the elements at which the limit switch opens",
        default=120.0,
        at_least=50.0,
        at_most=200.0,
    )
    reset_time: float = quantity(
        "s", "least time for which an open limit switch stays so", default="3 min", at_least=0.0
    )
    rated_voltage: float = quantity(
        "V", "voltage of the rated powers", default=240.0, at_least=100.0, at_most=600.0
    )
    voltage: float = quantity(
        "V",
        "voltage that there is: power goes with its square",
        default=attrs.Factory(lambda self: self.rated_voltage, takes_self=True),
        at_least=100.0,
        at_most=600.0,
    )
    proportional: bool = switch(
        "whether any share of a stage can be had (solid-state control), not whole stages only",
        default=False,
    )
    stage_delay: float = quantity(
        "s", "wait of each stage after the one before it comes on", default=0.0, at_least=0.0
    )
    proof_time: float = quantity(
        "s",
        "time for which the blower must have moved air before the first stage",
        default=0.0,
        at_least=0.0,
    )
    lockout_hours: tuple[float, ...] = hours_between(
        "hours of the day, local standard time, from and to, in which a relay keeps the strips off, "
        "for reheat and for heat: a demand window, or [0, 24] on a generator",
        default=(),
        example="[14, 18]",
    )
    lockout_months: tuple[float, ...] = attrs.field(
        default=(1.0, 12.0),
        converter=attrs.Converter(_months, takes_self=True),
        metadata={
            "unit": "count",
            "help": "first and last month of the year in which `lockout_hours` hold",
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
        """Power of each stage at the voltage that there is, W: by the square of the voltage."""
        return tuple(power * (self.voltage / self.rated_voltage) ** 2 for power in self.stages)


@description
class HeatPump:
    """A heat pump in heating, on the same blower; the strips, if any, are its back-up.

    Capacity and COP follow straight lines in outdoor temperature through the two rating points
    of AHRI 210/240 (47 and 17 degF); below the lower one the line goes on. Between -8.3 and 7.2
    degC (17 and 45 degF) frost on the outdoor coil and its defrost take from both, most at 1.7
    degC (35 degF), where the procedure has a rating with frost in it. Its default factors there
    (from memory) are the defaults here. Strips that temper the air in a defrost are not counted.
    """

    capacity: float = quantity("W", "heating capacity at 8.3 degC (47 degF)", above=0.0)
    cop: float = quantity("W/W", "COP at 8.3 degC (47 degF)", default=3.5, above=1.0, at_most=7.0)
    cold_capacity_ratio: float = quantity(
        "fraction",
        "capacity at -8.3 degC (17 degF) over capacity at 8.3 degC",
        default=0.62,
        above=0.1,
        at_most=1.0,
    )
    cold_cop: float = quantity(
        "W/W", "COP at -8.3 degC (17 degF)", default=2.3, above=1.0, at_most=6.0
    )
    low_outdoor_limit: float = quantity(
        "degC", "outdoor temperature below which only the strips heat", default=-20.0
    )
    defrost_capacity: float = quantity(
        "fraction",
        "capacity at 1.7 degC (35 degF), frost and defrost in it, over the straight line's",
        default=0.90,
        above=0.5,
        at_most=1.0,
    )
    defrost_input: float = quantity(
        "fraction", "the same of its input", default=0.985, above=0.5, at_most=1.5
    )
    backup_lockout: float | None = quantity(
        "degC",
        "outdoor temperature above which the strips do not back it up; left out, none",
        default=None,
        optional=True,
    )


@description
class Furnace:
    """A gas furnace on the same blower, in place of a heat pump.

    Its heat goes to the air that the blower moves; what it burns is metered as gas, not as
    electricity. Start-up, pilot and draught fan are within its seasonal efficiency, or left out.
    """

    capacity: float = quantity("W", "heat that it gives to the air", above=0.0)
    efficiency: float = quantity(
        "fraction",
        "heat to the air per gas burnt (higher heating value), as the seasonal efficiency",
        default=0.80,
        at_least=0.4,
        at_most=1.0,
    )
    airflow: float = quantity(
        "fraction", "blower in heating, of its full flow", default=1.0, at_least=0.3, at_most=1.0
    )
