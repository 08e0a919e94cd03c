"""An attached garage."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import description, quantity


@description
class Garage(Evolving):
    """An attached garage that is neither heated nor cooled, with air, slab and walls of its own.

    A wall of the house (`Envelope.wall_u`) borders on it instead of outdoors. A small part of the
    house's air leaks through that wall. Vapor and heat from cars are not included.

    Safety: exhaust gas of a car comes into the house through the same leaks. The wall and the door to
    the house must be sealed, and a return duct must not leak there.

    Examples
    --------
    >>> round(Garage(floor_area="480 ft2").floor_area, 1)
    44.6
    """

    floor_area: float = quantity(
        "m2", "floor area of the garage; the default is two cars", default="480 ft2", at_most=500.0, at_least=2.0, usual=(2.0, 150.0),
    )  # fmt: skip
    height: float = quantity(
        "m", "height of the garage", default=2.6, at_least=1.8, at_most=8.0, usual=(1.8, 5.0)
    )
    shared_wall_area: float = quantity(
        "m2", "area of the wall between house and garage", default="190 ft2", at_least=0.0,
        at_most=300.0, usual=(0.0, 100.0),
    )  # fmt: skip
    outer_u: float = quantity(
        "W/(m2 K)",
        "U-value of outer walls, door and roof, over the area of all three; the default is our own "
        "figure for walls without insulation",
        default=1.5, at_least=0.0, at_most=10.0, usual=(0.1, 7.0),
    )  # fmt: skip
    vent_area: float = quantity(
        "fraction", "net free area of vents and of leaks around the door, over the floor area; the default "
        "is our own figure for about one air change an hour",
        default=1.0 / 400.0, at_least=0.0, at_most=0.1,
    )  # fmt: skip
    leak_share: float = quantity(
        "fraction",
        "leaks between house and garage over all leaks of the house (common practice, no source)",
        default=0.1, at_least=0.0, at_most=0.5,
    )  # fmt: skip
