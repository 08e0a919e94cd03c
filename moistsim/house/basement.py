"""An unheated basement."""

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, quantity


@description
class Basement(Evolving):
    """An unheated basement under the whole ground floor, with air, walls and wood of its own.

    Walls and floor are concrete or block. They store moisture, and pass vapor from the soil. Joists and
    subfloor overhead store heat and moisture. The floor above has the U-value `Envelope.floor_u`. The
    house draws air from the basement through its leaks in the floor, and pushes air back. Vapor of a wet
    basement is in `VaporSources`. A machine is `Equipment.basement_dehumidifier`.

    A heated basement is a story of a house on a slab.

    Examples
    --------
    >>> Basement(height="7 ft", below_grade="5 ft").wall_u
    2.5
    """

    height: float = quantity(
        "m",
        "height from floor to subfloor",
        default=2.2,
        at_least=1.2,
        at_most=5.0,
        usual=(1.2, 3.5),
    )
    below_grade: float = quantity(
        "m",
        "height of the walls below the ground outdoors",
        default=1.6,
        at_least=0.0,
        at_most=5.0,
        usual=(0.0, 3.0),
    )
    wall_u: float = quantity(
        "W/(m2 K)", "U-value of the walls without soil, air to air; the default is bare concrete",
        default=2.5, at_least=0.05, at_most=10.0, usual=(0.1, 6.0),
    )  # fmt: skip
    ground_u: float | None = quantity(
        "W/(m2 K)",
        "steady conductance from the basement through floor, walls and ground to outdoors, over the area "
        "of the floor; default: by ISO 13370 from the plan of the house (from memory); another value "
        "changes the soil's storage in proportion",
        default=None, at_least=0.0, at_most=10.0, optional=True,
    )  # fmt: skip
    vent_area: float = quantity(
        "fraction", "net free area of leaks to outdoors, over the area of the floor; the default is our "
        "own figure",
        default=1.0 / 3000.0, at_least=0.0, at_most=0.1,
    )  # fmt: skip
    wood_area: float = quantity(
        "count", "surface of joists and subfloor in the basement's air, over the area of the floor",
        default=2.0, at_least=0.0, at_most=10.0,
    )  # fmt: skip
    house_air: float = quantity(
        "m3/s", "air that basement and house exchange both ways through stairs and their door; the "
        "default is our own figure for a door that is mostly closed",
        default="20 cfm", at_least=0.0, at_most=1.0,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if self.below_grade > self.height:
            raise InputError(
                f"{type(self).__name__}.below_grade",
                Problem(
                    f"the walls are {self.height:g} m high, {self.below_grade:g} m below ground"
                ),
                "at most the height of the basement",
            )
