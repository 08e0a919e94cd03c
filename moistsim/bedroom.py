"""A bedroom with its door closed, against the hallway where the sensor hangs."""

import attrs

from moistsim.units import InputError, description, quantity, to_si

HOURS = "two different hours from 0 to 24, such as [22, 7]"


def _hours(values: object, instance: object) -> tuple[float, ...]:
    where = f"{type(instance).__name__}.closed_hours"
    if isinstance(values, str | int | float) or not hasattr(values, "__iter__"):
        raise InputError(where, values, HOURS)
    hours = tuple(to_si(value, "count", where) for value in values)
    if len(hours) != 2 or hours[0] == hours[1] or min(hours) < 0.0 or max(hours) > 24.0:
        raise InputError(where, values, HOURS)
    return hours


@description
class Bedroom:
    """A second well-mixed volume of the house, in which people sleep behind a closed door.

    The house's sensor hangs in the rest of it, the hallway. Sleepers' vapour goes to the bedroom;
    it is a part of the household's moisture, the rest of which goes to the hallway. Air is
    exchanged with the hallway by the gap under the door, or by the open door, and by the blower,
    which gives the bedroom its share of the supply air. All else, the stores and what leaks in or
    is ventilated, acts on both alike, so that the house's mean humidity is as it would be without
    the door; and the bedroom is as warm as the house.
    """

    floor_area: float = quantity("m2", "of the bedroom", default="160 ft2", above=0.0)
    sleepers: float = quantity("count", "people in it", default=2.0, at_least=0.0, at_most=10.0)
    vapour: float = quantity("kg/s", "of a sleeper", default="40 g/h", at_least=0.0)
    closed_airflow: float = quantity(
        "m3/s", "exchange with the hallway by the closed door's gaps", default="10 cfm",
        at_least=0.0,
    )  # fmt: skip
    open_airflow: float = quantity(
        "m3/s", "the same with the door open", default="150 cfm", at_least=0.0
    )
    closed_hours: tuple[float, ...] = attrs.field(
        default=(22.0, 7.0),
        converter=attrs.Converter(_hours, takes_self=True),
        metadata={
            "unit": "count",
            "help": "hours of the day, from and to, in which people sleep behind the closed door",
            "list": True,
        },
    )

    def __attrs_post_init__(self) -> None:
        if self.open_airflow < self.closed_airflow:
            raise InputError(
                f"{type(self).__name__}.open_airflow",
                f"{self.open_airflow:.4g} m3/s",
                f"at least the closed door's {self.closed_airflow:.4g} m3/s",
            )
