"""A bedroom with its door closed, against the hallway where the sensor hangs."""

from moistsim.core.errors import InputError
from moistsim.core.fields import description, hours_between, quantity


@description
class Bedroom:
    """A second well-mixed volume of the house, in which people sleep behind a closed door.

    The house's sensor hangs in the rest of it, the hallway. Sleepers' vapor goes to the bedroom;
    it is a part of the household's moisture, the rest of which goes to the hallway. Air is
    exchanged with the hallway by the gap under the door, or by the open door, and by the blower,
    which gives the bedroom its share of the supply air. All else, the stores and what leaks in or
    is ventilated, acts on both alike, so that the house's mean humidity is as it would be without
    the door; and the bedroom is as warm as the house.
    """

    floor_area: float = quantity("m2", "of the bedroom", default="160 ft2", above=0.0)
    sleepers: float = quantity("count", "people in it", default=2.0, at_least=0.0, at_most=10.0)
    vapor: float = quantity("kg/s", "of a sleeper", default="40 g/h", at_least=0.0)
    closed_airflow: float = quantity(
        "m3/s", "exchange with the hallway by the closed door's gaps", default="10 cfm",
        at_least=0.0,
    )  # fmt: skip
    open_airflow: float = quantity(
        "m3/s", "the same with the door open", default="150 cfm", at_least=0.0
    )
    closed_hours: tuple[float, ...] = hours_between(
        "hours of the day, from and to, in which people sleep behind the closed door",
        default=(22.0, 7.0),
        example="[22, 7]",
    )

    def __attrs_post_init__(self) -> None:
        if self.open_airflow < self.closed_airflow:
            raise InputError(
                f"{type(self).__name__}.open_airflow",
                f"{self.open_airflow:.4g} m3/s",
                f"at least the closed door's {self.closed_airflow:.4g} m3/s",
            )
