"""A bedroom with a closed door, apart from the hallway with the sensor."""

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import description, hours_between, quantity


@description
class Bedroom(Evolving):
    """A second well-mixed air volume, in which people sleep behind a closed door.

    The sensor hangs in the rest of the house, the hallway. The sleepers' vapor goes to the bedroom;
    the rest of the household's moisture goes to the hallway. Bedroom and hallway exchange air
    through the gaps of the closed door or through the open door. The blower gives the bedroom its
    share of the supply air. Moisture stores, leaks and ventilation act on both volumes alike, so
    the house's mean humidity does not depend on the door. The bedroom is as warm as the house.

    Examples
    --------
    >>> room = Bedroom(floor_area="180 ft2", sleepers=2, closed_hours=(22.5, 6.5))
    >>> round(room.floor_area, 1)
    16.7
    """

    floor_area: float = quantity(
        "m2",
        "floor area of the bedroom",
        default="160 ft2",
        at_least=2.0,
        at_most=500.0,
        usual=(2.0, 70.0),
    )
    sleepers: float = quantity(
        "count",
        "number of people who sleep in the bedroom",
        default=2.0,
        at_least=0.0,
        at_most=10.0,
    )
    vapor: float = quantity(
        "kg/s",
        "vapor from one sleeper",
        default="40 g/h",
        at_least=0.0,
        at_most=1e-3,
        usual=(0.0, 2e-4),
        meant=("{} g/h", "{} pints/day"),
    )
    closed_airflow: float = quantity(
        "m3/s", "air exchanged with the hallway through the gaps of the closed door", default="10 cfm",
        at_least=0.0, at_most=2.0,
    )  # fmt: skip
    open_airflow: float = quantity(
        "m3/s",
        "air exchanged with the hallway through the open door",
        default="150 cfm",
        at_least=0.0,
        at_most=5.0,
        usual=(0.0, 1.0),
    )
    closed_hours: tuple[float, ...] = hours_between(
        "hours of the day, first and last, in which people sleep behind the closed door",
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
