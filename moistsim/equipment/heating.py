"""What makes heat: the electric strips, and the heat pump for the cold months."""

import attrs

from moistsim.units import InputError, description, quantity, to_si


def _powers(values: object, instance: object) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.stages"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, "a list of powers, one a stage, such as ['5 kW', '5 kW']")
    powers = tuple(to_si(value, "W", where) for value in values)
    if not powers or min(powers) <= 0.0 or max(powers) > 40e3:
        raise InputError(where, values, "powers above 0 and at most 40 kW, one a stage")
    return powers


@description
class Strips:
    """Electric resistance strips in the supply air, downstream of the coil, switched in stages."""

    stages: tuple[float, ...] = attrs.field(
        converter=attrs.Converter(_powers, takes_self=True),
        metadata={"unit": "W", "help": "power of each stage, W", "list": True},
    )
    least_airflow: float = quantity(
        "m3/s/W",
        "least air flow per power, below which the strips are not let on",
        default="60 cfm/kW",
        at_least=0.0,
    )


@description
class HeatPump:
    """A heat pump in heating, on the same blower; the strips, if any, are its back-up.

    Capacity and input follow straight lines in outdoor temperature through the two rating points
    of AHRI 210/240 (47 and 17 degF); below the lower one the line goes on.
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
